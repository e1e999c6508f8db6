"""What arrived where: in the stretch of time in which somebody made a sound at an input, which channel heard it.

The loudest channel of the stretch is taken when it rose far enough over its own floor and over what it hears all the
time. All inputs together are then given their channels at once, so that a microphone that merely overhears its neighbour
is not taken twice. A close call is never `arrived`: a second tap is asked for. The latest tap of an input counts, for
lines are repaired between two taps; the one before it only confirms it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from showday.sound.activity import LEAST_DB, LOWEST_DB, RISE_DB, Energies, Floor, dbfs
from showday.sound.arrival_words import Arrival, Circumstance, sentence_of
from showday.sound.assignment import Assignment
from showday.sound.model import Block, Floats
from showday.sound.shuffles import shuffles
from showday.sound.walk_csv import Window

__all__ = ["Arrival", "Arrivals", "shuffles"]

STAND_OUT_DB = 6.0
"""A sound is this far over what its channel hears without it: half the bleed of two close microphones; a choice."""

MARGIN_DB = 6.0
"""The loudest channel is this far above the next, or a second tap is asked for; from the same measurements, in which
the loudest channel was the right one for 180 of 180 inputs."""

ELSEWHERE_DB = 10.0
"""The margin is wider to say that it is the wrong channel while the right one does not even overhear the sound: where a
line is dead its bleed may lead by 6 dB on a microphone that is turned up. A choice, between that and the bleed of close
microphones, 12 dB."""

MARGIN_AGAIN_DB = 3.0
"""Enough when two taps name the same channel; a choice: half of it, twice."""

CLEAR_DB = 24.0
"""Or all inputs together would fit worse by this much if it were another channel; a choice: two bleeds of 12 dB."""

LEAST_OTHERS = 4
"""Other inputs that must have been heard before they say what a channel hears all the time; a choice."""

_NOBODY = -40.0
"""What an input without a channel costs, as a score: a bleed of 20 dB in the row and in the column; a choice."""

_BEFORE_S = 3.0
_BEFORE_PERCENT = 95.0
"""Seconds outside every stretch that are remembered, and the percentile of their 5-ms levels; choices."""


@dataclass(slots=True)
class _Tap:
    start: int
    end: int | None
    loudest: Floats
    """Largest 5-ms level of each channel, dBFS."""
    before: Floats
    """What each channel reached before, dBFS."""


@dataclass(slots=True)
class _Heard:
    name: str
    wanted: int | None
    taps: list[_Tap] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Row:
    """What one input left in all channels."""

    loudest: Floats
    rose: npt.NDArray[np.bool_]
    fits: npt.NDArray[np.bool_]
    """Channels that can be the one it arrives on."""
    found: int
    """The one it was given, -1 for none."""
    index: int
    together: Assignment


class Arrivals:
    """Fed with blocks; `plan` for a recording whose walk is known, or `begin` and `end` while it is walked.

    `meant` gives channels, counted from 0, of inputs that have not been walked yet: for the words alone. A name that comes
    again is a further tap of the same input. Memory: two levels a channel for the last two taps of each input, three
    seconds of levels, one histogram.
    """

    def __init__(
        self, rate: int, channels: int, plan: Sequence[Window] = (), meant: Mapping[str, int] | None = None
    ) -> None:
        self._rate, self._channels = rate, channels
        self._energies, self._floor = Energies(rate, channels), Floor(channels)
        self._heard: dict[str, _Heard] = {}
        self._before: deque[Floats] = deque(maxlen=max(1, int(_BEFORE_S * rate / self._energies.length)))
        self._open: list[_Tap] = []
        self._now = 0
        self._live: str | None = None
        self._meant = dict(meant or {})
        self._planned = deque(sorted(plan, key=lambda window: window.start_s))
        for window in plan:  # in the order of the walk as given
            self._heard.setdefault(window.input, _Heard(window.input, window.wanted))

    def feed(self, block: Block) -> None:
        """Take the next block; frames of 5 ms belong to a stretch by their middle."""
        first, energies = self._energies.feed(block)
        self._floor.feed(energies)
        levels = dbfs(energies)
        middles = first + np.arange(len(levels)) * self._energies.length + self._energies.length // 2
        at = 0
        while at < len(levels):
            self._begin_and_end(int(middles[at]))
            upto = max(at + 1, int(np.searchsorted(middles, self._next_change())))
            if not self._open:
                self._before.extend(levels[at:upto])
            for tap in self._open:
                np.maximum(tap.loudest, levels[at:upto].max(axis=0), out=tap.loudest)
            at = upto
        self._now = block.first + len(block.samples)

    def _begin_and_end(self, now: int) -> None:
        """Close the stretches that are over at this sample, and open the planned ones that have begun."""
        self._open = [tap for tap in self._open if tap.end is None or now < tap.end]
        while self._planned and self._planned[0].start_s * self._rate <= now:
            window = self._planned.popleft()
            if now < window.end_s * self._rate:
                self._start(window.input, window.wanted, now, round(window.end_s * self._rate))

    def _next_change(self) -> float:
        """The sample at which a stretch ends or begins next."""
        ends = [float(tap.end) for tap in self._open if tap.end is not None]
        starts = [self._planned[0].start_s * self._rate] if self._planned else []
        return min([*ends, *starts], default=np.inf)

    def begin(self, name: str, wanted: int | None) -> None:
        """From now on somebody makes a sound at this input; one that was open ends."""
        if self._live is not None:
            self.end()
        self._live = name
        self._start(name, wanted, self._now, None)

    def end(self) -> Arrival | None:
        """The sound is over: where it arrived, by all that was heard until now. None when nothing had begun."""
        name, self._live = self._live, None
        if name is None:
            return None
        for tap in self._heard[name].taps:
            tap.end = self._now if tap.end is None else tap.end
        return next(found for found in self.result() if found.input == name)

    def now(self) -> Arrival | None:
        """Where the input that is sounding has arrived so far."""
        return next((found for found in self.result() if found.input == self._live), None)

    def _start(self, name: str, wanted: int | None, start: int, end: int | None) -> None:
        before = np.full(self._channels, LOWEST_DB)
        if self._before:
            before = np.percentile(np.array(self._before), _BEFORE_PERCENT, axis=0)
        tap = _Tap(start, end, np.full(self._channels, LOWEST_DB), before)
        heard = self._heard.setdefault(name, _Heard(name, wanted))
        heard.wanted = wanted
        heard.taps = [*heard.taps[-1:], tap]
        self._open.append(tap)

    def result(self) -> list[Arrival]:
        """Where every input arrived, judged together; an earlier verdict may change when more has been heard."""
        heard = list(self._heard.values())
        if not heard:
            return []
        silence = np.full(self._channels, LOWEST_DB)
        loudest = np.array([one.taps[-1].loudest if one.taps else silence for one in heard])
        before = np.array([one.taps[-1].before if one.taps else silence for one in heard])
        played = np.array([bool(one.taps) for one in heard])
        usual = np.maximum(before, _what_others_leave(loudest, played))
        rose = loudest - self._floor.level() >= RISE_DB
        fits = rose & (loudest >= LEAST_DB) & (loudest - usual >= STAND_OUT_DB)
        together, found = _given(loudest, fits)
        names = {int(channel): one.name for one, channel in zip(heard, found, strict=True) if channel >= 0}
        return [
            self._judged(one, _Row(loudest[row], rose[row], fits[row], int(found[row]), row, together), names)
            for row, one in enumerate(heard)
        ]

    def _judged(self, one: _Heard, row: _Row, names: Mapping[int, str]) -> Arrival:
        if not one.taps:
            return self._answer(one, "nothing", "unplayed", names)
        if not row.fits.any():
            if not row.rose.any():
                return self._answer(one, "nothing", "silent", names)
            likeliest = _loudest(row.loudest, row.rose)
            if row.loudest[likeliest] < LEAST_DB:
                return self._answer(one, "unsure", "faint", names, likeliest)
            tap = one.taps[-1]
            if likeliest in names and tap.loudest[likeliest] - tap.before[likeliest] >= STAND_OUT_DB:
                return self._answer(one, "nothing", "overheard", names, other=likeliest)
            return self._answer(one, "unsure", "restless", names, likeliest)
        if row.found < 0:
            return self._answer(one, "nothing", "overheard", names, other=_loudest(row.loudest, row.fits))
        others = np.arange(self._channels) != row.found
        rival = _loudest(row.loudest, others) if others.any() else None
        margin = float(row.loudest[row.found]) - (LOWEST_DB if rival is None else float(row.loudest[rival]))
        if not self._sure(one, row, margin):
            why = "close" if rival is None or row.fits[rival] else "drowned"
            return self._answer(one, "unsure", why, names, row.found, rival, margin)
        if one.wanted is None:
            return self._answer(one, "unsure", "unplaced", names, row.found, rival, margin)
        verdict = "arrived" if row.found == one.wanted else "elsewhere"
        return self._answer(one, verdict, verdict, names, row.found, rival, margin)

    def _sure(self, one: _Heard, row: _Row, margin: float) -> bool:
        elsewhere = one.wanted is not None and one.wanted != row.found
        silent = elsewhere and not (0 <= (one.wanted or 0) < self._channels and row.rose[one.wanted or 0])
        if margin >= (ELSEWHERE_DB if silent else MARGIN_DB):
            return True
        if (
            not elsewhere
            and margin >= 0
            and len(self._heard) > LEAST_OTHERS
            and row.together.clearness(row.index) >= CLEAR_DB
        ):
            return True
        if len(one.taps) < 2:
            return False
        each = [tap.loudest[row.found] - np.max(np.delete(tap.loudest, row.found)) for tap in one.taps]
        return bool(min(each) >= MARGIN_AGAIN_DB)

    def _answer(
        self,
        one: _Heard,
        verdict: str,
        why: str,
        names: Mapping[int, str],
        found: int | None = None,
        other: int | None = None,
        margin: float = 0.0,
    ) -> Arrival:
        where = other if found is None else found
        owner = names.get(where) if where is not None and found is None else self._owner(one, where, names)
        replaced_by = None if one.wanted is None else names.get(one.wanted)
        at = Circumstance(one.name, one.wanted, found, other, margin, owner, replaced_by)
        return Arrival(one.name, one.wanted, found, margin, verdict, sentence_of(why, at))

    def _owner(self, one: _Heard, channel: int | None, names: Mapping[int, str]) -> str | None:
        """Whose channel it is by the rig; None when it is nobody's."""
        walked = {other.wanted: other.name for other in self._heard.values() if other.wanted is not None}
        meant = {at: name for name, at in self._meant.items()} | walked
        owner = None if channel is None else meant.get(channel)
        return None if owner == one.name else owner


def _loudest(levels: Floats, among: npt.NDArray[np.bool_]) -> int:
    return int(np.argmax(np.where(among, levels, -np.inf)))


def _what_others_leave(loudest: Floats, played: npt.NDArray[np.bool_]) -> Floats:
    """What each channel hears while other inputs are played: the median over them, [inputs, channels] as `loudest`.

    LOWEST_DB for an input with fewer than LEAST_OTHERS others.
    """
    usual = np.full_like(loudest, LOWEST_DB)
    rows = np.flatnonzero(played)
    if len(rows) <= LEAST_OTHERS:
        return usual
    levels = loudest[rows]
    ranks = np.argsort(np.argsort(levels, axis=0), axis=0)
    ordered = np.sort(levels, axis=0)
    lower, upper = (
        (len(rows) - 2) // 2,
        (len(rows) - 1) // 2,
    )  # middles of the others, were the own level not among them
    usual[rows] = (np.where(ranks > lower, ordered[lower], ordered[lower + 1])) / 2
    usual[rows] += (np.where(ranks > upper, ordered[upper], ordered[upper + 1])) / 2
    unplayed = np.flatnonzero(~played)
    usual[unplayed] = np.median(levels, axis=0)
    return usual


def _given(loudest: Floats, fits: npt.NDArray[np.bool_]) -> tuple[Assignment, npt.NDArray[np.int64]]:
    """All inputs with channels, and the channel each of them is given, -1 for none.

    The score of a pair is how far it lies below the loudest of its row and below the loudest of its column, in dB.
    """
    inputs, channels = loudest.shape
    levels = np.where(fits, loudest, -np.inf)
    best_row, best_column = levels.max(axis=1, keepdims=True), levels.max(axis=0, keepdims=True)
    below = np.where(fits, 2 * loudest - np.where(fits, best_row, 0) - np.where(fits, best_column, 0), _NOBODY)
    scores = np.full((inputs, max(inputs, channels)), _NOBODY)  # a pair that is worth no more than nobody is nobody
    scores[:, :channels] = np.maximum(below, _NOBODY)
    together = Assignment(scores)
    given = scores[np.arange(inputs), together.column] > _NOBODY
    return together, np.where(given, together.column, -1)

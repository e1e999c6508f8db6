"""Everything that listens, in one: blocks in; meters, findings, and the verdict on the input that sounds now out.

Not for several threads at once: whoever feeds and whoever asks take turns.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from showday.sound.arrivals import Arrival, Arrivals
from showday.sound.background import Background
from showday.sound.clipping import FULL_SCALE, Clipping
from showday.sound.gaps import Gaps
from showday.sound.mains_verdict import LEAST_LOOKS, level
from showday.sound.model import Block, Finding, Floats, Meter
from showday.sound.pairs import Pair, Pairs
from showday.sound.report import ChannelReport, Report
from showday.sound.shuffles import shuffles
from showday.sound.spectrum import Spectrum, spectrum_of
from showday.sound.verdict import NOT_YET, STEADY, Heard, Rest, Wanted, judge
from showday.sound.walk_csv import Window
from showday.sound.windows import HOP_SHARE, cleaned
from showday.sound.windows import Window as Look

__all__ = ["Heard", "Listener", "Wanted"]

BEFORE_S = 12.0
"""A steady noise counts for an input when it was heard so shortly before its sound: one stretch of the search for mains
(10 s) and a look."""

SETTLE_S = 16.0
"""So long after a line was plugged in every steady noise on it has been judged anew: the stretch that was running (10 s) is
over, and the next is long enough (5 s)."""
QUIET_LOOKS = LEAST_LOOKS
"""Looks of one second that must be quiet: as many as the search for mains needs."""


PHONE_DBFS, PHONE_S = -60.0, 1.0
"""A phone sends in bursts, and what lies under them seems to break off: a phone this loud while it is heard, a look more on
both sides. Bursts are 5 dB louder in 2 ms than all the second (an eighth of the time, 0.58 ms long), so softer ones
stay well under `breaks.LOUD_DB`; and one this loud keeps the line from being good itself."""


@dataclass(slots=True)
class _Sounding:
    """The stretch in which an input sounds, in frames; `end` None while it goes on."""

    input: str
    start: int
    end: int | None
    channel: int | None
    """The one on which it is wanted, where there is such a channel."""
    peak: float
    """Largest magnitude there."""
    quietest: Floats
    """Mean squares of the quietest looks of each channel since it began, [looks, channels]."""
    before: Floats
    """The same of the seconds before it began."""
    heard: bool = False


class Listener:
    """Listens to all channels. With `walk`, when each input sounds is known before; else `begin` and `end` say it.

    `full_scale` is the largest sample of the source (`SoundFile.full_scale`).
    """

    def __init__(
        self,
        rate: int,
        channels: int,
        inputs: Sequence[Wanted],
        walk: Sequence[Window] = (),
        pairs: Sequence[Pair] = (),
        full_scale: float = FULL_SCALE,
    ) -> None:
        self.rate, self.channels = rate, channels
        self.wanted = {one.input: one for one in inputs}
        for window in walk:
            self.wanted.setdefault(window.input, Wanted(window.input, (window.wanted or 0) + 1, window.wanted))
        self.lost_frames = 0
        """Frames that the host lost so far."""
        self._background = Background(rate, channels, full_scale)
        self._clipping, self._gaps = Clipping(rate, channels, full_scale), Gaps(rate, channels)
        self._arrivals, self._pairs = Arrivals(rate, channels, walk), Pairs(rate, channels, pairs)
        ordered = sorted(walk, key=lambda window: window.start_s)
        self._planned = deque((w.input, round(w.start_s * rate), round(w.end_s * rate)) for w in ordered)
        self._sounding: dict[str, _Sounding] = {}
        self._open: list[_Sounding] = []
        self._live: str | None = None
        self._next = 0
        self._look: Look | None = None
        self._latest: deque[Floats] = deque(maxlen=round(BEFORE_S * HOP_SHARE))
        self._quietest: Floats = self._no_looks()

    def feed(self, block: Block) -> None:
        """Listen to the next block, of any length."""
        block = cleaned(block)
        self.lost_frames += max(0, block.first - self._next)
        self._next = block.first + len(block.samples)
        for look in self._background.feed(block):
            self._note_rest(look)
            self._look = look
        for analyser in (self._clipping, self._gaps, self._arrivals, self._pairs):
            analyser.feed(block)
        self._follow(block)

    def meters(self) -> list[Meter]:
        """The levels of every channel now."""
        return self._background.meters()

    def spectrum(self, channel: int) -> Spectrum | None:
        """The last second of a channel by frequency; None before a second was heard."""
        if self._look is None or not 0 <= channel < self.channels:
            return None
        return spectrum_of(self._look.samples[:, channel], self._background.rate)

    @property
    def mains_hz(self) -> float | None:
        """The mains that is heard on any channel, in Hz; None while it is on none."""
        return self._background.mains_hz

    def findings(self) -> list[Finding]:
        """Everything found so far, by channel."""
        background, gaps = self._background.findings(), self._gaps.findings()
        phones = [one for one in background if one.kind == "rf_buzz" and (one.level_dbfs or 0.0) >= PHONE_DBFS]
        gaps = [one for one in gaps if not any(_bursts(one, phone) for phone in phones)]
        every = [*background, *self._clipping.findings(), *gaps]
        return sorted(every, key=lambda finding: (finding.channel, finding.from_s))

    def begin(self, input_name: str) -> None:
        """From now on somebody makes a sound at this input; one that was open ends. The same one again is a further try."""
        if self._live is not None:
            self.end()
        wanted = self._of(input_name)
        self._arrivals.begin(wanted.input, wanted.channel)
        self._live = input_name
        self._start(input_name, self._next, None)

    def end(self) -> Heard:
        """The sound is over; what was heard of it."""
        heard = self.now()
        if self._live is not None:
            self._arrivals.end()
            stretch = self._sounding[self._live]
            stretch.end = self._next
            self._open.remove(stretch)
            self._live = None
        return heard

    def now(self) -> Heard:
        """What is heard so far of the input that sounds now; an empty name when none does."""
        if self._live is None:
            return Heard("", NOT_YET, "No input is awaited.", None)
        return self._judged(self._live, self._arrivals.now(), self.findings())

    def report(self) -> Report:
        """Everything heard until now."""
        findings = self.findings()
        names = {one.channel: one.input for one in reversed(self.wanted.values()) if one.channel is not None}
        arrivals = self._arrivals.result()
        return Report(
            rate=self.rate,
            seconds=self._next / self.rate,
            mains_hz=self._background.mains_hz,
            channels=tuple(
                ChannelReport(
                    channel, names.get(channel, ""), levels, tuple(f for f in findings if f.channel == channel)
                )
                for channel, levels in enumerate(self._background.overall())
            ),
            arrivals=tuple(arrivals),
            pairs=tuple(self._pairs.result()),
            heard=tuple(self._judged(one.input, one, findings, whole=True) for one in arrivals),
            shuffles=tuple(shuffles(arrivals)),
            lost_frames=self.lost_frames,
        )

    def _of(self, name: str) -> Wanted:
        """What is wanted of an input; one that nobody listed has no channel."""
        return self.wanted.setdefault(name, Wanted(name, 0, None))

    def _start(self, name: str, start: int, end: int | None) -> None:
        wanted = self._of(name).channel
        channel = wanted if wanted is not None and wanted < self.channels else None
        stretch = _Sounding(name, start, end, channel, 0.0, self._no_looks(), self._lately())
        self._sounding[name] = stretch
        self._open.append(stretch)

    def _follow(self, block: Block) -> None:
        """Keep the peaks of the stretches that are open in this block."""
        while self._planned and self._planned[0][1] < self._next:
            self._start(*self._planned.popleft())
        for stretch in self._open:
            upto = self._next if stretch.end is None else stretch.end
            part = block.samples[max(0, stretch.start - block.first) : max(0, upto - block.first)]
            if len(part) and stretch.channel is not None:
                mine = part[:, stretch.channel]
                stretch.peak = max(stretch.peak, float(mine.max()), -float(mine.min()))
                stretch.heard = True
        self._open = [one for one in self._open if one.end is None or one.end > self._next]

    def _judged(self, name: str, arrival: Arrival | None, findings: list[Finding], whole: bool = False) -> Heard:
        """`whole`: steady noises count whenever they were heard, also long before or after."""
        wanted, stretch = self._of(name), self._sounding.get(name)
        peak = None
        if stretch is not None and stretch.heard:
            peak = float(20 * np.log10(max(stretch.peak, 1e-10)))
        mine = [f for f in findings if f.channel == wanted.channel and (whole or self._counts(f, stretch))]
        if whole:
            mine = [f for f in mine if f.kind in STEADY or self._counts(f, stretch)]
        doubts = self._background.doubts()
        doubts = [f for f in doubts if f.channel == wanted.channel and (whole or self._counts(f, stretch))]
        return judge(wanted, arrival, peak, mine, replace(self._rest(wanted, stretch, whole), doubts=tuple(doubts)))

    def _counts(self, finding: Finding, stretch: _Sounding | None) -> bool:
        """Whether a finding says something about the input while it sounds."""
        if stretch is None:
            return True
        start = stretch.start / self.rate - (BEFORE_S if finding.kind in STEADY else 0.0)
        end = np.inf if stretch.end is None else stretch.end / self.rate
        return bool(finding.to_s >= start and finding.from_s <= end)

    def _note_rest(self, look: Look) -> None:
        """Exact zeros are no rest: they may be a mute that hides what the line hums. A digital source rests in them."""
        power = np.where(look.gap, np.inf, look.power)
        for one in self.wanted.values():
            if (
                one.digital
                and one.channel is not None
                and one.channel < self.channels
                and look.power[one.channel] == 0
            ):
                power[one.channel] = 0.0
        self._latest.append(power)
        self._quietest = _quieter(self._quietest, power)
        for stretch in self._open:
            if look.from_s * self.rate >= stretch.start:
                stretch.quietest = _quieter(stretch.quietest, power)

    def _no_looks(self) -> Floats:
        return np.full((QUIET_LOOKS, self.channels), np.inf)

    def _lately(self) -> Floats:
        """The quietest looks of the last seconds."""
        return np.sort([*self._no_looks(), *self._latest], axis=0)[:QUIET_LOOKS]

    def _rest(self, wanted: Wanted, stretch: _Sounding | None, whole: bool) -> Rest:
        """How the channel rested: at all, or since the sound was asked for."""
        channel = wanted.channel
        if stretch is None or channel is None or channel >= self.channels:
            return Rest(self._next / self.rate)
        quiet = self._quietest if whole else stretch.quietest
        rose = not whole and self._next - stretch.start < SETTLE_S * self.rate
        return Rest(
            self._next / self.rate,
            _resting(quiet[-1, channel]),
            _resting(stretch.before[-1, channel]) if rose else None,
        )


def _bursts(gap: Finding, phone: Finding) -> bool:
    """Whether what seems to be missing is only what is between the bursts of a phone."""
    then = gap.from_s <= phone.to_s + PHONE_S and gap.to_s >= phone.from_s - PHONE_S
    return gap.kind == "dropout" and gap.confidence < 1.0 and gap.channel == phone.channel and then


def _quieter(kept: Floats, power: Floats) -> Floats:
    return np.sort([*kept, power], axis=0)[:QUIET_LOOKS]


def _resting(power: float) -> float | None:
    """Level of the loudest of the quiet looks, dBFS by AES17; None when there were too few."""
    return level(power) if np.isfinite(power) else None

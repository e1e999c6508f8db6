"""Hum, buzz and ripple: one mains frequency over all channels, judged in the quietest looks of every ten seconds.

In ten seconds a line is usually left alone for one, and a fault that begins when a source is plugged in is not hidden by
the quieter minute before. What is kept per channel is a stretch of six looks and one record of each kind.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from showday.sound import mains_words
from showday.sound.crystal import ALONE_PPM, BESIDE_PPM, Exactness, exactness
from showday.sound.mains_comb import Fit
from showday.sound.mains_looks import Looks
from showday.sound.mains_verdict import (
    GENERATOR_LINES,
    LEAST_LOOKS,
    Verdict,
    describe,
    is_family,
    is_steady,
    may_be_family,
    nominal,
    on_grid,
    random_hz,
)
from showday.sound.medians import medians
from showday.sound.model import Block, Finding, Floats
from showday.sound.windows import Window, Windows, cleaned

STRETCH_S = 10.0
SAME_HZ = 0.03
"""Two channels share a mains frequency within this (a grid has one frequency at a time; measured spread under 0.02 Hz)."""
OTHER_HZ = 0.02
"""A clock is told from mains by this difference."""
NEAR_S = 1.0
"""Mains that moves must be proven so near in time to be looked for on another channel."""
SHARED_DB = -15.0
"""Where the frequency is proven elsewhere one line is enough, but not one that drowns in the rest."""
APART_HZ, FEW = 1.5, 3
"""Mains further apart is of two places; asked where at least so many channels show it (own choice)."""
MOST_LOOKS = 2 / 3
"""Share of the looks that must show it (own choice)."""
ALIKE_DB = 3.0
"""A family that one stretch gives another name is the same when it is as loud: a dimmer that comes up is louder (own
choice)."""
MANY_STRETCHES = 4
"""From so many judged stretches on, one alone is believed only at a grid's frequency."""


@dataclass(slots=True)
class _Record:
    """What a channel showed so far, of one kind."""

    loudest: Verdict
    from_s: float
    to_s: float
    stretches: int
    f0_sum: float
    exact: bool

    @property
    def f0(self) -> float:
        """The mean over the stretches."""
        return self.f0_sum / self.stretches

    def add(self, verdict: Verdict) -> None:
        self.from_s, self.to_s = min(self.from_s, verdict.from_s), max(self.to_s, verdict.to_s)
        self.stretches += 1
        self.f0_sum += verdict.f0
        self.exact &= verdict.exact
        if verdict.confidence > self.loudest.confidence:
            self.loudest = verdict


@dataclass(slots=True)
class _Alone:
    """What a channel shows by itself, in the state of its looks with this number."""

    version: int
    verdict: Verdict | None = None
    exact: Exactness | None = None
    f0: Floats = field(default_factory=lambda: np.zeros(0))
    from_s: Floats = field(default_factory=lambda: np.zeros(0))
    unsure: Verdict | None = None
    """What it may be, when it is no verdict."""


Heard = dict[int, Verdict]


class Mains:
    """Finds mains families on every channel. Feed blocks, or looks from a `Windows` that others use too."""

    def __init__(self, rate: int, channels: int) -> None:
        self.channels = channels
        self._windows = Windows(rate, channels)
        self._rate = self._windows.rate
        self._looks = Looks(self._rate, self._windows.length, channels)
        self._alone: dict[int, _Alone] = {}
        self._stretch_from: float | None = None
        self._judged = 0
        self._known: list[dict[str, _Record]] | None = None
        self._doubted: list[dict[str, _Record]] = []
        self._unsure: list[dict[str, _Record]] = [{} for _ in range(channels)]
        self._records: list[dict[str, _Record]] = [{} for _ in range(channels)]

    def feed(self, block: Block) -> None:
        """Listen to a block."""
        for window in self._windows.feed(cleaned(block)):
            self.take(window)

    def take(self, window: Window) -> None:
        """Listen to a look."""
        self._known = None
        if self._stretch_from is not None and window.from_s >= self._stretch_from + STRETCH_S:
            self._note(self._records, self._judge())
            self._note(self._unsure, self._may_be())
            self._judged += 1
            self._looks.clear()
            self._stretch_from = None
        if self._stretch_from is None:
            self._stretch_from = window.from_s
        self._looks.take(window)

    def findings(self) -> list[Finding]:
        """What has been heard so far, the stretch that is still running included."""
        kept = self._kept()
        return self._told(kept, _middle(kept))

    def doubts(self) -> list[Finding]:
        """What one stretch alone claimed, or may be music, and so is no finding: nobody knows that such a line is clean."""
        kept = self._kept()
        return self._told(self._doubted, _middle(kept))

    def _told(self, kept: list[dict[str, _Record]], shared: float | None) -> list[Finding]:
        count = sum(1 for records in kept for kind in records if kind != "clock_tone")
        return [
            Finding(
                kind,
                channel,
                round(record.loudest.level_dbfs, 1),
                round(_shown_hz(record, shared), 3),
                record.from_s,
                record.to_s,
                round(record.loudest.confidence, 2),
                mains_words.sentence(replace(record.loudest, f0=_shown_hz(record, shared), kind=kind), count),
            )
            for channel, records in enumerate(kept)
            for kind, record in records.items()
        ]

    @property
    def mains_hz(self) -> float | None:
        """The mains frequency of this place, or None if no channel shows it."""
        return _middle(self._kept())

    def _kept(self) -> list[dict[str, _Record]]:
        """The records with the running stretch, worked out once for each new look."""
        if self._known is None:
            records = [{kind: replace(record) for kind, record in each.items()} for each in self._records]
            self._note(records, self._judge())
            unsure = [{kind: replace(record) for kind, record in each.items()} for each in self._unsure]
            self._note(unsure, self._may_be())
            pairs = zip(records, unsure, strict=True)
            self._doubted = [_settle(each, self._judged + 1) | doubts for each, doubts in pairs]
            self._known = records
        return self._known

    def _note(self, records: list[dict[str, _Record]], heard: Heard) -> None:
        for channel, verdict in heard.items():
            record = records[channel].get(verdict.kind)
            if record is None:
                records[channel][verdict.kind] = _Record(
                    verdict, verdict.from_s, verdict.to_s, 1, verdict.f0, verdict.exact
                )
            else:
                record.add(verdict)

    def _judge(self) -> Heard:
        """The families of the running stretch, by channel."""
        steady = self._looks.steady()
        alone = self._by_themselves(steady)
        heard = {channel: each.verdict for channel, each in alone.items() if each.verdict is not None}
        heard = _of_one_place(heard)
        heard = {channel: _told_clock(channel, heard, alone[channel].exact) for channel in heard}
        proven = [alone[channel] for channel, verdict in heard.items() if verdict.kind != "clock_tone"]
        if proven:
            others = [channel for channel in np.flatnonzero(steady).tolist() if channel not in heard]
            heard |= self._shared(others, *_track(proven))
        return heard

    def _may_be(self) -> Heard:
        """What the channels of the running stretch may show."""
        alone = self._by_themselves(self._looks.steady())
        return {channel: each.unsure for channel, each in alone.items() if each.unsure is not None}

    def _by_themselves(self, steady: npt.NDArray[np.bool_]) -> dict[int, _Alone]:
        """What each steady channel shows without the others; asked again only when its looks have changed."""
        hopeful = np.flatnonzero(steady & self._looks.hopeful()).tolist()
        version = self._looks.version.tolist()
        asked = [c for c in hopeful if c not in self._alone or self._alone[c].version != version[c]]
        self._looks.prepare(asked)
        for channel in asked:
            self._alone[channel] = self._found(channel, version[channel])
        return {channel: self._alone[channel] for channel in hopeful}

    def _found(self, channel: int, version: int) -> _Alone:
        fit = self._looks.fit(channel)
        samples, from_s = self._looks.looks(channel)
        if not is_family(fit):
            return _Alone(version, unsure=describe(fit, from_s) if may_be_family(fit) else None)
        verdict = describe(fit, from_s)
        exact = None
        if on_grid(verdict.f0):
            exact = exactness(samples, from_s, self._rate, verdict.order * nominal(verdict.f0), verdict.snr)
        return _Alone(version, verdict, exact, fit.f0, from_s)

    def _shared(self, channels: list[int], times: Floats, track: Floats) -> Heard:
        """The weaker families at the frequency that other channels prove at the same time."""
        moves = track.std() > SAME_HZ
        heard: Heard = {}
        asked = []
        for channel in channels:
            slots = self._looks.slots(channel)
            from_s = self._looks.from_s(channel, slots)
            if moves:
                near = np.abs(times[None, :] - from_s[:, None]).min(axis=1) <= NEAR_S
                slots, from_s = slots[near], from_s[near]
            if len(slots) >= LEAST_LOOKS:
                asked.append((channel, slots, from_s))
        if not asked:
            return heard
        counts = [len(slots) for _, slots, _ in asked]
        expected = np.interp(np.concatenate([from_s for _, _, from_s in asked]), times, track)
        lines = self._looks.lines_near(
            np.repeat([channel for channel, _, _ in asked], counts),
            np.concatenate([slots for _, slots, _ in asked]),
            expected,
        )
        ends = np.cumsum(counts)[:-1]
        for (channel, slots, from_s), line, hz in zip(
            asked, np.split(lines, ends), np.split(expected, ends), strict=True
        ):
            verdict = self._weaker(channel, slots, from_s, hz, track) if line.mean() >= MOST_LOOKS else None
            if verdict is not None:
                heard[channel] = verdict
        return heard

    def _weaker(
        self, channel: int, slots: npt.NDArray[np.intp], from_s: Floats, expected: Floats, track: Floats
    ) -> Verdict | None:
        """The family at the expected frequency, if there is one."""
        fit = self._looks.fit_near(channel, slots, expected)
        lines = fit.present[:, :15].any(axis=1)
        loud = 10 * np.log10(fit.comb / fit.rest + 1e-30) > SHARED_DB
        if (
            not is_steady(fit, proven=track.std() < SAME_HZ)
            or (_same(fit, expected, track) & lines & loud).mean() < MOST_LOOKS
        ):
            return None
        return describe(fit, from_s, shared=True)


def _middle(kept: list[dict[str, _Record]]) -> float | None:
    found = [record.f0 for records in kept for kind, record in records.items() if kind != "clock_tone"]
    return float(np.median(found)) if found else None


def _shown_hz(record: _Record, shared: float | None) -> float:
    """A grid has one frequency: the one that all channels agree on is the best figure for each."""
    if record.loudest.kind == "clock_tone":
        return record.f0 * (2 if record.loudest.even else 1)
    return shared if shared is not None and abs(shared - record.f0) < SAME_HZ else record.f0


def _same(fit: Fit, expected: Floats, track: Floats) -> npt.NDArray[np.bool_]:
    """[W] whether the looks show the expected frequency, as well as their noise lets it be measured."""
    off, random = fit.f0 - expected, random_hz(fit)
    if abs(float(medians(off))) > max(SAME_HZ, 2 * random / np.sqrt(len(off))):
        return np.zeros(len(off), dtype=np.bool_)
    return np.asarray(np.abs(off) < max(SAME_HZ if track.std() < SAME_HZ else 3 * SAME_HZ, 3 * random))


def _of_one_place(heard: Heard) -> Heard:
    """Without the faint ones that are far from the frequency that several channels share: one place has one mains."""
    middle = [verdict.f0 for verdict in heard.values()]
    apart = {channel: np.count_nonzero(np.abs(np.array(middle) - heard[channel].f0) > APART_HZ) for channel in heard}
    return {
        channel: verdict
        for channel, verdict in heard.items()
        if verdict.lines >= GENERATOR_LINES or apart[channel] <= len(heard) / 2 or len(heard) < FEW
    }


def _told_clock(channel: int, heard: Heard, exact: Exactness | None) -> Verdict:
    """The verdict, turned into a clock tone if it is as exact as a crystal: more so when mains is heard elsewhere."""
    verdict = heard[channel]
    if exact is None:
        return verdict
    beside = any(
        abs(other.f0 - verdict.f0) > OTHER_HZ and on_grid(other.f0) and nominal(other.f0) == nominal(verdict.f0)
        for other in heard.values()
    )
    if exact.within(BESIDE_PPM if beside else ALONE_PPM):
        return replace(verdict, kind="clock_tone", exact=True)
    return verdict


def _track(proven: list[_Alone]) -> tuple[Floats, Floats]:
    """Times and mains frequency over the stretch, from every channel that proves it."""
    f0 = np.concatenate([each.f0 for each in proven])
    times = np.concatenate([each.from_s for each in proven])
    ordered = f0[np.lexsort((f0, times))]
    each_time, counts = np.unique(times, return_counts=True)
    begins = np.cumsum(counts) - counts
    return each_time, (ordered[begins + (counts - 1) // 2] + ordered[begins + counts // 2]) / 2


def _settle(records: dict[str, _Record], judged: int) -> dict[str, _Record]:
    """Take out and return what one stretch alone claims, and let mains take in a moment at which it looked like a clock, or
    a hum a moment in which a sound that lay over it made it look like a buzz."""
    doubted = {}
    for kind, record in list(records.items()):
        if judged >= MANY_STRETCHES and record.stretches == 1 and not on_grid(record.loudest.f0):
            doubted[kind] = records.pop(kind)
    if "clock_tone" in records and len(records) > 1:
        clock = records["clock_tone"]
        other = max((kind for kind in records if kind != "clock_tone"), key=lambda kind: records[kind].stretches)
        if abs(records[other].loudest.f0 - clock.loudest.f0) < OTHER_HZ:
            _take_in(records, other, "clock_tone")
    for kind in [kind for kind in records if kind != "clock_tone" and records[kind].stretches == 1]:
        others = [other for other in records if other not in (kind, "clock_tone") and records[other].stretches > 1]
        most = max(others, key=lambda other: records[other].stretches, default="")
        if most and abs(records[most].loudest.level_dbfs - records[kind].loudest.level_dbfs) < ALIKE_DB:
            _take_in(records, most, kind)
    return doubted


def _take_in(records: dict[str, _Record], kept: str, taken: str) -> None:
    other = records.pop(taken)
    records[kept].add(replace(other.loudest, from_s=other.from_s, to_s=other.to_s, confidence=0.0))

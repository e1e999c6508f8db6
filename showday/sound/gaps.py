"""Sound that is missing: digital silence, lines on which nothing ever sounds, and gaps inside a sound.

Nothing analogue is exactly zero for long, so runs of zeros are certain and exact to the sample; what was switched off is
not told by them. Where the host lost frames nothing is called a gap: that is the computer, never a cable.
"""

from __future__ import annotations

from collections import deque

import numpy as np
import numpy.typing as npt

from showday.sound.activity import LEAST_DB, LOWEST_DB, RISE_DB, Energies, Floor, dbfs
from showday.sound.breaks import FRAME_S, MEMORY, SAMPLES_FRAMES, Breaks
from showday.sound.gap_words import ALIKE, UNLIKE, YOUNG, dead_line, digital_gap, silence, sound_break
from showday.sound.lately import Lately
from showday.sound.model import Block, Finding, Floats, Samples
from showday.sound.recent import Recent
from showday.sound.runs import Mask, Places, Span, Spans
from showday.sound.together import Together
from showday.sound.zeros import Zeros

LEAST_ZEROS = 48
"""Samples of exact zeros in a row that are a gap, and at least 1 ms of them: no converter's noise has so many, and a tone
of 20 Hz at -60 dBFS stays in the middle step of 16 bits for 0.25 ms."""

SILENCE_S = 1.0
"""Seconds of zeros that are digital silence and no gap; a choice."""

LEAST_S = 3.0
"""Seconds heard before a line is said to be dead; a choice, as long as a noise floor takes."""

ALIKE_DB = 6.0
"""A sound that comes back as loud as it was broke off; another loudness may be the next note. A choice."""

BROKEN_ALIKE_DB = 10.0
"""The same for a sound that broke off as suddenly as a contact opens, and so came back: next notes seldom do. A choice."""

_LOST_S = 0.05
"""A gap that close to frames lost by the host is theirs; a choice, longer than the buffers of a sound device."""

_TOGETHER_S = 1.0
"""Seconds between gaps that are told as one; a choice."""

_AT_ONCE_S = 0.03
"""Sounds that break off on several lines within this time are the sound itself: 10 m of air; a choice."""

_BESIDE = 3
"""Levels of 2 ms on each side of a run of zeros that tell whether it is inside a sound."""

_YOUNG_S, _YOUNG = 0.1, 10
"""No source stops by itself within 0.1 s of its beginning, so zeros there are doubtful even if nothing sounds behind them:
it was silent for the 20 ms before that. A choice, shorter than a word."""

_LOOK_FRAMES = 50
"""Levels between two searches for breaks, 0.1 s; the most that is taken from a block at once is as much again."""


class Gaps:
    """Fed with blocks; memory is a second of levels and a few spans for each channel."""

    def __init__(self, rate: int, channels: int) -> None:
        self._rate, self._channels = rate, channels
        self._energies = Energies(rate, channels, FRAME_S)
        self._floor = Floor(channels, round(0.05 / FRAME_S))
        self._recent = Recent(channels, MEMORY + 4 * _LOOK_FRAMES)
        self._samples = Lately((SAMPLES_FRAMES + 4 * _LOOK_FRAMES) * self._energies.length)
        self._breaks, self._unlooked = Breaks(rate, self._energies.length, self._recent, self._samples), 0
        self._zeros, self._asked = Zeros(channels, max(LEAST_ZEROS, rate // 1_000)), np.zeros((0, 3), np.int64)
        self._near, together = int(rate * _AT_ONCE_S), int(rate * _TOGETHER_S)
        self._silence = [Spans(0) for _ in range(channels)]
        self._digital, self._digital_unlike, self._digital_young, self._broken, self._broken_unlike = (
            [Spans(together) for _ in range(channels)] for _ in range(5)
        )
        self._common: deque[tuple[int, int, int]] = deque(maxlen=64)
        """Runs of zeros that most channels have at once, also where nothing sounds: first sample, end, channels."""
        self._lost: deque[int] = deque(maxlen=64)
        self._top: Floats = np.full(channels, LOWEST_DB)
        self._start = self._base = self._next = -1

    def feed(self, block: Block) -> None:
        """Take the next block."""
        if self._start < 0:
            self._start = self._base = self._next = block.first
        if block.overflow or block.first != self._next:
            self._lose(block.first)
        most = 2 * _LOOK_FRAMES * self._energies.length
        for at in range(0, len(block.samples), most):
            piece = Block(block.samples[at : at + most], block.first + at)
            self._follow_levels(piece)
            self._follow_zeros(piece.samples, piece.first)
        self._next = block.first + len(block.samples)

    def _lose(self, first: int) -> None:
        """The host lost frames before `first`: levels are numbered anew from there."""
        self._look()
        self._lost.append(first)
        self._asked = self._asked[:0]
        self._energies, self._base = Energies(self._rate, self._channels, FRAME_S), first
        self._recent.restart()
        self._samples.restart()
        self._breaks.restart()

    def _follow_levels(self, block: Block) -> None:
        self._samples.add(block.samples)
        _, energies = self._energies.feed(block)
        if not len(energies):
            return
        self._floor.feed(energies)
        self._recent.add(dbfs(energies))
        self._unlooked += len(energies)
        if self._unlooked >= _LOOK_FRAMES:
            self._look()

    def _look(self) -> None:
        """Search the levels that are new."""
        new = self._recent.between(self._recent.end - self._unlooked - 2, self._recent.end)
        self._unlooked = 0
        one, two, three = new[:-2], new[1:-1], new[2:]
        if len(one):
            two_of_three = np.maximum(
                np.minimum(two, np.maximum(one, three)), np.minimum(one, three)
            )  # no single click
            np.maximum(self._top, two_of_three.max(axis=0), out=self._top)
        for found in self._breaks.look():
            alike = found.lasting and abs(found.before_db - found.after_db) <= BROKEN_ALIKE_DB
            start, end = self._base + found.start, self._base + found.end
            if not self._is_lost(np.array([start]), np.array([end]))[0]:
                (self._broken if alike else self._broken_unlike)[found.channel].add(start, end - start)

    def _follow_zeros(self, samples: Samples, first: int) -> None:
        found = self._zeros.feed(samples, first)
        long = found[:, 2] >= self._rate * SILENCE_S
        for channel, start, frames in found[long].tolist():
            self._silence[channel].add(start, frames)
        self._asked = np.concatenate([self._asked, found[~long]])
        if not len(self._asked):
            return
        after = -(-(self._asked[:, 1] + self._asked[:, 2] - self._base) // self._energies.length)
        ready = after + _BESIDE <= self._recent.end
        if ready.any():
            self._judge(self._asked[ready], after[ready])
            self._asked = self._asked[~ready]

    def _judge(self, runs: Places, after: npt.NDArray[np.int64]) -> None:
        """Keep the runs of zeros that are inside a sound; `after` is the number of the first level behind each."""
        runs, after = runs[order := np.argsort(runs[:, 1], kind="stable")], after[order]
        channel, start, frames = runs.T
        # gaps that follow each other closely may be judged together, and are not one
        for part in np.split(np.arange(len(start)), np.flatnonzero(np.diff(start) > LEAST_ZEROS) + 1):
            self._note_common(start[part], (start + frames)[part])
        # the level in which the sound stops is its own, unless it sounds again in the same one
        before = np.minimum((start - 1 - self._base) // self._energies.length, after - 2) - _BESIDE
        loud_before = self._recent.loudest(before, _BESIDE + 1, channel)
        loud_after = self._recent.loudest(after, _BESIDE, channel)
        long_before = self._recent.loudest(before - round(_YOUNG_S / FRAME_S), _YOUNG, channel)
        inside = (loud_before >= LEAST_DB) & ((loud_after >= LEAST_DB) | (long_before < LEAST_DB))
        inside &= ~self._is_lost(start, start + frames)
        for at in np.flatnonzero(inside).tolist():
            if loud_after[at] < LEAST_DB:
                spans = self._digital_young
            elif abs(loud_before[at] - loud_after[at]) <= ALIKE_DB:
                spans = self._digital
            else:
                spans = self._digital_unlike
            spans[channel[at]].add(int(start[at]), int(frames[at]))

    def _note_common(self, start: npt.NDArray[np.int64], end: npt.NDArray[np.int64]) -> None:
        """Note a gap that most channels have: their own noise, too, has samples that are zero at its edges."""
        if 2 * len(start) <= self._channels or self._channels < 2:
            return
        first, last = int(np.median(start)), int(np.median(end))
        near = (np.abs(start - first) <= LEAST_ZEROS) & (np.abs(end - last) <= LEAST_ZEROS)
        if 2 * np.count_nonzero(near) > self._channels:
            self._common.append((first, last, int(np.count_nonzero(near))))

    def _had_by(self, span: Span) -> int:
        """How many channels had the gaps of a span, as far as most had one."""
        return max((count for start, end, count in self._common if start < span.end and end > span.start), default=0)

    def _is_lost(self, start: npt.NDArray[np.int64], end: npt.NDArray[np.int64]) -> Mask:
        """Whether the host lost frames at or near these stretches."""
        near = int(_LOST_S * self._rate)
        lost = np.array(self._lost, np.int64)[:, None]
        touched: Mask = np.any((lost >= start - near) & (lost <= end + near), axis=0)
        return touched

    def findings(self) -> list[Finding]:
        """What was found so far, channel by channel."""
        self._look()
        zeros: list[list[Span]] = [list(spans.found) for spans in self._silence]
        for channel, start, frames in self._zeros.pending(int(self._rate * SILENCE_S)).tolist():
            zeros[channel].append(Span(start, start + frames, 1, frames, frames))
        digital = (self._digital, self._digital_unlike, self._digital_young)
        gaps = Together([[s for kept in digital for s in kept[c].found] for c in range(self._channels)], 1)
        broken = (self._broken, self._broken_unlike)
        breaks = Together([[s for kept in broken for s in kept[c].found] for c in range(self._channels)], self._near)
        dead = self._dead()
        found: list[Finding] = []
        for channel in range(self._channels):
            for span in zeros[channel]:
                found.append(silence(channel, span, self._rate, lasts=span.end == self._next))
            found += dead.get(channel, [])
            for kept, how in zip(digital, (ALIKE, UNLIKE, YOUNG), strict=True):
                for span in kept[channel].found:
                    at_once = max(gaps.count(span), self._had_by(span))
                    found.append(digital_gap(channel, span, self._rate, at_once, how))
            for kept, alike in zip(broken, (True, False), strict=True):
                for span in kept[channel].found:
                    shared = breaks.count(span) > 1
                    found.append(sound_break(channel, span, self._rate, alike=alike, shared=shared))
        return found

    def _dead(self) -> dict[int, list[Finding]]:
        """Lines on which nothing sounded so far while others did."""
        start, end = self._start / self._rate, self._next / self._rate
        floor = self._floor.level()
        quiet: Mask = (self._top < LEAST_DB) | ((self._top < floor + RISE_DB) & (floor < LEAST_DB))
        if end - start < LEAST_S or quiet.all():
            return {}
        noisy = np.flatnonzero(quiet & (self._top > LOWEST_DB)).tolist()
        return {channel: [dead_line(channel, float(floor[channel]), start, end)] for channel in noisy}

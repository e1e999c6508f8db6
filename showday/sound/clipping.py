"""Clipping: runs at digital full scale, exact to the sample, and tops that are flat below it.

At full scale the finding is certain. Flat tops below it come from something in front of the converter that ran out of
voltage, but square waves and overdriven amplifiers look the same: the finding says what was seen, not what is broken.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from showday.sound.durations import length
from showday.sound.folded import counts, highest, lowest, means
from showday.sound.model import Block, Finding, Floats, Samples
from showday.sound.runs import Mask, Runs, Span, Spans
from showday.sound.windows import finite

FULL_SCALE = 1.0 - 2.0**-23
"""The largest 24-bit sample, 0x7FFFFF; coarser samples need their own (`SoundFile.full_scale`)."""

LEAST_RUN = 3
"""Consecutive samples at full scale that count as clipped; common practice of level meters."""

TOP, SHOULDER = 0.97, 0.88
"""Parts of the peak whose samples are counted against each other. A sine has 1.0 samples in the top for one in the
shoulder (arcsine distribution), a triangle 0.33."""

FLAT = 1.5
"""Samples in the top for one in the shoulder that count as flat: 54 of 58 undamaged recordings have at most 1.2."""

LEAST_TOPS = 4
"""Separate flat tops in one stretch: single notes have one, clipped drum hits seven and more (measured)."""

LEAST_PEAK = 10 ** (-30 / 20)
"""Peak below which nothing is called flat, -30 dBFS; a choice: bursts of radio noise are flat, too."""

_STRETCH_S = 0.5
"""Seconds judged at once for flat tops; a choice, longer than a hit and shorter than a phrase."""

_TOGETHER_S = 1.0
"""Seconds between clipped places that are told as one; a choice."""


class Clipping:
    """Fed with blocks; memory is half a second of sound and a few spans for each channel."""

    def __init__(self, rate: int, channels: int, full_scale: float = FULL_SCALE) -> None:
        self._rate, self._full = rate, np.float32(full_scale)
        self._runs = Runs(channels)
        self._digital = [Spans(int(rate * _TOGETHER_S)) for _ in range(channels)]
        self._flat = [Spans(int(rate * _TOGETHER_S)) for _ in range(channels)]
        self._tops: Floats = np.zeros(channels)
        self._stretch: Samples = np.zeros((max(1, int(rate * _STRETCH_S)), channels), np.float32)
        self._filled = self._next = 0

    def feed(self, block: Block) -> None:
        """Take the next block."""
        self._next = block.first + len(block.samples)
        if self._runs.open or _reaches(block.samples, self._full):
            full = np.abs(block.samples) >= self._full
            for channel, start, frames in self._runs.feed(full, block.first, LEAST_RUN).tolist():
                self._digital[channel].add(start, frames)
        else:
            self._runs.skip(block.first, len(block.samples))
        taken = 0
        while taken < len(block.samples):
            room = len(self._stretch) - self._filled
            piece = block.samples[taken : taken + room]
            self._stretch[self._filled : self._filled + len(piece)] = piece
            self._filled += len(piece)
            taken += len(piece)
            if self._filled == len(self._stretch):
                for channel, top in self._flat_tops().items():
                    self._flat[channel].add(block.first + taken - self._filled, self._filled)
                    self._tops[channel] = max(self._tops[channel], top)
                self._filled = 0

    def _flat_tops(self) -> dict[int, float]:
        """Channels with flat tops in the stretch so far, and their peaks; a direct voltage under the sound is taken away
        first."""
        stretch = self._stretch[: self._filled]
        highs, lows = highest(stretch), lowest(stretch)
        # what is no number is in no peak, and is looked at
        loud = np.flatnonzero(~(np.maximum(highs, -lows) < LEAST_PEAK))
        if not len(loud):
            return {}
        sound = finite(stretch[:, loud])
        size = np.abs(sound - means(sound).astype(np.float32))
        loudest = highest(size)
        top = size >= np.float32(TOP) * loudest
        inside = counts(top)
        shoulder = counts(size >= np.float32(SHOULDER) * loudest) - inside
        flat = (loudest >= LEAST_PEAK) & (inside > FLAT * (shoulder + 1))
        several = [at for at in np.flatnonzero(flat).tolist() if _tops(top[:, at]) >= LEAST_TOPS]
        return {int(loud[at]): float(np.abs(sound[:, at]).max()) for at in several}

    def findings(self) -> list[Finding]:
        """What was found so far, channel by channel; asking changes nothing of what will be found."""
        running = self._flat_tops() if self._filled >= len(self._stretch) // 10 else {}
        going_on: list[list[Span]] = [[] for _ in self._digital]
        for channel, start, frames in self._runs.pending(LEAST_RUN).tolist():
            going_on[channel] = [Span(start, start + frames, 1, frames, frames)]
        found = []
        for channel, (digital, flat) in enumerate(zip(self._digital, self._flat, strict=True)):
            full = digital.found + going_on[channel]
            found += [self._told(channel, span) for span in full]
            cut, top = flat.found, max(self._tops[channel], running.get(channel, 0.0))
            if channel in running:
                cut = flat.with_one(self._next - self._filled, self._filled)
            found += self._told_flat(channel, [span for span in cut if not _touches(span, full)], top)
        return found

    def _told(self, channel: int, span: Span) -> Finding:
        times = "once" if span.events == 1 else f"{span.events:,} times"
        sentence = (
            f"Clipped at full scale {times}, up to {length(span.longest / self._rate)} at a stretch: "
            "turn the gain down."
        )
        sure = 1.0 if span.events > 1 or span.longest > LEAST_RUN else 0.8
        start, end = span.start / self._rate, span.end / self._rate
        return Finding("clipping", channel, None, None, start, end, sure, sentence)

    def _told_flat(self, channel: int, spans: list[Span], top: float) -> Iterator[Finding]:
        for span in spans:
            level = round(20 * np.log10(top), 1) + 0.0
            sentence = (
                f"Peaks look cut flat at {level:.1f} dBFS, below full scale: something in front of the converter "
                "may clip. Turn the source or the DI down and listen; a distorted sound looks the same."
            )
            sure = 0.6 if span.events > 1 else 0.4
            yield Finding(
                "clipping", channel, None, None, span.start / self._rate, span.end / self._rate, sure, sentence
            )


def _reaches(samples: Samples, full_scale: np.float32) -> bool:
    """Whether any sample is at full scale, either way."""
    return bool(len(samples)) and bool(samples.max() >= full_scale or samples.min() <= -full_scale)


def _tops(top: Mask) -> int:
    """How many runs of True there are in [frames]."""
    return int(np.count_nonzero(top[1:] & ~top[:-1])) + int(top[0])


def _touches(span: Span, others: list[Span]) -> bool:
    return any(span.start < other.end and other.start < span.end for other in others)

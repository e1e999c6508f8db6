"""Fifty milliseconds at a time: power and peak of every channel, for meters, floors and whoever looks for quiet places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showday.sound.folded import highest
from showday.sound.model import Block, Floats, Samples

PIECE_S = 0.05
"""Length of a piece; a choice: a period of 43 Hz fits twice, and a gap between two words is longer."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One piece. The samples are only on loan: they may be a view of the block."""

    first: int
    """Index of the first frame."""
    samples: Samples
    """[frames, channels], without what is no number."""
    power: Floats
    """[channels] mean square."""
    peak: Floats
    """[channels] largest magnitude."""
    fresh: bool
    """Frames are missing before it, or it is the very first."""


class Pieces:
    """Blocks in, pieces out; what is shorter than a piece waits, and is dropped where frames are missing.

    The blocks are cleaned (`windows.cleaned`).
    """

    def __init__(self, rate: int, channels: int) -> None:
        self.length = max(2, round(rate * PIECE_S))
        """Frames in a piece."""
        self._ones = np.full(self.length, 1 / self.length, dtype=np.float32)
        self._square: Samples = np.zeros((self.length, channels), dtype=np.float32)
        self._rest: Samples = np.zeros((0, channels), dtype=np.float32)
        self._next: int | None = None
        self._fresh = True

    def feed(self, block: Block) -> list[Piece]:
        """The pieces that this block completes."""
        if block.first != self._next or block.overflow:
            self._rest, self._fresh = self._rest[:0], True
        self._next = block.first + len(block.samples)
        samples = block.samples
        held = len(self._rest)
        first = block.first - held
        if held + len(samples) < self.length:
            self._rest = np.concatenate((self._rest, samples))
            return []
        made = []
        at = 0
        if held:
            at = self.length - held
            made.append(self._piece(np.concatenate((self._rest, samples[:at])), first))
        while at + self.length <= len(samples):
            made.append(self._piece(samples[at : at + self.length], block.first + at))
            at += self.length
        self._rest = samples[at:].copy()
        return made

    def _piece(self, samples: Samples, first: int) -> Piece:
        square = np.square(samples, out=self._square)
        power = np.asarray(self._ones @ square, dtype=np.float64)
        peak = np.sqrt(highest(square).astype(np.float64))
        fresh, self._fresh = self._fresh, False
        return Piece(first, samples, power, peak, fresh)

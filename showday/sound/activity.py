"""When a channel sounds: energies of 5 ms, and the floor below them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from showday.sound.model import Block, Floats, Samples
from showday.sound.windows import finite

FRAME_S = 0.005
"""Length of one energy, s; a choice: short against a hit, long against a sample."""

RISE_DB, LEAST_DB = 10.0, -60.0
"""A channel sounds this far above its floor and above this level in dBFS; chosen on recordings of single hits, whose
bleed into silent lines rose by 2 dB at most."""

FLOOR_PERCENT = 20.0
"""Percentile of 50-ms powers taken for the floor: for noise it reads 0.1 dB low (chi-squared distribution)."""

LOWEST_DB = -160.0
"""What silence counts as, below the quantisation floor of 24 bits (-146.26 dBFS)."""

_STEP_DB = 0.1
_BINS = 1_801
_FLOOR_FRAMES = 10
"""Energies of 5 ms in one power of the floor: 50 ms."""

_AES17_DB = 20 * np.log10(np.sqrt(2.0))
"""AES17: a full-scale sine, whose mean square is 1/2, has 0 dBFS."""


def dbfs(mean_squares: npt.ArrayLike) -> Floats:
    """AES17 levels of mean squares, never below LOWEST_DB."""
    power = np.asarray(mean_squares, np.float64)
    levels: Floats = np.maximum(10 * np.log10(np.maximum(power, 1e-30)) + _AES17_DB, LOWEST_DB)
    return levels


class Energies:
    """Cuts a stream into frames of equal length and gives their mean squares."""

    def __init__(self, rate: int, channels: int, frame_s: float = FRAME_S) -> None:
        self.length = max(1, round(rate * frame_s))
        """Samples in one frame."""
        self._ones = np.ones((1, self.length), np.float32)
        self._sum: Floats = np.zeros(channels)
        self._filled = 0
        self._next: int | None = None

    def feed(self, block: Block) -> tuple[int, Floats]:
        """The sample at which the first full frame begins, and the mean squares as [frames, channels].

        A frame holds no samples from both sides of a gap in the stream. What is no number counts as silence.
        """
        if block.first != self._next:
            self._sum, self._filled = np.zeros_like(self._sum), 0
        self._next = block.first + len(block.samples)
        first = block.first - self._filled
        with np.errstate(over="ignore", invalid="ignore"):
            whole, rest = self._cut(block.samples)
        if not (np.isfinite(whole).all() and np.isfinite(rest).all()):
            whole, rest = self._cut(finite(block.samples))
        self._sum, self._filled = rest, (self._filled + len(block.samples)) % self.length
        return first, whole / self.length

    def _cut(self, samples: Samples) -> tuple[Floats, Floats]:
        """Sums of squares of the frames that are full now, and of the one that is not."""
        needed = (self.length - self._filled) % self.length
        head = self._sum + np.einsum("ij,ij->j", samples[:needed], samples[:needed])
        if self._filled + len(samples) < self.length:
            return np.zeros((0, len(head))), self._sum + np.einsum("ij,ij->j", samples, samples)
        count = (len(samples) - needed) // self.length
        cut = samples[needed : needed + count * self.length].reshape(count, self.length, len(head))
        rest = samples[needed + count * self.length :]
        sums = np.matmul(self._ones, np.square(cut))[:, 0].astype(np.float64)
        if needed:
            sums = np.concatenate([head[None], sums])
        return sums, np.einsum("ij,ij->j", rest, rest).astype(np.float64)


class Floor:
    """The noise floor of each channel over everything fed, from a histogram: memory does not grow."""

    def __init__(self, channels: int, frames: int = _FLOOR_FRAMES) -> None:
        self._frames = frames
        self._counts: npt.NDArray[np.int64] = np.zeros((channels, _BINS), np.int64)
        self._rest: Floats = np.zeros((0, channels))
        self._level: Floats | None = None

    def feed(self, energies: Floats) -> None:
        """Take the next energies, [frames, channels], of which `frames` make 50 ms."""
        every = np.concatenate([self._rest, energies])
        count = len(every) // self._frames
        self._rest = every[count * self._frames :]
        if not count:
            return
        powers = every[: count * self._frames].reshape(count, self._frames, every.shape[1]).mean(axis=1)
        bins = np.clip(np.round((dbfs(powers) - LOWEST_DB) / _STEP_DB), 0, _BINS - 1).astype(np.int64)
        rows = np.broadcast_to(np.arange(every.shape[1]), bins.shape)
        np.add.at(self._counts, (rows, bins), 1)
        self._level = None

    def level(self) -> Floats:
        """The floor of each channel in dBFS; LOWEST_DB before the first 50 ms."""
        if self._level is None:
            below = np.cumsum(self._counts, axis=1)
            total = below[:, -1:]
            at = np.argmax(below >= np.maximum(1, total * FLOOR_PERCENT / 100), axis=1)
            self._level = np.where(total[:, 0] > 0, LOWEST_DB + at * _STEP_DB, LOWEST_DB)
        return self._level

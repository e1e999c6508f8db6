"""One-second looks at the band below 5 kHz, every half second, for whoever searches steady lines."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from showday.sound.decimate import Decimator
from showday.sound.model import Block, Samples

HOP_SHARE = 2
"""Looks overlap by half. One second parts lines that are 43 Hz apart and follows a generator that wanders by 0.3 Hz/s."""
GAP_S = 0.02
"""Seconds of exact zeros that make a look useless: nothing analogue is that quiet, so the channel was off or muted."""
LOUDEST = 100.0
"""Largest amplitude believed; a float file may hold more than full scale, but not by 40 dB."""


def finite(samples: Samples) -> Samples:
    """The samples, with what is no number or absurdly large silenced."""
    with np.errstate(over="ignore", invalid="ignore"):
        # one product over all tells it mostly, several times as quick as a look at each
        flat = samples.reshape(-1)
        power = float(np.dot(flat, flat))
    if power <= LOUDEST**2 or (np.isfinite(power) and max(flat.max(), -flat.min()) <= LOUDEST):
        return samples
    kept = np.nan_to_num(samples, nan=0.0, posinf=0.0, neginf=0.0)
    return np.where(np.abs(kept) > LOUDEST, np.float32(0), kept)


def cleaned(block: Block) -> Block:
    """The block with `finite` samples."""
    return replace(block, samples=finite(block.samples))


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """One look: a second of the lower-rate signal."""

    index: int
    """Half seconds since the start, counted on through gaps."""
    from_s: float
    samples: Samples
    """[n, channels] at `Windows.rate`."""
    power: npt.NDArray[np.float32]
    """Mean square of each channel without its mean."""
    gap: npt.NDArray[np.bool_]
    """Channels with a stretch of exact zeros."""


class Windows:
    """Blocks in, looks out; a lost stretch starts a new look. The blocks are `cleaned`."""

    def __init__(self, rate: int, channels: int) -> None:
        self._rate = rate
        self._decimator = Decimator(rate, channels)
        self.rate = self._decimator.rate
        """Hz of the samples in a look."""
        self.length = round(self.rate)
        """Samples in a look."""
        self._hop = self.length // HOP_SHARE
        self._ones = np.ones(self.length, dtype=np.float32)
        self._parts: list[Samples] = []
        self._waiting = 0
        self._start = 0.0
        self._next: int | None = None

    def feed(self, block: Block) -> list[Window]:
        """The looks that this block completes."""
        if self._next is None or block.overflow or block.first != self._next:
            self._restart(block.first)
        self._next = block.first + len(block.samples)
        made = self._decimator.feed(block.samples)
        self._parts.append(made)
        self._waiting += len(made)
        if self._waiting < self.length:
            return []
        held: Samples = np.concatenate(self._parts)
        looks = []
        at = 0
        while len(held) - at >= self.length:
            looks.append(self._look(held[at : at + self.length]))
            at += self._hop
            self._start += self._hop / self.rate
        self._parts = [held[at:].copy()]
        self._waiting = len(held) - at
        return looks

    def _restart(self, first: int) -> None:
        self._decimator.reset()
        self._parts, self._waiting = [], 0
        self._start = first / self._rate

    def _look(self, samples: Samples) -> Window:
        mean = self._ones @ samples / len(samples)
        size = max(1, round(GAP_S * self.rate))
        whole = len(samples) // size * size
        square = np.square(samples[:whole]).reshape(-1, size, samples.shape[1])
        sums = np.matmul(self._ones[:size], square)
        power = np.maximum(sums.sum(axis=0) / whole - mean**2, 0)
        index = round(self._start * HOP_SHARE * self.rate / self.length)
        return Window(index, self._start, samples, power, (sums == 0).any(axis=0))

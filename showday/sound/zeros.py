"""Runs of samples that are exactly zero, exact to the sample, at little cost when there are none or many short ones.

A run of 47 samples and more holds at least one whole piece of 24, counted from the start of the stream; only beside such
pieces the edges are looked for.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from showday.sound.model import Samples
from showday.sound.runs import Mask, Places, Runs

PIECE = 24
"""Samples that are looked at as one."""

LEAST = 2 * PIECE - 1
"""The shortest run that is always found."""


class Zeros:
    """Fed with samples, [frames, channels]; memory is two pieces."""

    def __init__(self, channels: int, least: int) -> None:
        self._least = max(LEAST, least)
        self._runs = Runs(channels)
        self._rest: Samples = np.zeros((0, channels), np.float32)
        self._before: Samples = np.ones((PIECE, channels), np.float32)
        self._lead: Places = np.zeros(channels, np.int64)
        """Zeros before the first whole piece of a run that goes on."""
        self._base = self._next = 0

    def feed(self, samples: Samples, first: int) -> Places:
        """The runs that ended, rows of (channel, first frame, frames). A run does not reach over missing frames."""
        broken = np.zeros((0, 3), np.int64)
        if first != self._next:
            broken = self.pending(self._least)
            self._runs.close(1)
            self._rest, self._base = self._rest[:0], first
            self._before = np.ones_like(self._before)
        self._next = first + len(samples)
        every = np.concatenate([self._rest, samples]) if len(self._rest) else samples
        count = len(every) // PIECE
        if not count:
            self._rest = every.copy()
            return broken
        pieces = every[: count * PIECE].reshape(count, PIECE, every.shape[1])
        found = self._whole(pieces, (self._next - len(every) - self._base) // PIECE)
        self._rest, self._before = every[count * PIECE :].copy(), pieces[-1].copy()
        return np.concatenate([broken, found])

    def _whole(self, pieces: Samples, first: int) -> Places:
        """The runs that end in these pieces, numbered from `first`."""
        likely = (pieces[:, 0] == 0) & (pieces[:, PIECE // 2] == 0)
        if not self._runs.open and not likely.any():
            self._runs.skip(first, len(pieces))
            return np.zeros((0, 3), np.int64)
        zero = likely & ~pieces.any(axis=1)
        ended = self._runs.feed(zero, first, 1)
        channel, start, length = ended.T
        lead = self._led(pieces, first, channel, start)
        behind = _zeros(pieces[start + length - first, :, channel])
        going = self._runs.pending(1)
        self._lead[going[:, 0]] = self._led(pieces, first, going[:, 0], going[:, 1])
        frames = lead + length * PIECE + behind
        every: Places = np.column_stack([channel, self._base + start * PIECE - lead, frames])
        long: Places = every[frames >= self._least]
        return long

    def _led(self, pieces: Samples, first: int, channel: Places, start: Places) -> Places:
        """How many zeros stand right before the pieces at which runs start."""
        at = start - first
        before = np.where(
            (at > 0)[:, None], pieces[np.maximum(at - 1, 0), :, channel], self._before[:, channel].T
        )  # of runs that began earlier the number is known
        return np.where(at >= 0, _zeros(before[:, ::-1]), self._lead[channel])

    def pending(self, least: int) -> Places:
        """The runs that go on, as long as they are by now, and those that ended in the last few samples."""
        channel, start, length = self._runs.pending(1).T
        behind = _zeros(self._rest[:, channel].T)
        frames = self._lead[channel] + length * PIECE + behind
        every: Places = np.column_stack([channel, self._base + start * PIECE - self._lead[channel], frames])
        long: Places = every[frames >= least]
        return long


def _zeros(rows: npt.NDArray[np.float32]) -> Places:
    """How many zeros each row begins with."""
    sound: Mask = rows != 0
    none = ~sound.any(axis=1)
    return np.where(none, rows.shape[1], sound.argmax(axis=1) if rows.shape[1] else 0)

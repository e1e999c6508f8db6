"""The levels of the latest frames, in memory that does not grow."""

from __future__ import annotations

import numpy as np

from showday.sound.model import Floats
from showday.sound.runs import Places


class Recent:
    """Levels in dBFS as [frames, channels], numbered from 0; at least the latest `keep` can be asked for."""

    def __init__(self, channels: int, keep: int) -> None:
        self._keep = keep
        self._held: Floats = np.zeros((2 * keep, channels))
        self._filled = 0
        self.end = 0
        """Frames so far: one past the number of the latest."""

    @property
    def first(self) -> int:
        """Number of the oldest frame that is kept."""
        return self.end - self._filled

    def add(self, levels: Floats) -> None:
        """Take the next frames, `keep` of them at most."""
        if self._filled + len(levels) > len(self._held):
            kept = self._held[self._filled - self._keep : self._filled].copy()
            self._held[: self._keep] = kept
            self._filled = self._keep
        self._held[self._filled : self._filled + len(levels)] = levels
        self._filled += len(levels)
        self.end += len(levels)

    def between(self, start: int, end: int) -> Floats:
        """A view of the frames from `start` up to `end`, as far as they are kept."""
        return self._held[max(0, start - self.first) : max(0, end - self.first)]

    def loudest(self, start: Places, count: int, channel: Places) -> Floats:
        """The largest of `count` frames from each `start` on, each on its own channel; all must be kept.

        Frames before the first one count as the first one.
        """
        rows = np.maximum(start[:, None] + np.arange(count) - self.first, 0)
        levels: Floats = self._held[rows, channel[:, None]].max(axis=1)
        return levels

    def restart(self) -> None:
        """Forget all and number from 0 again."""
        self._filled = self.end = 0

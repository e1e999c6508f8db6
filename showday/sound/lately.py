"""The samples of the last moment, as they came: blocks are kept, not copied, and nobody changes them afterwards."""

from __future__ import annotations

from collections import deque

import numpy as np

from showday.sound.model import Samples


class Lately:
    """Blocks [frames, channels], numbered on from 0; at least the latest `keep` frames can be asked for."""

    def __init__(self, keep: int) -> None:
        self._keep = keep
        self._blocks: deque[tuple[int, Samples]] = deque()
        self._end = 0

    def add(self, samples: Samples) -> None:
        """Take the next frames."""
        self._blocks.append((self._end, samples))
        self._end += len(samples)
        while len(self._blocks) > 1 and self._blocks[1][0] <= self._end - self._keep:
            self._blocks.popleft()

    def of(self, channel: int, start: int, end: int) -> Samples:
        """The frames of one channel from `start` up to `end`, as far as they are kept."""
        parts = [
            block[max(0, start - first) : max(0, end - first), channel]
            for first, block in self._blocks
            if first < end and first + len(block) > start
        ]
        return np.concatenate(parts) if parts else np.zeros(0, np.float32)

    def restart(self) -> None:
        """Forget all and number from 0 again."""
        self._blocks.clear()
        self._end = 0

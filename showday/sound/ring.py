"""Frames on their way from the thread that must never wait to the one that thinks about them.

One thread puts, one other takes, and neither waits for the other. What does not fit is dropped and counted: where it
is missing stands in the next block, so that no gap is ever taken for a fault of a cable.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from showday.sound.model import Block, Samples

SECONDS = 5.0
"""How long whoever takes may be away before frames are dropped; a choice: ten times the longest look of an analyser."""

MOST_BYTES = 64 * 2**20
"""And no more memory than this, as long as a second fits; a choice."""

_BYTES = 4


def frames_to_hold(rate: int, channels: int) -> int:
    """Frames of a ring for a device of this rate (Hz) and so many channels."""
    return max(rate, min(round(SECONDS * rate), MOST_BYTES // (_BYTES * channels)))


class Ring:
    """Holds `frames` frames of `channels` channels; its memory never grows."""

    def __init__(self, channels: int, frames: int) -> None:
        self.lost_frames = 0
        """Frames dropped here, up to the block that was taken last."""
        self.overflows = 0
        """Times that the host said, up to that block, that it had lost frames; it does not say how many."""
        self._held: Samples = np.zeros((frames, channels), np.float32)
        self._put = self._taken = 0
        self._marks: deque[tuple[int, int, bool]] = deque()
        """Where frames are missing: how many were put before, how many are missing, whether the host lost some."""
        self._dropped, self._overflow = 0, False

    @property
    def waiting(self) -> int:
        """Frames that can be taken now."""
        return self._put - self._taken

    def put(self, samples: Samples, overflow: bool = False) -> None:
        """Copy frames in; `overflow` when the host lost some just before them. Only ever called by one thread."""
        size = len(self._held)
        fits = min(len(samples), size - (self._put - self._taken))
        self._overflow = self._overflow or overflow
        if fits and (self._dropped or self._overflow):
            self._marks.append((self._put, self._dropped, self._overflow))
            self._dropped, self._overflow = 0, False
        at = self._put % size
        first = min(fits, size - at)
        self._held[at : at + first] = samples[:first]
        self._held[: fits - first] = samples[first:fits]
        self._dropped += len(samples) - fits
        self._put += fits  # last: from here on the other thread reads them

    def take(self, most: int) -> Block | None:
        """At most so many frames that belong together, in the order they were put; None when there are none.

        `first` of the block counts what was dropped before it. Only ever called by one thread.
        """
        length = min(most, self.waiting)
        if length <= 0:
            return None
        broken = bool(self._marks) and self._marks[0][0] == self._taken
        if broken:
            _, dropped, overflow = self._marks.popleft()
            self.lost_frames += dropped
            self.overflows += overflow
        if self._marks:
            length = min(length, self._marks[0][0] - self._taken)
        at = self._taken % len(self._held)
        length = min(length, len(self._held) - at)
        block = Block(self._held[at : at + length].copy(), self._taken + self.lost_frames, broken)
        self._taken += length
        return block

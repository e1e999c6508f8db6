"""Runs of consecutive samples in a stream of blocks, and events of one kind gathered into a few spans."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

Mask = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int64]

MOST_SPANS = 50
"""Spans kept for one channel; a choice, so that an hour of faults does not fill the memory."""


class Runs:
    """Finds runs of True, channel by channel, also across the edges of blocks."""

    def __init__(self, channels: int) -> None:
        self._open: Places = np.full(channels, -1, np.int64)
        self._next = -1

    @property
    def open(self) -> bool:
        """Whether a run may go on."""
        return bool((self._open >= 0).any())

    def skip(self, first: int, frames: int) -> None:
        """Frames without a run of any interest, while none is open."""
        self._next = first + frames

    def feed(self, mask: Mask, first: int, least: int) -> Places:
        """The runs of `least` and more that ended, rows of (channel, first frame, frames).

        `mask` is [frames, channels]; `first` the frame of its first row. A run does not reach over missing frames.
        """
        broken = self.close(least) if first != self._next else np.zeros((0, 3), np.int64)
        self._next = first + len(mask)
        if not len(mask) or not (mask.any() or (self._open >= 0).any()):
            return broken
        frames, channels = mask.shape
        padded = np.zeros((channels, frames + 2), np.bool_)
        padded[:, 1:-1] = mask.T
        rows, edges = np.nonzero(padded[:, 1:] != padded[:, :-1])
        channel, start, end = rows[::2], edges[::2] + first, edges[1::2] + first
        began = self._open[channel]
        start = np.where((start == first) & (began >= 0), began, start)
        over = np.flatnonzero((self._open >= 0) & ~mask[0])
        ended = np.column_stack([over, self._open[over], first - self._open[over]])
        lasts = end == self._next
        self._open[:] = -1
        self._open[channel[lasts]] = start[lasts]
        inside = np.column_stack([channel, start, end - start])[~lasts]
        every = np.concatenate([ended, inside])
        return np.concatenate([broken, every[every[:, 2] >= least]])

    def close(self, least: int) -> Places:
        """The runs still open, ended here."""
        every = self.pending(least)
        self._open[:] = -1
        return every

    def pending(self, least: int) -> Places:
        """The runs still open, as long as they are by now."""
        channel = np.flatnonzero(self._open >= 0)
        every = np.column_stack([channel, self._open[channel], self._next - self._open[channel]])
        return every[every[:, 2] >= least].astype(np.int64)


@dataclass(slots=True)
class Span:
    """Events close to each other."""

    start: int
    end: int
    """One past the last frame."""
    events: int = 1
    frames: int = 0
    """Frames of the events themselves."""
    longest: int = 0


class Spans:
    """Events of one channel: those less than `gap` frames apart make one span, and never more than `most` are kept."""

    def __init__(self, gap: int, most: int = MOST_SPANS) -> None:
        self.found: list[Span] = []
        self._gap, self._most = gap, most

    def add(self, start: int, frames: int) -> None:
        """One more event; events come in the order of their start."""
        new = Span(start, start + frames, 1, frames, frames)
        if self.found and start - self.found[-1].end < self._gap:
            self._join(self.found[-1], new)
            return
        self.found.append(new)
        if len(self.found) > self._most:
            pairs = range(len(self.found) - 1)
            near = min(pairs, key=lambda i: self.found[i + 1].start - self.found[i].end)
            self._join(self.found[near], self.found.pop(near + 1))

    def with_one(self, start: int, frames: int) -> list[Span]:
        """What `found` would be with one more event."""
        copy = Spans(self._gap, self._most)
        copy.found = [replace(span) for span in self.found]
        copy.add(start, frames)
        return copy.found

    @staticmethod
    def _join(span: Span, new: Span) -> None:
        span.end = max(span.end, new.end)
        span.events += new.events
        span.frames += new.frames
        span.longest = max(span.longest, new.longest)

"""How many channels stop and come back at the same moments: what they share is no cable."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from showday.sound.runs import Places, Span


class Together:
    """The spans of all channels, by channel; they are alike when both edges are `frames` apart at most.

    Sorted once, so that a hundred channels with fifty gaps each are answered for in a moment.
    """

    def __init__(self, spans: Sequence[Sequence[Span]], frames: int) -> None:
        rows = sorted((span.start, span.end, channel) for channel, found in enumerate(spans) for span in found)
        every: Places = np.array(rows, np.int64).reshape(-1, 3)
        self._start, self._end, self._channel = every.T.copy()
        self._frames = frames

    def count(self, span: Span) -> int:
        """Channels with a span like this one, its own included."""
        low, high = np.searchsorted(self._start, (span.start - self._frames, span.start + self._frames + 1))
        near = np.abs(self._end[low:high] - span.end) <= self._frames
        return len(set(self._channel[low:high][near].tolist()))

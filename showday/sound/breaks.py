"""Where a sound breaks off and comes back, as a loose contact does: by levels of 2 ms, without exact zeros.

A gate that closes before the next hit looks the same, so what is found is evidence and no more. Speech, guitars and drums
stop more slowly than that, and plucked strings fade.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showday.sound.activity import LOWEST_DB
from showday.sound.model import Floats
from showday.sound.recent import Recent

FRAME_S = 0.002
"""Length of one level, s; a choice: a contact opens within two of them."""

FALL_DB = 25.0
"""The level falls so far within two frames and comes back as quickly. With this, 16 of 16 gaps made in recordings were
found, and none in speech, guitar or drums."""

LOUD_DB = -45.0
"""Level of the sound that breaks off, dBFS; a choice: softer ones are music and talk from elsewhere."""

BACK_DB = 20.0
"""Within so much of the level before, the sound is there again; a choice, 5 dB less than the fall."""

LEAST_FRAMES = 10
"""20 ms: the shortest break, and how long it must have sounded before and must sound again; shorter ones are crackle."""

LONGEST_FRAMES = 500
"""One second; a choice: after that it is a pause."""

SUDDEN_DB = 10.0
"""The 4 ms next to the break are within so much of the 20 ms next to it, or the sound faded; a choice: the last 4 ms of a
straight fade of 20 ms are 16 dB softer than its beginning. With 14 dB two of 800 recordings of speech and drums were called
broken, with 10 dB none; cuts of a low note just where it crosses zero are missed instead."""

MEMORY = LONGEST_FRAMES + 4 * LEAST_FRAMES
"""Frames that must be kept."""

_OF_WHICH = 7
"""Frames of LEAST_FRAMES that must sound; a choice, for tones of 40 Hz that cross zero."""

_ZERO_DB = LOWEST_DB + 1.0
"""Frames below are exact zeros, which are told by themselves."""


@dataclass(frozen=True, slots=True)
class Break:
    """A sound that stopped and came back."""

    channel: int
    start: int
    """Number of its first frame."""
    end: int
    """One past its last."""
    before_db: float
    """Largest level of the 20 ms before, and of those after."""
    after_db: float


class Breaks:
    """Looks at levels that others keep."""

    def __init__(self, recent: Recent) -> None:
        self._recent = recent
        self._looked = 0
        self._open: dict[int, int] = {}

    def restart(self) -> None:
        """Frames were lost and are numbered anew."""
        self._looked = 0
        self._open.clear()

    def look(self) -> list[Break]:
        """The breaks that ended since the last look, which must not be further back than is kept."""
        self._find_falls()
        found = [self._followed(channel, start) for channel, start in list(self._open.items())]
        return [one for one in found if one is not None]

    def _find_falls(self) -> None:
        """Open a break where a level falls; only frames not looked at before."""
        begin, end = max(self._looked, LEAST_FRAMES), self._recent.end
        self._looked = end
        if begin >= end:
            return
        now = self._recent.between(begin, end)
        before = np.maximum(self._recent.between(begin - 1, end - 1), self._recent.between(begin - 2, end - 2))
        falls = (before - now >= FALL_DB) & (before >= LOUD_DB)
        for channel in np.flatnonzero(falls.any(axis=0)).tolist():
            if channel in self._open:
                continue
            for at in (np.flatnonzero(falls[:, channel]) + begin).tolist():
                sound, reference = self._levels(channel, at - LEAST_FRAMES, at), self._reference(channel, at)
                sudden = sound.max() - reference <= SUDDEN_DB
                if sudden and np.count_nonzero(sound > reference - BACK_DB) >= _OF_WHICH:
                    self._open[channel] = at
                    break

    def _levels(self, channel: int, start: int, end: int) -> Floats:
        return self._recent.between(start, end)[:, channel]

    def _reference(self, channel: int, at: int) -> float:
        return float(self._levels(channel, at - 2, at).max())

    def _followed(self, channel: int, start: int) -> Break | None:
        """The break that began at `start` when it has ended; it is closed when it is none."""
        levels = self._levels(channel, start, self._recent.end)
        reference = self._reference(channel, start)
        back = levels > reference - BACK_DB
        if len(levels) >= LEAST_FRAMES:
            lasting = np.convolve(back, np.ones(LEAST_FRAMES), "valid") >= _OF_WHICH
            returns = np.flatnonzero(lasting & back[: len(lasting)])
        if len(levels) < LEAST_FRAMES or not len(returns):
            if len(levels) > LONGEST_FRAMES:
                del self._open[channel]
            return None
        del self._open[channel]
        length = int(returns[0])
        gap = levels[:length]
        if length < LEAST_FRAMES or np.count_nonzero(gap <= reference - FALL_DB) < _OF_WHICH / LEAST_FRAMES * length:
            return None
        loud_before = self._levels(channel, start - LEAST_FRAMES, start).max()
        loud_after = levels[length : length + LEAST_FRAMES].max()
        onset = levels[length : length + 2].max()
        if onset - gap[-2:].min() < FALL_DB or loud_after - onset > SUDDEN_DB:
            return None
        if 2 * np.count_nonzero(gap < _ZERO_DB) >= length:
            return None
        return Break(channel, start, start + length, float(loud_before), float(loud_after))

"""Sums and extremes of every channel, many times faster than along the first axis of [frames, channels].

numpy reduces along the first axis row by row; with few channels that is slow. Thirty-two frames side by side make long
rows of the same memory, and a last small step puts the channels together again.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from showday.sound.model import Floats, Samples
from showday.sound.runs import Mask, Places

_FOLD = 32
"""Frames side by side; measured: 8 to 100 are about alike."""


def highest(samples: Samples) -> Samples:
    """The largest sample of each channel; `samples` are [frames, channels], one frame at least."""
    return _along(np.maximum, samples)


def lowest(samples: Samples) -> Samples:
    """The smallest sample of each channel."""
    return _along(np.minimum, samples)


def means(samples: Samples) -> Floats:
    """The mean of each channel."""
    found: Floats = _along(np.add, samples).astype(np.float64) / len(samples)
    return found


def counts(mask: Mask) -> Places:
    """How many frames of each channel are true; 2 million frames at most."""
    frames, channels = mask.shape
    whole = frames // _FOLD * _FOLD
    wide = np.ascontiguousarray(mask[:whole]).reshape(-1, _FOLD * channels)
    found = np.add.reduce(wide, axis=0, dtype=np.uint16).reshape(_FOLD, channels).sum(axis=0, dtype=np.int64)
    rest: Places = mask[whole:].sum(axis=0, dtype=np.int64)
    total: Places = found + rest
    return total


def _along(join: np.ufunc, samples: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    frames, channels = samples.shape
    whole = frames // _FOLD * _FOLD
    if not whole:
        return np.asarray(join.reduce(samples, axis=0))
    wide = np.ascontiguousarray(samples[:whole]).reshape(-1, _FOLD * channels)
    found = join.reduce(join.reduce(wide, axis=0).reshape(_FOLD, channels), axis=0)
    if whole < frames:
        found = join(found, join.reduce(samples[whole:], axis=0))
    return np.asarray(found)

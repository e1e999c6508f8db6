"""Equally likely times as one answer: when it will be over, and the chance that it is over in time."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike


class Totals:
    """Equally likely totals in seconds, one at least."""

    def __init__(self, totals: ArrayLike) -> None:
        self._sorted = np.sort(np.asarray(totals, dtype=np.float64).ravel())

    def seconds(self, chance: float) -> float:
        """The smallest total that is not exceeded with at least this chance, over 0 and up to 1."""
        place = math.ceil(chance * len(self._sorted) - 1e-9)
        return float(self._sorted[max(1, min(place, len(self._sorted))) - 1])

    def chance(self, seconds: float) -> float:
        """The chance to be over within so many seconds."""
        return int(np.searchsorted(self._sorted, seconds, side="right")) / len(self._sorted)

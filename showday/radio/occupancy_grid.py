"""A sweep on even cells: what the search for signals works on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from showday.radio.sweep import Floats, Ints, Sweep, power_of

FINEST = 5_000
"""Hz from cell to cell at least: stage carriers are some 200 kHz wide (EN 300 422-1), finer says nothing more."""
MOST_CELLS = 400_000

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Grid:
    """Even cells from `start` Hz on, `step` Hz apart; powers in mW when the sweep is in dBm, [N]."""

    start: float
    step: float
    power: Floats
    """Of the trace that is searched; 0 where nothing was measured."""
    mean: Floats
    """Of the mean trace."""
    measured: Mask
    """False in gaps and in empty bins."""

    def __len__(self) -> int:
        return len(self.power)

    def cell(self, hz: float) -> int:
        """Index of the nearest cell, which may lie outside."""
        return round((hz - self.start) / self.step)

    def hz(self, cell: float) -> int:
        """Hz of a place on the grid."""
        return round(self.start + cell * self.step)

    def cells(self, width: float, least: int = 1) -> int:
        """How many cells a width in Hz is."""
        return max(least, round(width / self.step))

    def slice(self, low: float, high: float) -> slice:
        """The cells whose centres lie between two frequencies."""
        first = int(np.ceil((low - self.start) / self.step - 1e-9))
        last = int(np.floor((high - self.start) / self.step + 1e-9))
        return slice(max(first, 0), max(min(last + 1, len(self)), 0))

    def smooth(self, width: int) -> Floats:
        """Mean power of the `width` (odd) cells around each; 0 where less than half of them was measured.

        Summed directly: a running total would drown weak cells beside a strong one.
        """
        if width == 1:
            return self.power
        ones = np.ones(width)
        summed = np.convolve(self.power, ones, "same")
        counted = np.convolve(self.measured.astype(float), ones, "same")
        made: Floats = np.where(counted * 2 >= width, summed / np.maximum(counted, 1), 0.0)
        return made

    def channel_power(self, low: float, high: float) -> float:
        """Power between two frequencies by the mean trace: the mean of the cells times how many fill the width.

        Right as far as the noise bandwidth of the filter is the step, which most analysers see to; 0 when nothing was
        measured there.
        """
        cells = self.slice(low, high)
        measured = self.measured[cells]
        return float(self.mean[cells][measured].mean()) * (high - low) / self.step if measured.any() else 0.0

    @cached_property
    def scales(self) -> tuple[int, ...]:
        """Odd numbers of cells that a carrier of up to 200 kHz may fill, rising, from 1 on."""
        wanted = (self.cells(hz) // 2 * 2 + 1 for hz in (1, 50_000, 100_000, 200_000))
        return tuple(sorted(set(wanted)))


def grid_of(sweep: Sweep, by_mean: bool = False) -> Grid:
    """The sweep's cells: of the strongest level of each bin, or of the mean. Bins finer than FINEST are averaged."""
    span = sweep.high - sweep.low
    step = max(sweep.step, FINEST, span / MOST_CELLS)
    place = np.rint((sweep.hz - sweep.low) / step).astype(np.int64)
    count = int(place[-1]) + 1
    filled = np.bincount(place, np.isfinite(sweep.peak).astype(float), count).astype(float)
    mean = _mean(place, power_of(sweep.mean), filled, count)
    power = mean if by_mean else _mean(place, power_of(sweep.peak), filled, count)
    return Grid(float(sweep.low), float(step), power, mean, filled > 0)


def _mean(place: Ints, power: Floats, filled: Floats, count: int) -> Floats:
    made: Floats = np.bincount(place, power, count) / np.maximum(filled, 1)
    return made

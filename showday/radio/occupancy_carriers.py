"""Narrow carriers in a sweep: found at several widths, so that a weak wide one and a strong narrow one are both seen.

Outside of television a carrier has to stand out of the floor. Inside, where a plateau ripples, it has to stand out of
its neighbours, by order-statistic CFAR, which other carriers in the window do not disturb.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showday.radio.occupancy_floor import Floor
from showday.radio.occupancy_grid import Grid, Mask
from showday.radio.occupancy_noise import MANY_CELLS, mean_factor, os_cfar_factor
from showday.radio.occupancy_tv import Background
from showday.radio.sweep import Floats

CHANCE = 1e-5
"""Chance of a false alarm in one cell at one width. Neighbours share their cells, so that a TV channel of 320 cells has a
false alarm in some 0.5 % of all sweeps; measured on made sweeps, 0.1 %."""
LEAST_RISE = 4.0
"""dB over its surroundings that a carrier has at least, however quiet the noise: floors are not known better."""
DOWN = 26.0
"""dB under its peak where a carrier's width ends, unless the noise ends it before (x dB bandwidth, ITU-R SM.328)."""
VALLEY = 6.0
"""dB that a trace rises again where another carrier begins, when its noise does not rise so far by itself."""
NARROW = 400_000
"""Hz; what is wider is no single stage carrier of some 200 kHz (EN 300 422-1), even through a filter of 100 kHz."""
MOST = 500
"""Carriers at most; a choice of this program."""
CFAR_CELLS, CFAR_RANK, CFAR_GUARD = 24, 18, 250_000
"""Reference cells of the order-statistic CFAR, the rank of three quarters that is usual, and Hz left out around."""


@dataclass(frozen=True, slots=True)
class Carrier:
    """Something narrow in a sweep; all frequencies in Hz."""

    at: int
    """Centre of its power."""
    low: int
    high: int
    height: float
    """dB of its peak over its surroundings: the floor, or the plateau or side of television."""
    level: float
    """Power of its strongest cell."""

    @property
    def width(self) -> int:
        """Hz from end to end."""
        return self.high - self.low


@dataclass(eq=False)
class _Search:
    """What the search at one width looks at."""

    grid: Grid
    trace: Floats
    """Averaged over the width."""
    bar: Floats
    """From which power on a cell of the trace is a signal."""
    ground: Floats
    grow: Floats
    """Down to which power a signal's own cells reach."""
    valley: float
    """Factor by which the trace rises again where another carrier begins."""


def carriers(grid: Grid, floor: Floor, ground: Background) -> list[Carrier]:
    """Every carrier, rising."""
    taken = np.zeros(len(grid), dtype=bool)
    found: list[Carrier] = []
    inside = _inside(grid, ground)
    for width in grid.scales:
        search = _search(grid, floor, ground, inside, width)
        free = (search.trace > search.bar) & ~_spread(taken, width // 2)
        while free.any() and len(found) < MOST:
            cells = np.flatnonzero(free)
            peak = int(cells[np.argmax(search.trace[cells] / search.ground[cells])])
            own, claimed = _grown(search, peak, taken)
            found.append(_carrier(search, own, width))
            taken[claimed] = True
            free &= ~_spread(taken, width // 2)
    return sorted(found, key=lambda each: each.at)


def _search(grid: Grid, floor: Floor, ground: Background, inside: Floats, width: int) -> _Search:
    trace = grid.smooth(width)
    least = 10 ** (LEAST_RISE / 10)
    bar = ground.power * max(floor.bar(width, CHANCE), least)
    grow = ground.power * max(floor.bar(width, 0.02), 1.4)
    local = np.where(ground.filled, inside, ground.power)
    factor = os_cfar_factor(CFAR_CELLS, CFAR_RANK, CHANCE)
    bar = np.where(ground.filled, inside * factor, bar)
    grow = np.where(ground.filled, inside * 2, grow)
    bar[ground.pilots | ~grid.measured] = np.inf
    looks = floor.looks[width]
    swing = mean_factor(looks, MANY_CELLS, 1e-3) / mean_factor(looks, MANY_CELLS, 1 - 1e-3)
    return _Search(grid, trace, bar, local, grow, max(10 ** (VALLEY / 10), swing))


def _inside(grid: Grid, ground: Background) -> Floats:
    """Inside of what is filled: the level that three quarters of the cells around stay under."""
    made = np.full(len(grid), np.inf)
    cells = np.flatnonzero(ground.filled)
    if not len(cells):
        return made
    width = grid.scales[min(1, len(grid.scales) - 1)]
    trace = grid.smooth(width)
    away = grid.cells(CFAR_GUARD) + width * np.arange(CFAR_CELLS // 2)
    places = cells[:, None] + np.concatenate((-away, away))[None, :]
    around = trace[np.clip(places, 0, len(grid) - 1)]
    made[cells] = np.partition(around, CFAR_RANK - 1, axis=1)[:, CFAR_RANK - 1]
    made[made <= 0] = np.inf
    return made


def _spread(mask: Mask, cells: int) -> Mask:
    """The mask with so many cells more on each side of every stretch."""
    if not cells or not mask.any():
        return mask
    made: Mask = np.convolve(mask, np.ones(2 * cells + 1), "same") > 0.5
    return made


def _grown(search: _Search, peak: int, taken: Mask) -> tuple[slice, slice]:
    """From a peak outward: the carrier's own cells, and all cells that it explains, its feet included."""
    own, claimed = [peak, peak], [peak, peak]
    cut = search.trace[peak] / 10 ** (DOWN / 10)
    for side, way in enumerate((-1, 1)):
        lowest = float(search.trace[peak])
        cell = peak + way
        while 0 <= cell < len(search.trace) and not taken[cell]:
            here = float(search.trace[cell])
            if here <= search.grow[cell] or here > lowest * search.valley:
                break
            lowest = min(lowest, here)
            claimed[side] = cell
            if here >= cut and abs(own[side] - cell) == 1:
                own[side] = cell
            cell += way
    return slice(own[0], own[1] + 1), slice(claimed[0], claimed[1] + 1)


def _carrier(search: _Search, own: slice, width: int) -> Carrier:
    """The carrier of these cells: its centre is the middle of the power that stands out."""
    grid = search.grid
    places = np.arange(own.start, own.stop)
    out = np.maximum(grid.power[own] - search.ground[own], 0)
    if not out.sum() > 0:
        out = search.trace[own]
    centre = float((places * out).sum() / out.sum())
    peak = own.start + int(np.argmax(search.trace[own]))
    level = float(search.trace[peak])
    height = 10 * np.log10(level / float(search.ground[peak]))
    half = max(own.stop - own.start - (width - 1), 1) / 2
    return Carrier(grid.hz(centre), grid.hz(centre - half), grid.hz(centre + half), float(height), level)

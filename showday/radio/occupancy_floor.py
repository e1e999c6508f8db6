"""The noise floor, block by block: a low percentile with its known offset, then the mean of all that is noise.

A median fails where more than half of a block is in use, and in a full TV town most blocks are. So the percentile is
low, the gaps between TV channels count too, and a block that stands high above its neighbours is not believed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from showday.radio.model import Band
from showday.radio.occupancy_grid import Grid, Mask
from showday.radio.occupancy_noise import FEWEST_LOOKS, MANY_CELLS, looks_of_spread, mean_factor, signal_factor
from showday.radio.sweep import Floats

BLOCK = 8_000_000
"""Hz of a block where no TV raster is known; the widest TV channel."""
LOW_SHARE = 0.2
"""The percentile: at most four fifths of a block may be in use."""
LEAST_CELLS = 32
"""Cells of a block at least; narrower blocks are taken together."""
SLOPE = 0.06
"""dB per MHz by which a floor may rise; 10 dB over the 224 MHz of the European range are less than that."""
RAISED = 3.0
"""dB above what its neighbours allow, from which on a block's own percentile is not its floor."""
GAP, GAP_UNDER = 200_000, 6.0
"""Hz of the gap between two TV signals that are looked at (8 MHz channels leave 390 kHz), and dB that it has to be lower,
beside four and a half standard errors of its mean, before it is taken for the floor of its channel."""
NOISE_CHANCE = 1e-3
"""Chance that noise is cut off when the cells of noise are gathered (the usual figure for this method)."""
UNRELATED = 200_000
"""Hz between cells that tell nothing of each other: analysers look through filters of at most some 100 kHz here."""


@dataclass(frozen=True, slots=True, eq=False)
class Floor:
    """Mean power of the noise in each cell [N], and how noise behaves."""

    power: Floats
    looks: dict[int, float]
    """By the width in cells that is averaged: how many looks that is worth."""
    cells: int
    """Cells of noise that one block's floor rests on, in the middle."""
    blocks: tuple[tuple[Band, float], ...] = ()
    """Each block with the mean power of its noise."""

    def bar(self, width: int, chance: float) -> float:
        """From which power on a mean over `width` cells is a signal, over the floor."""
        return signal_factor(self.looks[width], self.cells, chance)


def spread_looks(grid: Grid, width: int) -> float:
    """How many looks the mean over `width` cells is worth: from how far unrelated cells differ, anywhere in the sweep."""
    lag = max(width + 1, grid.cells(UNRELATED))
    power = grid.smooth(width)
    here, there = power[:-lag], power[lag:]
    both = (here > 0) & (there > 0)
    if not both.any():
        return FEWEST_LOOKS
    spread = float(np.median(np.abs(10 * np.log10(here[both] / there[both]))))
    return float(f"{looks_of_spread(float(f'{spread:.3g}')):.3g}")


def quantile_error(looks: float, cells: int) -> float:
    """Standard error in dB of the mean that the low percentile of so many cells gives.

    For one look √(q(1-q)/n) / (f(x) x) with q = 0.2 is 2.24/√n of the mean; more looks divide it by their root.
    """
    return 10 / math.log(10) * 2.24 / math.sqrt(max(cells, 1) * looks)


def low_mean(power: Floats, looks: float) -> float:
    """Mean of the noise whose low percentile this is; 0 when there are no cells."""
    cells = power[power > 0]
    if not len(cells):
        return 0.0
    rank = round(LOW_SHARE * (len(cells) - 1))
    return float(np.partition(cells, rank)[rank] / low_factor(looks))


def low_factor(looks: float) -> float:
    """The low percentile of noise over its mean."""
    return mean_factor(looks, MANY_CELLS, 1 - LOW_SHARE)


def floor_of(grid: Grid, channels: Sequence[Band]) -> Floor:
    """The floor of a sweep; `channels` are the TV channels of the region, rising, or none."""
    looks = {width: spread_looks(grid, width) for width in grid.scales}
    blocks = _blocks(grid, channels)
    guesses = [_first_guess(grid, block, looks[1]) for block in blocks]
    first = np.array([power for power, _ in guesses])
    middles = np.array([block.centre for block in blocks], dtype=float)
    sizes = [int(grid.measured[grid.slice(block.low, block.high)].sum()) for block in blocks]
    sound = _believed(first, middles, np.array([quantile_error(looks[1], size) for size in sizes]))
    means = [
        guess if gap else _gathered(grid, block, guess, looks[1])
        for block, (guess, gap) in zip(blocks, guesses, strict=True)
    ]
    level = 10 * np.log10(np.maximum(np.array(means)[sound], 1e-300))
    places = grid.start + np.arange(len(grid)) * grid.step
    power = np.power(10.0, np.interp(places, middles[sound], level) / 10)
    told = tuple((block, float(np.interp(block.centre, middles[sound], level))) for block in blocks)
    cells = int(np.median(np.array(sizes)[sound]))
    return Floor(power, looks, max(cells // 2, 1), tuple((block, 10 ** (each / 10)) for block, each in told))


def _blocks(grid: Grid, channels: Sequence[Band]) -> list[Band]:
    """TV channels, and pieces of BLOCK where there are none, each with enough cells that were measured."""
    low, high = grid.hz(0), grid.hz(len(grid) - 1)
    edges = {low, high + 1}
    inside = [channel for channel in channels if channel.high > low and channel.low < high]
    for channel in inside:
        edges |= {max(channel.low, low), min(channel.high, high + 1)}
    cuts = sorted(edges)
    pieces: list[Band] = []
    for begin, end in pairwise(cuts):
        parts = max(1, round((end - begin) / BLOCK))
        marks = [begin + (end - begin) * part // parts for part in range(parts + 1)]
        pieces += [Band(left, right - 1) for left, right in pairwise(marks)]
    return _enough(grid, pieces)


def _enough(grid: Grid, pieces: Sequence[Band]) -> list[Band]:
    """Neighbours taken together until each has LEAST_CELLS; the rest joins the last one."""
    made: list[Band] = []
    begin: int | None = None
    for piece in pieces:
        begin = piece.low if begin is None else begin
        if grid.measured[grid.slice(begin, piece.high)].sum() >= LEAST_CELLS:
            made.append(Band(begin, piece.high))
            begin = None
    if begin is not None:
        made = [*made[:-1], Band(made[-1].low if made else begin, pieces[-1].high)]
    return made


def _first_guess(grid: Grid, block: Band, looks: float) -> tuple[float, bool]:
    """The low percentile of a block, or the level in the gap to a neighbour when that is far lower, and which it is."""
    whole = low_mean(grid.power[grid.slice(block.low, block.high)], looks)
    between = []
    for edge in (block.low, block.high):
        cells = grid.power[grid.slice(edge - GAP // 2, edge + GAP // 2)]
        cells = cells[cells > 0]
        if len(cells) >= 4:
            sure = 10 ** ((GAP_UNDER + 4.5 * 10 / math.log(10) / math.sqrt(len(cells) * looks)) / 10)
            between.append((float(cells.mean()), sure))
    lowest, sure = min(between, default=(0.0, 1.0))
    return (lowest, True) if 0 < lowest < whole / sure else (whole, False)


def _believed(guesses: Floats, middles: Floats, errors: Floats) -> Mask:
    """Which blocks stand no higher than their neighbours allow; at least one does."""
    level = 10 * np.log10(np.maximum(guesses, 1e-300))
    distance = np.abs(middles[:, None] - middles[None, :]) / 1e6
    allowed = (level[None, :] + SLOPE * distance).min(axis=1)
    believed: Mask = (level - allowed <= RAISED + 3 * errors) & (guesses > 0)
    return believed if believed.any() else np.ones(len(guesses), dtype=bool)


def _gathered(grid: Grid, block: Band, guess: float, looks: float) -> float:
    """Mean of all cells of noise of a block: forward consecutive mean excision, begun with the first guess.

    Where the sides of television lie in a block the mean creeps up along them; then the guess is the better one.
    """
    cells = grid.power[grid.slice(block.low, block.high)]
    cells = cells[cells > 0]
    mean = guess
    factor = signal_factor(looks, MANY_CELLS, NOISE_CHANCE)
    for _ in range(30):
        noise = cells[cells < factor * mean]
        if len(noise) < 4:
            break
        grown = float(noise.mean())
        if abs(grown - mean) <= 1e-6 * mean:
            break
        mean = grown
    return mean if mean < guess * 10 ** (RAISED / 10) else guess

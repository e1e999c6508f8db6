"""What a sweep shows as occupied: television, carriers, other wide signals, and where nothing was seen."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from showday.radio.model import CARRIER, TELEVISION, USUAL_WIDTH, Band, Occupied
from showday.radio.occupancy_carriers import MOST, NARROW, Carrier, carriers
from showday.radio.occupancy_floor import Floor, floor_of
from showday.radio.occupancy_grid import Grid, grid_of
from showday.radio.occupancy_tv import Television, Wide, background, televisions, wides, with_wides
from showday.radio.rasters import Channel
from showday.radio.sweep import Sweep
from showday.radio.units import HZ_PER_KHZ

WIDE = "wide signal"
"""Kind of what is neither a TV channel nor narrow."""
LEAST_BINS = 64
"""With fewer bins nothing can be told from noise."""
UNMEASURED = "not measured"
"""Kind of a band that a sweep left out."""
NEAR = 50_000
"""Hz by which a carrier of ours may be measured beside its place: two steps of the usual 25 kHz."""


@dataclass(frozen=True, slots=True)
class Own:
    """One of the act's own transmitters, said to be on."""

    name: str
    at: int
    seen: Carrier | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Occupancy:
    """What was found in a sweep. Powers are mW when the sweep is in dBm, else what the sweep has instead."""

    sweep: Sweep
    grid: Grid
    floor: Floor
    television: tuple[Television, ...] = ()
    carriers: tuple[Carrier, ...] = ()
    """Without the act's own."""
    wide: tuple[Wide, ...] = ()
    own: tuple[Own, ...] = ()
    free: tuple[Band, ...] = ()
    """Stretches that were measured and where nothing was seen, widest first."""

    @property
    def floor_level(self) -> float:
        """The floor in dB, in the middle of all blocks."""
        return float(np.median([decibels(power) for _, power in self.floor.blocks]))

    @property
    def crowded(self) -> bool:
        """Whether the search stopped at the most carriers that it counts."""
        return len(self.carriers) >= MOST

    def bands(self) -> tuple[Occupied, ...]:
        """Everything occupied but the act's own, rising: whole TV channels, and at least 200 kHz a carrier.

        Ends are whole kHz outward: no sweep is finer.
        """
        made = [
            Occupied(each.channel.low, each.channel.high, each.channel.name, TELEVISION, None, decibels(each.power))
            for each in self.television
        ]
        for wide in self.wide:
            made.append(Occupied(*_outward(wide.low, wide.high), "", WIDE, None, decibels(wide.level)))
        for each in self.carriers:
            room = room_of(each)
            made.append(Occupied(room.low, room.high, "", CARRIER, round(each.at, -3), decibels(each.level)))
        return tuple(sorted(made, key=lambda band: (band.low, band.high)))

    def kept_off(self) -> tuple[Occupied, ...]:
        """Where no carrier of ours should stand, rising: what is occupied, and what nobody measured in between."""
        return with_gaps(self.bands(), self.sweep.gaps())


def occupancy(
    sweep: Sweep, channels: Sequence[Channel] = (), own: Iterable[tuple[str, int]] = (), *, by_mean: bool = False
) -> Occupancy | None:
    """What is occupied; None when the sweep has too few bins with a level.

    `channels` are the TV channels of the region, rising; `own` the names and frequencies (Hz) of the act's own
    transmitters that were on. The strongest level of each bin is searched, or its mean with `by_mean`.
    """
    if int(np.isfinite(sweep.peak).sum()) < LEAST_BINS:
        return None
    grid = grid_of(sweep, by_mean)
    if int(grid.measured.sum()) < LEAST_BINS:
        return None
    floor = floor_of(grid, channels)
    tv = televisions(grid, floor, channels)
    ground = background(grid, floor, tv)
    wide = wides(grid, floor, ground)
    ground = with_wides(grid, ground, wide)
    found = carriers(grid, floor, ground)
    mine, others = _told_apart(found, list(own), grid.step)
    wide += [Wide(each.low, each.high, each.height, each.level) for each in others if each.width > NARROW]
    narrow = tuple(each for each in others if each.width <= NARROW)
    made = Occupancy(sweep, grid, floor, tuple(tv), narrow, tuple(sorted(wide, key=lambda w: w.low)), tuple(mine))
    return replace(made, free=tuple(_free(made)))


def with_gaps(bands: Iterable[Occupied], gaps: Iterable[tuple[int, int]]) -> tuple[Occupied, ...]:
    """Bands and stretches that were not measured (Hz), rising: nobody knows who stands there."""
    unknown = (Occupied(low, high, UNMEASURED, UNMEASURED) for low, high in gaps)
    return tuple(sorted([*bands, *unknown], key=lambda band: (band.low, band.high)))


def decibels(power: float) -> float:
    """Power as a level, -inf for none."""
    return 10 * math.log10(power) if power > 0 else -math.inf


def _outward(low: int, high: int) -> tuple[int, int]:
    return low // HZ_PER_KHZ * HZ_PER_KHZ, -(-high // HZ_PER_KHZ) * HZ_PER_KHZ


def room_of(carrier: Carrier) -> Band:
    """The room a carrier takes: its own width, at least that of a stage carrier; whole kHz, outward."""
    at, half = round(carrier.at, -3), USUAL_WIDTH // 2
    return Band(*_outward(min(carrier.low, at - half), max(carrier.high, at + half)))


def _told_apart(
    found: Sequence[Carrier], own: Sequence[tuple[str, int]], step: float
) -> tuple[list[Own], list[Carrier]]:
    """The act's own transmitters with what was seen of each, and all other carriers."""
    others = list(found)
    mine = []
    for name, at in own:
        near = min(others, key=lambda each: abs(each.at - at), default=None)
        if near is not None and abs(near.at - at) <= max(NEAR, 1.5 * step):
            others.remove(near)
            mine.append(Own(name, at, near))
        else:
            mine.append(Own(name, at))
    return mine, others


def _free(found: Occupancy) -> list[Band]:
    """What is left of the span, widest first, at least as wide as a stage carrier."""
    sweep = found.sweep
    taken = [Band(band.low, band.high) for band in found.bands()]
    taken += [Band(low, high) for low, high in sweep.gaps()]
    made, at = [], sweep.low
    for band in sorted(taken, key=lambda each: each.low):
        if band.low - at >= USUAL_WIDTH:
            made.append(Band(at, band.low))
        at = max(at, band.high)
    if sweep.high - at >= USUAL_WIDTH:
        made.append(Band(at, sweep.high))
    return sorted(made, key=lambda band: (-band.width, band.low))

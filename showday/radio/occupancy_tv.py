"""Television in a sweep: plateaus with steep sides that fill the channels of the region's raster, and other wide signals.

Strong television hides what is under it and reaches over the edges of its channel, so that both are marked for the
search for carriers: there a carrier has to stand out of the plateau, or of its side, not of the noise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from showday.radio.occupancy_floor import LOW_SHARE, Floor, low_factor, low_mean, quantile_error
from showday.radio.occupancy_grid import Grid, Mask
from showday.radio.rasters import SLACK, Channel, shifted
from showday.radio.sweep import Floats

RISE = 3.0
"""dB over the floor that a plateau has at least; half of its power would be noise below."""
CERTAIN = 4.5
"""Standard errors over the floor that a plateau has at least, so that noise makes none in thousands of channels."""
STEEP = 600_000
"""Hz beyond the end of a signal within which its side has fallen; half the gap between two channels and a filter."""
SIDES_SHOWN = 8.0
"""dB over the floor from which on the sides of a plateau can be measured in the noise."""
INNER = 300_000
"""Hz at each end of a signal that its level is not taken from."""
SKIRT = 3_000_000
"""Hz beyond its channel to which the side of a strong plateau is followed."""
WINDOW = 1_000_000
"""Hz that have to be filled for a wide signal that is no television of the region."""
PILOT_OVER = 2.0
"""Power of a pilot over its surroundings; at 100 kHz filters a pilot stands some 6 dB out of its plateau."""


@dataclass(frozen=True, slots=True)
class Television:
    """A TV channel that is on the air."""

    channel: Channel
    power: float
    """Mean power over the width of its signal: mW, or what the sweep has instead."""
    rise: float
    """dB of its plateau over the floor."""
    offset: int | None = None
    """Hz that its signal stands above its place, where both sides could be measured."""
    pilot: int | None = None
    """Hz of its pilot, when it is of a kind that has one and it was seen."""


@dataclass(frozen=True, slots=True)
class Wide:
    """Something wider than a stage carrier that fits into no TV channel of the region."""

    low: int
    high: int
    rise: float
    level: float
    """Mean power of a cell in it."""


@dataclass(frozen=True, slots=True, eq=False)
class Background:
    """What a carrier has to stand out of: power [N], and where that is a plateau itself."""

    power: Floats
    filled: Mask
    """Inside of television or another wide signal."""
    pilots: Mask


def televisions(grid: Grid, floor: Floor, channels: Sequence[Channel]) -> list[Television]:
    """The channels whose signal is filled from end to end, and whose sides are where they belong."""
    looks = floor.looks[1]
    found: dict[int, tuple[Channel, float, float]] = {}
    for index, channel in enumerate(channels):
        cells = grid.slice(channel.signal.low + INNER, channel.signal.high - INNER)
        measured = int(grid.measured[cells].sum())
        if measured < max(4, 0.3 * (channel.occupied - 2 * INNER) / grid.step):
            continue
        plateau = low_mean(grid.power[cells], looks)
        rise = 10 * np.log10(max(plateau, 1e-300) / float(floor.power[cells].mean()))
        if rise >= max(RISE, CERTAIN * quantile_error(looks, measured)):
            found[index] = channel, plateau, float(rise)
    return list(_with_sides(grid, floor, channels, found))


def _with_sides(
    grid: Grid, floor: Floor, channels: Sequence[Channel], found: dict[int, tuple[Channel, float, float]]
) -> Iterator[Television]:
    """Those of the filled channels whose free sides fall where they belong; others are no television of this raster."""
    trace = grid.smooth(grid.scales[-1])
    refused = True
    sides: dict[int, tuple[int | None, int | None]] = {}
    while refused:
        refused = False
        for index, (channel, plateau, rise) in list(found.items()):
            if rise < SIDES_SHOWN:
                continue
            beside = (_adjoins(channels, found, index, -1), _adjoins(channels, found, index, 1))
            offsets = [
                None
                if taken
                else _side(grid, trace, channel, way, max(plateau / 4, _half(floor, grid, channel, plateau)))
                for taken, way in zip(beside, (-1, 1), strict=True)
            ]
            sides[index] = offsets[0], offsets[1]
            if any(offset is not None and abs(offset) > STEEP for offset in offsets):
                del found[index]
                refused = True
    for index, (channel, _, rise) in found.items():
        low, high = sides.get(index, (None, None))
        offset = None if low is None or high is None else (low + high) // 2
        if offset is None or abs(offset) <= SLACK + grid.step:
            yield _television(grid, channel, rise, offset)


def _adjoins(
    channels: Sequence[Channel], found: dict[int, tuple[Channel, float, float]], index: int, way: int
) -> bool:
    """Whether the next channel on this side is filled as well, so that no side can be seen between them."""
    beside = index + way
    if beside not in found:
        return False
    edges = (channels[index].low, channels[beside].high) if way < 0 else (channels[index].high, channels[beside].low)
    return abs(edges[0] - edges[1]) <= 1


def _half(floor: Floor, grid: Grid, channel: Channel, plateau: float) -> float:
    """The power half-way down in dB, from a plateau to the floor."""
    at = min(max(grid.cell(channel.middle), 0), len(grid) - 1)
    return float(np.sqrt(plateau * floor.power[at]))


def _side(grid: Grid, trace: Floats, channel: Channel, way: int, bar: float) -> int | None:
    """Hz by which a side stands above its place (both sides: positive is higher); None where nothing was measured."""
    end = channel.signal.low if way < 0 else channel.signal.high
    reach = grid.cells(2 * STEEP)
    begin = grid.cell(end - way * WINDOW)
    for cell in range(begin, grid.cell(end) + way * reach, way):
        if not 0 <= cell < len(grid) or not grid.measured[cell]:
            return None
        if trace[cell] < bar:
            return grid.hz(cell - way / 2) - end
    return way * 2 * STEEP


def _television(grid: Grid, channel: Channel, rise: float, offset: int | None) -> Television:
    there = shifted(channel, offset or 0)
    power = grid.channel_power(there.signal.low, there.signal.high)
    return Television(channel, power, rise, offset, _pilot(grid, channel))


def _pilot(grid: Grid, channel: Channel) -> int | None:
    """Where the pilot stands, when the strongest cell about its place stands out of its surroundings."""
    if channel.pilot is None:
        return None
    near = grid.slice(channel.pilot - max(60_000, grid.step), channel.pilot + max(60_000, grid.step))
    around = grid.slice(channel.signal.low, channel.signal.high)
    if near.start >= near.stop or not grid.measured[near].any():
        return None
    best = near.start + int(np.argmax(grid.mean[near]))
    usual = float(np.median(grid.mean[around][grid.measured[around]]))
    return grid.hz(best) if grid.mean[best] > PILOT_OVER * usual else None


def background(grid: Grid, floor: Floor, found: Sequence[Television]) -> Background:
    """The floor, the channels that are filled, and the sides of those as far as they reach."""
    power = floor.power.copy()
    filled = np.zeros(len(grid), dtype=bool)
    pilots = np.zeros(len(grid), dtype=bool)
    for each in found:
        filled[grid.slice(each.channel.low, each.channel.high)] = True
        if each.channel.pilot is not None:
            pilots[grid.slice(each.channel.pilot - 100_000 - grid.step, each.channel.pilot + 100_000 + grid.step)] = (
                True
            )
    trace = grid.smooth(grid.scales[-1])
    for each in found:
        for way, edge in ((-1, each.channel.low), (1, each.channel.high)):
            _follow(grid, trace, power, filled, edge, way)
    return Background(power, filled, pilots)


def _follow(grid: Grid, trace: Floats, power: Floats, filled: Mask, edge: int, way: int) -> None:
    """Raise the background outside an edge to the falling side there: the least of all cells passed so far."""
    begin = grid.cell(edge)
    cells = np.arange(begin, begin + way * grid.cells(SKIRT), way)
    cells = cells[(cells >= 0) & (cells < len(grid))]
    cells = cells[~filled[cells]]
    if not len(cells):
        return
    side = np.minimum.accumulate(np.where(trace[cells] > 0, trace[cells], np.inf))
    bar = 2 * power[cells]
    ends = np.flatnonzero(side <= bar)
    reach = int(ends[0]) if len(ends) else len(cells)
    power[cells[:reach]] = np.maximum(power[cells[:reach]], side[:reach])


def wides(grid: Grid, floor: Floor, ground: Background) -> list[Wide]:
    """Stretches of more than WINDOW that are filled and are no television of the raster."""
    width = grid.cells(WINDOW, 4)
    if len(grid) < width:
        return []
    looks = floor.looks[1]
    bar = 10 ** (max(RISE, CERTAIN * quantile_error(looks, width)) / 10)
    stride = max(1, width // 8)
    usable = np.where(grid.measured & ~ground.filled, grid.power / ground.power, 0.0)
    windows = np.lib.stride_tricks.sliding_window_view(usable, width)[::stride]
    rank = round(LOW_SHARE * (width - 1))
    full = np.partition(windows, rank, axis=1)[:, rank] > bar * low_factor(looks)
    found = [_wide(grid, floor, run.start * stride, (run.stop - 1) * stride + width) for run in _runs(full)]
    return _joined(found)


def _joined(found: Sequence[Wide]) -> list[Wide]:
    """The same, rising, with those that meet as one."""
    made: list[Wide] = []
    for each in found:
        if made and each.low <= made[-1].high:
            last = made.pop()
            each = Wide(last.low, max(last.high, each.high), max(last.rise, each.rise), max(last.level, each.level))
        made.append(each)
    return made


def _wide(grid: Grid, floor: Floor, first: int, stop: int) -> Wide:
    cells = slice(first, stop)
    level = low_mean(grid.power[cells], floor.looks[1])
    trace = grid.smooth(grid.scales[-1])
    bar = max(level / 4, float(np.sqrt(level * floor.power[cells].mean())))
    last = stop - 1
    while first < last and trace[first] < bar:  # a window is full though a part of it lies beside the signal
        first += 1
    while first < last and trace[last] < bar:
        last -= 1
    while first > 0 and trace[first - 1] >= bar:
        first -= 1
    while last + 1 < len(grid) and trace[last + 1] >= bar:
        last += 1
    rise = 10 * np.log10(level / float(floor.power[cells].mean()))
    return Wide(grid.hz(first - 0.5), grid.hz(last + 0.5), float(rise), level)


def _runs(mask: Mask) -> Iterator[slice]:
    """Stretches of True."""
    turns = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    for begin, end in zip(turns[0::2], turns[1::2], strict=True):
        yield slice(int(begin), int(end))


def with_wides(grid: Grid, ground: Background, found: Sequence[Wide]) -> Background:
    """The background with wide signals marked as filled, and their sides followed."""
    if not found:
        return ground
    power, filled = ground.power.copy(), ground.filled.copy()
    for each in found:
        filled[grid.slice(each.low, each.high)] = True
    trace = grid.smooth(grid.scales[-1])
    for each in found:
        _follow(grid, trace, power, filled, each.low, -1)
        _follow(grid, trace, power, filled, each.high, 1)
    return Background(power, filled, ground.pilots)

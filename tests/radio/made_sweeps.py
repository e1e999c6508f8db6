"""Sweeps made of known parts: noise that was averaged, television on a real raster, carriers, holes. Seeded."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from showday.radio.rasters import Channel
from showday.radio.regions import channels
from showday.radio.sweep import Sweep, level_of

HEIGHTS = (6, 8, 10, 12, 15, 20, 30, 45)
"""dB of a carrier's peak over the noise."""
SPANS = {"europe": (470, 694), "us": (470, 608), "australia": (526, 694), "japan": (470, 710)}
Floats = npt.NDArray[np.float64]


@dataclass
class Truth:
    """What a made sweep holds."""

    seed: int
    region: str
    looks: int
    held: int
    step: int
    channels: tuple[Channel, ...]
    television: dict[int, float] = field(default_factory=dict)
    """Number of a channel on the air: dB over the floor."""
    carriers: list[tuple[int, int, int]] = field(default_factory=list)
    """Hz, width in Hz, dB over the floor."""
    gap: tuple[int, int] = (0, 0)


def made(seed: int) -> tuple[Sweep, Truth]:
    """One sweep and what is in it; the same seed makes the same."""
    rng = np.random.default_rng(seed)
    region = str(rng.choice(list(SPANS)))
    low, high = (mhz * 1_000_000 for mhz in SPANS[region])
    step = int(rng.choice([10_000, 25_000, 25_000, 50_000]))
    looks, held = int(rng.choice([4, 8, 16, 32, 64])), int(rng.choice([1, 1, 1, 5, 20]))
    inside = tuple(c for c in channels(region) if c.low >= low and c.high <= high)
    truth = Truth(seed, region, looks, held, step, inside)
    hz = np.arange(low, high + 1, step, dtype=np.int64)
    slope = rng.uniform(-10, 10)
    floor = rng.uniform(-115, -90) + slope * (hz - low) / (high - low)
    noise = np.power(10.0, floor / 10)
    steady = np.zeros(len(hz))
    noise += _television(rng, truth, hz, noise)
    steady += _carriers(rng, truth, hz, np.power(10.0, floor / 10))
    peak, mean = _looked_at(rng, noise, steady, looks, held)
    level_peak, level_mean = level_of(peak), level_of(mean)
    empty = rng.random(len(hz)) < rng.choice([0.0, 0.01])
    level_peak[empty] = level_mean[empty] = -np.inf
    keep = np.ones(len(hz), dtype=bool)
    if rng.random() < 0.3:
        begin = int(rng.integers(low, high - 3_000_000))
        truth.gap = (begin, begin + int(rng.integers(500_000, 3_000_000)))
        keep = (hz < truth.gap[0]) | (hz > truth.gap[1])
    return Sweep(hz[keep], level_peak[keep], level_mean[keep], held), truth


def _television(rng: np.random.Generator, truth: Truth, hz: npt.NDArray[np.int64], floor: Floats) -> Floats:
    """Plateaus with ripple and sloping sides on some of the channels; in some places on nearly all of them."""
    share = float(rng.choice([0.0, 0.2, 0.4, 0.6, 0.9]))
    total = np.zeros(len(hz))
    for channel in truth.channels:
        if rng.random() >= share:
            continue
        rise = float(rng.uniform(6, 50))
        offset = int(rng.choice([0, 0, 0, 0, 125_000, 167_000, -167_000]))
        beyond = np.maximum(np.abs(hz - channel.middle - offset) - channel.occupied / 2, 0)
        fall = rng.uniform(60, 150) * beyond / 1e6  # dB per MHz of the sides
        sides = np.where(beyond < 3e6, -np.minimum(fall, 90), -np.inf)
        ripple = rng.uniform(0, 1.5) * np.sin(2 * np.pi * (hz - channel.low) / rng.uniform(2e6, 8e6))
        usual = float(np.mean(floor[(hz >= channel.low) & (hz <= channel.high)]))
        total += usual * np.power(10.0, (rise + sides + ripple) / 10)
        truth.television[channel.number] = rise
    return total


def _carriers(rng: np.random.Generator, truth: Truth, hz: npt.NDArray[np.int64], floor: Floats) -> Floats:
    """Carriers in the channels without television, at least 0.6 MHz apart and from television."""
    total = np.zeros(len(hz))
    quiet = [c for c in truth.channels if c.number not in truth.television]
    for _ in range(int(rng.integers(4, 16)) if quiet else 0):
        channel = quiet[int(rng.integers(len(quiet)))]
        at = int(rng.integers(channel.low + 800_000, channel.high - 800_000))
        width, height = int(rng.integers(60_000, 200_000)), int(rng.choice(HEIGHTS))
        if any(abs(at - other) < 600_000 for other, _, _ in truth.carriers):
            continue
        shape = np.where(np.abs(hz - at) < width / 2, np.cos(np.pi * (hz - at) / width) ** 2, 0.0)
        if rng.random() < 0.5 or not shape.any():  # flat on top, as digital carriers are
            shape = np.where(np.abs(hz - at) <= max(width / 2, truth.step / 2), 1.0, 0.0)
        total += shape / shape.max() * floor * 10 ** (height / 10)
        truth.carriers.append((at, width, height))
    return total


def _looked_at(
    rng: np.random.Generator, noise: Floats, steady: Floats, looks: int, held: int
) -> tuple[Floats, Floats]:
    """Strongest and mean power of `held` passes, each the mean of `looks` looks at noise and a steady signal."""
    passes = rng.noncentral_chisquare(2 * looks, 2 * looks * steady / noise, (held, len(noise))) / (2 * looks) * noise
    return passes.max(axis=0), passes.mean(axis=0)


def by_the_gap(truth: Truth, at: int) -> bool:
    """Whether a frequency is in the stretch that was not measured, or so near that a part of a signal may stand there."""
    return truth.gap[1] > 0 and truth.gap[0] - 1_500_000 <= at <= truth.gap[1] + 1_500_000


def measured(sweep: Sweep, at: int, width: int) -> bool:
    """Whether most bins that a carrier fills have a level."""
    bins = np.abs(sweep.hz - at) <= max(width, sweep.step) / 2
    return bool(bins.any()) and bool(np.isfinite(sweep.peak[bins]).mean() > 0.5)

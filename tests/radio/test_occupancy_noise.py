"""What noise does: the factors of the published detectors, and that they hold on noise."""

from __future__ import annotations

from math import exp, log, log10, pi, sqrt

import numpy as np
import pytest

from showday.radio.occupancy_floor import floor_of, low_factor, low_mean, quantile_error
from showday.radio.occupancy_grid import grid_of
from showday.radio.occupancy_noise import (
    MANY_CELLS,
    ca_cfar_factor,
    fcme_factor,
    harmonic,
    held_factor,
    held_of_looks,
    looks_of_spread,
    mean_factor,
    os_cfar_chance,
    os_cfar_factor,
    signal_factor,
)
from showday.radio.sweep import Sweep, level_of


@pytest.mark.parametrize(
    ("cells", "chance", "factor", "decibels"),
    [(16, 1e-4, 12.4525, 10.95), (32, 1e-4, 10.6727, 10.28), (24, 1e-3, 8.0045, 9.03)],
)
def test_cell_averaging_cfar(cells: int, chance: float, factor: float, decibels: float) -> None:
    """N (Pfa^(-1/N) - 1): Finn and Johnson 1968; Richards, Fundamentals of Radar Signal Processing, 6.5."""
    found = ca_cfar_factor(cells, chance)
    assert found == pytest.approx(factor, abs=5e-5)
    assert 10 * log10(found) == pytest.approx(decibels, abs=5e-3)
    assert mean_factor(1, cells, chance) == pytest.approx(found, rel=1e-6)


def test_order_statistic_cfar() -> None:
    """Rohling 1983; N = 20, k = 15, a = 6.857 for 1e-3 stands in Richards, p. 525."""
    assert os_cfar_chance(20, 15, 6.857) == pytest.approx(0.9987e-3, abs=5e-8)
    assert os_cfar_factor(20, 15, 0.9987e-3) == pytest.approx(6.857, abs=1e-3)


def test_order_statistic_cfar_holds_on_noise() -> None:
    rng = np.random.default_rng(1)
    cells = rng.exponential(size=(200_000, 21))
    ranked = np.sort(cells[:, 1:], axis=1)[:, 14]
    alarms = (cells[:, 0] > os_cfar_factor(20, 15, 1e-2) * ranked).mean()
    assert alarms == pytest.approx(1e-2, abs=5 * sqrt(1e-2 / 200_000))


@pytest.mark.parametrize(
    ("chance", "factor", "decibels"), [(1e-2, 4.605, 6.63), (1e-3, 6.908, 8.39), (1e-4, 9.210, 9.64)]
)
def test_forward_consecutive_mean_excision(chance: float, factor: float, decibels: float) -> None:
    """-ln Pfa: Lehtomäki, Vartiainen, Juntti, Saarnisaari, IEEE Trans. Signal Processing 55(9), 2007."""
    found = fcme_factor(chance)
    assert found == pytest.approx(factor, abs=5e-4)
    assert 10 * log10(found) == pytest.approx(decibels, abs=5e-3)
    assert mean_factor(1, 10_000_000, chance) == pytest.approx(found, rel=1e-5)


def test_one_look_at_noise_in_decibels() -> None:
    """The power is exponential: median 1.59 dB under the mean, mean of dB 2.51 dB under, spread 5.57 dB."""
    assert 10 * log10(mean_factor(1, 10_000_000, 0.5)) == pytest.approx(10 * log10(log(2)), abs=1e-3)
    assert 10 * log10(mean_factor(1, 10_000_000, 0.5)) == pytest.approx(-1.59, abs=5e-3)
    level = level_of(np.random.default_rng(2).exponential(size=1_000_000))
    assert float(np.median(level)) == pytest.approx(-1.59, abs=0.02)
    assert float(level.mean()) == pytest.approx(-2.51, abs=0.02)
    assert float(level.std()) == pytest.approx(5.57, abs=0.02)
    assert 10 / log(10) * 0.5772157 == pytest.approx(2.51, abs=5e-3)
    assert 10 / log(10) * pi / sqrt(6) == pytest.approx(5.57, abs=5e-3)


@pytest.mark.parametrize("looks", [1, 4, 16, 64])
def test_the_low_percentile_gives_the_mean_of_the_noise(looks: int) -> None:
    rng = np.random.default_rng(looks)
    power = rng.gamma(looks, 1 / looks, 200_000) * 1e-10
    error = quantile_error(looks, len(power))
    assert 10 * log10(low_mean(power, looks) / 1e-10) == pytest.approx(0, abs=4 * error)
    assert low_factor(looks) == pytest.approx(float(np.quantile(power, 0.2)) / 1e-10, rel=0.01)


@pytest.mark.parametrize("looks", [1, 2, 8, 32, 200])
def test_looks_are_told_from_how_far_noise_strays(looks: int) -> None:
    rng = np.random.default_rng(looks)
    here, there = rng.gamma(looks, 1, (2, 400_000))
    spread = float(np.median(np.abs(10 * np.log10(here / there))))
    assert looks_of_spread(spread) == pytest.approx(looks, rel=0.03)
    if looks == 1:
        assert looks_of_spread(10 * log10(3)) == pytest.approx(1, rel=1e-6)


@pytest.mark.parametrize("held", [1, 5, 50])
@pytest.mark.parametrize("chance", [1e-1, 1e-3])
def test_the_strongest_of_several_looks(held: int, chance: float) -> None:
    """The largest of K exponentials lies below x with chance (1 - e^-x)^K and has the K-th harmonic number for a mean."""
    level = held_factor(held, chance) * harmonic(held)
    assert 1 - (1 - exp(-level)) ** held == pytest.approx(chance, rel=1e-6)
    assert harmonic(held) == pytest.approx(sum(1 / k for k in range(1, held + 1)), abs=1e-9)


def test_a_trace_that_strays_like_one_look_holds_one() -> None:
    assert held_of_looks(1.0) == 1.0
    for held in (2, 10, 100):
        power = np.random.default_rng(held).exponential(size=(held, 200_000)).max(axis=0)
        assert held_of_looks(float((power.mean() / power.std()) ** 2)) == pytest.approx(held, rel=0.06)


@pytest.mark.parametrize("looks", [1, 4, 30])
def test_the_bar_of_a_signal_lets_no_more_noise_through_than_asked(looks: int) -> None:
    power = np.random.default_rng(looks).gamma(looks, 1 / looks, 1_000_000)
    for chance in (1e-2, 1e-4):
        alarms = int((power > signal_factor(looks, MANY_CELLS, chance)).sum())
        assert alarms <= chance * len(power) + 4 * sqrt(chance * len(power))


@pytest.mark.parametrize("looks", [1, 8, 64])
@pytest.mark.parametrize("filled", [0.0, 0.5, 0.75])
def test_the_floor_is_found_though_most_of_a_block_is_in_use(looks: int, filled: float) -> None:
    """Where a median would lie in the signals: a low percentile with its offset does not."""
    rng = np.random.default_rng(looks)
    hz = np.arange(470_000_000, 534_000_001, 25_000)
    used = (hz % 8_000_000) < filled * 8_000_000
    power = 1e-10 * np.where(used, 1e3, 1) * rng.gamma(looks, 1 / looks, len(hz))
    level = level_of(power)
    floor = floor_of(grid_of(Sweep(hz, level, level)), ())
    errors = [10 * log10(each / 1e-10) for _, each in floor.blocks]
    assert max(map(abs, errors)) < 1.0 + 3 / sqrt(looks)

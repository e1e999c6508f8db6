"""Lines of a family as the comb measures them, against Fourier series, bounds of the literature, and other libraries."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import scipy.signal

from showday.sound.mains_comb import CombFitter, Fit
from showday.sound.mains_verdict import is_family, on_grid
from showday.sound.model import Block, Floats
from showday.sound.windows import Window, Windows
from tests.sound.made_sound import GRID_HUM, RATE, comb, comb_dbfs, noise, scaled, sine, times


def looks_of(sound: Floats, rate: int = RATE) -> tuple[list[Window], Windows]:
    windows = Windows(rate, 1)
    return windows.feed(Block(sound.astype(np.float32)[:, None], 0)), windows


def fitted(sound: Floats, rate: int = RATE) -> Fit:
    looks, windows = looks_of(sound, rate)
    return CombFitter(windows.rate, windows.length).fit(np.stack([look.samples[:, 0] for look in looks]))


def mains(sound: Callable[[Floats], Floats], f0: float = 50.02) -> Floats:
    """A periodic wave of the phase, 0 to 1."""
    return sound((f0 * times(2)) % 1)


# Fourier series: |sin| has (4/pi)/(4k^2-1) at 2k f0; a sawtooth of 2 f0 has 1/(pi k); half a sine has 1/2 at f0 and
# (2/pi)/(4k^2-1) at 2k f0; a sine cut off for the first half of each half period has odd lines only
SERIES = [
    (lambda p: np.abs(np.sin(2 * np.pi * p)), {1: 0.0, 2: 0.4244, 4: 0.0849, 6: 0.0364, 8: 0.0202}),
    (lambda p: (2 * p) % 1 - 0.5, {1: 0.0, 2: 0.318, 4: 0.159, 6: 0.106, 8: 0.080}),
    (lambda p: np.maximum(np.sin(2 * np.pi * p), 0), {1: 0.5, 2: 0.2122, 3: 0.0, 4: 0.0424, 6: 0.0182}),
    (
        lambda p: np.where((2 * p) % 1 >= 0.5, np.sin(2 * np.pi * p), 0),
        {1: 0.5927, 2: 0.0, 3: 0.3183, 5: 0.1061, 7: 0.1061, 9: 0.0637, 11: 0.0637, 13: 0.0455},
    ),
]


@pytest.mark.parametrize(("wave", "amplitudes"), SERIES, ids=["rectifier", "reservoir", "half wave", "phase cut"])
def test_lines_of_the_sources_of_hum(wave: Callable[[Floats], Floats], amplitudes: dict[int, float]) -> None:
    fit = fitted(mains(wave))
    assert fit.f0 == pytest.approx(50.02, abs=0.002)
    found = np.sqrt(2 * np.median(fit.power, axis=0))
    for order, amplitude in amplitudes.items():
        assert found[order - 1] == pytest.approx(amplitude, abs=0.004), order


# J. O. Smith, Spectral Audio Signal Processing: the parabola on a Hann peak errs by 0.0002 Hz when the spectrum of 1 s is
# padded fourfold; here it is padded twofold, and the error of 0.0016 Hz is taken back
@pytest.mark.parametrize("f0", [44.37, 49.1, 49.9, 50.0, 50.013, 51.62, 59.88, 60.07, 64.9])
def test_frequency_of_a_clean_line(f0: float) -> None:
    # a little noise, without which the rounding of the samples is periodic, too
    fit = fitted(sine(f0, 2, 0.1, phase=1.0) + noise(np.random.default_rng(1), 2, 1, -110)[:, 0])
    assert fit.f0 == pytest.approx(f0, abs=0.0003)
    assert fit.power[:, 0] == pytest.approx(0.005, rel=0.002)


# with the comb as strong as the noise in the same band, below 3 kHz
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("f0", [47.3, 50.02, 59.97, 63.1])
@pytest.mark.parametrize("over_db", [0.0, 10.0, 30.0])
def test_level_and_frequency_in_noise(f0: float, over_db: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    level = -60.0 + 10 * np.log10(3_000 / (RATE / 2)) + over_db
    sound = noise(rng, 4, 1, -60)[:, 0] + comb(f0, scaled(GRID_HUM, level), 4, rng)
    fit = fitted(sound)
    # away from the grids' frequencies only what wanders is mains
    assert is_family(fit) == on_grid(f0)
    assert float(np.median(fit.f0)) == pytest.approx(f0, abs=0.03)
    assert 10 * np.log10(2 * float(np.median(fit.comb))) == pytest.approx(level, abs=0.5)


def test_powers_are_those_of_a_least_squares_fit_and_of_a_periodogram() -> None:
    rng = np.random.default_rng(9)
    amplitudes = scaled(GRID_HUM, -40)
    sound = noise(rng, 1.5, 1, -70)[:, 0] + comb(50.03, amplitudes, 1.5, rng)
    looks, windows = looks_of(sound)
    look = looks[0].samples[:, 0].astype(np.float64)
    fit = fitted(sound)
    order = np.arange(1, 14)
    phase = 2 * np.pi * fit.f0[0] * np.outer(np.arange(len(look)) / windows.rate, order)
    design = np.hstack([np.cos(phase), np.sin(phase), np.ones((len(look), 1))])
    solved = np.linalg.lstsq(design, look, rcond=None)[0]
    least_squares = (solved[: len(order)] ** 2 + solved[len(order) : 2 * len(order)] ** 2) / 2
    hz, density = scipy.signal.periodogram(look, windows.rate, window="hann", scaling="density")
    for k, amplitude in amplitudes.items():
        near = np.abs(hz - k * 50.03) < 4
        both = least_squares[k - 1], float(density[near].sum() * (hz[1] - hz[0]))
        assert 10 * np.log10(fit.power[0, k - 1] / np.array(both)) == pytest.approx([0, 0], abs=0.5)
        assert 10 * np.log10(2 * fit.power[0, k - 1]) == pytest.approx(20 * np.log10(amplitude), abs=0.5)


@pytest.mark.parametrize("rate", [8_000, 16_000, 22_050, 44_100, 96_000])
def test_every_rate(rate: int) -> None:
    wave = sine(49.98, 3, 0.01, rate=rate) + sine(149.94, 3, 0.004, rate=rate)
    wave += noise(np.random.default_rng(1), 3, 1, -80, rate)[:, 0]
    fit = fitted(wave, rate)
    assert is_family(fit)
    assert fit.f0 == pytest.approx(49.98, abs=0.005)
    assert 10 * np.log10(2 * fit.comb) == pytest.approx(np.full(len(fit.f0), comb_dbfs({1: 0.01, 3: 0.004})), abs=0.1)


def test_no_family_in_three_hundred_looks_of_noise() -> None:
    rng = np.random.default_rng(11)
    fitter = CombFitter(12_000, 12_000)
    for _ in range(50):
        assert not is_family(fitter.fit(rng.standard_normal((6, 12_000)).astype(np.float32)))

"""The lower rate keeps what lies below 5 kHz and lets nothing fold into it; an independent filter routine agrees."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.signal

from showday.sound.decimate import AIM, PASS, SPARE_DB, STOP_DB, Decimator, kaiser_lowpass
from showday.sound.model import Floats
from tests.sound.made_sound import sine


def lowered(sound: Floats, rate: int, size: int) -> tuple[Floats, float]:
    decimator = Decimator(rate, 1)
    samples = sound.astype(np.float32)[:, None]
    parts = [decimator.feed(samples[at : at + size]) for at in range(0, len(samples), size)]
    return np.concatenate(parts)[:, 0].astype(np.float64), decimator.rate


@pytest.mark.parametrize("rate", [24_000, 32_000, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000])
def test_response_by_an_independent_routine(rate: int) -> None:
    lower = Decimator(rate, 1).rate
    assert rate % lower == 0
    assert lower >= AIM
    taps = kaiser_lowpass(rate, PASS, lower - PASS, STOP_DB + SPARE_DB)
    kept = np.arange(1, PASS, 50)
    folding = np.arange(lower - PASS, rate / 2, 50)
    inside = 20 * np.log10(np.abs(scipy.signal.freqz(taps, worN=kept, fs=rate)[1]))
    outside = 20 * np.log10(np.abs(scipy.signal.freqz(taps, worN=folding, fs=rate)[1]) + 1e-12)
    assert np.abs(inside).max() < 0.01
    assert outside.max() < -STOP_DB


@pytest.mark.parametrize("size", [100, 4_096, 50_000])
def test_samples_by_an_independent_routine(size: int) -> None:
    sound = np.random.default_rng(1).standard_normal(48_000)
    taps = kaiser_lowpass(48_000, PASS, 7_000, STOP_DB + SPARE_DB)
    reference = scipy.signal.fftconvolve(sound, taps, "same")[::4]
    found, rate = lowered(sound, 48_000, size)
    assert rate == 12_000
    assert len(found) > 11_900
    assert found == pytest.approx(reference[: len(found)], abs=1e-5)


def test_low_rates_stay() -> None:
    sound = sine(100, 1, rate=8_000)
    found, rate = lowered(sound, 8_000, 1_000)
    assert rate == 8_000
    assert found == pytest.approx(sound, abs=1e-6)

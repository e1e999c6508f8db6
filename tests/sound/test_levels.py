"""Levels by AES17, peaks, crest factors, floors and dBu, against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.signal

from showday.sound.levels import ChannelLevels, Levels, dbu
from showday.sound.model import Block, Floats
from tests.sound.made_sound import RATE, feed, noise, sine, times


def measured(sound: Floats, rate: int = RATE, size: int = 4_096) -> list[ChannelLevels]:
    levels = Levels(rate, 1 if sound.ndim == 1 else sound.shape[1])
    feed(levels, sound, size)
    return levels.overall()


# AES17: a full-scale sine is 0 dBFS RMS, so a full-scale square or direct voltage is 20 log10(sqrt 2) higher
@pytest.mark.parametrize(
    ("sound", "level"),
    [
        (sine(1000, 1), 0.0),
        (np.sign(sine(1000, 1, phase=0.1)), 3.0103),
        (np.ones(RATE), 3.0103),
        (sine(1000, 1, 0.1), -20.0),
    ],
)
def test_aes17(sound: Floats, level: float) -> None:
    assert measured(sound)[0].level_dbfs == pytest.approx(level, abs=0.001)


# peak over RMS, from the integrals of the wave over a period
@pytest.mark.parametrize(
    ("sound", "crest"),
    [
        (sine(100, 1, phase=0.3), 3.01),
        (scipy.signal.square(2 * np.pi * 100 * times(1) + 0.01), 0.0),
        (scipy.signal.sawtooth(2 * np.pi * 100 * times(1), 0.5), 4.77),
        (scipy.signal.sawtooth(2 * np.pi * 100 * times(1)), 4.77),
        (np.abs(sine(100, 1)), 3.01),
        (np.maximum(sine(100, 1), 0), 6.02),
    ],
)
def test_crest_factors(sound: Floats, crest: float) -> None:
    assert measured(sound)[0].crest_db == pytest.approx(crest, abs=0.02)


def test_largest_24_bit_sample_counts_as_full_scale() -> None:
    sound = np.zeros((RATE, 2))
    sound[100:103, 0] = 0x7FFFFF / 2**23
    sound[100:103, 1] = 0x7FFFFE / 2**23
    sound[50, 0] = -1.0
    full, below = measured(sound)
    assert (full.clipped, below.clipped) == (4, 0)
    assert full.peak_dbfs == 0.0
    assert below.peak_dbfs == pytest.approx(-2.07e-6, abs=1e-6)


def test_idle_noise_of_16_bits_with_triangular_dither() -> None:
    # -(6.0206 * 16 + 1.7609) + 4.77 dB: quantisation noise and twice as much from the dither
    rng = np.random.default_rng(1)
    dither = rng.uniform(-0.5, 0.5, (4 * RATE, 2)) + rng.uniform(-0.5, 0.5, (4 * RATE, 2))
    for channel in measured(np.round(dither) / 2**15):
        assert channel.level_dbfs == pytest.approx(-93.32, abs=0.1)
        assert channel.floor_dbfs == pytest.approx(-93.32 - 0.1, abs=0.1)


def test_true_peak_of_a_quarter_of_the_rate() -> None:
    # ITU-R BS.1770 and EBU Tech 3341: the samples show -3.01, the wave between them reaches 0, +0.2/-0.4 dB allowed
    found = measured(sine(RATE / 4, 1, phase=np.pi / 4))[0]
    assert found.peak_dbfs == pytest.approx(-3.01, abs=0.01)
    assert found.true_peak_dbtp is not None
    assert -0.4 < found.true_peak_dbtp < 0.2


@pytest.mark.parametrize("size", [64, 1_000, 4_096, 48_000])
def test_true_peak_as_an_independent_resampler_has_it(size: int) -> None:
    rng = np.random.default_rng(2)
    sound = np.pad(0.2 * rng.standard_normal((RATE, 2)), ((4_800, 4_800), (0, 0)))
    reference = np.abs(scipy.signal.resample_poly(sound, 4, 1, axis=0)).max(axis=0)
    for channel, largest in zip(measured(sound, size=size), reference, strict=True):
        assert channel.true_peak_dbtp == pytest.approx(20 * np.log10(largest), abs=0.02)


def test_true_peak_only_near_the_top() -> None:
    assert measured(sine(1000, 1, 0.49))[0].true_peak_dbtp is None


# EBU R68: 0 dBFS = +18 dBu; SMPTE RP155: +24 dBu; 0 dBu is sqrt(0.6) V
def test_dbu_only_where_the_rig_says_what_full_scale_is() -> None:
    assert dbu(-18.0, 18.0) == 0.0
    assert dbu(-20.0, 24.0) == 4.0
    assert dbu(-18.0, None) is None
    assert dbu(math.nan, 24.0) is None


def test_floor_under_words_with_pauses() -> None:
    rng = np.random.default_rng(3)
    sound = noise(rng, 10, 1, -70)
    for start in (1, 3, 5, 7):
        sound[start * RATE : (start + 1) * RATE] += noise(rng, 1, 1, -15)
    found = measured(sound)[0]
    assert found.floor_dbfs == pytest.approx(-70, abs=0.3)
    # white noise over 0 to 24 kHz loses 2.7 dB by the A curve (its integral over the band)
    assert found.floor_dbfs_a == pytest.approx(-72.7, abs=0.4)
    assert found.loudest_dbfs == pytest.approx(-15, abs=0.2)


def test_floor_is_not_assessed_without_a_pause() -> None:
    drum = np.exp(-np.arange(RATE // 4) / 1_000) * np.random.default_rng(4).standard_normal(RATE // 4)
    sound = np.tile(drum, 40)[:, None]
    levels = Levels(RATE, 1)
    feed(levels, sound)
    assert math.isnan(levels.overall()[0].floor_dbfs)
    assert math.isnan(levels.meters()[0].floor_dbfs)


def test_floor_needs_three_seconds() -> None:
    rng = np.random.default_rng(5)
    assert math.isnan(measured(noise(rng, 2, 1, -60))[0].floor_dbfs)
    assert measured(noise(rng, 4, 1, -60))[0].floor_dbfs == pytest.approx(-60.1, abs=0.1)


def test_exact_silence_is_no_noise() -> None:
    rng = np.random.default_rng(6)
    sound = noise(rng, 10, 2, -60)
    sound[: 5 * RATE, 0] = 0
    sound[:, 1] = 0
    muted, silent = measured(sound)
    assert muted.floor_dbfs == pytest.approx(-60.1, abs=0.1)
    assert silent.floor_dbfs == -160.0
    assert math.isnan(silent.crest_db)


@pytest.mark.parametrize(("hz", "db"), [(50, -30.2), (100, -19.1), (1000, 0.0), (10_000, -2.5)])
def test_weighted_level_of_lines(hz: float, db: float) -> None:
    # IEC 61672-1, table 3
    assert measured(sine(hz, 4, 0.1))[0].floor_dbfs_a == pytest.approx(-20 + db, abs=0.5)


def test_meters_show_the_latest() -> None:
    levels = Levels(RATE, 1)
    feed(levels, np.concatenate((sine(1000, 1, 0.5), sine(1000, 1, 0.05))))
    meter = levels.meters()[0]
    assert meter.level_dbfs == pytest.approx(20 * np.log10(0.05), abs=0.01)
    assert meter.peak_dbfs == pytest.approx(20 * np.log10(0.05), abs=0.01)
    assert meter.held_peak_dbfs == pytest.approx(20 * np.log10(0.5), abs=0.01)


@pytest.mark.parametrize("rate", [8_000, 44_100, 96_000, 192_000])
def test_block_sizes_change_nothing(rate: int) -> None:
    sound = noise(np.random.default_rng(7), 4, 2, -30, rate)
    assert measured(sound, rate, 4_096) == measured(sound, rate, 1_777) == measured(sound, rate, rate)


def test_what_is_no_number_is_silent() -> None:
    sound = sine(1000, 1, 0.1)
    sound[::1000] = [np.nan, np.inf, -np.inf, np.nan, *[np.nan] * 44]
    found = measured(sound)[0]
    assert found.peak_dbfs == pytest.approx(-20, abs=0.001)
    assert found.clipped == 0


def test_lost_frames_and_empty_blocks() -> None:
    levels = Levels(RATE, 1)
    assert levels.meters()[0].level_dbfs == levels.overall()[0].level_dbfs == -160.0
    samples = sine(1000, 1, 0.1).astype(np.float32)[:, None]
    levels.feed(Block(samples[:0], 0))
    levels.feed(Block(samples[:1_000], 0))
    levels.feed(Block(samples[:24_000], 30_000))
    levels.feed(Block(samples[:24_000], 54_000, overflow=True))
    assert levels.overall()[0].level_dbfs == pytest.approx(-20, abs=0.001)


def test_one_hundred_and_twenty_eight_channels() -> None:
    gains = 10 ** (-np.arange(128) / 40)
    found = measured(sine(1000, 1)[:, None] * gains)
    assert [channel.level_dbfs for channel in found] == pytest.approx((-np.arange(128) / 2).tolist(), abs=0.001)

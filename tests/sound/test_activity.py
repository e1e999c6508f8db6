from __future__ import annotations

import numpy as np
import pytest

from showday.sound.activity import LOWEST_DB, Energies, Floor, dbfs
from showday.sound.folded import counts, highest, lowest, means
from showday.sound.model import Block

RATE = 48_000


def test_levels_are_those_of_aes17() -> None:
    """AES17: a full-scale sine has 0 dBFS, so a full-scale square has +3.01 and a sine of 0.1 has -20."""
    assert dbfs([0.5, 1.0, 0.005]) == pytest.approx([0.0, 3.0103, -20.0], abs=1e-4)
    assert dbfs(0.0) == LOWEST_DB


@pytest.mark.parametrize("seed", range(8))
def test_energies_are_those_of_numpy_however_the_stream_is_cut(seed: int) -> None:
    draw = np.random.default_rng(seed)
    samples = draw.standard_normal((3_000, 3)).astype(np.float32)
    energies = Energies(RATE, 3)
    firsts, found, at = [], [], 0
    while at < len(samples):
        size = int(draw.choice([1, 100, 239, 240, 241, 700]))
        first, made = energies.feed(Block(samples[at : at + size], at))
        firsts += [first + row * energies.length for row in range(len(made))]
        found += list(made)
        at += size
    whole = samples[: len(found) * 240].astype(np.float64).reshape(-1, 240, 3)
    assert len(found) == len(samples) // 240
    assert firsts == list(range(0, len(found) * 240, 240))
    assert np.array(found) == pytest.approx(np.square(whole).mean(axis=1), rel=1e-5)


def test_an_energy_holds_nothing_from_before_lost_frames() -> None:
    energies = Energies(RATE, 1)
    energies.feed(Block(np.ones((200, 1), np.float32), 0))
    first, found = energies.feed(Block(np.full((240, 1), 0.5, np.float32), 1_000))
    assert (first, found.tolist()) == (1_000, [[0.25]])


def test_what_is_no_number_counts_as_silence() -> None:
    samples = np.full((240, 2), 0.5, np.float32)
    samples[:120, 0] = np.nan
    samples[:120, 1] = np.inf
    assert Energies(RATE, 2).feed(Block(samples, 0))[1].tolist() == [[0.125, 0.125]]


def test_the_floor_of_noise_reads_at_most_a_little_low_and_sounds_do_not_lift_it() -> None:
    """The 20th percentile of powers of 2400 samples lies 0.1 dB below their mean (chi-squared distribution)."""
    noise = np.random.default_rng(1).standard_normal((10 * RATE, 2)) * 1e-3
    noise[3 * RATE : 5 * RATE, 1] *= 1_000
    energies, floor = Energies(RATE, 2), Floor(2)
    assert floor.level().tolist() == [LOWEST_DB, LOWEST_DB]
    floor.feed(energies.feed(Block(noise.astype(np.float32), 0))[1])
    assert floor.level() == pytest.approx(np.array([-56.99, -56.99]), abs=0.25)


@pytest.mark.parametrize("frames", [1, 31, 32, 33, 1_000])
@pytest.mark.parametrize("channels", [1, 3, 32])
def test_folded_sums_and_extremes_are_those_of_numpy(frames: int, channels: int) -> None:
    samples = np.random.default_rng(frames).standard_normal((frames, channels)).astype(np.float32)
    assert np.array_equal(highest(samples), samples.max(axis=0))
    assert np.array_equal(lowest(samples), samples.min(axis=0))
    assert means(samples) == pytest.approx(samples.mean(axis=0, dtype=np.float64), abs=1e-5)
    assert np.array_equal(counts(samples > 0), (samples > 0).sum(axis=0))
    assert np.array_equal(highest(samples[:, ::2]), samples[:, ::2].max(axis=0))

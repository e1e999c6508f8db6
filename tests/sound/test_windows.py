"""Looks of one second every half second, the quietest of them, and how exact a line in them is."""

from __future__ import annotations

import numpy as np
import pytest

from showday.sound.crystal import ALONE_PPM, exactness
from showday.sound.model import Block, Floats
from showday.sound.quiet import KEPT, Quietest
from showday.sound.windows import Window, Windows, finite
from tests.sound.made_sound import RATE, noise, sine


def looks(sound: Floats, size: int = 4_096, rate: int = RATE) -> list[Window]:
    windows = Windows(rate, sound.shape[1])
    samples = sound.astype(np.float32)
    blocks = [Block(samples[at : at + size], at) for at in range(0, len(samples), size)]
    return [look for block in blocks for look in windows.feed(block)]


def test_a_look_each_half_second_with_the_power_of_the_band() -> None:
    found = looks(np.column_stack([sine(100, 4, 0.1), sine(9_000, 4, 0.1)]) + 0.3)
    assert [look.from_s for look in found] == pytest.approx([0, 0.5, 1, 1.5, 2, 2.5])
    assert [look.index for look in found] == list(range(6))
    # direct voltage does not count, and 9 kHz is above the band
    assert found[2].power == pytest.approx([0.005, 0], abs=2e-6)


def test_a_stretch_of_zeros_makes_a_look_useless() -> None:
    sound = noise(np.random.default_rng(1), 3, 2, -40)
    sound[RATE + 5_000 : RATE + 8_000, 0] = 0
    assert [look.gap.tolist() for look in looks(sound)] == [
        [False, False],
        [True, False],
        [True, False],
        [False, False],
    ]


def test_lost_frames_begin_a_new_look() -> None:
    windows = Windows(RATE, 1)
    samples = sine(100, 1, 0.1).astype(np.float32)[:, None]
    assert windows.feed(Block(samples[:40_000], 0)) == []
    assert windows.feed(Block(samples[:40_000], 60_000)) == []
    (look,) = windows.feed(Block(samples[:20_000], 100_000))
    assert look.from_s == pytest.approx(60_000 / RATE)


def test_what_is_no_number_is_silent() -> None:
    samples = np.array([[0.5, np.nan], [np.inf, -0.25], [-np.inf, 1e30], [3.0, 0.0]], dtype=np.float32)
    assert finite(samples).tolist() == [[0.5, 0.0], [0.0, -0.25], [0.0, 0.0], [3.0, 0.0]]
    sound = samples[[0, 3]]
    sound[0, 1] = 0
    assert finite(sound) is sound
    assert finite(np.full((40_000, 1), 2.0, np.float32)).all()  # loud, and nothing is wrong with it


def test_an_absurd_sample_is_silent_whatever_else_is_in_the_block() -> None:
    for absurd in (101.0, 1e12, -1e15):
        assert finite(np.array([[0.5], [absurd]], np.float32)).tolist() == [[0.5], [0.0]]


def test_the_quietest_are_kept() -> None:
    levels = np.random.default_rng(2).permutation(20) + 1.0
    quietest = Quietest(1, 10)
    for at, level in enumerate(levels):
        samples = np.full((10, 1), level, np.float32)
        quietest.take(Window(at, at / 2, samples, np.array([level**2], np.float32), np.array([at == 3])))
    kept, from_s = quietest.looks(0)
    possible = sorted(level for at, level in enumerate(levels) if at != 3)[:KEPT]
    assert sorted(kept[:, 0].tolist()) == possible
    assert from_s.tolist() == sorted(from_s)


@pytest.mark.parametrize("off_ppm", [-60.0, 0.0, 5.0, 40.0])
def test_exactness_of_a_line(off_ppm: float) -> None:
    # the phase of a line off by d Hz turns by d cycles a second against the round figure
    sound = sine(100 * (1 + off_ppm * 1e-6), 9, 0.01)[:, None] + noise(np.random.default_rng(3), 9, 1, -80)
    found = looks(sound)[1::3]
    samples = np.stack([look.samples[:, 0] for look in found])
    exact = exactness(samples, np.array([look.from_s for look in found]), 12_000, 100.0, 1e6)
    assert exact is not None
    assert exact.off_ppm == pytest.approx(off_ppm, abs=3)
    assert exact.within(ALONE_PPM) == (abs(off_ppm) < ALONE_PPM)


def test_a_grid_is_not_exact() -> None:
    sound = sine(50.01, 9, 0.01)[:, None] + noise(np.random.default_rng(4), 9, 1, -80)
    found = looks(sound)[1::3]
    samples = np.stack([look.samples[:, 0] for look in found])
    exact = exactness(samples, np.array([look.from_s for look in found]), 12_000, 50.0, 1e6)
    assert exact is None or not exact.within(ALONE_PPM)

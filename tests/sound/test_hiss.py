"""Hiss is steady noise far over the other channels; music, hum and gain alone are none."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.signal

from showday.sound.hiss import Hiss
from showday.sound.model import Block, Finding, Floats
from tests.sound.made_sound import GRID_HUM, RATE, comb, feed, noise, pluck, repeated, scaled


def heard(sound: Floats) -> list[Finding]:
    hiss = Hiss(RATE, sound.shape[1])
    feed(hiss, sound)
    return hiss.findings()


@pytest.mark.parametrize("seed", range(3))
def test_a_noisy_line_among_quiet_ones(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sound = noise(rng, 10, 6, -85)
    sound[:, 2] += noise(rng, 10, 1, -55)[:, 0]
    (found,) = heard(sound)
    assert (found.kind, found.channel) == ("hiss", 2)
    # white noise over 0 to 24 kHz loses 2.7 dB by the A curve, and hardly any of it is below 750 Hz
    assert found.level_dbfs == pytest.approx(-57.7, abs=0.7)
    assert found.to_s - found.from_s == pytest.approx(10, abs=0.1)
    assert "likely" in found.sentence
    assert "phantom" in found.sentence


def test_coloured_hiss_over_rumble() -> None:
    rng = np.random.default_rng(3)
    sound = noise(rng, 10, 4, -85)
    treble = scipy.signal.butter(1, 2_000, "highpass", fs=RATE, output="sos")
    rumble = scipy.signal.butter(2, 60, fs=RATE, output="sos")
    sound[:, 1] += scipy.signal.sosfilt(treble, noise(rng, 10, 1, -55)[:, 0])
    sound[:, 1] += 0.1 * scipy.signal.sosfilt(rumble, rng.standard_normal(len(sound)))
    assert [(each.kind, each.channel) for each in heard(sound)] == [("hiss", 1)]


def test_hiss_between_the_notes() -> None:
    rng = np.random.default_rng(4)
    sound = noise(rng, 10, 4, -85)
    sound[:, 0] += noise(rng, 10, 1, -60)[:, 0]
    sound[: 5 * RATE, 0] += repeated(pluck(196, 1, rng), 1, 5)
    assert [(each.kind, each.channel) for each in heard(sound)] == [("hiss", 0)]


def test_what_is_no_hiss() -> None:
    rng = np.random.default_rng(5)
    sound = noise(rng, 20, 7, -85)
    sound[:, 0] += noise(rng, 20, 1, -73)[:, 0]  # a gain 12 dB higher
    sound[:, 1] += comb(50.02, scaled(GRID_HUM, -50), 20, rng)
    sound[:, 2] += repeated(pluck(49.1, 6, rng), 1, 20)
    sound[:, 3] += repeated(noise(rng, 0.3, 1, -30)[:, 0] * np.linspace(1, 0, round(0.3 * RATE)) ** 2, 0.4, 20)
    sound[:, 4] = 0
    assert heard(sound) == []


@pytest.mark.parametrize(("from_s", "level"), [(0.0, -30), (10.0, -55)], ids=["as loud as a signal", "it came"])
def test_a_sound_like_noise_is_a_weak_case(from_s: float, level: float) -> None:
    # a roll that lasts for one stretch cannot be told from hiss: it is said, and less than half believed
    rng = np.random.default_rng(9)
    sound = noise(rng, 20, 4, -85)
    sound[round(from_s * RATE) : round((from_s + 10.5) * RATE), 0] += noise(rng, 10.5, 1, level)[
        : len(sound) - round(from_s * RATE), 0
    ]
    (found,) = heard(sound)
    assert found.confidence < 0.5
    assert "likely a sound that is like noise, or hiss: let the line rest" in found.sentence


def test_hiss_that_stays_is_believed_more_and_more() -> None:
    rng = np.random.default_rng(10)
    sound = noise(rng, 50, 4, -85)
    sound[10 * RATE :, 0] += noise(rng, 40, 1, -60)[:, 0]
    sure = []
    hiss = Hiss(RATE, 4)
    for second in range(50):
        hiss.feed(Block(sound[second * RATE : (second + 1) * RATE].astype(np.float32), second * RATE))
        sure += [each.confidence for each in hiss.findings()]
    assert sure == sorted(sure)
    assert sure[0] < 0.5 < sure[-1] < 0.9


def test_every_line_as_noisy_as_the_others_is_no_hiss() -> None:
    assert heard(noise(np.random.default_rng(6), 10, 4, -55)) == []


def test_one_channel_has_nothing_to_be_compared_with() -> None:
    assert heard(noise(np.random.default_rng(7), 10, 1, -55)) == []


def test_channels_that_buzz_can_be_left_out() -> None:
    rng = np.random.default_rng(8)
    sound = noise(rng, 6, 4, -85)
    sound[:, 0] += noise(rng, 6, 1, -55)[:, 0]
    hiss = Hiss(RATE, 4)
    feed(hiss, sound)
    assert len(hiss.findings()) == 1
    assert hiss.findings({0}) == []

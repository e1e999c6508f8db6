"""Frames of phones and of computer ports: what their lines are, and what is not taken for them."""

from __future__ import annotations

import numpy as np
import pytest

from showday.sound.background import Background
from showday.sound.model import Finding, Floats
from showday.sound.tones import LEAST_PHONE_LINES, PHONE_HZ, PHONE_LINES, PRESENT_DB, Tones, _Comb
from tests.sound.made_sound import GRID_HUM, RATE, comb, feed, noise, pluck, repeated, scaled, sine, times


def heard(sound: Floats, rate: int = RATE) -> list[Finding]:
    tones = Tones(rate, sound.shape[1])
    feed(tones, sound)
    return tones.findings()


def phone(seconds: float, from_s: float, to_s: float) -> Floats:
    """A slot in each frame, but for one idle frame in 26 (3GPP TS 45.001)."""
    frame = times(seconds) * 5_200 / 24
    on = (frame % 1 < 1 / 8) & (np.floor(frame) % 26 != 25)
    on[: round(from_s * RATE)] = on[round(to_s * RATE) :] = False
    return np.asarray(on, dtype=np.float64)


def test_frames_of_a_phone() -> None:
    # 26 frames last 120 ms; a slot is an eighth of a frame, so the spectrum is zero at the eighth line
    assert pytest.approx(26 / 0.12) == PHONE_HZ == pytest.approx(216.667, abs=0.001)
    assert pytest.approx(1733.3, abs=0.1) == 8 * PHONE_HZ
    pulse = np.abs(np.fft.rfft(np.arange(8_000) < 1_000))
    assert pulse[8] < 1e-9 * pulse[1]
    assert 8 not in PHONE_LINES


@pytest.mark.parametrize("amplitude", [0.0, 3e-4, 6e-4, 1e-3, 3e-3])
def test_lines_are_those_over_all_that_is_beside_them(amplitude: float) -> None:
    # each line of a look against the mean of the eight places beside it, from sums over the samples
    rng = np.random.default_rng(7)
    rate, sides = 12_000, [sign / n for n in (2, 3, 4, 5) for sign in (-1, 1)]
    at = np.arange(rate) / rate
    look = 3e-4 * rng.standard_normal((rate, 6))
    train = np.sum([np.sin(2 * np.pi * PHONE_HZ * k * at + k) for k in PHONE_LINES], axis=0)
    look += amplitude * np.outer(train, np.arange(6))
    window = np.hanning(rate + 1)[:-1]
    comb = _Comb(PHONE_HZ * np.array(PHONE_LINES), [PHONE_HZ * side for side in sides], rate, window)

    def power(hz: Floats) -> Floats:
        return np.asarray(np.abs(np.exp(-2j * np.pi * np.outer(hz, at)) @ (look * window[:, None])) ** 2)

    lines = power(PHONE_HZ * np.array(PHONE_LINES))
    beside = np.mean([power(PHONE_HZ * (np.array(PHONE_LINES) + side)) for side in sides], axis=0)
    wanted = lines > 10 ** (PRESENT_DB / 10) * beside
    wanted &= wanted.sum(axis=0) >= LEAST_PHONE_LINES
    samples = look.astype(np.float32)
    found = comb.present(samples, comb.power((comb.first @ samples).astype(np.float64)), LEAST_PHONE_LINES)
    found &= found.sum(axis=0) >= LEAST_PHONE_LINES
    assert found.tolist() == wanted.tolist()


@pytest.mark.parametrize("seed", range(3))
def test_a_phone_in_bursts(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sound = noise(rng, 8, 3, -75)
    sound[:, 1] += 3e-3 * phone(8, 2.5, 5)
    sound[:, 2] += sine(440, 8, 0.01)
    sound[:, 2] += 3e-3 * phone(8, 0, 8)
    first, second = heard(sound)
    assert (first.kind, first.channel, first.f0_hz) == ("rf_buzz", 1, 216.667)
    assert first.from_s == pytest.approx(2.5, abs=1)
    assert first.to_s == pytest.approx(5, abs=1)
    assert (second.kind, second.channel) == ("rf_buzz", 2)
    # the lines of a pulse train looked at, all but direct voltage and the eighth, up to the fourteenth
    train = 3e-3 * phone(6, 0, 6)
    lines = np.abs(np.fft.rfft(train * np.hanning(len(train)))) * 4 / len(train)
    power = sum(float(lines[round(k * PHONE_HZ * 6)] ** 2) for k in PHONE_LINES)
    assert second.level_dbfs == pytest.approx(10 * np.log10(power), abs=1)


@pytest.mark.parametrize("off_ppm", [-90, 0, 20, 90])
def test_frames_of_a_port(off_ppm: float) -> None:
    rng = np.random.default_rng(1)
    sound = noise(rng, 6, 2, -75)
    for order in range(1, 8):
        sound[:, 1] += sine(1_000 * order * (1 + off_ppm * 1e-6), 6, 1e-3 / order, phase=order)
    (found,) = heard(sound)
    assert (found.kind, found.channel, found.f0_hz) == ("clock_tone", 1, 1_000.0)
    lines = [1 / order**2 for order in range(1, 6)]
    assert found.level_dbfs == pytest.approx(-60 + 10 * np.log10(sum(lines)), abs=0.5)


@pytest.mark.parametrize("f0", [49.98, 50.0, 50.013, 60.0])
def test_mains_of_any_kind_is_neither(f0: float) -> None:
    rng = np.random.default_rng(2)
    sound = noise(rng, 6, 3, -80)
    sound[:, 0] += comb(f0, scaled(GRID_HUM, -40), 6, rng)
    sound[:, 1] += comb(f0, dict.fromkeys(range(1, 100), 0.0001), 6, rng)
    sound[:, 2] += comb(f0, dict.fromkeys(range(2, 100, 2), 0.0001), 6, rng)
    assert heard(sound) == []


@pytest.mark.parametrize("seed", range(3))
def test_music_and_test_tones_are_neither(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sound = noise(rng, 10, 7, -80)
    for channel, hz in enumerate((216.0, 220.0, 987.8, 1_000.0)):
        sound[:, channel] += repeated(pluck(hz, 3, rng, 14), 2, 10)
    # a line-up tone of a console that distorts by 0.1 %
    tone = sine(1_000, 10, 0.125)
    sound[:, 4] += tone + 1e-3 * tone**2 + 1e-3 * tone**3
    sound[:, 5] += np.sign(sine(987.8, 10, 0.1)) * 0.1
    sound[:, 6] += noise(rng, 10, 1, -20)[:, 0]
    assert heard(sound) == []


def test_low_rates_have_fewer_lines() -> None:
    rng = np.random.default_rng(4)
    wave = sum((sine(1_000 * k, 6, 1e-3, rate=8_000) for k in (1, 2, 3)), np.zeros(48_000))
    sound = noise(rng, 6, 1, -75, 8_000) + wave[:, None]
    assert [each.kind for each in heard(sound, 8_000)] == ["clock_tone"]
    assert heard(noise(rng, 6, 4, -60, 8_000), 8_000) == []


def test_all_together() -> None:
    rng = np.random.default_rng(5)
    sound = noise(rng, 10, 8, -85)
    sound[:, 0] += comb(50.02, scaled(GRID_HUM, -60), 10, rng)
    sound[:, 1] += noise(rng, 10, 1, -55)[:, 0]
    sound[:, 2] += 3e-3 * phone(10, 2, 6)
    sound[:, 3] += comb(1_000.0, {k: 1e-3 / k for k in range(1, 6)}, 10, rng)
    sound[:, 4] += comb(100.0, {k: 1e-3 / k for k in range(1, 12)}, 10, rng)
    background = Background(RATE, 8)
    feed(background, sound)
    found = [(each.channel, each.kind) for each in background.findings()]
    assert found == [(0, "hum"), (1, "hiss"), (2, "rf_buzz"), (3, "clock_tone"), (4, "clock_tone")]
    assert background.mains_hz == pytest.approx(50.02, abs=0.005)
    assert [meter.level_dbfs for meter in background.meters()][5:] == pytest.approx([-85] * 3, abs=0.3)
    assert background.overall()[1].floor_dbfs == pytest.approx(-55, abs=0.3)

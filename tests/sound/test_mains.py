"""Hum, buzz and ripple: what is found, at which frequency, and what is not taken for it."""

from __future__ import annotations

import re

import numpy as np
import pytest

from showday.sound import mains_words
from showday.sound.mains import Mains
from showday.sound.mains_verdict import Verdict
from showday.sound.model import Block, Finding, Floats
from tests.sound.made_sound import GRID_HUM, RATE, comb, feed, noise, pluck, repeated, scaled, sine, times

_DIMMER = np.where(np.arange(4_096) % 2_048 >= 1_024, np.sin(np.arange(4_096) * 2 * np.pi / 4_096), 0)
PHASE_CUT = {k: k * float(abs(np.fft.rfft(_DIMMER)[k])) for k in range(1, 80, 2)}
"""A dimmer at half, coupled through a capacity, which multiplies each line by its order."""
RECTIFIED = {2 * k: 1 / (4 * k**2 - 1) for k in range(1, 20)}
RESERVOIR = {2 * k: 1 / k for k in range(1, 20)}


def heard(sound: Floats) -> tuple[list[Finding], float | None]:
    analyser = Mains(RATE, sound.shape[1])
    feed(analyser, sound)
    return analyser.findings(), analyser.mains_hz


def wandering(middle: float, seconds: float, rng: np.random.Generator) -> Floats:
    """A generator's frequency: by chance to and fro within 0.35 Hz, 0.1 to 0.3 Hz a second."""
    steps = np.cumsum(rng.standard_normal(round(seconds * 10) + 1)) * 0.06
    smooth = np.clip(np.convolve(steps - steps.mean(), np.ones(5) / 5, "same"), -0.35, 0.35)
    count = round(seconds * RATE)
    return np.asarray(middle + np.interp(np.arange(count), np.arange(len(smooth)) * RATE / 10, smooth))


@pytest.mark.parametrize("f0", [49.96, 50.013, 59.94, 60.03])
def test_kinds_and_one_frequency(f0: float) -> None:
    rng = np.random.default_rng(1)
    sound = noise(rng, 8, 6, -80)
    for channel, lines in enumerate((GRID_HUM, PHASE_CUT, RECTIFIED, RESERVOIR)):
        sound[:, channel] += comb(f0, scaled(lines, -60), 8, rng)
    findings, hz = heard(sound)
    assert [(each.channel, each.kind) for each in findings] == [(0, "hum"), (1, "buzz"), (2, "ripple"), (3, "ripple")]
    assert hz == pytest.approx(f0, abs=0.005)
    assert [each.f0_hz for each in findings] == pytest.approx([f0] * 4, abs=0.005)
    # the dimmer's lines reach up to 5 kHz; what is above is not measured
    assert [each.level_dbfs for each in findings] == pytest.approx([-60] * 4, abs=0.5)


def test_half_wave_is_no_ripple() -> None:
    rng = np.random.default_rng(2)
    sound = noise(rng, 6, 1, -80)
    sound[:, 0] += comb(50.02, scaled({1: 0.5, 2: 0.2122, 4: 0.0424, 6: 0.0182}, -60), 6, rng)
    assert [each.kind for each in heard(sound)[0]] == ["hum"]


# ISO 8528-5: an unloaded 50 Hz set of class G2 runs at up to 52.5, a 60 Hz set at up to 63
@pytest.mark.parametrize("middle", [47.9, 51.7, 52.3, 58.2, 62.4])
def test_generators(middle: float) -> None:
    rng = np.random.default_rng(3)
    sound = noise(rng, 12, 3, -80)
    hz = wandering(middle, 12, rng)
    sound[:, 0] += comb(hz, scaled(GRID_HUM, -60), 12, rng)
    sound[:, 1] += comb(hz, scaled(GRID_HUM, -70), 12, rng)
    findings, found = heard(sound)
    assert [(each.channel, each.kind) for each in findings] == [(0, "hum"), (1, "hum")]
    assert found == pytest.approx(middle, abs=0.4)


@pytest.mark.parametrize("middle", [51.6, 62.4])
def test_a_generator_that_hardly_moves_and_a_drone_that_does_not(middle: float) -> None:
    """A set whose load stays the same keeps within a few hundredths of a Hz. A synthesizer's B (61.735 Hz by equal
    temperament on 440 Hz) and G sharp (51.913 Hz) are exact, and no mains."""
    rng = np.random.default_rng(9)
    sound, t = noise(rng, 12, 2, -80), times(12)
    sound[:, 0] += comb(middle + 0.04 * np.sin(2 * np.pi * t / 7), scaled(GRID_HUM, -60), 12, rng)
    drone = 51.913 if middle < 55 else 61.735
    sound[:, 1] += comb(drone, scaled({k: 1 / k for k in range(1, 12)}, -40), 12, rng)
    findings, _ = heard(sound)
    assert [(each.channel, each.kind) for each in findings] == [(0, "hum")]


def test_hum_under_a_bass_that_goes_on_is_found_where_another_channel_proves_it() -> None:
    rng = np.random.default_rng(10)
    sound, t = noise(rng, 20, 2, -75), times(20)
    sound[:, 0] += comb(50.02, scaled(GRID_HUM, -60), 20, rng)
    sound[:, 1] += comb(50.02, scaled(GRID_HUM, -60), 20, rng)
    sound[:, 1] += 10 ** (-57 / 20) * np.sin(2 * np.pi * 55.0 * t + 0.5 * np.sin(2 * np.pi * 0.7 * t))
    findings, _ = heard(sound)
    assert [(each.channel, each.kind) for each in findings] == [(0, "hum"), (1, "hum")]


def test_a_hum_that_once_looks_like_a_buzz_is_one_hum() -> None:
    """Many faint lines for ten of forty seconds: no louder, so no dimmer that comes up."""
    rng = np.random.default_rng(11)
    sound = noise(rng, 40, 1, -95)
    sound[:, 0] += comb(50.02, scaled(GRID_HUM, -48), 40, rng)
    once = slice(10 * RATE, 21 * RATE)
    sound[once, 0] += comb(50.02, scaled(dict.fromkeys(range(15, 90), 1.0), -62), 40, rng)[once]
    assert [each.kind for each in heard(sound[: 22 * RATE])[0]] == ["hum", "buzz"]
    assert [each.kind for each in heard(sound)[0]] == ["hum"]
    sound[once, 0] += comb(50.02, scaled(dict.fromkeys(range(15, 90), 1.0), -40), 40, rng)[once]
    assert [each.kind for each in heard(sound)[0]] == ["hum", "buzz"]


def test_a_faint_line_is_believed_at_the_frequency_that_another_channel_proves() -> None:
    rng = np.random.default_rng(4)
    faint = noise(rng, 10, 1, -70)
    faint[:, 0] += sine(50.02, 10, 10 ** (-89 / 20))
    assert heard(faint)[0] == []
    proof = noise(rng, 10, 1, -80)
    proof[:, 0] += comb(50.02, scaled(GRID_HUM, -60), 10, rng)
    findings, _ = heard(np.hstack([faint, proof]))
    assert [(each.channel, each.kind) for each in findings] == [(0, "hum"), (1, "hum")]
    assert findings[0].confidence < findings[1].confidence


def test_what_one_stretch_alone_claims_is_no_finding_and_not_forgotten() -> None:
    rng = np.random.default_rng(8)
    sound = noise(rng, 48, 2, -90)
    first = wandering(62.7, 10, rng)
    for k, amplitude in scaled(RESERVOIR, -65).items():
        sound[: len(first), 0] += amplitude * np.sin(2 * np.pi * k * np.cumsum(first) / RATE + k)
    sound[len(first) :, 0] += noise(rng, 38, 1, -50)[:, 0]  # from then on something lies over it
    analyser = Mains(RATE, 2)
    feed(analyser, sound[: 15 * RATE])
    assert [(one.channel, one.kind) for one in analyser.findings()] == [(0, "ripple")]
    assert analyser.doubts() == []
    feed_on = Block(sound[15 * RATE :].astype(np.float32), 15 * RATE)
    analyser.feed(feed_on)
    assert analyser.findings() == []
    (doubt,) = analyser.doubts()
    assert (doubt.channel, doubt.kind) == (0, "ripple")
    assert doubt.level_dbfs == pytest.approx(-65, abs=1)
    assert analyser.mains_hz is None


def test_a_sets_buzz_under_music_that_goes_on_is_doubtful_and_not_forgotten() -> None:
    """What stands beside its lines may be a note's vibrato as well: no finding, and no clean line either."""
    rng = np.random.default_rng(9)
    sound = noise(rng, 14, 1, -95)
    turns = np.cumsum(wandering(61.0, 14, rng)) / RATE
    for k, amplitude in scaled(PHASE_CUT, -60).items():
        sound[: len(turns), 0] += amplitude * np.sin(2 * np.pi * (k * turns + 0.3 * k))
    analyser, alone = Mains(RATE, 1), sound.copy()
    for k in (1, 3, 5, 7, 9):  # music near the low lines, 14 dB below them
        sound[:, 0] += 10 ** (-94 / 20) * sine(61.0 * k + 5.0, 14, np.sqrt(2))[: len(sound)]
    feed(analyser, sound)
    assert analyser.findings() == []
    (doubt,) = analyser.doubts()
    assert (doubt.channel, doubt.kind) == (0, "buzz")
    assert doubt.level_dbfs == pytest.approx(-60, abs=1)
    clean = Mains(RATE, 1)
    feed(clean, alone)
    assert [one.kind for one in clean.findings()] == ["buzz"]
    assert clean.doubts() == []


def test_hum_under_a_song_is_found_in_its_pauses() -> None:
    rng = np.random.default_rng(5)
    sound = noise(rng, 20, 1, -80)
    sound[:, 0] += comb(50.02, scaled(GRID_HUM, -65), 20, rng)
    sound[:, 0] += repeated(pluck(110, 2.5, rng), 5, 20)
    findings, _ = heard(sound)
    assert [each.kind for each in findings] == ["hum"]
    assert findings[0].level_dbfs == pytest.approx(-65, abs=1.0)


NOTES = [
    *((49.1, 1, 12), (49.1, 4, 12), (61.8, 2, 12), (61.8, 5, 12)),
    *((59.88, 2, 2), (59.88, 4, 1), (49.9, 3, 12), (60.1, 4, 8)),
]
"""Pitch in Hz, seconds from one to the next, and partials."""


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("hum_elsewhere", [False, True])
def test_notes_are_no_hum(seed: int, hum_elsewhere: bool) -> None:
    # lowest strings and drums that ring near 50 and 60 Hz: G1 49.1 (flat: 49.9), B1 61.8, a kick at 59.88
    rng = np.random.default_rng(seed)
    sound = noise(rng, 20, 9, -85)
    for channel, (hz, each, partials) in enumerate(NOTES):
        sound[:, channel] += repeated(pluck(hz, 6, rng, partials), each, 20)
    if hum_elsewhere:
        sound[:, 8] += comb(50.02, scaled(GRID_HUM, -60), 20, rng)
    assert {each.channel for each in heard(sound)[0]} == ({8} if hum_elsewhere else set())


def test_noise_on_many_channels_is_no_hum() -> None:
    assert heard(noise(np.random.default_rng(6), 10, 32, -70)) == ([], None)


def test_a_clock_is_not_mains() -> None:
    rng = np.random.default_rng(7)
    sound = noise(rng, 10, 3, -80)
    sound[:, 0] += comb(50.02, scaled(GRID_HUM, -60), 10, rng)
    sound[:, 1] += comb(100.0, {k: 1e-3 / k for k in range(1, 12)}, 10, rng)
    findings, hz = heard(sound)
    assert [(each.channel, each.kind) for each in findings] == [(0, "hum"), (1, "clock_tone")]
    assert findings[1].f0_hz == pytest.approx(100.0, abs=0.005)
    assert hz == pytest.approx(50.02, abs=0.005)


def test_bad_input_is_no_hum() -> None:
    sound = np.ones((6 * RATE, 4))
    sound[:, 1] = np.sign(sine(1000, 6, phase=0.1))
    sound[:, 2] = np.nan
    sound[:, 3] = 0
    assert heard(sound) == ([], None)


def test_a_lost_stretch_does_not_hide_hum() -> None:
    rng = np.random.default_rng(8)
    samples = noise(rng, 9, 1, -80)
    samples[:, 0] += comb(50.02, scaled(GRID_HUM, -60), 9, rng)
    analyser = Mains(RATE, 1)
    for part in range(3):
        piece = samples[part * 3 * RATE : (part + 1) * 3 * RATE].astype(np.float32)
        analyser.feed(Block(piece, part * 3 * RATE + part * 777, overflow=part > 0))
    assert [each.kind for each in analyser.findings()] == ["hum"]


def test_memory_does_not_grow_and_asking_changes_nothing() -> None:
    rng = np.random.default_rng(9)
    sound = noise(rng, 25, 2, -80)
    sound[:, 0] += comb(50.02, scaled(GRID_HUM, -60), 25, rng)
    asked, silent = Mains(RATE, 2), Mains(RATE, 2)
    for first in range(0, len(sound), RATE):
        block = Block(sound[first : first + RATE].astype(np.float32), first)
        asked.feed(block)
        asked.findings()
        silent.feed(block)
    assert asked.findings() == silent.findings()
    assert asked.findings()[0].to_s > 20


NEVER = re.compile(
    r"(lift|remove|cut|tape|defeat|without)\b.*\b(protective )?(earth|ground pin|safety)", re.IGNORECASE
)


@pytest.mark.parametrize("kind", ["hum", "buzz", "ripple", "clock_tone"])
@pytest.mark.parametrize("level", [-90.0, -60.0, -30.0])
@pytest.mark.parametrize("channels", [1, 9])
@pytest.mark.parametrize("third_db", [-30.0, -12.0])
def test_sentences_are_evidence_cause_and_a_safe_check(
    kind: str, level: float, channels: int, third_db: float
) -> None:
    verdict = Verdict(kind, 50.02, level, level - 10, 0.0, 3.0, 0.9, third_db, -25.0, 1, 1e4)
    sentence = mains_words.sentence(verdict, channels)
    assert "50.02 Hz" in sentence
    assert "likely" in sentence
    assert "check" in sentence
    assert not NEVER.search(sentence)
    assert "open" not in sentence or "open shield" in sentence
    if kind in ("hum", "buzz") and level > -40:
        assert "If anything tingles: stop, do not touch, power off, call the electrician" in sentence

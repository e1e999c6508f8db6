from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from showday.sound.gaps import Gaps
from showday.sound.model import Block, Finding, Floats, Samples
from showday.sound.runs import Span
from showday.sound.together import Together
from showday.sound.verdict import DOUBT, LIMITS
from showday.sound.zeros import LEAST, Zeros
from tests.sound.made_checks import blocks
from tests.sound.test_clipping import plain_runs
from tests.support.sentences import broken

RATE = 48_000


def noise(seconds: float, channels: int, level_db: float, seed: int = 1, rate: int = RATE) -> Samples:
    draw = np.random.default_rng(seed).standard_normal((round(seconds * rate), channels))
    return (draw * 10 ** (level_db / 20)).astype(np.float32)


def heard(samples: Samples, size: int = 4_096, rate: int = RATE) -> list[Finding]:
    gaps = Gaps(rate, samples.shape[1])
    for block in blocks(samples, size):
        gaps.feed(block)
    found = gaps.findings()
    assert found == gaps.findings()
    assert [sign for one in found for sign in broken(one.sentence)] == []
    return found


def places(found: list[Finding], rate: int = RATE) -> list[tuple[str, int, int, int]]:
    return [(f.kind, f.channel, round(f.from_s * rate), round(f.to_s * rate)) for f in found]


@pytest.mark.parametrize("seed", range(30))
def test_runs_of_zeros_are_exact_however_the_stream_is_cut(seed: int) -> None:
    draw = np.random.default_rng(seed)
    channels = int(draw.integers(1, 5))
    samples = (draw.random((3_000, channels)) > draw.choice([0.02, 0.3, 0.9])).astype(np.float32)
    for _ in range(12):
        at, length = int(draw.integers(0, 2_900)), int(draw.choice([1, 46, 47, 48, 49, 100, 400]))
        samples[at : at + length, draw.integers(channels)] = draw.choice([0.0, -0.0])
    zeros, found, at = Zeros(channels, LEAST), [], 0
    while at < len(samples):
        size = int(draw.choice([1, 7, 23, 24, 25, 48, 300]))
        found += zeros.feed(samples[at : at + size], at).tolist()
        at += size
    found += zeros.pending(LEAST).tolist()
    assert sorted(map(tuple, found)) == plain_runs(samples == 0, LEAST)


def test_zeros_do_not_reach_over_missing_frames() -> None:
    zeros = Zeros(1, 48)
    silent = np.zeros((60, 1), np.float32)
    assert len(zeros.feed(silent, 0)) == 0
    assert zeros.feed(silent, 200).tolist() == [[0, 0, 60]]
    assert zeros.feed(np.ones((60, 1), np.float32), 260).tolist() == [[0, 200, 60]]


@pytest.mark.parametrize("size", [64, 1_000, 4_096, 500_000])
def test_gaps_of_zeros_inside_a_sound_have_exact_places(size: int) -> None:
    samples = noise(6, 3, -20)
    samples[50_001:50_049, 0] = 0  # 48 samples: 1 ms
    samples[150_000:150_047, 0] = 0  # too short
    samples[200_000:240_000, 1] = 0
    found = heard(samples, size)
    assert places(found) == [("dropout", 0, 50_001, 50_049), ("dropout", 1, 200_000, 240_000)]
    assert all(one.confidence == 1.0 for one in found)
    assert "1 ms at the longest" in found[0].sentence
    assert "833 ms at the longest" in found[1].sentence


def test_gaps_at_the_same_moment_on_several_channels_are_no_cable() -> None:
    samples = noise(3, 4, -20)
    samples[50_000:51_000, :3] = 0
    found = heard(samples)
    assert places(found) == [("dropout", channel, 50_000, 51_000) for channel in range(3)]
    assert all("on 3 channels at the same moment" in one.sentence for one in found)
    assert all("not at the cables" in one.sentence for one in found)


def test_a_gap_that_most_channels_have_is_no_cable_where_only_one_sounds() -> None:
    samples = noise(4, 8, -90)
    samples[:, 3] += noise(4, 1, -20, 2)[:, 0]
    samples[100_000:103_000, :7] = 0
    (found,) = (one for one in heard(samples) if one.kind == "dropout")
    assert found.channel == 3
    assert "on 7 channels at the same moment" in found.sentence
    samples[:, :3] = samples[:, 4:7] = noise(4, 3, -90, 5)
    (found,) = (one for one in heard(samples) if one.kind == "dropout")
    assert "same moment" not in found.sentence


def test_gaps_that_follow_each_other_closely_are_counted_each() -> None:
    """However many of them come in one block."""
    samples = noise(4, 8, -90)
    samples[:, 3] += noise(4, 1, -20, 2)[:, 0]
    for start in (98_400, 101_000):
        samples[start : start + 500, :7] = 0
    for size in (4_096, 9_600, 100_000):
        (found,) = (one for one in heard(samples, size) if one.kind == "dropout")
        assert "2 times" in found.sentence
        assert "on 7 channels at the same moment" in found.sentence


def test_zeros_just_after_a_sound_began_are_doubtful_though_nothing_sounds_behind_them() -> None:
    """A hit that lasts for 2 ms and is over when the link is there again: no source stops so soon by itself."""
    for at in range(48_000, 48_096, 7):
        samples = noise(2, 1, -90)
        samples[at : at + 96] += noise(96 / RATE, 1, -20, 2)
        samples[at + 96 : at + 1_300] = 0
        (found,) = heard(samples)
        assert (found.kind, found.from_s, found.to_s) == ("dropout", (at + 96) / RATE, (at + 1_300) / RATE)
        assert DOUBT <= found.confidence < LIMITS["dropout"].confidence
        assert "just after it began" in found.sentence
    samples[: 48_000 - 4_800] += noise(1 - 0.1, 1, -20, 3)  # it sounded long enough to have stopped by itself
    samples[48_000 - 4_800 :] = noise(1.1, 1, -90, 4)
    samples[48_000 - 4_800 : 48_000] = 0
    assert heard(samples) == []


@pytest.mark.parametrize("seed", range(10))
def test_channels_with_the_same_gap_are_counted_as_one_by_one(seed: int) -> None:
    draw = np.random.default_rng(seed)
    spans = [
        [Span(int(start), int(start) + int(draw.integers(1, 6))) for start in np.sort(draw.integers(0, 60, 5))]
        for _ in range(6)
    ]
    for frames in (0, 1, 3):
        together = Together(spans, frames)
        for span in (span for found in spans for span in found):
            near = [
                any(abs(one.start - span.start) <= frames and abs(one.end - span.end) <= frames for one in found)
                for found in spans
            ]
            assert together.count(span) == sum(near)


def test_zeros_outside_a_sound_are_no_gap() -> None:
    samples = noise(4, 2, -90)
    samples[50_000:52_000, 0] = 0
    samples[:100_000, 1] += noise(100_000 / RATE, 1, -20)[:, 0]
    samples[100_000:103_000, 1] = 0  # a source that stops with zeros, and its noise comes back
    assert [one for one in heard(samples) if one.kind == "dropout"] == []


def test_a_softer_sound_after_zeros_may_be_the_next_note() -> None:
    samples = noise(4, 1, -20)
    samples[100_000:] /= 8  # 18 dB
    samples[98_000:100_000] = 0
    (found,) = heard(samples)
    assert (found.kind, found.confidence) == ("dropout", 0.5)
    assert "looks the same" in found.sentence


@pytest.mark.parametrize("size", [1_000, 4_096])
def test_digital_silence_is_exact_and_noise_is_not_silence(size: int) -> None:
    samples = noise(5, 4, -141.48)  # dither of 24 bits is the least a converter gives
    samples[:, 0] = 0
    samples[30_000:100_000, 1] = 0
    samples[123_456:, 2] = 0
    found = heard(samples, size)
    assert places(found) == [
        ("digital_silence", 0, 0, 240_000),
        ("digital_silence", 1, 30_000, 100_000),
        ("digital_silence", 2, 123_456, 240_000),
    ]
    assert [one.confidence for one in found] == [1.0, 0.5, 1.0]
    assert "Exact zeros for 5.0 s" in found[0].sentence
    assert "then it came back" in found[1].sentence


def test_a_line_on_which_nothing_sounds_while_others_do_is_dead_until_it_sounds() -> None:
    samples = noise(6, 3, -90)
    samples[RATE : 2 * RATE, 0] += noise(1, 1, -20, 2)[:, 0]
    samples[200_000, 1] = 0.5  # a click is no sound
    samples[5 * RATE : 5 * RATE + 2_000, 2] += noise(2_000 / RATE, 1, -30, 3)[:, 0]
    early = heard(samples[: 4 * RATE])
    assert [(one.kind, one.channel) for one in early] == [("dead", 1), ("dead", 2)]
    late = heard(samples)
    assert [(one.kind, one.channel, one.from_s, one.to_s) for one in late] == [("dead", 1, 0.0, 6.0)]
    # AES17: noise of RMS -90 dB relative to 1.0 has -86.99 dBFS
    assert late[0].level_dbfs == pytest.approx(-86.99, abs=0.3)
    assert late[0].confidence <= 0.5
    assert heard(noise(6, 3, -90)) == []  # nobody played at all
    assert heard(samples[: 2 * RATE]) == []  # too early


def steady(kind: str, seconds: float, seed: int) -> Floats:
    draw = np.random.default_rng(seed)
    time = np.arange(round(seconds * RATE)) / RATE
    string = 2 * np.pi * draw.uniform(41, 98) * time
    made = {
        "noise": draw.standard_normal(len(time)) / 4,
        "bass": sum(np.sin(k * string + draw.uniform(0, 6)) / k for k in range(1, 7)) / 2,
        "chord": sum(np.sin(2 * np.pi * f * time + draw.uniform(0, 6)) for f in draw.uniform(80, 900, 5)) / 4,
    }[kind]
    return np.asarray(0.2 * made, np.float64)


def cut_twice(kind: str, seed: int) -> tuple[Samples, list[tuple[int, int]]]:
    """A sound with two contacts that open, and where: first sample and length."""
    draw = np.random.default_rng(seed + 100)
    sound = steady(kind, 6, seed)
    cuts = [(int(draw.uniform(*when) * RATE), int(draw.uniform(0.024, 0.4) * RATE)) for when in ((1, 2), (3.5, 5))]
    for start, length in cuts:
        sound[start : start + length] = 0
    return (sound[:, None] + noise(6, 1, -85, seed)).astype(np.float32), cuts


@pytest.mark.parametrize("kind", ["noise", "chord", "bass"])
@pytest.mark.parametrize("seed", range(6))
def test_a_loose_contact_is_heard_within_2_ms_of_its_place(kind: str, seed: int) -> None:
    samples, cuts = cut_twice(kind, seed)
    found = heard(samples)
    assert [one.kind for one in found] == ["dropout", "dropout"]
    for one, (start, length) in zip(found, cuts, strict=True):
        assert abs(one.from_s - start / RATE) <= 0.002
        assert abs(one.to_s - (start + length) / RATE) <= 0.002
        assert 0.5 <= one.confidence < 1.0
        assert "a loose contact?" in one.sentence


def hits(seed: int, fall_s: float, loud: Iterator[float]) -> Samples:
    draw = np.random.default_rng(seed)
    samples = noise(8, 1, -85, seed)
    for at in range(RATE // 2, 7 * RATE, RATE // 3):
        time = np.arange(RATE) / RATE
        hit = np.sin(2 * np.pi * draw.uniform(50, 200) * time) + 0.3 * draw.standard_normal(RATE)
        samples[at : at + RATE, 0] += (next(loud) * hit * np.exp(-time / fall_s)).astype(np.float32)
    return samples


@pytest.mark.parametrize("seed", range(6))
def test_hits_notes_and_pauses_are_not_called_gaps(seed: int) -> None:
    draw = np.random.default_rng(seed)
    loud = iter(draw.uniform(0.05, 0.4, 100).tolist())
    assert heard(hits(seed, float(draw.uniform(0.01, 0.3)), loud)) == []
    phrases = steady("chord", 6, seed)
    for start in np.arange(0.5, 5.5, 0.5):  # fades of 20 ms, as fingers stop strings
        at = round(start * RATE)
        fade = np.concatenate([np.linspace(1, 0, 960), np.zeros(4_800), np.linspace(0, 1, 960)])
        phrases[at : at + len(fade)] *= fade
    assert heard((phrases[:, None] + noise(6, 1, -85, seed)).astype(np.float32)) == []


def test_a_gate_that_opens_to_another_level_is_shown_and_not_accused() -> None:
    sound = steady("noise", 4, 1)
    sound[100_000:110_000] = 0
    sound[110_000:] *= 0.3
    (found,) = heard((sound[:, None] + noise(4, 1, -85, 1)).astype(np.float32))
    assert found.confidence < 0.5
    assert "looks the same" in found.sentence


def test_a_sound_that_stops_on_several_lines_is_the_playing() -> None:
    sound = steady("noise", 4, 1)
    sound[100_000:110_000] = 0
    both = np.stack([sound, 0.3 * np.roll(sound, 300)], axis=1)
    found = heard((both + noise(4, 2, -85, 1)).astype(np.float32))
    assert [(one.kind, one.channel) for one in found] == [("dropout", 0), ("dropout", 1)]
    assert all(one.confidence < 0.5 and "on other lines with it" in one.sentence for one in found)


@pytest.mark.parametrize("jump", [0, 700])
@pytest.mark.parametrize("filled", [False, True])
def test_frames_lost_by_the_host_are_not_blamed_on_a_line(jump: int, filled: bool) -> None:
    """Whether the host counts the frames on or not, and whether it fills them with zeros."""
    samples = noise(4, 2, -20)
    if filled:
        samples[96_000:98_000] = 0
    gaps = Gaps(RATE, 2)
    for block in blocks(samples, 1_000):
        late = block.first >= 97_000
        gaps.feed(Block(block.samples, block.first + jump * late, block.first == 97_000))
    assert gaps.findings() == []


@pytest.mark.parametrize(("rate", "channels"), [(8_000, 128), (44_100, 1), (192_000, 1)])
def test_every_rate_and_width_works(rate: int, channels: int) -> None:
    samples = noise(2, channels, -20, rate=rate)
    samples[rate : rate + rate // 50, channels - 1] = 0
    found = heard(samples, 1_000, rate)
    assert places(found, rate) == [("dropout", channels - 1, rate, rate + rate // 50)]


def test_direct_voltage_a_square_and_no_numbers_are_no_crash() -> None:
    samples = np.ones((RATE, 4), np.float32)
    samples[::2, 1] = -1
    samples[1_000:2_000, 2] = np.nan
    samples[1_000:2_000, 3] = np.inf
    assert heard(samples) == []

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from showday.sound.clipping import Clipping
from showday.sound.model import Block, Finding, Samples
from showday.sound.runs import MOST_SPANS, Runs, Spans
from tests.support.sentences import broken

RATE = 48_000


def blocks(samples: Samples, size: int = 4_096) -> Iterator[Block]:
    for first in range(0, len(samples), size):
        yield Block(samples[first : first + size], first)


def heard(samples: Samples, size: int = 4_096, rate: int = RATE) -> list[Finding]:
    clipping = Clipping(rate, samples.shape[1])
    for block in blocks(samples, size):
        clipping.feed(block)
    assert clipping.findings() == clipping.findings()
    return clipping.findings()


def plain_runs(mask: np.ndarray, least: int) -> list[tuple[int, int, int]]:
    found = []
    for channel in range(mask.shape[1]):
        start = None
        for at in [*range(len(mask)), len(mask)]:
            inside = at < len(mask) and mask[at, channel]
            if inside and start is None:
                start = at
            elif not inside and start is not None:
                if at - start >= least:
                    found.append((channel, start, at - start))
                start = None
    return sorted(found)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("least", [1, 3, 9])
def test_runs_are_the_same_however_the_stream_is_cut(seed: int, least: int) -> None:
    draw = np.random.default_rng(seed)
    channels = int(draw.integers(1, 6))
    mask = draw.random((400, channels)) < draw.choice([0.02, 0.5, 0.9, 0.99])
    if seed % 4 == 0:
        mask[100:300, 0] = True
    runs, found, at = Runs(channels), [], 0
    while at < len(mask):
        size = int(draw.integers(1, 90))
        found += runs.feed(mask[at : at + size], at, least).tolist()
        at += size
    pending = runs.pending(least).tolist()
    assert runs.close(least).tolist() == pending
    assert sorted(map(tuple, found + pending)) == plain_runs(mask, least)


def test_a_run_does_not_reach_over_missing_frames() -> None:
    runs = Runs(1)
    mask = np.ones((10, 1), np.bool_)
    assert len(runs.feed(mask, 0, 1)) == 0
    assert runs.feed(mask, 20, 1).tolist() == [[0, 0, 10]]
    assert runs.close(1).tolist() == [[0, 20, 10]]


def test_spans_stay_few_and_lose_no_event() -> None:
    spans = Spans(gap=10)
    for at in range(0, 100_000, 100):
        spans.add(at, 5)
    assert len(spans.found) == MOST_SPANS
    assert sum(span.events for span in spans.found) == 1_000
    assert sum(span.frames for span in spans.found) == 5_000
    assert (spans.found[0].start, spans.found[-1].end) == (0, 99_905)


@pytest.mark.parametrize("size", [100, 4_096, 100_000])
def test_runs_at_full_scale_have_exact_places(size: int) -> None:
    samples = np.zeros((5 * RATE, 3), np.float32)
    samples[:, 0] = 0.5 * np.sin(np.arange(len(samples)) * 0.05)
    samples[70_000:70_007, 0] = 1.0
    samples[200_001:200_004, 0] = -1.0
    samples[90_000:90_002, 1] = 1.0  # two are no run
    samples[100_000:100_005, 2] = 1 - 2.0**-23  # the largest 24-bit sample
    found = heard(samples, size)
    places = [(f.channel, round(f.from_s * RATE), round(f.to_s * RATE)) for f in found]
    assert places == [(0, 70_000, 70_007), (0, 200_001, 200_004), (2, 100_000, 100_005)]
    assert {f.kind for f in found} == {"clipping"}
    assert "once, up to 0.15 ms" in found[0].sentence


def test_coarse_samples_have_a_full_scale_of_their_own() -> None:
    samples = np.full((1_000, 1), 0.25, np.float32)
    samples[500:510] = 32_767 / 32_768
    for full_scale, count in [(1 - 2.0**-15, 1), (1 - 2.0**-23, 0)]:
        clipping = Clipping(RATE, 1, full_scale)
        clipping.feed(Block(samples, 0))
        assert len([f for f in clipping.findings() if "full scale once" in f.sentence]) == count


def wave(kind: str, seed: int) -> Samples:
    draw = np.random.default_rng(seed)
    phase = np.arange(2 * RATE) * draw.uniform(60, 900) / RATE
    noise = draw.standard_normal(2 * RATE)
    made = {
        "sine": np.sin(2 * np.pi * phase),
        "triangle": 4 * np.abs(phase % 1 - 0.5) - 1,
        "saw": 2 * (phase % 1) - 1,
        "noise": noise / 5,
        "a chord": sum(np.sin(2 * np.pi * phase * k) for k in (1, 1.26, 1.5)) / 3,
        "hits": np.sin(2 * np.pi * phase) * np.exp(-(np.arange(2 * RATE) % 24_000) / 3_000),
        "hum": np.sin(2 * np.pi * phase) + 0.25 * np.sin(6 * np.pi * phase + 1),
        "dc and noise": 0.5 + noise / 500,
    }[kind]
    loud: Samples = (0.7 * made / np.abs(made).max()).astype(np.float32)[:, None]
    return loud


KINDS = ["sine", "triangle", "saw", "noise", "a chord", "hits", "hum", "dc and noise"]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(4))
def test_sound_that_is_whole_is_not_called_clipped(kind: str, seed: int) -> None:
    assert heard(wave(kind, seed)) == []


@pytest.mark.parametrize("kind", ["sine", "a chord", "hum", "noise"])
@pytest.mark.parametrize("seed", range(4))
def test_tops_cut_flat_below_full_scale_are_heard_as_such(kind: str, seed: int) -> None:
    samples: Samples = np.clip(wave(kind, seed) * 4, -0.5, 0.5).astype(np.float32)
    found = heard(samples)
    assert len(found) == 1
    assert "Peaks look cut flat at -6.0 dBFS" in found[0].sentence
    assert found[0].confidence < 0.7
    assert heard((samples / 20).astype(np.float32)) == []  # too soft to say


def test_single_flat_tops_are_not_enough() -> None:
    samples = 0.1 * wave("noise", 1)
    for at in (1_000, 5_000, 9_000):
        samples[at : at + 400] = 0.5
    assert heard(samples) == []
    samples[13_000:13_400] = 0.5
    assert len(heard(samples)) == 1


def test_full_scale_square_and_direct_voltage_are_clipped_and_no_crash() -> None:
    square = np.where(np.arange(RATE) % 100 < 50, 1.0, -1.0).astype(np.float32)
    samples = np.stack([square, np.ones(RATE, np.float32), np.zeros(RATE, np.float32)], axis=1)
    found = heard(samples)
    assert [(f.channel, f.from_s, f.to_s) for f in found] == [(0, 0, 1), (1, 0, 1)]
    assert all(not list(broken(f.sentence)) for f in found)


@pytest.mark.parametrize(("rate", "channels"), [(8_000, 128), (192_000, 1)])
def test_every_rate_and_width_works(rate: int, channels: int) -> None:
    samples = np.zeros((rate, channels), np.float32)
    samples[10:20, channels - 1] = 1.0
    assert [f.channel for f in heard(samples, 1_000, rate)] == [channels - 1]


def test_no_number_on_one_channel_hides_nothing_on_another() -> None:
    samples = np.repeat(np.clip(wave("sine", 1) * 4, -0.5, 0.5), 2, axis=1).astype(np.float32)
    samples[::1_000, 0] = np.nan
    assert 1 in [f.channel for f in heard(samples)]


@pytest.mark.parametrize("every", [1, 3])
def test_what_is_found_does_not_depend_on_how_often_one_asks(every: int) -> None:
    """A screen asks ten times a second, a file once; a moment of flat tops stays one moment."""
    at = np.arange(2 * RATE) / RATE
    samples = (0.3 * np.sin(2 * np.pi * 220 * at)).astype(np.float32)[:, None]
    samples[RATE : RATE + RATE // 2] = np.clip(3 * samples[RATE : RATE + RATE // 2], -0.4, 0.4)
    clipping = Clipping(RATE, 1)
    for number, block in enumerate(blocks(samples)):
        clipping.feed(block)
        if number % every == 0:
            assert len(clipping.findings()) <= 1
    assert clipping.findings() == heard(samples)
    assert [one.confidence for one in heard(samples)] == [0.4]

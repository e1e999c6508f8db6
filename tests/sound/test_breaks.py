"""Sounds that break off as a loose contact does: their edges by closed forms, and gaps cut into real recordings."""

from __future__ import annotations

from collections import Counter
from itertools import product

import numpy as np
import pytest

from showday.sound.breaks import STOP_DB, SUDDEN_DB
from showday.sound.edges import stop_of
from showday.sound.gaps import Gaps
from showday.sound.model import Finding, Floats, Samples
from showday.sound.verdict import LIMITS
from tests.sound import recordings
from tests.sound.made_checks import blocks
from tests.sound.recordings import BASS, DRUMS, GUITAR, KEYS, RATE, VOICE

ROLES = (GUITAR, BASS, KEYS, VOICE, DRUMS)
DEPTHS_DB, LENGTHS_S = (20, 26, 35, 60), (0.012, 0.025, 0.05, 0.1, 0.2)
EACH = 4
"""Gaps of each depth and length in each kind of sound."""


def swing(hertz: float, cut_s: float, seconds: float = 0.03) -> Floats:
    time = np.arange(round(seconds * RATE)) / RATE
    return np.asarray(0.2 * np.sin(2 * np.pi * hertz * time) * (time < cut_s), np.float64)


@pytest.mark.parametrize("hertz", [41.2, 82.4, 440.0, 3_000.0])
@pytest.mark.parametrize("shift", range(8))
def test_a_cut_is_sudden_at_any_moment_of_a_swing(hertz: float, shift: int) -> None:
    """From the lowest string of a bass up (equal temperament on 440 Hz: E1 is 41.2 Hz), at eighths of a period."""
    cut = 0.024 + shift / 8 * min(1 / hertz, 0.002)
    stop = stop_of(swing(hertz, cut).astype(np.float32), RATE, RATE // 50)
    assert stop.fall_db > STOP_DB and stop.last_db > -SUDDEN_DB
    assert abs(stop.at / RATE - cut) <= 0.0015


@pytest.mark.parametrize("decay_s", [0.004, 0.01, 0.05])
@pytest.mark.parametrize("hertz", [60.0, 200.0, 2_000.0])
def test_what_decays_by_itself_is_not_sudden(decay_s: float, hertz: float) -> None:
    """An exponential falls by 8.7 dB in each of its time constants: by 4 dB in 2 ms at 4 ms."""
    time = np.arange(round(0.03 * RATE)) / RATE
    sound = swing(hertz, 1.0) * np.exp(-np.maximum(0, time - 0.01) / decay_s)
    assert stop_of(sound.astype(np.float32), RATE, RATE // 50).fall_db < STOP_DB


def heard(sound: Samples) -> list[Finding]:
    """What is called a dropout, with the noise of a preamplifier, -85 dBFS, and a second line that only hisses."""
    noise = np.random.default_rng(1).standard_normal((len(sound), 2)) * 10 ** (-88 / 20)
    both = (noise + np.stack([sound, np.zeros_like(sound)], axis=1)).astype(np.float32)
    gaps = Gaps(RATE, 2)
    for block in blocks(both, 4_801):
        gaps.feed(block)
    return [one for one in gaps.findings() if one.kind == "dropout" and LIMITS["dropout"].passed_by(one)]


def cut_into(role: str, depth_db: float, length_s: float, rng: np.random.Generator) -> tuple[Samples, float]:
    """A recording with a gap where it sounds on both sides, above -40 dBFS, and the second at which it begins."""
    chosen = [one for one in recordings.every() if one.role == role and len(one.samples) > 0.9 * RATE]
    piece = RATE // 50
    while True:
        one = chosen[int(rng.integers(len(chosen)))]
        sound = one.samples[: 4 * RATE] * np.float32(10 ** (-15 / 20) / np.abs(one.samples).max())
        sound = np.concatenate([np.zeros(RATE // 2, np.float32), sound, np.zeros(RATE, np.float32)])
        whole = len(sound) // piece
        level = 10 * np.log10(2 * np.mean(np.square(sound[: whole * piece].reshape(whole, piece)), axis=1) + 1e-16)
        loud, behind = level > -40, int(np.ceil(length_s * RATE / piece))
        fits = [
            n for n in range(2, whole - behind - 3) if loud[n - 1 : n + 1].all() and loud[n + behind - 1 :][:3].all()
        ]
        if fits:
            start = int(fits[int(rng.integers(len(fits)))] * piece + rng.integers(piece))
            sound[start : start + round(length_s * RATE)] *= np.float32(10 ** (-depth_db / 20))
            return sound, start / RATE


@pytest.mark.slow
def test_gaps_of_contacts_in_recordings_are_heard(capsys: pytest.CaptureFixture[str]) -> None:
    """Shallow and short ones less often: the table says how often. From 25 ms and 35 dB on it is nine of ten."""
    rng = np.random.default_rng(2)
    found: Counter[tuple[float, float]] = Counter()
    for role, depth, length, _ in product(ROLES, DEPTHS_DB, LENGTHS_S, range(EACH)):
        sound, start = cut_into(role, depth, length, rng)
        found[depth, length] += any(abs(one.from_s - start) < 0.01 for one in heard(sound))
    of = len(ROLES) * EACH
    rows = [
        f"{f'-{depth} dB':>8}" + "".join(f"{found[depth, s] / of:7.0%}" for s in LENGTHS_S) for depth in DEPTHS_DB
    ]
    with capsys.disabled():
        print("\n\nheard   " + "".join(f"{1000 * s:4.0f} ms" for s in LENGTHS_S), *rows, sep="\n")
    clear = [found[depth, s] for depth in (35, 60) for s in LENGTHS_S[1:]]
    assert sum(clear) >= 0.8 * of * len(clear)
    assert sum(found.values()) >= 0.6 * of * len(DEPTHS_DB) * len(LENGTHS_S)


@pytest.mark.slow
def test_nothing_that_was_played_is_called_a_loose_contact() -> None:
    for one in recordings.every():
        fade = min(len(one.samples), RATE // 20)
        sound = one.samples[: 12 * RATE] * np.float32(10 ** (-12 / 20) / np.abs(one.samples).max())
        sound[-fade:] *= np.linspace(1, 0, len(sound[-fade:]), dtype=np.float32)
        again = np.tile(np.concatenate([np.zeros(RATE // 3, np.float32), sound]), 2)
        assert not heard(again), one.name

"""Line checks made of noise bursts: one input after the other, with bleed, gains and a patch of our choosing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from showday.sound.model import Block, Floats, Samples
from showday.sound.walk_csv import Window

RATE = 8_000
"""Enough for levels, and quick."""


def burst(seconds: float, seed: int, rate: int = RATE) -> Floats:
    """A tap: noise that dies away within a few tens of milliseconds, RMS of its first 5 ms about 1."""
    frames = np.arange(int(seconds * rate))
    noise = np.random.default_rng(seed).standard_normal(len(frames))
    made: Floats = noise * np.exp(-frames / (0.03 * rate))
    return made


def line_check(
    sent_to: Sequence[int | None],
    channels: int,
    *,
    seed: int = 0,
    level_db: Sequence[float] | float = -20.0,
    bleed_db: float = -25.0,
    floor_db: float = -75.0,
    close: Mapping[tuple[int, int], float] | None = None,
    each_s: float = 1.0,
    rate: int = RATE,
) -> tuple[Samples, list[Window]]:
    """Input i is tapped in second i and arrives on channel `sent_to[i]`, None for a dead line.

    `level_db` is the level of each tap on its own channel, `bleed_db` how far below the tap the other channels in use hear
    it, `close` the bleed from one input into the line of another where it differs, `floor_db` the noise of every channel.
    """
    draw = np.random.default_rng(seed)
    frames = int(rate * each_s)
    made = draw.standard_normal((frames * len(sent_to), channels)) * 10 ** (floor_db / 20)
    levels = [level_db] * len(sent_to) if isinstance(level_db, float) else level_db
    for source in range(len(sent_to)):
        start = source * frames + frames // 4
        for into, channel in enumerate(sent_to):
            if channel is None:
                continue
            bleed = 0.0 if into == source else (close or {}).get((source, into), bleed_db)
            gain = 10 ** ((levels[into] + bleed) / 20)
            tap = burst(each_s / 2, 1_000 * seed + source, rate)
            made[start : start + len(tap), channel] += gain * tap
    walk = [Window(f"In {i + 1}", i, i * each_s, (i + 1) * each_s) for i in range(len(sent_to))]
    return np.clip(made, -1, 1).astype(np.float32), walk


def blocks(samples: Samples, size: int = 4_096, first: int = 0) -> Iterator[Block]:
    """The samples as a stream."""
    for at in range(0, len(samples), size):
        yield Block(samples[at : at + size], first + at)

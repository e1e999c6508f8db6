"""A stage for the ears: 32 channels of noise, hum on some, somebody who sounds one input after the other."""

from __future__ import annotations

import numpy as np

from showday.sound.model import Block
from showday.sound.pairs import Pair
from showday.sound.verdict import Wanted
from showday.sound.walk_csv import Window

RATE, CHANNELS, BLOCK = 48_000, 32, 4_096


def walked(seconds: int) -> tuple[list[Block], list[Wanted], list[Window], list[Pair]]:
    """The sound in blocks, what is wanted, when each input sounds (one a second), and eight pairs."""
    rng = np.random.default_rng(11)
    frames = seconds * RATE
    sound = (3e-4 * rng.standard_normal((frames, CHANNELS), np.float32)).astype(np.float32)
    at = np.arange(frames) / RATE
    hum = 1e-3 * np.sin(2 * np.pi * 50.03 * at) + 4e-4 * np.sin(2 * np.pi * 150.09 * at)
    sound[:, 3:20:4] += hum[:, None].astype(np.float32)
    inputs = [Wanted(f"Input {n + 1}", n + 1, n, -24.0, -6.0) for n in range(CHANNELS)]
    walk = []
    for n in range(min(CHANNELS, seconds - 1)):
        burst = slice(round((n + 0.6) * RATE), round((n + 0.9) * RATE))
        sound[burst, n] += (0.1 * rng.standard_normal(burst.stop - burst.start)).astype(np.float32)
        walk.append(Window(f"Input {n + 1}", n, n + 0.5, n + 1.0))
    blocks = [Block(sound[start : start + BLOCK], start) for start in range(0, frames, BLOCK)]
    return blocks, inputs, walk, [Pair(n, n + 1) for n in range(0, 16, 2)]

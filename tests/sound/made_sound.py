"""Signals made from closed forms and seeded noise, for the analysers of levels and of steady faults."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

import numpy as np

from showday.sound.model import Block, Floats

RATE = 48_000

GRID_HUM = {1: 1.0, 2: 0.08, 3: 0.25, 4: 0.03, 5: 0.07, 6: 0.03, 7: 0.056, 9: 0.22, 13: 0.056}
"""Lines of a recorded 50 Hz hum, as amplitudes relative to the first."""


class Fed(Protocol):
    """Whatever takes blocks."""

    def feed(self, block: Block) -> object: ...


def feed(analyser: Fed, sound: Floats, size: int = 4_096) -> None:
    """Feed [frames, channels], or [frames] of one channel, in blocks of `size`."""
    samples = np.atleast_2d(sound.T).T.astype(np.float32)
    for first in range(0, len(samples), size):
        analyser.feed(Block(samples[first : first + size], first))


def times(seconds: float, rate: int = RATE) -> Floats:
    return np.arange(round(seconds * rate), dtype=np.float64) / rate


def sine(hz: float, seconds: float, amplitude: float = 1.0, phase: float = 0.0, rate: int = RATE) -> Floats:
    return np.asarray(amplitude * np.sin(2 * np.pi * hz * times(seconds, rate) + phase))


def noise(rng: np.random.Generator, seconds: float, channels: int, dbfs: float, rate: int = RATE) -> Floats:
    """White noise [frames, channels]; AES17: mean square 1/2 is 0 dBFS."""
    return np.asarray(rng.standard_normal((round(seconds * rate), channels)) * np.sqrt(0.5) * 10 ** (dbfs / 20))


def comb(f0: float | Floats, lines: Mapping[int, float], seconds: float, rng: np.random.Generator) -> Floats:
    """Lines at the multiples of f0, which may change from sample to sample, with phases by chance."""
    turns = np.cumsum(np.broadcast_to(f0, (round(seconds * RATE),))) / RATE
    wave = np.zeros(len(turns))
    for order, amplitude in lines.items():
        wave += amplitude * np.sin(2 * np.pi * order * turns + rng.uniform(0, 2 * np.pi))
    return wave


def comb_dbfs(lines: Mapping[int, float]) -> float:
    """AES17 level of a family with these amplitudes."""
    return float(10 * np.log10(sum(amplitude**2 for amplitude in lines.values())))


def scaled(lines: Mapping[int, float], dbfs: float) -> dict[int, float]:
    """The family brought to a level."""
    gain = 10 ** ((dbfs - comb_dbfs(lines)) / 20)
    return {order: gain * amplitude for order, amplitude in lines.items()}


def pluck(hz: float, seconds: float, rng: np.random.Generator, partials: int = 12) -> Floats:
    """A plucked string: partials slightly sharp, upper ones fading first."""
    time = times(seconds)
    wave = np.zeros(len(time))
    for order in range(1, partials + 1):
        place = hz * order * np.sqrt(1 + 1e-4 * order**2)
        fade = np.exp(-time * order**0.6 / 2)
        wave += 0.1 / order * fade * np.sin(2 * np.pi * place * time + rng.uniform(0, 2 * np.pi))
    return wave


def repeated(one: Floats, each: float, seconds: float) -> Floats:
    """The wave again and again, `each` seconds apart, ringing on."""
    wave = np.zeros(round(seconds * RATE))
    for first in range(0, len(wave), round(each * RATE)):
        part = one[: len(wave) - first]
        wave[first : first + len(part)] += part
    return wave

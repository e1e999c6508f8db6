"""Is a line as exact as a crystal? Mains never is: a grid strays by ten millihertz, a generator by far more."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from showday.sound.model import Floats, Samples

ALONE_PPM = 10.0
"""How near to the round figure a line must be to be called a clock when nothing else tells. Two good clocks differ by
little more, but a grid is within 10 ppm of its round figure for one or two per cent of the time, so this may not be
wider."""
BESIDE_PPM = 100.0
"""The same when mains is heard elsewhere at another frequency: the tolerance of two cheap crystals (common practice)."""
UNSTEADY_DEG = 4.0
"""Degrees by which the phase of a clock may stray from a straight line."""


@dataclass(frozen=True, slots=True)
class Exactness:
    """How a line's phase runs against a clock of the round figure."""

    off_ppm: float
    sure_ppm: float
    """Standard error of `off_ppm` as the noise allows it."""
    stray_deg: float

    def within(self, ppm: float) -> bool:
        """As exact as that, and measured well enough to say so."""
        return abs(self.off_ppm) <= ppm and self.sure_ppm <= ppm / 2 and self.stray_deg <= UNSTEADY_DEG


@lru_cache(maxsize=64)
def _tone(length: int, rate: float, hz: float) -> Samples:
    """[length, 2] a Hann look's cosine and sine, both blind to a direct voltage."""
    turns = 2 * np.pi * hz * np.arange(length) / rate
    window = np.hanning(length + 1)[:-1]
    pair = np.column_stack((np.cos(turns), np.sin(turns))) * window[:, None]
    pair -= pair.sum(axis=0) / window.sum() * window[:, None]
    tone: Samples = pair.astype(np.float32)
    return tone


def exactness(looks: Samples, from_s: Floats, rate: float, hz: float, snr: float) -> Exactness | None:
    """The phase of the line at `hz` over looks [W, n]; None if it runs away. `snr` is a power ratio in a Hann bin.

    A line off by d Hz turns by 360 d degrees a second, so ten looks over seconds tell far less than a millihertz.
    """
    found = np.asarray(looks @ _tone(looks.shape[1], rate, hz), dtype=np.float64)
    seen = (found[:, 0] - 1j * found[:, 1]) * np.exp(-2j * np.pi * ((hz * from_s) % 1.0))
    turned = np.angle(seen * np.conj(seen.sum()))
    if np.abs(turned).max() > np.pi / 2:
        return None
    time = from_s - from_s.mean()
    spread = float((time**2).sum())
    if spread == 0:
        return None
    slope = float((time * turned).sum() / spread)
    stray = turned - turned.mean() - slope * time
    noise = np.sqrt(1 / (2 * snr))
    to_ppm = 1e6 / (2 * np.pi * hz)
    return Exactness(slope * to_ppm, noise / np.sqrt(spread) * to_ppm, float(np.degrees(np.sqrt((stray**2).mean()))))

"""One second of one channel by frequency, and the columns of a picture of it with the mains family marked."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from showday.sound.model import Floats, Samples

LOWEST_HZ, HIGHEST_HZ = 20.0, 2_400.0
"""What is drawn: from under every mains to its 40th line; a choice."""
SILENT_DBFS = -140.0
"""Levels below are drawn as this."""
_HANN_PEAK = 2.0
"""Twice the mean of a Hann window's inverse: a sine in the middle of a bin then reads its own amplitude."""


@dataclass(frozen=True, slots=True, eq=False)
class Spectrum:
    """Levels of sines: a full-scale sine in the middle of a bin reads 0 dBFS (AES17)."""

    hertz: Floats
    """[n] middle of each bin."""
    dbfs: Floats
    """[n]"""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the picture."""

    low_hz: float
    high_hz: float
    dbfs: float
    """The strongest bin in it."""
    mains: int = 0
    """The number of the mains line in it, the lowest one; 0 when there is none."""


def spectrum_of(samples: Samples, rate: float) -> Spectrum:
    """The spectrum of [n] samples at `rate` Hz, Hann window, without their mean."""
    length = len(samples)
    shaped = (samples - samples.mean(dtype=np.float64)) * np.hanning(length + 1)[:-1]
    amplitude = np.abs(np.fft.rfft(shaped)) * (2.0 * _HANN_PEAK / max(1, length))
    with np.errstate(divide="ignore"):
        dbfs = 20.0 * np.log10(amplitude)
    hertz: Floats = np.arange(len(dbfs), dtype=np.float64) * (rate / max(1, length))
    return Spectrum(hertz, np.maximum(dbfs, SILENT_DBFS).astype(np.float64))


def columns(spectrum: Spectrum, count: int, mains_hz: float | None = None) -> list[Column]:
    """So many columns from LOWEST_HZ to HIGHEST_HZ, each the same part of an octave, and no column without a bin."""
    edges = np.geomspace(LOWEST_HZ, HIGHEST_HZ, count + 1)
    lines = _lines(mains_hz)
    made = []
    for low, high in pairwise(edges):
        inside = (spectrum.hertz >= low) & (spectrum.hertz < high)
        if not inside.any():
            inside[np.argmin(np.abs(spectrum.hertz - (low + high) / 2))] = True
        mains = next((number for number, at in lines if low <= at < high), 0)
        made.append(Column(float(low), float(high), float(spectrum.dbfs[inside].max()), mains))
    return made


def _lines(mains_hz: float | None) -> list[tuple[int, float]]:
    if not mains_hz:
        return []
    return [(number, number * mains_hz) for number in range(1, int(HIGHEST_HZ / mains_hz) + 1)]

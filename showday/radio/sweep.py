"""A sweep: levels over frequency, as one or several passes of an analyser gave them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

DBM, UNCALIBRATED, UNKNOWN = "dBm", "dB", "dB?"
"""What the levels are: dBm; dB over something nobody measured; a unit that has to be asked for."""

DBUV_AT_0_DBM = 106.99
"""dBuV across 50 ohm at 0 dBm: 10·log10(50 ohm · 1 mW) + 120 (IEC 60027-3 levels; U²/R)."""


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """Levels over frequency. All arrays are [N], N >= 2; a level of -inf is a bin without any measured power."""

    hz: Ints
    """Centres of the bins in Hz, rising, none twice."""
    peak: Floats
    """Strongest level of each bin over all passes, dB."""
    mean: Floats
    """Level of the mean power of each bin over all passes, dB."""
    passes: int = 1
    """How often the span was measured."""
    unit: str = DBM
    files: tuple[str, ...] = ()
    begun: str = ""
    """Local time of the first row, as the file has it; empty when it has none."""
    ended: str = ""
    said: tuple[str, ...] = ()
    """What was taken for granted while reading, as sentences."""
    asked: tuple[str, ...] = ()
    """What the file leaves open and a person has to say, as sentences."""

    @property
    def low(self) -> int:
        """Centre of the first bin, Hz."""
        return int(self.hz[0])

    @property
    def high(self) -> int:
        """Centre of the last bin, Hz."""
        return int(self.hz[-1])

    @property
    def step(self) -> float:
        """Hz from bin to bin: the median of all distances, made exact over the span when the bins are even."""
        distances = np.diff(self.hz)
        median = float(np.median(distances))
        even = np.abs(distances - median) <= max(1.0, median / 100)
        return float(distances.mean()) if even.all() else median

    def gaps(self) -> list[tuple[int, int]]:
        """Stretches in Hz that were not measured: from the bin before to the bin after each."""
        wide = np.flatnonzero(np.diff(self.hz) > 1.5 * self.step)
        return [(int(self.hz[at]), int(self.hz[at + 1])) for at in wide]


def power_of(level: Floats) -> Floats:
    """dB to power, 0 for -inf."""
    return np.power(10.0, level / 10)


def level_of(power: Floats) -> Floats:
    """Power to dB, -inf for 0."""
    with np.errstate(divide="ignore"):
        made: Floats = 10 * np.log10(power)
    return made


def collapsed(hz: Ints, peak: Floats, mean: Floats | None = None) -> tuple[Ints, Floats, Floats, Ints]:
    """Bins rising and each once: the strongest level, the mean power, and how many values each had.

    Bins may come in any order; without `mean` each level is both. Rising bins without doubles are handed back as they
    are. What is no longer needed is let go at once: a long file has hundreds of megabytes.
    """
    distances = np.sign(np.diff(hz)).astype(np.int8)
    if (distances < 0).all():
        hz, peak, mean = hz[::-1], peak[::-1], None if mean is None else mean[::-1]
    elif (distances <= 0).any():
        order = np.argsort(hz, kind="stable")
        hz, peak, mean = hz[order], peak[order], None if mean is None else mean[order]
        del order
    del distances
    starts = np.flatnonzero(np.concatenate(([True], hz[1:] != hz[:-1])))
    if len(starts) == len(hz):
        return hz, peak, peak if mean is None else mean, np.ones(len(hz), dtype=np.int64)
    counts = np.diff(np.append(starts, len(hz)))
    means = level_of(np.add.reduceat(power_of(peak if mean is None else mean), starts) / counts)
    return hz[starts], np.maximum.reduceat(peak, starts), means, counts

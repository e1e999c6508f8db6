"""A lower sample rate for what lies below 5 kHz, block by block, for all channels at once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import as_strided

from showday.sound.model import Floats, Samples

AIM = 12_000
"""Hz that the lower rate is at least, where the material has so much: lines up to 5 kHz stay, with room for the filter."""
PASS = 5_000
"""Hz up to which levels are kept to 0.01 dB."""
STOP_DB = 90.0
"""dB by which everything that would fold into the kept band is attenuated: below the noise of a 14-bit converter, and far
below any stage line."""
SPARE_DB = 2.0
"""Kaiser's formulas are fits, one or two dB wide."""
GROUP = 8
"""Outputs made by one matrix product. Measured: more of them multiply more zeros, fewer make more products."""


def kaiser_lowpass(rate: float, edge: float, stop: float, attenuation: float) -> Floats:
    """Taps of a linear-phase low-pass, odd in number, gain 1 at 0 Hz.

    Kaiser's design formulas (J. F. Kaiser 1974; Oppenheim and Schafer, Discrete-Time Signal Processing, 7.5.3).
    """
    beta = 0.1102 * (attenuation - 8.7)
    width = 2 * np.pi * (stop - edge) / rate
    order = int(np.ceil((attenuation - 8) / (2.285 * width)))
    taps = order + 1 + order % 2
    n = np.arange(taps) - taps // 2
    middle = (edge + stop) / rate
    low = middle * np.sinc(middle * n) * np.kaiser(taps, beta)
    return np.asarray(low / low.sum(), dtype=np.float64)


class Decimator:
    """Keeps every `factor`-th sample of a low-passed signal; output j is centred on input j * factor.

    `rate` is the new rate in Hz, exactly the old one divided by a whole number, so no rounding enters a frequency.
    """

    def __init__(self, rate: int, channels: int) -> None:
        self.factor = max(1, rate // AIM)
        self.rate = rate / self.factor
        self.channels = channels
        taps = np.ones(1) if self.factor == 1 else kaiser_lowpass(rate, PASS, self.rate - PASS, STOP_DB + SPARE_DB)
        self._half = len(taps) // 2
        rows = (GROUP - 1) * self.factor + len(taps)
        matrix = np.zeros((GROUP, rows), dtype=np.float32)
        for out in range(GROUP):
            matrix[out, out * self.factor : out * self.factor + len(taps)] = taps
        self._matrix = matrix
        self._rest: Samples = self._silence()

    def reset(self) -> None:
        """Forget what came before; the next output is centred on the next input."""
        self._rest = self._silence()

    def feed(self, samples: Samples) -> Samples:
        """As many outputs [n, channels] as the input so far allows; a few milliseconds stay inside."""
        if self.factor == 1:
            return samples
        held: Samples = np.concatenate((self._rest, samples))
        step, rows = GROUP * self.factor, self._matrix.shape[1]
        groups = max(0, (len(held) - rows) // step + 1)
        if not groups:
            self._rest = held
            return np.empty((0, self.channels), dtype=np.float32)
        row, column = held.strides
        parts: npt.NDArray[np.float32] = as_strided(
            held, (groups, rows, self.channels), (step * row, row, column), writeable=False
        )
        made: Samples = np.matmul(self._matrix, parts).reshape(groups * GROUP, self.channels)
        self._rest = held[groups * step :].copy()
        return made

    def _silence(self) -> Samples:
        return np.zeros((self._half, self.channels), dtype=np.float32)

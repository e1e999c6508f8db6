"""True peak: what the wave reaches between the samples, by four times as many (ITU-R BS.1770, Annex 2).

It is computed only where the samples come near full scale: below, nobody asks, and it would cost more than all else.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from showday.sound.model import Floats, Samples

TIMES = 4
"""ITU-R BS.1770 Annex 2 asks for four at 48 kHz. What remains hidden is at most -20 log10 cos(pi f / (4 rate))."""
REACH = 10
"""Samples on each side that an output is made of."""
SHAPE = 5.0
"""Kaiser window of the filter: -50 dB ripple, the design that general resampling libraries use by default."""
NEAR = 10 ** (-6 / 20)
"""Sample peak from which on it is computed; own choice."""


def phases() -> npt.NDArray[np.float32]:
    """Taps [TIMES - 1, 2 * REACH + 1] that make the samples between; windowed sinc, gain 1 at 0 Hz."""
    n = np.arange(-REACH * TIMES, REACH * TIMES + 1)
    taps = np.sinc(n / TIMES) * np.kaiser(len(n), SHAPE)
    taps *= TIMES / taps.sum()
    table = np.zeros((TIMES - 1, 2 * REACH + 1), dtype=np.float32)
    for phase in range(1, TIMES):
        # output 4 m + phase is the sum of x[m - i] * taps[4 i + phase], here in the order of m - i
        table[phase - 1, 1:] = taps[phase::TIMES][::-1]
    return table


class TruePeak:
    """Takes consecutive stretches, and keeps the largest true peak of each channel."""

    def __init__(self, channels: int) -> None:
        self._phases = phases()
        self._before: Samples = np.zeros((2 * REACH, channels), dtype=np.float32)
        self._hot: npt.NDArray[np.bool_] = np.zeros(channels, dtype=np.bool_)
        self.peak: Floats = np.full(channels, np.nan)
        """[channels] largest magnitude between and on the samples; NaN where they never came near full scale."""

    def reset(self) -> None:
        """Frames are missing: what comes next does not continue."""
        self._before[:] = 0
        self._hot[:] = False

    def take(self, samples: Samples, peak: Floats) -> None:
        """The next [frames, channels] with their sample peaks [channels].

        What lies within `REACH` of the end is seen with the next stretch.
        """
        hot = peak >= NEAR
        for channel in np.flatnonzero(hot | self._hot):
            wave = np.concatenate((self._before[:, channel], samples[:, channel]))
            self.peak[channel] = np.fmax(self.peak[channel], true_peak(wave, self._phases))
        self._hot = hot
        if len(samples) >= 2 * REACH:
            self._before = samples[-2 * REACH :].copy()
        else:
            self._before = np.concatenate((self._before, samples))[-2 * REACH :]


def true_peak(wave: npt.NDArray[np.float32], table: npt.NDArray[np.float32] | None = None) -> float:
    """Largest magnitude of one channel's wave at four times the rate, but for `REACH` samples at both ends."""
    table = phases() if table is None else table
    shifted = np.ascontiguousarray(sliding_window_view(wave, len(wave) - 2 * REACH))
    return float(max(np.abs(table @ shifted).max(), np.abs(shifted[REACH]).max()))

"""Once a second the spectrum of each channel's quietest tenth: what its noise sounds like when nobody plays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from showday.sound.medians import medians
from showday.sound.model import Floats, Samples
from showday.sound.pieces import Piece
from showday.sound.weighting import a_power

SECOND = 10
"""Looks of two pieces from which the quietest is chosen. For noise it reads 0.2 dB low (chi-squared distribution)."""
BLOCK_HZ = 250.0
"""Width of the bands whose median is their noise: lines in them do not count."""
AT_ONCE = 8
"""Channels transformed together: few enough for the cache."""
UPPER_HZ = 750.0
"""Below, the lines of a bass note are so near to each other that a look of a tenth of a second takes them for noise."""


@dataclass(frozen=True, slots=True, eq=False)
class QuietSpectrum:
    """A quiet tenth of a second of every channel, each at its own moment of the same second."""

    from_s: float
    to_s: float
    weighted: Floats
    """[channels] A-weighted mean square."""
    upper: Floats
    """[channels] A-weighted mean square above `UPPER_HZ`."""
    noise: Floats
    """[channels] the same without lines: bands count by their median."""
    uneven_db: Floats
    """[channels] dB of the second's median tenth over its quietest, in the treble: hardly anything for noise, more for
    music."""


class QuietSpectra:
    """Pieces in, one spectrum a second out."""

    def __init__(self, rate: int, channels: int, length: int) -> None:
        self._rate = rate
        self._look: Samples = np.zeros((2 * length, channels), dtype=np.float32)
        self._best: Samples = np.zeros((channels, 2 * length), dtype=np.float32)
        self._power: Floats = np.full(channels, np.inf)
        self._pending: Piece | None = None
        self._looks = 0
        self._ones = np.ones(length - 1, dtype=np.float32)
        self._powers: Floats = np.zeros((SECOND, channels))
        self._window = np.hanning(2 * length + 1)[:-1].astype(np.float32)
        hz = np.arange(length + 1) * rate / (2 * length)
        # a sine of amplitude a has sum |X|^2 = a^2/4 * N * sum w^2 in the positive half: the scale gives a^2/2
        self._scale = 2.0 / (2 * length * float((self._window.astype(np.float64) ** 2).sum()))
        self._a = a_power(hz).astype(np.float32)
        df = rate / (2 * length)
        self._block = max(1, round(BLOCK_HZ / df))
        self._first = round(UPPER_HZ / df)
        self._last = self._first + (length - self._first) // self._block * self._block
        self._bands = self._a[self._first : self._last].reshape(-1, self._block).sum(axis=1)
        self._steps: Samples = np.zeros((length - 1, channels), dtype=np.float32)

    def reset(self) -> None:
        """Frames are missing."""
        self._pending, self._looks = None, 0
        self._power.fill(np.inf)

    def take(self, piece: Piece) -> QuietSpectrum | None:
        """The next piece; a spectrum when it completes a second."""
        length = len(piece.samples)
        if self._pending is None:
            self._look[:length] = piece.samples
            self._pending = piece
            return None
        power = self._pending.power + piece.power
        quieter = np.flatnonzero(power < self._power)
        if len(quieter):
            self._look[length:] = piece.samples
            self._best[quieter] = self._look.T[quieter]
            self._power[quieter] = power[quieter]
        self._pending = None
        # differences of neighbours leave rumble out, which strays from tenth to tenth below the steadiest hiss
        np.subtract(piece.samples[1:], piece.samples[:-1], out=self._steps)
        self._powers[self._looks] = self._ones @ np.square(self._steps, out=self._steps)
        self._looks += 1
        if self._looks < SECOND:
            return None
        to_s = (piece.first + length) / self._rate
        spectrum = self._seen(to_s - SECOND * 2 * length / self._rate, to_s)
        self.reset()
        return spectrum

    def _seen(self, from_s: float, to_s: float) -> QuietSpectrum:
        power = np.concatenate(
            [self._power_of(self._best[at : at + AT_ONCE]) for at in range(0, len(self._best), AT_ONCE)]
        )
        weighted = (power @ self._a) * self._scale
        upper = (power[:, self._first : self._last] @ self._a[self._first : self._last]) * self._scale
        inside = power[:, self._first : self._last].reshape(len(power), -1, self._block)
        # neighbouring bins of a Hann spectrum tell the same: every other one is enough for a median
        middle = medians(inside[:, :, ::2]) / np.log(2)
        noise = (middle @ self._bands) * self._scale
        least = np.maximum(self._powers.min(axis=0), 1e-30)
        uneven = 10 * np.log10(np.maximum(np.median(self._powers, axis=0), 1e-30) / least)
        return QuietSpectrum(
            from_s, to_s, *(np.asarray(each, np.float64) for each in (weighted, upper, noise, uneven))
        )

    def _power_of(self, looks: Samples) -> npt.NDArray[np.float32]:
        """[W, bins] squared magnitudes of the spectra of some looks [W, n] without their means."""
        lines = np.fft.rfft((looks - looks.mean(axis=1, keepdims=True)) * self._window)
        return np.asarray(lines.real**2 + lines.imag**2, dtype=np.float32)

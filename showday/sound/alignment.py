"""How two microphones hear one sound: which is later, and whether one is upside down.

The delay comes from the generalised cross-correlation with phase transform (C. Knapp and G. Carter, 1976): all
frequencies count alike, so the peak is as sharp as the band is wide. The sign comes from the low band, where microphones
that are not far apart hear the same movement; a peak of the phase transform has the wrong sign for cymbals and bells.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from showday.sound.model import Floats
from showday.sound.runs import Mask

Spectrum = npt.NDArray[np.complex128]

WIDEST_S = 0.005
"""Largest delay looked for, s: 1.7 m of air at 343 m/s."""

BAND_HZ = (100.0, 8_000.0)
"""Band of the phase transform."""

LOW_HZ = (40.0, 150.0)
"""Band in which the sign is judged."""

SURE = 0.9
"""Correlation in the low band from which one hit is enough: 40 of 40 drum hits of known polarity were right."""

_WEAKEST = 1e-6
"""Parts of the strongest cross power below which a frequency holds noise alone; a choice, 60 dB."""

_PEAK, _OVER_NEXT = 0.25, 1.4
"""What a clear peak of the phase transform reaches (1 is a pure delay), and how far it is above the next one 0.5 ms away;
choices."""

_APART_S = 0.0005
_OPPOSITE = 0.05
"""How much weaker the best correlation of the other sign must be, unless the phase transform has the same delay and sign; a
choice, against single tones whose sign and delay are the same thing."""

_ASIDE_S = 0.001
"""How far the delay of the correlation may be from that of the phase transform; a choice, a quarter of a period of
250 Hz."""

_LOW_SHARE = 0.02
"""Part of the power of both channels up to 8 kHz that must be in the low band, or it says nothing. With this and the rules
above none of 60 recorded hits of drums and cymbals that were sure was wrong; bells and cymbals mostly have less."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """What one stretch of sound says about a pair."""

    sign: int
    """1 alike, -1 one upside down, 0 not to be told."""
    sure: bool
    """Whether this stretch alone tells the sign."""
    lag_s: float | None
    """How much later the second channel is; None when no peak stands out."""


class Comparison:
    """Compares two channels of stretches that all have `frames` samples; what they share is computed once."""

    def __init__(self, rate: int, frames: int) -> None:
        self._rate, self._most = rate, int(WIDEST_S * rate)
        self._size = 1 << (frames + self._most - 1).bit_length()
        self._taper = _taper(frames)
        top = min(BAND_HZ[1], 0.45 * rate)
        hertz = np.arange(int(top * self._size / rate) + 1) * rate / self._size
        self.band: Mask = hertz >= BAND_HZ[0]
        """Frequencies of the phase transform among those up to its end."""
        self._audible: Mask = hertz >= LOW_HZ[0]
        self._low: Mask = (hertz >= LOW_HZ[0]) & (hertz <= LOW_HZ[1])

    def compare(self, left: Floats, right: Floats) -> Likeness:
        """What two channels of one stretch, [frames] each, say of the pair."""
        one, other = (np.fft.rfft(each * self._taper, self._size)[: len(self.band)] for each in (left, right))
        lag = self._clear_lag(one, other)
        deep = all(_power(each, self._low) > _LOW_SHARE * _power(each, self._audible) for each in (one, other))
        if lag is None:
            return Likeness(0, False, None)
        sure = (self._sign(one, other, self._low, *lag) if deep else 0) or self._sign(one, other, self._audible, *lag)
        sign = sure or (int(np.sign(lag[1])) if deep else 0)
        return Likeness(sign, bool(sure), lag[0] / self._rate)

    def _lags(self, cross: Spectrum) -> Floats:
        """The correlation from a cross spectrum, for delays from -WIDEST_S to WIDEST_S."""
        every = np.fft.irfft(cross, self._size)
        return np.concatenate([every[-self._most :], every[: self._most + 1]])

    def phase_transform(self, one: Spectrum, other: Spectrum) -> Floats:
        """The correlation of the phases alone, for delays from -WIDEST_S to WIDEST_S; 1 is a pure delay."""
        cross = np.conj(one) * other
        size = np.abs(cross)
        inside = self.band & (size > _WEAKEST * size.max())
        white: Spectrum = np.where(inside, cross / np.maximum(size, 1e-30), 0)
        return self._lags(white) * (self._size / 2 / max(1, int(np.count_nonzero(inside))))

    def _clear_lag(self, one: Spectrum, other: Spectrum) -> tuple[int, float] | None:
        """The delay in samples and the height of the largest peak; None when another is nearly as large."""
        correlation = self.phase_transform(one, other)
        size = np.abs(correlation)
        at, apart = int(size.argmax()), max(1, round(_APART_S * self._rate))
        rest = np.concatenate([size[: max(0, at - apart)], size[at + apart + 1 :]])
        if size[at] < max(_PEAK, _OVER_NEXT * float(np.max(rest, initial=0.0))):
            return None
        return at - self._most, float(correlation[at])

    def _sign(self, one: Spectrum, other: Spectrum, band: Mask, lag: int, height: float) -> int:
        """The sign of the correlation in a band when it is beyond doubt, else 0; lag and height by the phase transform."""
        energy = math.sqrt(_power(one, band) * _power(other, band))
        cross = np.where(band, np.conj(one) * other, 0)
        correlation = self._lags(cross) * (self._size / 2 / max(energy, 1e-30))
        at = int(np.abs(correlation).argmax())
        best = float(correlation[at])
        opposite = float((-np.sign(best) * correlation).max())
        near = abs(at - self._most - lag) <= _ASIDE_S * self._rate
        alone = abs(best) - opposite > _OPPOSITE or height * best > 0
        return int(np.sign(best)) if abs(best) > SURE and near and alone else 0


def _power(spectrum: Spectrum, band: Mask) -> float:
    return float(np.sum(np.abs(spectrum[band]) ** 2))


def _taper(length: int) -> Floats:
    """Ones with soft ends of a twentieth each."""
    soft = max(1, length // 20)
    rise = 0.5 - 0.5 * np.cos(np.pi * (np.arange(soft) + 0.5) / soft)
    return np.concatenate([rise, np.ones(length - 2 * soft), rise[::-1]])

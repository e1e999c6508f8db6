"""Levels of every channel, as they are now and over all: AES17 levels, sample and true peaks, noise floors, crest."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from showday.sound.clipping import FULL_SCALE
from showday.sound.model import Block, Floats, Meter
from showday.sound.noise_floor import EVEN_DB, LOWEST_DB, Evenness, NoiseFloor, dbfs
from showday.sound.pieces import PIECE_S, Piece, Pieces
from showday.sound.quiet_spectra import QuietSpectra, QuietSpectrum
from showday.sound.true_peak import TruePeak
from showday.sound.windows import cleaned

LATEST = 6
"""Pieces in the latest stretch: 0.3 s, the integration time of a VU meter (common practice)."""


@dataclass(frozen=True, slots=True)
class ChannelLevels:
    """What one channel came to. NaN is "not assessed"."""

    level_dbfs: float
    """AES17 RMS level over the whole."""
    peak_dbfs: float
    """Sample peak."""
    true_peak_dbtp: float | None
    """ITU-R BS.1770; None where samples stayed below -6 dBFS."""
    floor_dbfs: float
    """Noise floor, AES17."""
    floor_dbfs_a: float
    """The same, A-weighted (IEC 61672-1)."""
    crest_db: float
    """Sample peak over RMS; NaN for silence."""
    clipped: int
    """Samples at full scale."""
    loudest_dbfs: float
    """Highest AES17 RMS level over 0.3 s."""


def dbu(level_dbfs: float, offset: float | None) -> float | None:
    """dBu of a level where the rig says which dBu full scale has (+18 by EBU R68, +24 by SMPTE RP155), else None.

    0 dBu is the square root of 0.6 V: 0.7746 V.
    """
    return None if offset is None or math.isnan(level_dbfs) else level_dbfs + offset


class _Totals:
    """Sums over a stretch."""

    def __init__(self, channels: int) -> None:
        self.power: Floats = np.zeros(channels)
        self.peak: Floats = np.zeros(channels)
        self.loudest: Floats = np.zeros(channels)
        self.pieces = 0

    def take(self, piece: Piece, latest: Floats | None) -> None:
        self.power += piece.power
        np.maximum(self.peak, piece.peak, out=self.peak)
        self.pieces += 1
        if latest is not None:
            np.maximum(self.loudest, latest, out=self.loudest)


class Levels:
    """Fed with blocks; memory is a few histograms and a tenth of a second of sound for each channel."""

    def __init__(self, rate: int, channels: int, full_scale: float = FULL_SCALE) -> None:
        self.channels = channels
        self._full = full_scale
        self._pieces = Pieces(rate, channels)
        self._totals = _Totals(channels)
        self._floor = NoiseFloor(channels, PIECE_S)
        self._floor_a = NoiseFloor(channels, 1.0)
        self._evenness = Evenness(channels, PIECE_S)
        self._spectra = QuietSpectra(rate, channels, self._pieces.length)
        self._true_peak = TruePeak(channels)
        self._ring: Floats = np.zeros((LATEST, channels))
        self._peaks: Floats = np.zeros((LATEST, channels))
        self._taken = 0
        self._clipped = np.zeros(channels, dtype=np.int64)

    def feed(self, block: Block) -> list[QuietSpectrum]:
        """Take the next block, of which what is no number counts as silence."""
        return self.take(cleaned(block))

    def take(self, block: Block) -> list[QuietSpectrum]:
        """Take a block that is cleaned already; the quiet spectra that it completes are for whoever looks for hiss."""
        spectra = []
        for piece in self._pieces.feed(block):
            spectrum = self._take(piece)
            if spectrum is not None:
                spectra.append(spectrum)
        return spectra

    def _take(self, piece: Piece) -> QuietSpectrum | None:
        if piece.fresh:
            self._taken = 0
            for part in (self._evenness, self._spectra, self._true_peak):
                part.reset()
        self._ring[self._taken % LATEST] = piece.power
        self._peaks[self._taken % LATEST] = piece.peak
        self._taken += 1
        self._totals.take(piece, self._ring.mean(axis=0) if self._taken >= LATEST else None)
        self._floor.take(piece.power)
        self._evenness.take(piece.power)
        self._true_peak.take(piece.samples, piece.peak)
        # a peak is the root of a square in single precision: near full scale the samples themselves decide
        for channel in np.flatnonzero(piece.peak >= self._full * (1 - 1e-6)):
            self._clipped[channel] += np.count_nonzero(np.abs(piece.samples[:, channel]) >= self._full)
        spectrum = self._spectra.take(piece)
        if spectrum is not None:
            self._floor_a.take(spectrum.weighted)
        return spectrum

    def meters(self) -> list[Meter]:
        """Each channel as it is now, over the latest 0.3 s."""
        held = min(self._taken, LATEST)
        level = dbfs(self._ring[:held].mean(axis=0)) if held else np.full(self.channels, LOWEST_DB)
        peak = _peak_db(self._peaks[:held].max(axis=0)) if held else np.full(self.channels, LOWEST_DB)
        floor, highest = self._floor_db(self._floor), _peak_db(self._totals.peak)
        return [
            Meter(float(peak[c]), float(level[c]), float(floor[c]), float(highest[c]), int(self._clipped[c]))
            for c in range(self.channels)
        ]

    def overall(self) -> list[ChannelLevels]:
        """Each channel over all that was fed, but for the last piece that is not whole."""
        totals = self._totals
        mean = totals.power / max(1, totals.pieces)
        level, peak, loudest = dbfs(mean), _peak_db(totals.peak), dbfs(totals.loudest)
        floor, floor_a = self._floor_db(self._floor), self._floor_db(self._floor_a)
        true = _peak_db(self._true_peak.peak)
        with np.errstate(divide="ignore", invalid="ignore"):
            crest = 20 * np.log10(totals.peak / np.sqrt(mean))
        return [
            ChannelLevels(
                float(level[c]),
                float(peak[c]),
                None if math.isnan(true[c]) else float(true[c]),
                float(floor[c]),
                float(floor_a[c]),
                float(crest[c]),
                int(self._clipped[c]),
                float(loudest[c] if totals.loudest[c] > 0 else level[c]),
            )
            for c in range(self.channels)
        ]

    def _floor_db(self, floor: NoiseFloor) -> Floats:
        power = floor.power()
        uneven = (self._evenness.spread_db > EVEN_DB) & (power != 0)
        return np.where(uneven | np.isnan(power), np.nan, dbfs(power))


def _peak_db(peak: Floats) -> Floats:
    """dBFS of sample magnitudes; NaN stays."""
    return np.asarray(np.maximum(20 * np.log10(np.maximum(peak, 1e-30)), LOWEST_DB))

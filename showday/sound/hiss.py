"""Hiss: steady noise far above that of the other channels, which stand in the same room with the same converters.

Flatness of a spectrum tells no hiss (real hiss is as coloured as music), and a level alone tells none either: gains
differ. What counts is the A-weighted noise of the quietest moments against the other channels, and that it does not move.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from showday.sound.medians import medians
from showday.sound.model import Block, Finding, Floats
from showday.sound.noise_floor import dbfs
from showday.sound.pieces import Pieces
from showday.sound.quiet_spectra import QuietSpectra, QuietSpectrum
from showday.sound.windows import cleaned

STRETCH = 10
"""Seconds judged at once: in ten a line is usually left alone for three."""
LEAST = 5
"""Seconds from which on a stretch is judged."""
QUIET = 3
"""Even seconds of a stretch, the quietest, that must agree."""
EVEN_DB, AGREE_DB = 2.0, 1.5
"""A second is even if the treble of its tenths is, and seconds agree within this. Measured: 0.2 dB for noise, 0.5 to 2.4
for recorded hiss, 3.3 and more for dense drum loops."""
LEAST_DBFS_A = -72.0
"""Quieter noise is nothing to look for before a show (measured: active DIs and preamplifiers stay below)."""
OVER_DB = 15.0
"""Over the median of the other channels; a gain set 10 dB higher is no fault."""
NOISE_DB = -3.0
"""The noise against all that is heard of the upper range then: with less of it the channel buzzes or sings."""
LEAST_OTHERS = 2
"""Other channels to compare with."""
CAME_DB = 10.0
"""A channel that was quieter by this at another time need not hiss: somebody may have made a sound that is like noise, a
roll on a cymbal or a drone, all the stretch long."""
LOUD_DBFS_A = -40.0
"""Noise above this is as loud as a signal, and likelier one."""
LASTING = 3
"""Stretches from which on what came is no such sound: it seldom goes on for half a minute."""
ONCE, EACH, MOST = 0.55, 0.1, 0.85
"""How sure a first stretch makes, and each further one, at most."""
WEAK = 0.4
"""How sure noise makes that came or is loud: less than an even bet. All of these are choices."""


@dataclass(frozen=True, slots=True)
class _Hissed:
    """What a channel showed so far: its loudest stretch, and the time of all."""

    level: float
    over: float
    """dB over the other channels then."""
    from_s: float
    to_s: float
    stretches: int = 1

    def joined(self, new: _Hissed) -> _Hissed:
        best = max(self, new, key=lambda each: each.over)
        return replace(best, from_s=self.from_s, to_s=new.to_s, stretches=self.stretches + 1)


class Hiss:
    """Feed blocks, or the quiet spectra that the levels have made already."""

    def __init__(self, rate: int, channels: int) -> None:
        self.channels = channels
        self._pieces = Pieces(rate, channels)
        self._spectra = QuietSpectra(rate, channels, self._pieces.length)
        self._stretch: list[QuietSpectrum] = []
        self._heard: dict[int, _Hissed] = {}
        self._quietest: Floats = np.full(channels, np.inf)
        self._known: dict[int, _Hissed] | None = None

    def feed(self, block: Block) -> None:
        """Listen to a block."""
        for piece in self._pieces.feed(cleaned(block)):
            if piece.fresh:
                self._spectra.reset()
            spectrum = self._spectra.take(piece)
            if spectrum is not None:
                self.take(spectrum)

    def take(self, spectrum: QuietSpectrum) -> None:
        """Listen to a second."""
        np.minimum(self._quietest, np.where(spectrum.noise > 0, spectrum.noise, np.inf), out=self._quietest)
        self._known = None
        self._stretch.append(spectrum)
        if len(self._stretch) == STRETCH:
            self._heard = self._with_stretch()
            self._stretch = []

    def findings(self, mains: Collection[int] = ()) -> list[Finding]:
        """What hisses; not the channels in `mains`, whose buzz may fill the spectrum."""
        if self._known is None:
            self._known = self._with_stretch()
        heard = self._known
        return [self._told(channel, heard[channel]) for channel in sorted(heard) if channel not in mains]

    def _with_stretch(self) -> dict[int, _Hissed]:
        """All that was heard, the running stretch included."""
        heard = dict(self._heard)
        if len(self._stretch) < LEAST:
            return heard
        noise = np.array([each.noise for each in self._stretch])
        even = np.array([each.uneven_db for each in self._stretch]) < EVEN_DB
        counted = np.where(even & (noise > 0), noise, np.inf)
        order = np.argsort(counted, axis=0)[:QUIET]
        quiet = np.take_along_axis(counted, order, axis=0)
        upper = np.take_along_axis(np.array([each.upper for each in self._stretch]), order, axis=0)
        share = np.median(quiet / np.maximum(upper, 1e-30), axis=0)
        level = dbfs(quiet[QUIET // 2])
        with np.errstate(invalid="ignore"):
            steady = np.isfinite(quiet[-1]) & (quiet[-1] < quiet[0] * 10 ** (AGREE_DB / 10))
        loud = (level > LEAST_DBFS_A) & (share > 10 ** (NOISE_DB / 10)) & steady
        least = noise.min(axis=0)
        rest = np.where(least > 0, dbfs(least), np.nan)
        for channel in np.flatnonzero(loud).tolist():
            over = _over_others(float(level[channel]), rest, channel)
            if over is not None and over > OVER_DB:
                new = _Hissed(float(level[channel]), over, self._stretch[0].from_s, self._stretch[-1].to_s)
                heard[channel] = heard[channel].joined(new) if channel in heard else new
        return heard

    def _told(self, channel: int, heard: _Hissed) -> Finding:
        level = heard.level
        came = level - float(dbfs(self._quietest[channel])) > CAME_DB and heard.stretches < LASTING
        weak = came or level > LOUD_DBFS_A
        sure = WEAK if weak else min(MOST, ONCE + EACH * (heard.stretches - 1))
        rest = "a sound that is like noise, or hiss: let the line rest, and if it goes on" if weak else "hiss:"
        sentence = (
            f"Steady noise at {level:.0f} dBFS(A), {heard.over:.0f} dB over the other channels, likely {rest} a gain or "
            "pad that does not fit, or an active DI that lacks phantom power or a battery; compare the gain, then mute "
            "the channel and switch phantom off and on."
        )
        return Finding("hiss", channel, round(level, 1), None, heard.from_s, heard.to_s, round(sure, 2), sentence)


def _over_others(level: float, rest: Floats, channel: int) -> float | None:
    """dB of a channel over the median of the others, whose levels are in `rest`, NaN where they are silent."""
    others = np.delete(rest, channel)
    others = others[~np.isnan(others)]
    return level - float(medians(others)) if len(others) >= LEAST_OTHERS else None

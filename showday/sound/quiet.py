"""The quietest looks of each channel in a stretch: what a line does when nobody plays is what is wrong with it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from showday.sound.model import Floats, Samples
from showday.sound.windows import Window

KEPT = 6
"""Looks kept per channel: their median is steady, and ten minutes need no more memory than ten seconds."""

QUIETER_DB, EACH = 0.5, 3
"""A look takes the place of another when it is quieter by this, so that steady noise is not looked at again and again; each
third may do so for less, so that what is kept is of more than one moment. Choices, well under what a median cares for."""

Slots = npt.NDArray[np.intp]


class Quietest:
    """Keeps the `KEPT` quietest looks of each channel, with the time at which each began."""

    def __init__(self, channels: int, length: int) -> None:
        self._samples = np.zeros((channels, KEPT, length), dtype=np.float32)
        self._power = np.full((channels, KEPT), np.inf)
        self._from = np.zeros((channels, KEPT))

    def take(self, window: Window) -> tuple[Slots, Slots]:
        """Keep this look on every channel where it is clearly quieter than the loudest that is kept, and not a gap.

        Returns the channels and slots that have changed.
        """
        worst = self._power.argmax(axis=1)
        channels = np.arange(len(worst))
        by = 0.0 if window.index % EACH == 0 else QUIETER_DB
        quieter = window.power < self._power[channels, worst] * 10 ** (-by / 10)
        quieter &= ~window.gap & (window.power > 0)
        taken = np.flatnonzero(quieter)
        slots = worst[taken]
        self._samples[taken, slots] = window.samples.T[taken]
        self._power[taken, slots] = window.power[taken]
        self._from[taken, slots] = window.from_s
        return taken, slots

    def held(self) -> npt.NDArray[np.bool_]:
        """[channels, KEPT] which slots hold a look."""
        return np.asarray(np.isfinite(self._power))

    def slots(self, channel: int) -> Slots:
        """Where the kept looks of a channel are, in time order."""
        kept = np.flatnonzero(np.isfinite(self._power[channel]))
        return kept[np.argsort(self._from[channel, kept])]

    def samples(self, channel: int | Slots, slots: Slots) -> Samples:
        """[W, length] a copy of the looks."""
        return np.asarray(self._samples[channel, slots], dtype=np.float32)

    def from_s(self, channel: int, slots: Slots) -> Floats:
        """[W] seconds at which they begin."""
        return np.asarray(self._from[channel, slots], dtype=np.float64)

    def looks(self, channel: int) -> tuple[Samples, Floats]:
        """All looks of a channel [W, length] and when they begin [W], in time order."""
        slots = self.slots(channel)
        return self.samples(channel, slots), self.from_s(channel, slots)

    def clear(self) -> None:
        """Start a new stretch."""
        self._power.fill(np.inf)

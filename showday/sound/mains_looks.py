"""The quiet looks of all channels with what is known of each: a cheap first glance at every one, and a fit where it pays.

Most lines of a rig do not hum, and a fit costs twenty times the glance. The glance is wider than every rule of the
verdict, so it turns away nothing that the verdict would have called a family. Looks of many channels go together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from showday.sound.mains_comb import HIGHEST_HZ, LOWEST_HZ, PRESENT_DB, SEARCHED, CombFitter, Fit, spread_db
from showday.sound.mains_verdict import LEAST_LOOKS, MOST_DB
from showday.sound.medians import medians
from showday.sound.model import Floats, Samples
from showday.sound.quiet import KEPT, Quietest
from showday.sound.windows import Window

GLANCE_DB = PRESENT_DB - 3.0
"""A line between two bins of a Hann look reads 1.42 dB low; the rest is room for another estimate of the noise."""
FIRST_LINES = 3
"""A family has one of them (`mains_verdict`)."""
AROUND_HZ = 20
"""Hz on each side from which the noise below a line is taken."""
STEP = 8
"""The noise is taken at every eighth bin and believed for the next ones."""
AT_ONCE = 12
"""Looks transformed together: enough to be quick, few enough for the cache."""

Flags = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.intp]


class Looks:
    """Feed looks; ask what a channel's quietest ones may hold."""

    def __init__(self, rate: float, length: int, channels: int) -> None:
        self.channels = channels
        self._quiet = Quietest(channels, length)
        self._fitter = CombFitter(rate, length)
        self._length = length
        self._df = rate / length
        self._window = np.hanning(length + 1)[:-1].astype(np.float32)
        bins = min(length // 2, int((SEARCHED * HIGHEST_HZ + AROUND_HZ) / self._df) + 2)
        self._low = np.zeros((channels, KEPT, bins), dtype=np.float32)
        self._spread = np.zeros((channels, KEPT))
        self._line: Flags = np.zeros((channels, KEPT), dtype=np.bool_)
        self._new: Flags = np.zeros((channels, KEPT), dtype=np.bool_)
        self._unfitted: Flags = np.ones((channels, KEPT), dtype=np.bool_)
        self._fits: Fit | None = None
        self.version: npt.NDArray[np.int64] = np.zeros(channels, dtype=np.int64)
        """[channels] counts the changes of each channel's looks."""

    def take(self, window: Window) -> None:
        """Keep the look where it is among the quietest."""
        channels, slots = self._quiet.take(window)
        self._new[channels, slots] = True
        self._unfitted[channels, slots] = True
        self.version[channels] += 1

    def clear(self) -> None:
        """Start a new stretch."""
        self._quiet.clear()
        self._new[:] = False
        self._unfitted[:] = True
        self.version += 1

    def looks(self, channel: int) -> tuple[Samples, Floats]:
        """The looks [W, length] and when they begin [W], in time order."""
        return self._quiet.looks(channel)

    def slots(self, channel: int) -> Ints:
        """[W] where the looks of a channel are kept, in time order."""
        return self._quiet.slots(channel)

    def from_s(self, channel: int, slots: Ints) -> Floats:
        """[W] when the looks begin."""
        return self._quiet.from_s(channel, slots)

    def steady(self) -> Flags:
        """[channels] with enough looks that are even enough for a family: notes and words are not."""
        self._glance()
        held = self._quiet.held()
        count = held.sum(axis=1)
        order = np.sort(np.where(held, self._spread, np.inf), axis=1)
        rows, last = np.arange(self.channels), np.maximum(count, 1)
        median = (order[rows, (last - 1) // 2] + order[rows, last // 2]) / 2
        return np.asarray((count >= LEAST_LOOKS) & (median <= MOST_DB))

    def hopeful(self) -> Flags:
        """[channels] in most of whose looks something is like a line where the first ones of a family would be."""
        self._glance()
        held = self._quiet.held()
        return np.asarray(2 * (self._line & held).sum(axis=1) > held.sum(axis=1))

    def prepare(self, channels: Sequence[int]) -> None:
        """Fit the looks of these channels that are new; others are not fitted again."""
        wanted = np.zeros_like(self._unfitted)
        wanted[list(channels)] = True
        missing = np.argwhere(wanted & self._unfitted & self._quiet.held())
        for start in range(0, len(missing), AT_ONCE):
            at = missing[start : start + AT_ONCE].T
            fit = self._fitter.fit(self._quiet.samples(*at))
            if self._fits is None:
                self._fits = _room(fit, (self.channels, KEPT))
            for each in fields(Fit):
                getattr(self._fits, each.name)[at[0], at[1]] = getattr(fit, each.name)
            self._unfitted[at[0], at[1]] = False

    def fit(self, channel: int) -> Fit:
        """The best family of each look of a channel."""
        self.prepare([channel])
        slots = self._quiet.slots(channel)
        return Fit(*(getattr(self._fits, each.name)[channel, slots] for each in fields(Fit)))

    def fit_near(self, channel: int, slots: Ints, hz: Floats) -> Fit:
        """The families at the frequencies [W] in these looks."""
        return self._fitter.fit(self._quiet.samples(channel, slots), hz)

    def lines_near(self, channels: Ints, slots: Ints, hz: Floats) -> Flags:
        """[W] looks with something like a line at one of the first multiples of the frequencies [W]."""
        self._glance()
        wide = max(6, round(6 / self._df))
        side = np.arange(wide, max(wide + 2, round(AROUND_HZ / self._df)))
        at = np.round(np.outer(hz, np.arange(1, SEARCHED + 1)) / self._df).astype(np.intp)[:, :, None]
        low = self._low.reshape(-1)
        rows = ((channels * KEPT + slots) * self._low.shape[2])[:, None, None] + at
        around = np.minimum(np.abs(at + np.concatenate((-side, side))), self._low.shape[2] - 1) - at
        noise = medians(low.take(rows + around)) / np.log(2)
        line = low.take(rows + np.arange(-2, 3)).max(axis=2)
        return np.asarray((line > 10 ** (GLANCE_DB / 10) * noise).any(axis=1))

    def _glance(self) -> None:
        """Look at what has come since the last question."""
        new = np.argwhere(self._new)
        self._new[:] = False
        for start in range(0, len(new), AT_ONCE):
            channels, slots = new[start : start + AT_ONCE].T
            looks = self._quiet.samples(channels, slots)
            looks -= looks.mean(axis=1, keepdims=True)
            seen = np.fft.rfft(looks * self._window)[:, : self._low.shape[2]]
            low = np.asarray(seen.real**2 + seen.imag**2, dtype=np.float32)
            self._low[channels, slots] = low
            self._spread[channels, slots] = spread_db(looks)
            self._line[channels, slots] = self._has_line(low)

    def _has_line(self, low: npt.NDArray[np.float32]) -> Flags:
        first, last = int(LOWEST_HZ / self._df) - 1, int(FIRST_LINES * HIGHEST_HZ / self._df) + 2
        around = round(AROUND_HZ / self._df)
        near = sliding_window_view(low[:, first - around : last + around + 1], 2 * around + 1, axis=1)
        noise = medians(near[:, ::STEP]) / np.log(2)
        lines = low[:, first : last + 1] > 10 ** (GLANCE_DB / 10) * noise.repeat(STEP, axis=1)[:, : last + 1 - first]
        return np.asarray(lines.any(axis=1))


def _room(fit: Fit, looks: tuple[int, int]) -> Fit:
    """Zeros for so many looks [channels, slots], shaped as in this fit."""
    return Fit(*(np.zeros((*looks, *getattr(fit, each.name).shape[1:])) for each in fields(Fit)))

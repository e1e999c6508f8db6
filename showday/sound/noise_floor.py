"""The noise floor of a channel: how quiet it is for a fifth of the time, if it ever is.

A percentile of short powers leaves music and speech out, where there are pauses. Where there are none it is no noise
floor, so the quietest second has the word: noise is even, music and speech are not.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from showday.sound.model import Floats

PERCENT = 20.0
"""Percentile of the powers; for Gaussian noise that of 50-ms powers reads 0.1 dB low (chi-squared distribution)."""
LEAST_S = 3.0
"""Seconds heard before a floor is given; a choice."""
EVEN_DB = 12.0
"""A quietest second whose powers differ by more than this is not noise alone; chosen on music, speech and noise."""
LOWEST_DB = -160.0
"""What exact silence counts as: below the quantisation floor of 24 bits, -146.26 dBFS."""
AES17_DB = 10 * np.log10(2.0)
"""AES17: a full-scale sine, whose mean square is 1/2, has 0 dBFS RMS."""
_STEP_DB = 0.1
_BINS = 1_801
_EACH = 4
"""Seconds that are looked at begin at every fourth piece."""


def dbfs(mean_square: npt.ArrayLike) -> Floats:
    """AES17 level of a mean square, never below `LOWEST_DB`."""
    power = np.asarray(mean_square, dtype=np.float64)
    return np.asarray(np.maximum(10 * np.log10(np.maximum(power, 1e-30)) + AES17_DB, LOWEST_DB))


class NoiseFloor:
    """Takes powers at an even pace; memory is a histogram for each channel, whatever the time."""

    def __init__(self, channels: int, pace_s: float) -> None:
        self._least = max(1, round(LEAST_S / pace_s))
        self._counts: npt.NDArray[np.int64] = np.zeros((channels, _BINS), dtype=np.int64)
        self._sums: Floats = np.zeros((channels, _BINS))
        self._zeros: npt.NDArray[np.int64] = np.zeros(channels, dtype=np.int64)
        self._channels = np.arange(channels)
        self._waiting: list[Floats] = []
        self._together = max(1, round(1 / pace_s))
        self._known: Floats | None = None

    def take(self, power: Floats) -> None:
        """The next mean squares, [channels]. Exact silence is no noise and is counted apart."""
        self._waiting.append(power)
        if len(self._waiting) >= self._together:
            self._count()

    def _count(self) -> None:
        power = np.stack(self._waiting)
        self._waiting, self._known = [], None
        bins = np.clip(np.round((dbfs(power) - LOWEST_DB) / _STEP_DB), 0, _BINS - 1).astype(np.intp)
        channels = np.broadcast_to(self._channels, bins.shape)
        np.add.at(self._counts, (channels, bins), power > 0)
        np.add.at(self._sums, (channels, bins), power)
        self._zeros += np.count_nonzero(power == 0, axis=0)

    def power(self) -> Floats:
        """[channels] mean square of the floor; NaN before three seconds, 0 where all was exact silence.

        It is renewed once a second.
        """
        if self._known is None:
            self._known = self._percentile()
        return self._known

    def _percentile(self) -> Floats:
        below = np.cumsum(self._counts, axis=1)
        total = below[:, -1]
        at = np.argmax(below >= np.maximum(1, np.ceil(total * PERCENT / 100))[:, None], axis=1)
        held = self._counts[self._channels, at]
        found: Floats = self._sums[self._channels, at] / np.maximum(held, 1)
        found[total < self._least] = np.nan
        found[(total == 0) & (self._zeros >= self._least)] = 0.0
        return found


class Evenness:
    """How even the quietest second of each channel was, in dB between its loudest and its quietest piece."""

    def __init__(self, channels: int, pace_s: float) -> None:
        self._ring: Floats = np.zeros((max(1, round(1 / pace_s)), channels))
        self._taken = 0
        self._quietest: Floats = np.full(channels, np.inf)
        self.spread_db: Floats = np.full(channels, np.inf)
        """[channels], infinite before the first second without exact silence."""

    def reset(self) -> None:
        """Frames are missing: a second does not reach over them."""
        self._taken = 0

    def take(self, power: Floats) -> None:
        """The next mean squares, [channels]."""
        self._ring[self._taken % len(self._ring)] = power
        self._taken += 1
        if self._taken < len(self._ring) or self._taken % _EACH:
            return
        least = self._ring.min(axis=0)
        whole = self._ring.mean(axis=0)
        better = (whole < self._quietest) & (least > 0)
        if better.any():
            spread = 10 * np.log10(self._ring.max(axis=0)[better] / least[better])
            self.spread_db[better] = spread
            self._quietest[better] = whole[better]

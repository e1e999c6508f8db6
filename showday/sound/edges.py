"""How suddenly a sound stops, by its samples: a contact opens within a fraction of a millisecond, wherever in its swing
the sound is, while strings, skins and voices take some milliseconds to come to rest.

A sine is zero twice in each period, and there it changes most. So what is followed is the square of the sound and the
square of its change, each by its share, which for a sine is the same all through a swing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from showday.sound.model import Floats, Samples

SIDE_S = 0.001
"""Seconds on each side of an edge that are compared; a choice: a contact is quicker, what swings is slower."""
LAST_S = 0.004
"""Seconds right before the edge that are held against all that is before it; a choice, longer than the pulses of a bass."""
LAGS_S = (0.0001, 0.00025, 0.0005, 0.001)
"""Seconds over which a change is taken, for treble first and for bass last; choices."""
CHANGES = 0.1
"""Share of its power by which the sound must change over the lag: noise then counts 10 dB more at most. A choice."""
_LEAST = 1e-14
"""Mean square, -137 dBFS, that counts as silence: less than the noise of 24 bits."""


@dataclass(frozen=True, slots=True)
class Stop:
    """Where a sound falls most."""

    at: int
    """First sample behind the edge."""
    fall_db: float
    last_db: float
    """How the last moment before it stands to all before it, dB."""


def stop_of(samples: Samples, rate: int, latest: int) -> Stop:
    """The most sudden fall among the `latest` samples of one channel [frames]; give them backwards for a rise."""
    energy, lag = _energy(np.asarray(samples, np.float64), rate)
    side = max(2, round(SIDE_S * rate))
    sums = np.concatenate([[0.0], np.cumsum(energy)])
    means = (sums[side:] - sums[:-side]) / side
    # the change at a sample looks back by the lag: only one lag behind the edge it is that of the silence alone
    before, behind = means[: -side - lag], means[side + lag :]
    if not len(before):
        return Stop(0, 0.0, 0.0)
    first = max(0, len(before) - latest)
    falls = 10 * np.log10((before[first:] + _LEAST) / (behind[first:] + _LEAST))
    most = int(np.argmax(falls))
    at = first + most + side
    last = energy[max(0, at - round(LAST_S * rate)) : at].mean()
    return Stop(at, float(falls[most]), float(10 * np.log10((last + _LEAST) / (energy[:at].mean() + _LEAST))))


def _energy(samples: Floats, rate: int) -> tuple[Floats, int]:
    """Squares of the sound and of its change [frames], and the lag over which that is taken."""
    power = float(samples @ samples) + _LEAST
    lags = [max(1, round(lag * rate)) for lag in LAGS_S]
    changes = [samples[lag:] - samples[:-lag] for lag in lags]
    powers = [float(change @ change) + _LEAST for change in changes]
    enough = next((n for n, each in enumerate(powers) if each >= CHANGES * power), len(lags) - 1)
    made = samples**2
    made[lags[enough] :] += changes[enough] ** 2 * (power / powers[enough])
    return made, lags[enough]

"""What comes between the steps and is no step: how often, and how long.

Interruptions and fault walks are items of their own: they come at random while one works, as a Poisson process whose
rate is learned (Gamma prior, so that a night without any does not promise a next one without), and each lasts a
log-normal time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from showday.clock.student import Floats, normal_above, t_of
from showday.clock.times import StepTime, learn_time

PRIOR_BREAKS, PRIOR_SECONDS = 0.5, 1800.0
"""Before anything is logged: one an hour, worth half an hour of work. A choice of this program."""
USUAL_LENGTH, LENGTH_SPREAD = 60.0, 0.8
"""Seconds of a break before any is logged, and the spread of its log: a choice of this program."""
LONGEST = 3600.0
"""What lasted longer was no break: the list was put aside."""
_MOST = 10
"""Breaks of one kind in one forecast; the chance of more is below one in a thousand up to four expected ones
(Poisson)."""


@dataclass(frozen=True, slots=True)
class Breaks:
    """One kind of break as the log knows it."""

    seen: int
    worked: float
    """Seconds of work during which they were seen."""
    length: StepTime


def learn_breaks(lengths: Sequence[float], worked: float) -> Breaks:
    """A kind of break from the seconds each one lasted and the seconds worked around them."""
    kept = [seconds for seconds in lengths if 0.0 < seconds <= LONGEST]
    return Breaks(len(kept), max(0.0, worked), learn_time(kept, USUAL_LENGTH, spread=LENGTH_SPREAD))


class BreakDraws:
    """So many imagined evenings: when in the work each break would come, and how long it would last."""

    def __init__(self, breaks: Breaks, random: np.random.Generator, draws: int) -> None:
        rate = random.gamma(PRIOR_BREAKS + breaks.seen, 1.0 / (PRIOR_SECONDS + breaks.worked), draws)
        gaps = random.standard_exponential((_MOST, draws))
        self._come = np.cumsum(gaps, axis=0) / np.maximum(rate, 1e-12)
        length = breaks.length
        logs = length.middle + length.width * t_of(random.standard_normal((_MOST, draws)), length.freedom)
        self._last = np.minimum(np.exp(np.minimum(logs, 20.0)), LONGEST)
        self._length = length
        self._under_way = random.random(draws)

    def seconds(self, work: Floats) -> Floats:
        """Seconds of breaks in each evening, while that many seconds are worked in it; more work, no fewer breaks."""
        out: Floats = np.where(self._come <= work, self._last, 0.0).sum(axis=0)
        return out

    def rest(self, had: float) -> Floats:
        """Seconds that a break still lasts in each evening, when it has lasted `had` seconds already."""
        scores = normal_above(self._length.score(had) if had > 0 else -math.inf, self._under_way)
        logs = self._length.middle + self._length.width * t_of(scores, self._length.freedom)
        out: Floats = np.clip(np.exp(np.minimum(logs, 20.0)) - had, 0.0, LONGEST)
        return out

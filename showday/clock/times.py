"""How long one step will take, learned from how long it took, and how alike the steps of one day are.

Log seconds are taken as normal with unknown mean and spread. From five runs on the next one then follows
exp(m + t(n-1) · s · √(1 + 1/n)), Student's t of the past runs alone. With fewer, the author's usual time counts as
three more runs: the conjugate normal with inverse χ² (Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.3).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from showday.clock.student import score_of, t_quantile

ENOUGH = 5
"""Runs from which on the past speaks for itself."""
GUESS_RUNS = 3.0
"""How many runs the author's usual time is worth while there are fewer."""
NO_GUESS, NO_GUESS_RUNS = 15.0, 1.0
"""Seconds of a step of which nobody said how long it takes, and the runs they are worth: a choice of this program."""
USUAL_SPREAD, SPREAD_RUNS = 0.35, 8.0
"""Spread of log seconds that a step without a past is given (two of three runs within ×/÷ 1.4), and the degrees of
freedom it is worth: choices of this program."""
LEAST_SECONDS = 0.5
"""What was answered quicker counts as this: a log of nothing does not exist."""
LEAST_SPREAD = 0.02
"""No step is known better than this, however alike its few runs were."""
USUAL_DAY, DAY_RUNS = 0.15, 4.0
"""Spread of whole days (slow ones, quick ones) in log seconds before there are any, and the days that is worth:
choices of this program."""


@dataclass(frozen=True, slots=True)
class StepTime:
    """What is known of a step's seconds before it is done."""

    middle: float
    """Mean of the log seconds."""
    spread: float
    """Standard deviation of the log seconds from run to run."""
    worth: float
    """How many runs the middle rests on."""
    freedom: float
    """Degrees of freedom of the spread."""

    @property
    def width(self) -> float:
        """Scale of the next run's log seconds: run to run, and the middle not being known exactly."""
        return self.spread * math.sqrt(1.0 + 1.0 / self.worth)

    def seconds(self, chance: float) -> float:
        """Seconds within which it is done with this chance (0 to 1, both excluded)."""
        return math.exp(self.middle + self.width * t_quantile(chance, self.freedom))

    def score(self, seconds: float) -> float:
        """The normal score of seconds it has taken: 0 is the middle, 1 slower than in 84 of 100 runs."""
        off = math.log(max(seconds, LEAST_SECONDS)) - self.middle
        return score_of(off / self.width, self.freedom)


def learn_time(
    past: Sequence[float], guess: float | None = None, *, spread: float = USUAL_SPREAD, enough: int = ENOUGH
) -> StepTime:
    """The time of a step from its past seconds, in any order, and the author's guess in seconds.

    `spread` is the usual spread of log seconds; it counts while there are fewer than `enough` runs.
    """
    logs = sorted(math.log(max(seconds, LEAST_SECONDS)) for seconds in past)
    n = len(logs)
    mean = math.fsum(logs) / n if n else 0.0
    squares = math.fsum((x - mean) ** 2 for x in logs)
    if n >= enough:
        return StepTime(mean, max(LEAST_SPREAD, math.sqrt(squares / (n - 1))), float(n), n - 1.0)
    guessed, runs = (guess, GUESS_RUNS) if guess else (NO_GUESS, NO_GUESS_RUNS)
    usual = math.log(max(guessed, LEAST_SECONDS))
    worth, freedom = runs + n, SPREAD_RUNS + n
    squares += SPREAD_RUNS * spread**2 + runs * n / worth * (mean - usual) ** 2
    return StepTime((runs * usual + n * mean) / worth, math.sqrt(squares / freedom), worth, freedom)


def day_spread(days: Iterable[Iterable[tuple[str, float]]], times: Mapping[str, StepTime]) -> float:
    """How much whole days differ, in log seconds, from the steps of each: (name, seconds).

    Two steps of one day share its factor and nothing else, so the mean product of their distances from their
    own middles is its variance. Blended with the usual one, which is worth four days; never below 0.
    """
    found = pairs = 0.0
    seen = 0
    for day in days:
        by_name: dict[str, list[float]] = {}
        for name, seconds in day:
            if name in times:
                by_name.setdefault(name, []).append(math.log(max(seconds, LEAST_SECONDS)) - times[name].middle)
        offs = [math.fsum(values) / len(values) for values in by_name.values()]
        found += math.fsum(offs) ** 2 - math.fsum(x * x for x in offs)
        pairs += len(offs) * (len(offs) - 1)
        seen += len(offs) > 1
    if seen < 2:
        return USUAL_DAY
    own = max(0.0, found / pairs) * seen / (seen - 1)
    return math.sqrt((DAY_RUNS * USUAL_DAY**2 + (seen - 1) * own) / (DAY_RUNS + seen - 1))

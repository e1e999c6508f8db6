"""How long things take on an invented evening."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from random import Random

from showday.demo.play import USUAL_STEP, PlayedClock

SPREAD, DAY, HABIT = 0.28, 0.12, 0.18
"""Standard deviations of the logarithm: of a step from time to time, of a whole evening, and of the act's own habit
at a step against the author's usual time."""


@dataclass(frozen=True)
class Pace:
    """One evening's clock, its chance, and how slow the evening is."""

    clock: PlayedClock
    chance: Random
    factor: float

    @classmethod
    def of_evening(cls, clock: PlayedClock, seed: str, place: float) -> Pace:
        """The pace of an evening at a place with this factor."""
        chance = Random(seed)
        return cls(clock, chance, place * exp(chance.gauss(0.0, DAY)))

    def usual(self, step: str, takes: float | None) -> float:
        """Seconds that a step takes this act on such an evening, before chance."""
        habit = exp(Random(f"habit of {step}").gauss(0.0, HABIT))
        return (takes or USUAL_STEP) * habit * self.factor

    def wait(self, step: str, takes: float | None) -> None:
        """Let the step's time pass, in whole seconds."""
        self.clock.wait(max(1, round(self.usual(step, takes) * exp(self.chance.gauss(0.0, SPREAD)))))

"""The next best step at run time: exact when the states that are left allow it, else looked ahead.

Everything is counted in states and evaluations, never in seconds of a clock, so that the same state gives the same advice.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import prod

from showday.fault.diagnosis import SAME, Belief, Model, available
from showday.fault.exact import Exact, TooLarge
from showday.fault.look import PROMISING, At, Look, Widths
from showday.fault.sequence import Ranker
from showday.fault.survivors import Survivors, fits

EXACT_STATES = 400
"""The largest lattice of noisy outcomes that is solved exactly: some 30 ms of pure Python."""
SURVIVOR_STATES = 3_000
"""Sets of surviving causes after which an exact solution is given up: some 30 ms of pure Python."""
WORK = 100_000
"""Work of looking ahead: p/c sequences made, times the causes and fixes in each; some 40 ms of pure Python."""
SHAPES: tuple[Widths, ...] = (
    ((4, 4), (3, 3), (2, 2), (1, 1)),
    ((3, 3), (2, 2), (1, 1)),
    ((3, 3), (1, 1), (1, 1)),
    ((3, 3), (1, 1)),
    ((3, 3),),
    ((2, 2),),
)
"""How far to look, from far to near; the last one when the work allows no other."""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """The step to take next, and what every other step that was looked at would cost."""

    step: str
    """Id of the step; empty for help."""
    seconds: float
    """Expected seconds to restored sound when it is taken."""
    others: tuple[tuple[str, float], ...] = ()
    """Other steps with their expected seconds, best first; an empty id is help."""
    exact: bool = False
    """Whether the prices are those of the optimum."""


class Chooser:
    """Suggestions over one model. `work` bounds the looking ahead; without `exact` nothing is solved exactly."""

    def __init__(self, model: Model, *, work: float = WORK, exact: bool = True) -> None:
        self.model = model
        self.ranker = Ranker(model)
        self.work = work
        self.exact = exact

    def suggest(self, belief: Belief) -> Suggestion:
        """The next step from a belief. Contradiction when no cause is possible."""
        belief.odds()
        priced = self.solved(belief)
        exact = priced is not None
        if priced is None:
            look = Look(self.model, self.ranker)
            priced = self.looked(look, look.begin(belief))
        return self._made(belief, priced, exact)

    def solved(self, belief: Belief) -> list[tuple[float, int]] | None:
        """(seconds times mass, step) of every first step, the rest being optimal; None when that is too much work."""
        if not self.exact:
            return None
        try:
            if fits(self.model, belief):
                return Survivors(self.model, belief, SURVIVOR_STATES).first_steps()
            if self._lattice(belief) > EXACT_STATES:
                return None
            exact, mass = Exact(self.model, EXACT_STATES), belief.mass
            return [(mass * exact.step_value(belief, step), step) for step in available(self.model, belief)]
        except TooLarge:
            return None

    def looked(self, look: Look, at: At) -> list[tuple[float, int]]:
        """(seconds times mass, step) of the first steps that a look ahead has priced."""
        return look.options(at, self.shape(Belief(at.weights, at.done, at.opened), self.work))

    def best(self, priced: list[tuple[float, int]], mass: float) -> int | None:
        """The step with the least price; of several the one with the lowest number. None is help."""
        least = min((price for price, _ in priced), default=float("inf"))
        if least >= mass * self.model.help_seconds * (1.0 - SAME):
            return None
        return min(step for price, step in priced if price <= least * (1.0 + SAME))

    def shape(self, belief: Belief, work: float) -> Widths:
        """The farthest look that the work allows."""
        steps = available(self.model, belief)
        # A step without an alternative is no look ahead: it is passed, once for each of its outcomes.
        passed: Widths = ((1, 1),) if len(steps) == 1 else ()
        if passed and steps[0] < len(self.model.questions):
            work /= len(self.model.questions[steps[0]].answers)
        work /= self._effort(belief)
        for widths in SHAPES:
            if self._evaluations(belief, widths) <= work:
                return passed + widths
        return passed + SHAPES[-1]

    def _effort(self, belief: Belief) -> int:
        """What one evaluation takes: the causes and the fixes that are left."""
        fixes = (~belief.done >> len(self.model.questions)) & (1 << len(self.model.actions)) - 1
        return sum(1 for w in belief.weights if w > 0.0) + fixes.bit_count()

    def _evaluations(self, belief: Belief, widths: Widths) -> float:
        """How many sequences a look makes at most, from the number of questions left and of their answers."""
        free = [len(q.answers) for i, q in enumerate(self.model.questions) if not belief.done >> i & 1]
        mean = sum(free) / len(free) if free else 0.0
        inner = 1.0 + min(PROMISING, len(free)) * mean
        total = inner
        for fixes, questions in reversed(widths):
            total = inner + (fixes + min(questions, len(free)) * mean) * total
        return total - inner + 1.0 + sum(free)

    def _lattice(self, belief: Belief) -> int:
        """How many states there are at most."""
        answers = prod(len(q.answers) + 1 for i, q in enumerate(self.model.questions) if not belief.done >> i & 1)
        fixes = sum(1 for i in range(len(self.model.questions), self.model.steps) if not belief.done >> i & 1)
        return answers << fixes

    def _made(self, belief: Belief, priced: list[tuple[float, int]], exact: bool) -> Suggestion:
        mass = belief.mass
        chosen = self.best(priced, mass)
        named = [(self.model.step_id(step), price / mass, step == chosen) for price, step in priced]
        named.append(("", self.model.help_seconds, chosen is None))
        named.sort(key=lambda option: (not option[2], option[1]))
        (step, seconds, _), *others = named
        return Suggestion(step, seconds, tuple((id, price) for id, price, _ in others), exact)

"""The exact optimum: dynamic programming over evidence states, as far as a budget of states allows.

A state is what the evidence still means: the causes that survive, the steps that can still tell or cure something,
the outcomes of noisy steps, and what is open. With error-free checks and sure fixes that is the set of surviving
causes; in general there are at most 2^fixes times the product of (answers + 1) states.
"""

from __future__ import annotations

from dataclasses import dataclass

from showday.errors import ShowdayError
from showday.fault.diagnosis import (
    FAILED,
    HELP,
    SAME,
    Belief,
    Model,
    Strategy,
    after_answer,
    after_failure,
    begin,
    opening,
)


class TooLarge(ShowdayError):
    """The budget of states was used up before the optimum was known."""


@dataclass(frozen=True, slots=True)
class Optimum:
    """The least expected time, a strategy that reaches it, and how many states were priced."""

    seconds: float
    step: str
    """Id of the first step; empty for help."""
    states: int


class Exact:
    """Exact prices over one model; remembers every state it has priced."""

    def __init__(self, model: Model, most_states: int = 20_000) -> None:
        self.model = model
        self.most = most_states
        self.shift = len(model.questions)
        self.memo: dict[object, tuple[float, int]] = {}
        self.covers = [tuple((f, s) for f, s in enumerate(a.cures) if s > 0.0) for a in model.actions]
        self.needed_by = _needed_by(model)

    def solve(self, belief: Belief | None = None) -> Optimum:
        """The optimum from a belief (the start when none is given).

        TooLarge when the budget does not do; Contradiction when no cause is possible.
        """
        at = belief or begin(self.model)
        at.odds()
        seconds, step = self._value(at)
        return Optimum(seconds, self.model.step_id(step) if step >= 0 else "", len(self.memo))

    def strategy(self, belief: Belief | None = None) -> Strategy:
        """The optimal strategy as a tree."""
        at = belief or begin(self.model)
        if at.mass <= 0.0:
            return HELP
        _, step = self._value(at)
        if step < 0:
            return HELP
        if step >= self.shift:
            after = after_failure(self.model, at, step - self.shift)
            return Strategy(self.model.step_id(step), ((FAILED, self.strategy(after)),))
        asked = self.model.questions[step]
        after_each = (after_answer(self.model, at, step, code) for code in range(len(asked.answers)))
        branches = tuple((label, self.strategy(b)) for label, b in zip(asked.answers, after_each, strict=True))
        return Strategy(asked.id, branches)

    def step_value(self, belief: Belief, step: int) -> float:
        """Expected seconds when this step comes first and the rest is optimal; Contradiction as in `solve`."""
        belief.odds()
        return self._try(belief, step, belief.mass) / belief.mass

    def _value(self, belief: Belief) -> tuple[float, int]:
        """(expected seconds, best step or -1 for help), per unit of mass."""
        steps = self._useful(belief)
        key = self._key(belief, steps)
        held = self.memo.get(key)
        if held is not None:
            return held
        if len(self.memo) >= self.most:
            raise TooLarge(f"More than {self.most:,} states.", "The optimum is not known; the bound is.")
        mass = belief.mass
        best, chosen = self.model.help_seconds, -1
        for step in steps:
            if self.model.after(step) & ~belief.done:
                continue
            seconds = self._try(belief, step, mass) / mass
            if seconds < best * (1.0 - SAME):
                best, chosen = seconds, step
        self.memo[key] = (best, chosen)
        return best, chosen

    def _try(self, belief: Belief, step: int, mass: float) -> float:
        """Expected seconds times mass when this step comes first."""
        model = self.model
        if step >= self.shift:
            action = model.actions[step - self.shift]
            total = mass * (action.seconds + opening(model, belief.opened, action.group))
            if action.repair:
                total += action.repair * sum(belief.weights[f] for f, _ in self.covers[step - self.shift])
            return total + self._rest(after_failure(model, belief, step - self.shift))
        asked = model.questions[step]
        total = mass * (asked.seconds + opening(model, belief.opened, asked.group))
        for code in range(len(asked.answers)):
            total += self._rest(after_answer(model, belief, step, code))
        return total

    def _rest(self, belief: Belief) -> float:
        mass = belief.mass
        return mass * self._value(belief)[0] if mass > 0.0 else 0.0

    def _useful(self, belief: Belief) -> list[int]:
        """Steps not done that can still tell or cure something, or that such a step must come after."""
        alive = [f for f, w in enumerate(belief.weights) if w > 0.0]
        good = 0
        for index in range(self.model.steps):
            if not belief.done >> index & 1 and self._tells(index, alive):
                good |= 1 << index
        if any(self.needed_by):
            for index in range(self.model.steps):
                if not belief.done >> index & 1 and self.needed_by[index] & good:
                    good |= 1 << index
        return [i for i in range(self.model.steps) if good >> i & 1]

    def _tells(self, step: int, alive: list[int]) -> bool:
        if step >= self.shift:
            cures = self.model.actions[step - self.shift].cures
            return any(cures[f] > 0.0 for f in alive)
        for row in self.model.questions[step].likelihood:
            first = row[alive[0]]
            if any(abs(row[f] - first) > SAME for f in alive):
                return True
        return False

    def _key(self, belief: Belief, steps: list[int]) -> object:
        """What the rest of the walk depends on. Odds are rounded to 12 digits: order of evidence must not matter."""
        scale = 1.0 / belief.mass
        odds = tuple(round(w * scale, 12) for w in belief.weights)
        return odds, tuple(steps), belief.opened, belief.done & self._blockers(steps)

    def _blockers(self, steps: list[int]) -> int:
        mask = 0
        for step in steps:
            mask |= self.model.after(step)
        return mask


def _needed_by(model: Model) -> list[int]:
    """For each step, the mask of steps that must come after it, directly or through others."""
    masks = [0] * model.steps
    for _ in range(model.steps):
        before = list(masks)
        for index in range(model.steps):
            after = model.after(index)
            for other in range(model.steps):
                if after >> other & 1:
                    masks[other] |= 1 << index | masks[index]
        if masks == before:
            break
    return masks

"""The next best step at run time: exact when the states that are left allow it, else looked ahead.

Looking ahead sharpens the two-step rule of Jensen et al. (2001): the best few fixes by chance over time and the best few
questions are followed for some steps, every leaf is the better of the p/c sequence and of one question followed by
it. All of it is counted in evaluations, never in seconds of a clock, so that the same state gives the same advice.
"""

from __future__ import annotations

from dataclasses import dataclass

from showday.fault.diagnosis import Belief, Model, after_answer, after_failure, opening
from showday.fault.exact import Exact, TooLarge
from showday.fault.sequence import Ranker

EXACT_WORK = 12_000
"""Steps tried in an exact solution before it is given up: some 30 ms of pure Python on a laptop of 2020."""


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


class Chooser:
    """Suggestions over one model."""

    def __init__(self, model: Model, *, depth: int = 2, fixes: int = 3, questions: int = 3) -> None:
        self.model = model
        self.shift = len(model.questions)
        self.ranker = Ranker(model)
        self.depth = depth
        self.fixes = fixes
        self.questions = questions

    def suggest(self, belief: Belief) -> Suggestion:
        """The next step from a belief. Contradiction when no cause is possible."""
        belief.odds()
        try:
            exact = Exact(self.model, most_states=EXACT_WORK // max(1, self.model.steps))
            exact.solve(belief)
            priced = [(exact.step_value(belief, step), step) for step in self._may(belief)]
            return self._made(belief, priced, exact=True)
        except TooLarge:
            return self._made(belief, self._look_from(belief), exact=False)

    def _may(self, belief: Belief) -> list[int]:
        free = (i for i in range(self.model.steps) if not belief.done >> i & 1)
        return [i for i in free if self.model.after(i) & ~belief.done == 0]

    def _made(self, belief: Belief, priced: list[tuple[float, int]], exact: bool) -> Suggestion:
        model = self.model
        named = [(model.step_id(step), seconds) for seconds, step in sorted(priced)]
        named.append(("", model.help_seconds))
        named.sort(key=lambda pair: pair[1])
        (step, seconds), *others = named
        return Suggestion(step, seconds, tuple(others), exact)

    def _look_from(self, belief: Belief) -> list[tuple[float, int]]:
        mass = belief.mass
        out = []
        for step in self._candidates(belief, self.fixes + 1, self.questions + 1):
            out.append((self._try(belief, step, self.depth) / mass, step))
        return out

    def _candidates(self, belief: Belief, fixes: int, questions: int) -> list[int]:
        """The best few fixes by chance over time and the best few questions by asking now and never again."""
        ranked = [self.shift + a for _, a in self.ranker.ranked(belief)[:fixes]]
        asked = sorted((self._ask_once(belief, q), q) for q in self._may(belief) if q < self.shift)
        return ranked + [q for _, q in asked[:questions]]

    def _ask_once(self, belief: Belief, question: int) -> float:
        """Expected seconds times mass: this question now, then the p/c sequence."""
        asked = self.model.questions[question]
        total = belief.mass * (asked.seconds + opening(self.model, belief.opened, asked.group))
        for code in range(len(asked.answers)):
            total += self.ranker.run(after_answer(self.model, belief, question, code)).cost
        return total

    def _value(self, belief: Belief, depth: int) -> float:
        """Expected seconds times mass, looked ahead `depth` steps."""
        best = self.ranker.run(belief).cost
        if belief.mass <= 0.0:
            return 0.0
        if depth == 0:
            for q in self._may(belief):
                if q < self.shift:
                    best = min(best, self._ask_once(belief, q))
            return best
        for step in self._candidates(belief, self.fixes, self.questions):
            best = min(best, self._try(belief, step, depth - 1))
        return best

    def _try(self, belief: Belief, step: int, depth: int) -> float:
        """Expected seconds times mass when this step comes first and the rest is looked ahead."""
        model = self.model
        if step < self.shift:
            asked = model.questions[step]
            total = belief.mass * (asked.seconds + opening(model, belief.opened, asked.group))
            for code in range(len(asked.answers)):
                total += self._value(after_answer(model, belief, step, code), depth)
            return total
        action = model.actions[step - self.shift]
        total = belief.mass * (action.seconds + opening(model, belief.opened, action.group))
        if action.repair:
            total += action.repair * sum(w for w, s in zip(belief.weights, action.cures, strict=True) if s > 0)
        return total + self._value(after_failure(model, belief, step - self.shift), depth)

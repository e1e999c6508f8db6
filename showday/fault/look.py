"""Looking ahead: the two-step rule of Jensen et al. (2001), followed for more steps where the size allows.

A state is at first as good as its p/c sequence, or as the best question now and the sequence behind each of its
answers. From where the search begins, the best few fixes by chance over time and the best few questions are followed for
some steps before that. A full-observability lower bound leaves out what cannot be best. How far is looked depends on the
state alone, never on a clock, so that the same state gives the same advice.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from showday.fault.diagnosis import Belief, Model, known_cause, opening
from showday.fault.sequence import Ranker

ANSWER_BITS = 8
Widths = tuple[tuple[int, int], ...]
"""For each step ahead, how many fixes and how many questions are followed."""
PROMISING = 3
"""Questions that are priced at a state below the first; they are the ones that narrow the odds most."""


@dataclass(frozen=True, slots=True)
class At:
    """A state of the search: weights as in a belief, and what was told since the search began."""

    weights: tuple[float, ...]
    done: int
    opened: int
    mass: float
    told: int = 0
    """A number that stands for the outcomes."""


class Look:
    """A search from one belief; everything that it has priced is remembered. Prices are seconds times mass."""

    def __init__(self, model: Model, ranker: Ranker) -> None:
        self.model = model
        self.ranker = ranker
        self.shift = len(model.questions)
        self.waiting = [q for q, asked in enumerate(model.questions) if asked.after]
        """Questions that must come after something."""
        self._sequences: dict[int, tuple[float, int | None]] = {}
        """Price and first step."""
        self._values: dict[tuple[int, Widths], float] = {}
        self._known: dict[int, list[float]] = {}

    def begin(self, belief: Belief) -> At:
        """Where the search begins."""
        return At(belief.weights, belief.done, belief.opened, belief.mass)

    # -- what a step leads to ----------------------------------------------------------------------------------

    def after(self, at: At, step: int) -> list[At]:
        """The states that a step may lead to: one for each answer, or that of a failed fix."""
        return self._answered(at, step) if step < self.shift else [self._failed(at, step - self.shift)]

    def _answered(self, at: At, question: int) -> list[At]:
        asked = self.model.questions[question]
        opened = at.opened | 1 << asked.group if asked.group >= 0 else at.opened
        out = []
        for code, row in enumerate(asked.likelihood, 1):
            weights = tuple([w * p for w, p in zip(at.weights, row, strict=True)])
            done = at.done | 1 << question | asked.closed_by(code - 1)
            out.append(At(weights, done, opened, sum(weights), at.told | code << question * ANSWER_BITS))
        return out

    def _failed(self, at: At, action: int) -> At:
        tried = self.model.actions[action]
        weights = list(at.weights)
        for f, s in self.ranker.covers[action]:
            weights[f] *= 1.0 - s
        opened = at.opened | 1 << tried.group if tried.group >= 0 else at.opened
        bit = 1 << self.shift + action
        return At(tuple(weights), at.done | bit, opened, sum(weights), at.told | bit << self.shift * ANSWER_BITS)

    def spent(self, at: At, step: int) -> float:
        """What a step itself costs."""
        taken = self.model.step(step)
        total = at.mass * (taken.seconds + opening(self.model, at.opened, taken.group))
        if step >= self.shift and (repair := self.ranker.repair[step - self.shift]):
            total += repair * sum([at.weights[f] for f, _ in self.ranker.covers[step - self.shift]])
        return total

    # -- prices ------------------------------------------------------------------------------------------------

    def sequence(self, at: At) -> float:
        """Without any question."""
        return self._sequence(at)[0]

    def _sequence(self, at: At) -> tuple[float, int | None]:
        held = self._sequences.get(at.told)
        if held is None:
            run = self.ranker.run(Belief(at.weights, at.done, at.opened))
            held = self._sequences[at.told] = run.cost, run.steps[0] if run.steps else None
        return held

    def least(self, at: At) -> float:
        """If the cause were known at once: nothing is below it."""
        fixes = at.done >> self.shift
        known = self._known.get(fixes)
        if known is None:
            known = self._known[fixes] = [known_cause(self.model, at.done, f) for f in range(len(at.weights))]
        return sum([w * k for w, k in zip(at.weights, known, strict=True)])

    def asked(self, at: At, below: float, most: int) -> list[tuple[float, int]]:
        """(price, first step) of asking each question now and nothing later, best first.

        Only those that may be below a price, and of these the `most` promising. The first step is the question, or what
        it must come after.
        """
        out = [(self._ask(at, q), q) for q in self._promising(at, below, self.least(at), most)]
        for q in self.waiting:
            if not at.done >> q & 1 and self.model.after(q) & ~at.done:
                out.append(self._ask_behind(at, q))
        return sorted(out)

    def _ask(self, at: At, question: int) -> float:
        rest = [self.sequence(child) for child in self._answered(at, question) if child.mass > 0.0]
        return self.spent(at, question) + sum(rest)

    def _ask_behind(self, at: At, question: int) -> tuple[float, int]:
        """(price, first step) of asking behind all that the question must come after; answers on the way are not used."""
        way = self.ranker.way(question, at.done)
        total, there = 0.0, at
        for step in way[:-1]:
            total += self.spent(there, step)
            there = self._passed(there, step)
        return total + self._ask(there, question), way[0]

    def _passed(self, at: At, step: int) -> At:
        """Behind a fix that failed, or a question whatever its answer was."""
        if step >= self.shift:
            return self._failed(at, step - self.shift)
        group = self.model.questions[step].group
        opened = at.opened | 1 << group if group >= 0 else at.opened
        told = at.told | (1 << ANSWER_BITS) - 1 << step * ANSWER_BITS
        return At(at.weights, at.done | 1 << step, opened, at.mass, told)

    def narrowing(self, at: At, most: int) -> list[int]:
        """The questions that may come now, those that narrow the odds most first."""
        rated = sorted((-self._narrowed(at, q), q) for q in self._free(at))
        return [q for _, q in rated[:most]]

    def _free(self, at: At) -> list[int]:
        questions = enumerate(self.model.questions)
        return [q for q, asked in questions if not at.done >> q & 1 and not asked.after & ~at.done]

    def _promising(self, at: At, below: float, least: float, most: int) -> list[int]:
        spent = [(self.spent(at, q), q) for q in self._free(at)]
        spent = [(cost, q) for cost, q in spent if cost + least < below]
        if len(spent) <= most:
            return [q for _, q in spent]
        # Among random models and the shipped trees the best question is one of the first three in nine cases of ten.
        gap = below - least
        rated = [(cost - gap * sqrt(self._narrowed(at, q)), q) for cost, q in spent]
        return [q for _, q in sorted(rated)[:most]]

    def _narrowed(self, at: At, question: int) -> float:
        """How far the expected sum of squared odds rises on the way from here to certainty, from 0 to 1."""
        here = sum([w * w for w in at.weights]) / at.mass
        if here >= at.mass:
            return 0.0
        total = 0.0
        for row in self.model.questions[question].likelihood:
            weights = [w * p for w, p in zip(at.weights, row, strict=True)]
            if (mass := sum(weights)) > 0.0:
                total += sum([w * w for w in weights]) / mass
        return max(0.0, total - here) / (at.mass - here)

    def value(self, at: At, widths: Widths) -> float:
        """The best found, with as many steps looked ahead as there are widths."""
        if at.mass <= 0.0:
            return 0.0
        key = (at.told, widths)
        held = self._values.get(key)
        if held is None:
            best = self.sequence(at)
            asked = self.asked(at, best, PROMISING)
            if asked:
                best = min(best, asked[0][0])
            if widths:
                best = min([best, *(price for price, _ in self._followed(at, widths, asked, best))])
            held = self._values[key] = best
        return held

    def options(self, at: At, widths: Widths) -> list[tuple[float, int]]:
        """(price, step) of the best few first steps, best first."""
        everything = float("inf")
        return sorted(self._followed(at, widths, self.asked(at, everything, self.shift), everything))

    def glance(self, at: At) -> int | None:
        """The step of a first look: the best promising question, or the p/c sequence's first step; None is help."""
        price, first = self._sequence(at)
        asked = self.asked(at, price, PROMISING)
        return asked[0][1] if asked and asked[0][0] < price else first

    def _followed(
        self, at: At, widths: Widths, asked: list[tuple[float, int]], below: float
    ) -> list[tuple[float, int]]:
        """(price, step) of the steps that are followed and may be below a price."""
        fixes, questions = widths[0]
        steps = [step for _, step in asked[:questions]]
        if fixes:
            first = self._sequence(at)[1]
            ranked = self.ranker.ranked(at.weights, at.done, at.opened)[:fixes]
            steps += [*([] if first is None else [first]), *(self.shift + a for _, a in ranked)]
        out = []
        for step in dict.fromkeys(steps):
            price, children = self.spent(at, step), self.after(at, step)
            if price + sum([self.least(child) for child in children]) < below:
                price += sum([self.value(child, widths[1:]) for child in children])
                out.append((price, step))
        return out

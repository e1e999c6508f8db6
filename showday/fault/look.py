"""Looking ahead: the two-step rule of Jensen et al. (2001), followed for more steps where the size allows.

A state's price is at first that of the p/c sequence; one question followed by it may be cheaper (`asked`). Before that,
the best few fixes by chance over time and the best few questions are followed for some steps. The shape of the search
depends on the state alone, so that the same state gives the same advice.
"""

from __future__ import annotations

from dataclasses import dataclass

from showday.fault.diagnosis import Belief, Model, known_cause, opening
from showday.fault.sequence import Ranker

SAME = 1e-9
"""Prices nearer than this share are the same."""
ANSWER_BITS = 8


@dataclass(frozen=True, slots=True)
class Shape:
    """How far to look: for each step ahead, how many fixes and how many questions are followed."""

    widths: tuple[tuple[int, int], ...]


@dataclass(slots=True)
class At:
    """A state of the search; `told` says what came since its beginning."""

    weights: tuple[float, ...]
    done: int
    opened: int
    told: int = 0
    mass: float = 0.0


class Look:
    """A search from one belief; everything it has priced is remembered."""

    def __init__(self, model: Model, ranker: Ranker) -> None:
        self.model = model
        self.ranker = ranker
        self.shift = len(model.questions)
        self.evaluations = 0
        self._sequence: dict[int, float] = {}
        self._values: dict[tuple[int, int], float] = {}
        self._known: dict[int, list[float]] = {}

    def begin(self, belief: Belief) -> At:
        return At(belief.weights, belief.done, belief.opened, 0, belief.mass)

    def answered(self, at: At, q: int) -> list[At]:
        asked = self.model.questions[q]
        done = at.done | 1 << q
        opened = at.opened | 1 << asked.group if asked.group >= 0 else at.opened
        out = []
        for code, row in enumerate(asked.likelihood, 1):
            weights = tuple([w * p for w, p in zip(at.weights, row)])
            out.append(At(weights, done, opened, at.told | code << q * ANSWER_BITS, sum(weights)))
        return out

    def failed(self, at: At, a: int) -> At:
        tried = self.model.actions[a]
        weights = list(at.weights)
        for f, s in self.ranker.covers[a]:
            weights[f] *= 1.0 - s
        opened = at.opened | 1 << tried.group if tried.group >= 0 else at.opened
        bit = 1 << self.shift + a
        return At(tuple(weights), at.done | bit, opened, at.told | bit << self.shift * ANSWER_BITS, sum(weights))

    def spent(self, at: At, step: int) -> float:
        """Expected seconds times mass of a step itself."""
        taken = self.model.step(step)
        total = at.mass * (taken.seconds + opening(self.model, at.opened, taken.group))
        if step >= self.shift:
            repair = self.ranker.repair[step - self.shift]
            if repair:
                total += repair * sum([at.weights[f] for f, _ in self.ranker.covers[step - self.shift]])
        return total

    def after(self, at: At, step: int) -> list[At]:
        return self.answered(at, step) if step < self.shift else [self.failed(at, step - self.shift)]

    def sequence(self, at: At) -> float:
        held = self._sequence.get(at.told)
        if held is None:
            self.evaluations += 1
            held = self._sequence[at.told] = self.ranker.cost(at.weights, at.done, at.opened)
        return held

    def least(self, at: At) -> float:
        done = at.done >> self.shift
        known = self._known.get(done)
        if known is None:
            known = self._known[done] = [known_cause(self.model, at.done, f) for f in range(len(at.weights))]
        return sum([w * k for w, k in zip(at.weights, known)])

    def questions(self, at: At) -> list[int]:
        return [q for q in range(self.shift) if not at.done >> q & 1 and not self.model.questions[q].after & ~at.done]

    def asked(self, at: At, below: float) -> list[tuple[float, int]]:
        """(price, question) of asking each now and nothing later, those left out that cannot be below a price."""
        least = self.least(at)
        out = []
        for q in self.questions(at):
            total = self.spent(at, q)
            if total + least >= below:
                continue
            for child in self.answered(at, q):
                if child.mass > 0.0:
                    total += self.sequence(child)
            out.append((total, q))
        return sorted(out)

    def value(self, at: At, widths: tuple[tuple[int, int], ...]) -> float:
        if at.mass <= 0.0:
            return 0.0
        key = (at.told, len(widths))
        held = self._values.get(key)
        if held is not None:
            return held
        best = self.sequence(at)
        asked = self.asked(at, best)
        if asked:
            best = min(best, asked[0][0])
        if widths:
            best = min([best, *(cost for cost, _ in self.priced(at, widths, asked, best))])
        self._values[key] = best
        return best

    def priced(self, at, widths, asked, best):
        fixes, questions = widths[0]
        least = self.least(at)
        steps = [q for _, q in asked[:questions]]
        steps += [self.shift + a for _, a in self.ranker.ranked(at.weights, at.done, at.opened)[:fixes]]
        out = []
        for step in steps:
            cost = self.spent(at, step)
            if cost + least >= best:
                continue
            cost += sum([self.value(child, widths[1:]) for child in self.after(at, step)])
            out.append((cost, step))
        return out

    def options(self, at, widths):
        best = self.sequence(at)
        asked = self.asked(at, best * 1e9)
        return sorted(self.priced(at, widths, asked, best*1e9))

"""The exact optimum by filling in the whole lattice of evidence states with arrays.

A state is which fixes failed and what each question answered, or that it was not asked: 2^fixes times the product of
(answers + 1) states. With unnormalised prices U(e) = P(e) times the least expected time from e,

    U(e) = min [ help P(e) ; C_A P(e) + U(e, A failed) ; C_Q P(e) + sum over q of U(e, Q = q) ],

there is no division, and arrays do the work: the 3 million states of 12 fixes and 6 noisy yes-or-no questions take
seconds. This is for tests and for `showday check`; at run time the lattice is rarely small enough.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce
from math import prod
from typing import TYPE_CHECKING, Any

from showday.fault.diagnosis import SAME, Action, Belief, Model, Question, begin
from showday.fault.exact import Optimum, TooLarge

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Indexes = NDArray[np.int64]

MOST_STATES = 30_000_000
"""The largest lattice that is filled in: half a gigabyte."""
MOST_STEPS = 62
"""Steps are bits of a 64-bit integer here."""


def lattice_states(model: Model, belief: Belief | None = None) -> int:
    """How many states the lattice from a belief has."""
    done = belief.done if belief else 0
    answers = prod(len(q.answers) + 1 for i, q in enumerate(model.questions) if not done >> i & 1)
    fixes = sum(1 for a in range(len(model.actions)) if not done >> len(model.questions) + a & 1)
    return answers << fixes


def solve_lattice(model: Model, belief: Belief | None = None, *, most_states: int = MOST_STATES) -> Optimum:
    """The optimum from a belief (the start when none is given).

    TooLarge when the lattice is, or when an answer closes steps: here they are the same for all answers. Contradiction
    when no cause is possible.
    """
    at = belief or begin(model)
    at.odds()
    states = lattice_states(model, at)
    closing = any(q.closes and not at.done >> i & 1 for i, q in enumerate(model.questions))
    if states > most_states or model.steps > MOST_STEPS or closing:
        raise TooLarge(f"{states:,} states are too many.", "The optimum is not known; the bound is.")
    return _Lattice(model, at).solve(states)


@dataclass(frozen=True, slots=True)
class _Move:
    """One fix on the rows of one level: the rows where it is still to be tried, and the rows after it failed."""

    fix: int
    rows: Indexes
    failed: Indexes


@dataclass(frozen=True, slots=True)
class _Layer:
    """The states with one set of asked questions: rows are sets of failed fixes, columns combinations of answers."""

    mass: Floats
    """(rows, columns) P(e)."""
    likelihood: Floats
    """(causes, columns)."""
    done: Indexes
    """(rows,) bit mask of the steps done."""


class _Lattice:
    def __init__(self, model: Model, at: Belief) -> None:
        import numpy as np

        self.np: Any = np
        self.model = model
        self.at = at
        shift = len(model.questions)
        self.questions = [(i, q) for i, q in enumerate(model.questions) if not at.done >> i & 1]
        self.fixes = [(shift + a, f) for a, f in enumerate(model.actions) if not at.done >> shift + a & 1]
        self.rows = np.arange(1 << len(self.fixes))
        self.weights = self._weights()
        """(rows, causes) P(cause and these fixes failed)."""
        self.failed = np.full(len(self.rows), at.done, dtype=np.int64)
        for i, (bit, _) in enumerate(self.fixes):
            self.failed |= np.where(self.rows >> i & 1, 1 << bit, 0)
        self.moves = list(self._moves())
        self.members = [0] * len(model.groups)
        """For each group the bit mask of the steps that open it."""
        for bit in [bit for bit, _ in self.questions] + [bit for bit, _ in self.fixes]:
            group = model.step(bit).group
            if group >= 0:
                self.members[group] |= 1 << bit

    def _weights(self) -> Floats:
        np = self.np
        weights = np.tile(np.array(self.at.weights), (len(self.rows), 1))
        for i, (_, fix) in enumerate(self.fixes):
            fails = 1.0 - np.array(fix.cures)
            weights *= np.where((self.rows >> i & 1)[:, None], fails, 1.0)
        return weights  # type: ignore[no-any-return]

    def _moves(self) -> Iterator[_Move]:
        """Every fix on every level, from the sets with the most failed fixes to those with the fewest."""
        np = self.np
        count = sum(self.rows >> i & 1 for i in range(len(self.fixes)))
        for level in range(len(self.fixes) - 1, -1, -1):
            for i in range(len(self.fixes)):
                rows = np.flatnonzero((count == level) & (self.rows >> i & 1 == 0))
                yield _Move(i, rows, rows | 1 << i)

    def solve(self, states: int) -> Optimum:
        """Fill in every layer, from all questions asked to none."""
        layers: dict[int, Floats] = {}
        for asked in range((1 << len(self.questions)) - 1, -1, -1):
            layer = self._layer(asked)
            layers[asked] = self._fill(layer, asked, layers)
            if asked == 0:
                best, step = self._first(layer, layers)
                return Optimum(best / self.at.mass, step, states)
            for above in range(asked.bit_length(), len(self.questions)):
                del layers[asked | 1 << above]
        raise AssertionError("the last layer is that of no question")

    def _layer(self, asked: int) -> _Layer:
        np = self.np
        chosen = [(bit, q) for i, (bit, q) in enumerate(self.questions) if asked >> i & 1]
        start = np.ones((len(self.model.causes), 1))
        likelihood = reduce(_joined, (np.array(q.likelihood).T for _, q in chosen), start)
        done = self.failed | sum(1 << bit for bit, _ in chosen)
        return _Layer(self.weights @ likelihood, likelihood, done)

    def _seconds(self, step: Question | Action, layer: _Layer) -> Floats:
        """(rows,) seconds of a step with its opening; infinite where it may not come yet."""
        np = self.np
        seconds = np.full(len(self.rows), float(step.seconds))
        if step.group >= 0 and not self.at.opened >> step.group & 1:
            seconds += np.where(layer.done & self.members[step.group], 0.0, self.model.groups[step.group])
        return np.where(step.after & ~layer.done, np.inf, seconds)  # type: ignore[no-any-return]

    def _fill(self, layer: _Layer, asked: int, layers: dict[int, Floats]) -> Floats:
        """(rows, columns) of U."""
        np = self.np
        prices: Floats = layer.mass * self.model.help_seconds
        for i in range(len(self.questions)):
            if not asked >> i & 1:
                np.minimum(prices, self._asked(i, layer, asked, layers), out=prices)
        spent = [self._spent(fix, layer) for _, fix in self.fixes]
        for move in self.moves:
            tried = spent[move.fix][move.rows] + prices[move.failed]
            prices[move.rows] = np.minimum(prices[move.rows], tried)
        return prices

    def _asked(self, i: int, layer: _Layer, asked: int, layers: dict[int, Floats]) -> Floats:
        """(rows, columns) of U when question i comes next."""
        _, question = self.questions[i]
        # The columns of the layer above run over the asked questions in their order, the last one fastest.
        later = prod(len(q.answers) for j, (_, q) in enumerate(self.questions) if j > i and asked >> j & 1)
        above = layers[asked | 1 << i].reshape(len(self.rows), -1, len(question.answers), later)
        rest: Floats = above.sum(axis=2).reshape(layer.mass.shape)
        return self._times(self._seconds(question, layer), layer.mass) + rest

    def _spent(self, fix: Action, layer: _Layer) -> Floats:
        """(rows, columns) of P(e) times the seconds of a fix."""
        spent = self._times(self._seconds(fix, layer), layer.mass)
        if fix.repair:
            there = self.np.array([s > 0.0 for s in fix.cures], dtype=float)
            spent = spent + fix.repair * ((self.weights * there) @ layer.likelihood)
        return spent

    def _times(self, seconds: Floats, mass: Floats) -> Floats:
        """Seconds times mass; what may not come stays infinite where the mass is 0."""
        out: Floats = seconds[:, None] * self.np.where(mass > 0.0, mass, 1.0)
        return self.np.where((mass > 0.0) | self.np.isinf(out), out, 0.0)  # type: ignore[no-any-return]

    def _first(self, layer: _Layer, layers: dict[int, Floats]) -> tuple[float, str]:
        """(U, id) of the best first step; of two with the same price the one with the lower number."""
        best, chosen = float(layer.mass[0, 0]) * self.model.help_seconds, ""
        for i, (_, question) in enumerate(self.questions):
            price = float(self._asked(i, layer, 0, layers)[0, 0])
            if price < best * (1.0 - SAME):
                best, chosen = price, question.id
        for i, (_, fix) in enumerate(self.fixes):
            price = float(self._spent(fix, layer)[0, 0] + layers[0][1 << i, 0])
            if price < best * (1.0 - SAME):
                best, chosen = price, fix.id
        return best, chosen


def _joined(left: Floats, right: Floats) -> Floats:
    """(causes, columns) of two independent parts: every column of the one with every column of the other."""
    joined: Floats = (left[:, :, None] * right[:, None, :]).reshape(len(left), -1)
    return joined

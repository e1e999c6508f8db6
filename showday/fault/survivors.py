"""The exact optimum when checks do not err and fixes are sure: a state is the set of causes that survive.

Sets are bit masks. Every outcome leaves the weights of the survivors as they are, so a set's mass and its bound are sums
looked up in tables. A step is followed only while its lower bound (full observability, Jensen et al. 2001, definition 4)
is below the best price so far.
"""

from __future__ import annotations

from collections.abc import Sequence

from showday.fault.diagnosis import Belief, Model, Question, known_cause
from showday.fault.exact import TooLarge

CHUNK = 6
"""Bits of a set that are looked up at once."""


class Survivors:
    """Exact prices from one belief on; see `fits` for which. Prices are seconds times mass."""

    def __init__(self, model: Model, belief: Belief, most_states: int) -> None:
        self.model = model
        self.most = most_states
        alive = [f for f, w in enumerate(belief.weights) if w > 0.0]
        self.start = (1 << len(alive)) - 1
        self.count = len(alive)
        shift = len(model.questions)
        self.fixes = [
            (shift + a, _set(fix.cures, alive), fix.seconds, fix.repair, fix.group)
            for a, fix in enumerate(model.actions)
            if not belief.done >> shift + a & 1
        ]
        """(step, causes it cures, seconds, repair, group)."""
        self.checks = [
            (q, tuple(_set(row, alive) for row in asked.likelihood), asked.seconds, asked.group)
            for q, asked in enumerate(model.questions)
            if not belief.done >> q & 1
        ]
        """(step, for each answer the causes that give it, seconds, group)."""
        self.opened = belief.opened << self.count
        """Open groups, above the bits of the causes."""
        self.mass = _Sums([belief.weights[f] for f in alive])
        self.bound = _Sums([belief.weights[f] * known_cause(model, belief.done, f) for f in alive])
        self.held: dict[int, float] = {0: 0.0}

    def first_steps(self) -> list[tuple[float, int]]:
        """(price, step) of every step that can come first, all others following at their best."""
        state = self.start | self.opened
        moves = self._moves(self.start, state)
        return [(spent + sum(self._value(s) for s in states), step) for _, spent, states, step in moves]

    def _value(self, state: int) -> float:
        held = self.held.get(state)
        if held is not None:
            return held
        if len(self.held) > self.most:
            raise TooLarge(f"More than {self.most:,} states.", "The optimum is not known; the bound is.")
        alive = state & self.start
        best = self.mass[alive] * self.model.help_seconds
        for least, spent, states, _ in sorted(self._moves(alive, state)):
            if least >= best:
                break
            for after in states:
                spent += self._value(after)
            if spent < best:
                best = spent
        self.held[state] = best
        return best

    def _moves(self, alive: int, state: int) -> list[tuple[float, float, tuple[int, ...], int]]:
        """(lower bound, what the step costs, states after it, step) of every step that tells or cures something."""
        opened = state ^ alive
        mass, bound = self.mass, self.bound
        here, least = mass[alive], bound[alive]
        moves: list[tuple[float, float, tuple[int, ...], int]] = []
        for step, cured, seconds, repair, group in self.fixes:
            cured &= alive
            if cured:
                spent, now = here * seconds, opened
                if group >= 0:
                    spent, now = self._opened(spent, here, group, opened)
                if repair:
                    spent += repair * mass[cured]
                after = alive ^ cured
                moves.append((spent + bound[after], spent, (after | now,) if after else (), step))
        for step, answers, seconds, group in self.checks:
            left = tuple([part for answer in answers if (part := answer & alive)])
            if len(left) > 1:
                spent, now = here * seconds, opened
                if group >= 0:
                    spent, now = self._opened(spent, here, group, opened)
                if now:
                    left = tuple([part | now for part in left])
                moves.append((spent + least, spent, left, step))
        return moves

    def _opened(self, spent: float, mass: float, group: int, opened: int) -> tuple[float, int]:
        """What a step costs with its group's opening, and the groups that are open afterwards."""
        bit = 1 << self.count + group
        return (spent if opened & bit else spent + mass * self.model.groups[group]), opened | bit


def fits(model: Model, belief: Belief) -> bool:
    """Whether, for the causes that are left, every step that is left is sure, and none waits for or closes another."""
    alive = [f for f, w in enumerate(belief.weights) if w > 0.0]
    for index in range(model.steps):
        if belief.done >> index & 1:
            continue
        step = model.step(index)
        if step.after & ~belief.done or (isinstance(step, Question) and step.closes):
            return False
        rows = step.likelihood if isinstance(step, Question) else (step.cures,)
        if any(row[f] not in (0.0, 1.0) for row in rows for f in alive):
            return False
    return True


def _set(row: Sequence[float], alive: list[int]) -> int:
    return sum(1 << i for i, f in enumerate(alive) if row[f])


class _Sums(dict[int, float]):
    """The sum of the values in a set, looked up in a table of its own or put together from chunks."""

    def __init__(self, values: list[float]) -> None:
        self.tables = []
        for start in range(0, len(values), CHUNK):
            table = [0.0]
            for value in values[start : start + CHUNK]:
                table += [held + value for held in table]
            self.tables.append(table)

    def __missing__(self, members: int) -> float:
        total, left = 0.0, members
        for table in self.tables:
            total += table[left & (1 << CHUNK) - 1]
            left >>= CHUNK
        self[members] = total
        return total

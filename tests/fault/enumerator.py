"""The optimum by brute force: every strategy tree, simulated in every world, in exact fractions.

A world is the outcome that every step would have in it: its answer, or whether it works. No belief is kept, no rule of
Bayes and no recursion over states is used: the slow way that cannot share a mistake with the solver.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import product
from math import lcm

from showday.fault.diagnosis import Model

Step = tuple[str, int]
"""("ask", question) or ("fix", action)."""
Tree = tuple[object, ...]
"""() is help; (step, trees by answer) asks; (step, tree when it does not work) tries."""


@dataclass(frozen=True)
class World:
    """One way things can be."""

    answers: tuple[int, ...]
    works: tuple[bool, ...]
    mended: tuple[bool, ...]
    """For each fix that looks first, whether its cause is there, so that its repair is done."""


class Enumerator:
    """Every tree in every world of a model; all numbers are the decimals that were meant."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.seconds: dict[Step, int] = {}
        self.group: dict[Step, int] = {}
        self.before: dict[Step, int] = {}
        self.bit: dict[Step, int] = {}
        for i in range(model.steps):
            asks = len(model.questions)
            step: Step = ("ask", i) if i < asks else ("fix", i - asks)
            self.bit[step], self.seconds[step] = i, whole_number(model.step(i).seconds)
            self.group[step], self.before[step] = model.step(i).group, model.step(i).after
        self.opening = [whole_number(g) for g in model.groups]
        self.repair = [whole_number(a.repair) for a in model.actions]
        self.help = whole_number(model.help_seconds)

    @cached_property
    def worlds(self) -> list[tuple[World, Fraction]]:
        """Every world with its chance."""
        made: dict[World, Fraction] = {}
        for cause, prior in enumerate(self.model.prior):
            columns = [[exact(row[cause]) for row in q.likelihood] for q in self.model.questions]
            sure = [exact(a.cures[cause]) for a in self.model.actions]
            mended = tuple(bool(a.repair and a.cures[cause]) for a in self.model.actions)
            for answers in product(*(range(len(c)) for c in columns)):
                for works in product((False, True), repeat=len(sure)):
                    chance = exact(prior)
                    for column, answer in zip(columns, answers, strict=True):
                        chance *= column[answer]
                    for p, works_here in zip(sure, works, strict=True):
                        chance *= p if works_here else 1 - p
                    world = World(answers, works, mended)
                    made[world] = made.get(world, Fraction(0)) + chance
        return [(world, chance) for world, chance in made.items() if chance]

    def trees(self, left: frozenset[Step] | None = None) -> Iterator[Tree]:
        """Every strategy tree over the steps left, each step behind all that it must come after."""
        left = frozenset(self.bit) if left is None else left
        yield ()
        for step in sorted(left):
            rest = left - {step}
            if any(self.before[step] >> self.bit[other] & 1 for other in left):
                continue
            if step[0] == "fix":
                for after in self.trees(rest):
                    yield (step, after)
            else:
                below = list(self.trees(rest))
                for each in product(below, repeat=len(self.model.questions[step[1]].answers)):
                    yield (step, each)

    def time_in(self, tree: Tree, world: World) -> int:
        """Seconds to restored sound in one world."""
        spent, opened, at = 0, 0, tree
        while at:
            step, then = at
            assert isinstance(step, tuple) and isinstance(then, tuple)
            spent += self.seconds[step]
            group = self.group[step]
            if group >= 0 and not opened >> group & 1:
                opened |= 1 << group
                spent += self.opening[group]
            kind, index = step
            if kind == "ask":
                at = then[world.answers[index]]
                continue
            if world.mended[index]:
                spent += self.repair[index]
            if world.works[index]:
                return spent
            at = then
        return spent + self.help

    def least(self) -> Fraction:
        """The least expected time over all trees."""
        shares, whole = self._shares()
        return Fraction(min(sum(n * self.time_in(tree, w) for w, n in shares) for tree in self.trees()), whole)

    def most_in_time(self, seconds: float) -> Fraction:
        """The best chance over all trees that sound is back within a time."""
        shares, whole = self._shares()
        return Fraction(
            max(sum(n for w, n in shares if self.time_in(tree, w) <= seconds) for tree in self.trees()), whole
        )

    def _shares(self) -> tuple[list[tuple[World, int]], int]:
        """Worlds with whole-number weights, and what those sum to."""
        whole = lcm(*(chance.denominator for _, chance in self.worlds))
        shares = [(world, int(chance * whole)) for world, chance in self.worlds]
        return shares, whole


def exact(value: float) -> Fraction:
    """The decimal that was meant."""
    return Fraction(str(value))


def whole_number(value: float) -> int:
    """Seconds of these models are whole, and whole numbers add up much quicker than fractions."""
    if value != int(value):
        raise ValueError(f"{value} s is not a whole number of seconds")
    return int(value)

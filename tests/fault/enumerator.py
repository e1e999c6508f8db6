"""The optimum by brute force: every strategy tree, simulated in every world, in exact fractions.

A world is the true cause and the outcome that every step would have in it. No belief is kept, no rule of Bayes and no
recursion over states is used: the slow way that cannot share a mistake with the solver.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from showday.fault.diagnosis import Model


@dataclass(frozen=True)
class World:
    """One way things can be: the answer of each question, whether each fix works, and how likely that is."""

    answers: tuple[int, ...]
    works: tuple[bool, ...]
    chance: Fraction


Tree = tuple[object, ...]
"""() is help; ("ask", question, trees by answer); ("fix", action, tree when it does not work)."""


def worlds(model: Model) -> list[World]:
    """Every world with its exact chance."""
    made: dict[tuple[tuple[int, ...], tuple[bool, ...]], Fraction] = {}
    for cause, prior in enumerate(model.prior):
        columns = [[exact(row[cause]) for row in q.likelihood] for q in model.questions]
        sure = [exact(a.cures[cause]) for a in model.actions]
        for answers in product(*(range(len(c)) for c in columns)):
            for works in product((False, True), repeat=len(sure)):
                chance = exact(prior)
                for column, answer in zip(columns, answers, strict=True):
                    chance *= column[answer]
                for p, works_here in zip(sure, works, strict=True):
                    chance *= p if works_here else 1 - p
                if chance:
                    key = (answers, works)
                    made[key] = made.get(key, Fraction(0)) + chance
    return [World(answers, works, chance) for (answers, works), chance in made.items()]


def exact(value: float) -> Fraction:
    """The decimal that was meant."""
    return Fraction(str(value))


def trees(model: Model, left: frozenset[tuple[str, int]]) -> Iterator[Tree]:
    """Every strategy tree over the steps left."""
    yield ()
    for kind, index in sorted(left):
        rest = left - {(kind, index)}
        if kind == "fix":
            for after in trees(model, rest):
                yield ("fix", index, after)
        else:
            below = list(trees(model, rest))
            for each in product(below, repeat=len(model.questions[index].answers)):
                yield ("ask", index, each)


def time_in(model: Model, tree: Tree, world: World) -> Fraction:
    """Seconds to restored sound in one world."""
    spent, opened = Fraction(0), set()
    at = tree
    while at:
        kind, index, then = at
        assert isinstance(index, int)
        step = model.questions[index] if kind == "ask" else model.actions[index]
        spent += exact(step.seconds)
        if step.group >= 0 and step.group not in opened:
            opened.add(step.group)
            spent += exact(model.groups[step.group])
        if kind == "ask":
            assert isinstance(then, tuple)
            at = then[world.answers[index]]
        elif world.works[index]:
            return spent
        else:
            assert isinstance(then, tuple)
            at = then
    return spent + exact(model.help_seconds)


def least(model: Model) -> Fraction:
    """The least expected time over all strategy trees."""
    steps = {("ask", i) for i in range(len(model.questions))} | {("fix", i) for i in range(len(model.actions))}
    all_worlds = worlds(model)
    return min(
        sum((w.chance * time_in(model, tree, w) for w in all_worlds), Fraction(0))
        for tree in trees(model, frozenset(steps))
    )

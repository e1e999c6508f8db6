"""The strategies of a fault tree, and what each of them costs."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from showday.fault.authored import authored_strategy
from showday.fault.choose import Chooser
from showday.fault.compile import AS_WRITTEN, Numbers, compile_tree
from showday.fault.diagnosis import FAILED, HELP, Belief, Model, Strategy, begin, lower_bound, price
from showday.fault.lattice import lattice_states, solve_lattice
from showday.fault.look import At, Look
from showday.fault.model import Tree

ADVISED, LEAST = 0.01, 0.001
"""Shares of the probability mass: down to the one the chooser is followed, down to the other a first look; below that
the p/c sequence."""
OPTIMUM_STATES = 1_000_000
"""Lattices up to this size are solved for `Prices.optimum`: a second or two."""


@dataclass(frozen=True, slots=True)
class Prices:
    """Expected seconds to restored sound."""

    authored: float
    """In the author's order."""
    computed: float
    """When the computed advice is followed; it is a little less in truth, where unlikely turns are looked at in full."""
    optimum: float | None
    """Of the best of all strategies; None where that is too much work."""
    bound: float
    """If the cause were known at once: no strategy can be below."""


def prices(
    tree: Tree,
    *,
    facts: Mapping[str, bool] | None = None,
    numbers: Numbers = AS_WRITTEN,
    used: Collection[str] = (),
) -> Prices:
    """What the orders of a tree cost; the arguments are those of `compile_tree`."""
    model = compile_tree(tree, facts=facts, numbers=numbers, used=used)
    small = lattice_states(model) <= OPTIMUM_STATES
    return Prices(
        authored=price(model, authored_strategy(tree, model, facts=facts)),
        computed=price(model, computed_strategy(model)),
        optimum=solve_lattice(model).seconds if small else None,
        bound=lower_bound(model),
    )


def computed_strategy(
    model: Model,
    belief: Belief | None = None,
    *,
    chooser: Chooser | None = None,
    advised: float = ADVISED,
    least_mass: float = LEAST,
) -> Strategy:
    """The strategy of following the chooser, from a belief (the start when none is given).

    Where less than `advised` of the probability mass goes, a first look decides, and below `least_mass` the p/c sequence
    is followed to its end, so that the strategy is finite and its price exact. Where the start can be solved exactly,
    all of it is. Contradiction when no cause is possible.
    """
    start = belief or begin(model)
    start.odds()
    return _Follower(chooser or Chooser(model), start, advised, least_mass).strategy()


class _Follower:
    def __init__(self, chooser: Chooser, start: Belief, advised: float, least: float) -> None:
        self.chooser = chooser
        self.model = chooser.model
        self.look = Look(self.model, chooser.ranker)
        self.start = self.look.begin(start)
        self.advised = start.mass * advised
        self.least = start.mass * least
        self.exact = chooser.solved(start) is not None
        self.held: dict[int, Strategy] = {}

    def strategy(self) -> Strategy:
        """From the start."""
        return self._from(self.start)

    def _from(self, at: At) -> Strategy:
        if at.mass <= 0.0:
            return HELP
        if at.told not in self.held:
            self.held[at.told] = self._made(at)
        return self.held[at.told]

    def _made(self, at: At) -> Strategy:
        if at.mass < self.least and not self.exact:
            return self._sequence(at)
        step = self._step(at)
        if step is None:
            return HELP
        then = [self._from(child) for child in self.look.after(at, step)]
        return Strategy(self.model.step_id(step), tuple(zip(self._outcomes(step), then, strict=True)))

    def _step(self, at: At) -> int | None:
        if self.exact:
            solved = self.chooser.solved(Belief(at.weights, at.done, at.opened))
            if solved is not None:
                return self.chooser.best(solved, at.mass)
        if at.mass < self.advised:
            return self.look.glance(at)
        return self.chooser.best(self.chooser.looked(self.look, at), at.mass)

    def _sequence(self, at: At) -> Strategy:
        """The p/c sequence; a check in it leads on alike whatever its answer."""
        made = HELP
        for step in reversed(self.chooser.ranker.run(Belief(at.weights, at.done, at.opened)).steps):
            made = Strategy(self.model.step_id(step), tuple((outcome, made) for outcome in self._outcomes(step)))
        return made

    def _outcomes(self, step: int) -> tuple[str, ...]:
        """The outcomes of a step after which the walk goes on."""
        asked = step < len(self.model.questions)
        return self.model.questions[step].answers if asked else (FAILED,)

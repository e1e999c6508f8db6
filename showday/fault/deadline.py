"""The other goal: not the least expected time, but the best chance that sound is back within the next so many seconds.

The same search with another value at its ends: there, fixes are tried by chance over time as long as they fit into what is
left, or the likeliest one that fits comes first. Help counts when it can still come.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from showday.fault.diagnosis import SAME, Action, Belief, Model, available, opening
from showday.fault.look import At, Look, Widths
from showday.fault.sequence import Ranker

CLEARLY = 0.01
"""A step is clearly better when its chance is higher by this much: one show in a hundred (a choice of this program)."""
CANDIDATES = 6
"""First steps that are looked at in full: the best at a glance."""
NEAR: Widths = ((1, 2),)
FAR: Widths = ((2, 3), (1, 2))
"""Fixes and questions that are followed on the steps after the first."""
FEW = 30
"""Causes and fixes up to which it is looked far ahead; with more of them that would take too long."""


@dataclass(frozen=True, slots=True)
class Deadline:
    """The step that most likely restores sound in time."""

    step: str
    """Id of the step; empty for help."""
    chance: float
    """Chance that sound is back within the time, if it is taken now and time is used well after it."""
    others: tuple[tuple[str, float], ...] = ()
    """Other steps that were looked at, with their chances, best first; an empty id is help."""

    def clearly_better(self, step: str) -> bool:
        """Whether another step (empty for help) is clearly worse when time is short, so that this should be said."""
        return self.chance - dict(self.others).get(step, self.chance) >= CLEARLY


def deadline(model: Model, belief: Belief, seconds: float, also: Collection[str] = ()) -> Deadline:
    """The step with the best chance of restored sound within the next `seconds`.

    `also` are steps that are looked at in full in any case, so that they can be compared. Contradiction when no cause is
    possible.
    """
    belief.odds()
    search = _Search(model, belief)
    at = search.look.begin(belief)
    steps = available(model, belief)
    glanced = sorted((-search.first(at, step, seconds, ()), step) for step in steps)
    chosen = {step for _, step in glanced[:CANDIDATES]} | {step for step in steps if model.step_id(step) in also}
    named = [(model.step_id(s), search.first(at, s, seconds, search.widths) / at.mass) for s in sorted(chosen)]
    named.append(("", 1.0 if model.help_seconds <= seconds else 0.0))
    most = max(chance for _, chance in named)
    best = next(i for i, (_, chance) in enumerate(named) if chance >= most * (1.0 - SAME))
    step, chance = named.pop(best)
    return Deadline(step, chance, tuple(sorted(named, key=lambda option: -option[1])))


class _Search:
    """Chances here are times mass: P(restored in time and everything so far)."""

    def __init__(self, model: Model, belief: Belief) -> None:
        self.model = model
        fixes = sum(1 for step in range(len(model.questions), model.steps) if not belief.done >> step & 1)
        self.widths = FAR if fixes + sum(1 for w in belief.weights if w > 0.0) <= FEW else NEAR
        self.ranker = Ranker(model)
        self.look = Look(model, self.ranker)
        self.shift = len(model.questions)

    def _value(self, at: At, left: float, widths: Widths) -> float:
        if at.mass <= 0.0 or left <= 0.0:
            return 0.0
        if self.model.help_seconds <= left:
            return at.mass
        ranked = [a for _, a in self.ranker.ranked(at.weights, at.done, at.opened)]
        best = self._tried(at, left, ranked)
        if not widths or best >= at.mass * (1.0 - SAME):
            return best
        fixes, questions = widths[0]
        steps = self.look.narrowing(at, questions) + [self.shift + a for a in ranked[:fixes]]
        return max([best, *(self.first(at, step, left, widths[1:]) for step in steps)])

    def first(self, at: At, step: int, left: float, widths: Widths) -> float:
        """With this step now; nothing when it does not fit."""
        taken = self.model.step(step)
        after = left - taken.seconds - opening(self.model, at.opened, taken.group)
        if after < 0.0:
            return 0.0
        if isinstance(taken, Action):
            failed = self._failed(at, step, taken)
            return self._cured(at, taken, after) + self._value(failed, after, widths)
        return sum(self._value(child, after, widths) for child in self.look.after(at, step))

    def _failed(self, at: At, step: int, fix: Action) -> At:
        """Behind a fix that failed. A repair in vain has cost the time of what it was for: that is given up."""
        failed = self.look.after(at, step)[0]
        if not fix.repair:
            return failed
        weights = tuple(0.0 if s > 0.0 else w for w, s in zip(at.weights, fix.cures, strict=True))
        return replace(failed, weights=weights, mass=sum(weights))

    def _cured(self, at: At, fix: Action, after: float) -> float:
        """Chance that a fix works; one that looks first must also have the time for its repair."""
        return sum(w * s for w, s in zip(at.weights, fix.cures, strict=True)) if fix.repair <= after else 0.0

    def _tried(self, at: At, left: float, ranked: list[int]) -> float:
        """Fixes by chance over time, as long as they fit; or the likeliest that fits, then the others."""
        if not ranked:
            return 0.0
        fitting = [a for a in ranked if self._lasts(at.opened, a) <= left]
        if not fitting:
            return 0.0
        likeliest = max(fitting, key=lambda a: self._cured(at, self.model.actions[a], left))
        orders = [fitting] if likeliest == fitting[0] else [fitting, [likeliest, *fitting]]
        return max(self._in_turn(at, left, order) for order in orders)

    def _in_turn(self, at: At, left: float, order: list[int]) -> float:
        weights, opened, restored = list(at.weights), at.opened, 0.0
        tried = set()
        for a in order:
            lasts = self._lasts(opened, a)
            if a in tried or lasts > left:
                continue
            tried.add(a)
            fix = self.model.actions[a]
            left -= lasts - fix.repair
            if fix.group >= 0:
                opened |= 1 << fix.group
            for f, s in self.ranker.covers[a]:
                restored += weights[f] * s
                weights[f] *= 0.0 if fix.repair else 1.0 - s
        return restored

    def _lasts(self, opened: int, action: int) -> float:
        """Seconds until a fix has worked."""
        fix = self.model.actions[action]
        return fix.seconds + fix.repair + opening(self.model, opened, fix.group)

"""Advice in a fault walk: the step to take next, why in one line, and what is still likely.

Everything is computed from the tree, the answers and what the log has taught; the same state gives the same advice. The
person may take any other step, answer "don't know" or "can't now", and go back: the advice follows.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from showday.fault.choose import Chooser, Suggestion
from showday.fault.compile import AS_WRITTEN, SOMETHING_ELSE, compile_tree, invalidations
from showday.fault.deadline import deadline
from showday.fault.diagnosis import FAILED, Belief, Contradiction, Model, begin, evidence
from showday.fault.learn import Learned
from showday.fault.model import Fix, Tree
from showday.fault.walk import CANT_NOW, HELP, NO_CHANGE, WORKED, Answers, next_ask
from showday.rig.words import UNKNOWN
from showday.text.sentence import fill
from showday.text.values import duration

CLOSE_SECONDS, CLOSE_SHARE = 10.0, 0.10
"""A second best within 10 s or 10 % is a close call (a choice of this program)."""
WORTH_SAYING = 0.05
"""With less between two chances it is not said that one is likelier to help in time (a choice of this program)."""
BY_CHANCE = 0.05
"""Chance that sound comes back at a fix that does not name the cause: such a success shifts the odds, but rules nothing
out (a choice of this program)."""

assert FAILED == NO_CHANGE


@dataclass(frozen=True, slots=True)
class Likely:
    """One cause that is still possible."""

    cause: str
    what: str
    chance: float
    here: int = 0
    """How often it was confirmed at this venue with this rig."""
    anywhere: int = 0


@dataclass(frozen=True, slots=True)
class Advice:
    """The suggested step and what there is to say about it."""

    step: str
    """Node id; `help` when nothing that is left is worth its time."""
    seconds: float
    """Expected seconds to restored sound."""
    reason: str
    """One line: `40% likely, 20 s; next best costs +9 s`."""
    close: bool
    """True when the second best is nearly as good."""
    likely: tuple[Likely, ...]
    """Causes still possible, likeliest first."""
    instead: str
    """Why not the author's order; empty when it is the same step."""
    trouble: str = ""
    """Said when the answers contradict each other: the advice then goes on as if nothing had been answered."""


@dataclass(frozen=True, slots=True)
class Hurry:
    """What is likelier to bring sound back in the time that is left, when that is another step."""

    step: str
    chance: float
    instead_of: float
    """The chance with the advised step."""


class Adviser:
    """Advice over one tree in one walk."""

    def __init__(
        self,
        tree: Tree,
        *,
        facts: Mapping[str, bool] | None = None,
        known: Mapping[str, str] | None = None,
        learned: Learned | None = None,
        used: Collection[str] = (),
        workarounds: bool = True,
    ) -> None:
        self.tree = tree
        self.facts = facts or {}
        self.known = known or {}
        self.learned = learned
        numbers = learned.numbers if learned else AS_WRITTEN
        self.model: Model = compile_tree(tree, facts=self.facts, numbers=numbers)
        self.skipped = left_out(tree, used, workarounds)
        """Answers that keep what is not offered out of the author's order."""
        self.off = _mask(self.model, {node for node, _ in self.skipped})
        """Bit mask of the steps that are not offered; what they told when they were tried still counts."""
        self.chooser = Chooser(self.model)
        self.invalid = invalidations(tree)
        self._given: dict[tuple[tuple[str, str], ...], Advice] = {}

    def advise(self, answers: Answers) -> Advice:
        """The next step after these answers; the same answers always get the same advice."""
        key = tuple(answers)
        if key not in self._given:
            self._given[key] = self._advise(answers)
        return self._given[key]

    def likely(self, answers: Answers) -> tuple[Likely, ...]:
        """What is still likely after these answers, likeliest first; as at the beginning when they contradict."""
        belief = self._belief(answers)
        return self._likely(belief if belief.mass > 0.0 else begin(self.model))

    def in_time(self, answers: Answers, seconds: float) -> Hurry | None:
        """The step that is clearly likelier to bring sound back within so many seconds; None when it is the same."""
        advised = self.advise(answers).step
        step = "" if advised == HELP else advised
        belief = self._offered(self._belief(answers))
        if belief.mass <= 0.0:
            return None
        found = deadline(self.model, belief, seconds, also=[step])
        if found.step in (step, "") or not found.clearly_better(step):
            return None
        instead_of = dict(found.others).get(step, 0.0)
        return Hurry(found.step, found.chance, instead_of) if found.chance - instead_of >= WORTH_SAYING else None

    def _advise(self, answers: Answers) -> Advice:
        trouble = ""
        belief = self._belief(answers)
        try:
            belief.odds()
        except Contradiction as contradiction:
            trouble = str(contradiction)
            belief = replace(begin(self.model), done=belief.done, opened=belief.opened)
        suggestion = self.chooser.suggest(self._offered(belief))
        if not suggestion.step:
            suggestion, belief = self._second_round(answers, suggestion, belief)
        step = suggestion.step or HELP
        return Advice(
            step=step,
            seconds=suggestion.seconds,
            reason=self._reason(suggestion, belief),
            close=_close(suggestion),
            likely=self._likely(belief),
            instead=self._instead(step, suggestion, answers),
            trouble=trouble,
        )

    def _belief(self, answers: Answers, forgive: bool = False) -> Belief:
        """`forgive` frees what was put aside only once, so that it is offered again before help."""
        off: dict[str, int] = {}
        for node, answer in answers:
            off[node] = off.get(node, 0) + (answer == CANT_NOW)
        kept = [(n, a) for n, a in answers if not (forgive and a == CANT_NOW and off[n] == 1)]
        belief = evidence(self.model, kept, self.invalid)
        for node, answer in answers:
            if answer == WORKED:
                belief = replace(belief, weights=self._after_success(node, belief.weights))
        return belief

    def _after_success(self, node: str, weights: tuple[float, ...]) -> tuple[float, ...]:
        """Weights after a fix that brought sound back: it says something about the cause, though it may cure nothing."""
        for action in self.model.actions:
            if action.id == node:
                chances = (BY_CHANCE + (1.0 - BY_CHANCE) * cure for cure in action.cures)
                return tuple(w * p for w, p in zip(weights, chances, strict=True))
        return weights

    def _offered(self, belief: Belief) -> Belief:
        """With the steps that are not offered taken as done."""
        return replace(belief, done=belief.done | self.off)

    def _second_round(self, answers: Answers, suggestion: Suggestion, belief: Belief) -> tuple[Suggestion, Belief]:
        again = self._belief(answers, forgive=True)
        if again.done == belief.done or again.mass <= 0.0:
            return suggestion, belief
        second = self.chooser.suggest(self._offered(again))
        return (second, again) if second.step else (suggestion, belief)

    # -- words -------------------------------------------------------------------------------------------------

    def _reason(self, suggestion: Suggestion, belief: Belief) -> str:
        if not suggestion.step:
            return f"nothing left is likely to be quicker than help ({duration(self.model.help_seconds)})"
        index = self.model.index(suggestion.step)
        odds = belief.odds()
        count = len(self.model.questions)
        if index < count:
            parts = [f"the look that tells most, {duration(self.model.questions[index].seconds)}"]
        else:
            action = self.model.actions[index - count]
            chance = sum(p * s for p, s in zip(odds, action.cures, strict=True))
            parts = [f"{_percent(chance)} likely, {duration(action.seconds)}"]
            if seen := self._seen(action.cures):
                parts.append(seen)
        if suggestion.others:
            more = suggestion.others[0][1] - suggestion.seconds
            parts.append("close call" if _close(suggestion) else f"next best costs +{rough(more)}")
        return "; ".join(parts)

    def _seen(self, cures: tuple[float, ...]) -> str:
        """`4 of 6 times here`, or anywhere when this venue has told nothing yet."""
        if self.learned is None:
            return ""
        names = [c for c, s in zip(self.model.causes, cures, strict=True) if s >= 0.5]
        for counts, total, where in (
            (self.learned.here, self.learned.walks_here, "here"),
            (self.learned.anywhere, self.learned.walks, "so far"),
        ):
            seen = sum(counts.get(name, 0) for name in names)
            if seen:
                return f"{seen} of {total} times {where}"
        return ""

    def _likely(self, belief: Belief) -> tuple[Likely, ...]:
        found = []
        for name, chance in zip(self.model.causes, belief.odds(), strict=True):
            cause = self.tree.cause(name)
            what = fill(cause.what, self.known, UNKNOWN) if cause else "Something else"
            here = self.learned.here.get(name, 0) if self.learned else 0
            anywhere = self.learned.anywhere.get(name, 0) if self.learned else 0
            found.append(Likely(name, what, chance, here, anywhere))
        return tuple(sorted(found, key=lambda c: (-c.chance, c.cause == SOMETHING_ELSE, c.cause)))

    def _instead(self, step: str, suggestion: Suggestion, answers: Answers) -> str:
        author = next_ask(self.tree, [*answers, *self.skipped], facts=self.facts, known=self.known)
        if author.id == step:
            return ""
        priced = {id or HELP: seconds for id, seconds in suggestion.others}
        more = priced.get(author.id)
        cost = f"costs +{rough(more - suggestion.seconds)}" if more is not None else "looks slower from here"
        return f"the author's next step ({author.do}) {cost}"


def left_out(tree: Tree, used: Collection[str], workarounds: bool) -> Answers:
    """Answers that keep fixes out of the author's order: those whose spare is used up, and workarounds unless wanted."""
    gone = {spare.casefold() for spare in used}
    fixes = [node for node in tree.nodes() if isinstance(node, Fix)]
    out = [fix for fix in fixes if fix.uses.casefold() in gone or (fix.workaround and not workarounds)]
    # Put off twice: what was put off once is offered again before help.
    return [(str(fix.id), CANT_NOW) for fix in out for _ in range(2)]


def _mask(model: Model, steps: Collection[str]) -> int:
    return sum(1 << index for index in range(model.steps) if model.step_id(index) in steps)


def _close(suggestion: Suggestion) -> bool:
    if not suggestion.others or not suggestion.step:
        return False
    more = suggestion.others[0][1] - suggestion.seconds
    return more <= max(CLOSE_SECONDS, CLOSE_SHARE * suggestion.seconds)


def rough(seconds: float) -> str:
    """A time as it is worth reading: from a minute on in half minutes."""
    return duration(seconds if seconds < 60.0 else round(seconds / 30.0) * 30.0)


def _percent(chance: float) -> str:
    if chance >= 0.995:
        return "nearly certain"
    return "under 1%" if chance < 0.01 else f"{round(100 * chance)}%"

"""From a tree as it is written to what it means in numbers.

Leaves and cures give the causes, inner nodes the checks, and the branch a cause is named in says how it answers them:
`sure` (0.9 unless written) for the answers whose branches name it, the rest shared by the others; a check that never
names a cause tells nothing about it, so all answers are equally likely. After a certain answer (`sure: 1`) the steps that
tell or cure nothing of the named causes it leaves, and come before none that does, are out of the question, whatever the
odds say. "Something else" takes at least 5 %. A tree without a single number is therefore already a full model. How the
file is sorted, and what its ids are, is no part of the meaning: causes and steps are put into an order of their own.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import fsum

from showday.fault.canonical import canonical
from showday.fault.constraints import constraints
from showday.fault.diagnosis import Action, Model, Question, bits
from showday.fault.model import Again, Check, Entry, Fix, Leaf, Tree, walk_entries
from showday.fault.walk import id_of
from showday.playbook.conditions import holds

SOMETHING_ELSE = "something-else"
LEAST_ELSE = 0.05
"""Share of "something else": a floor, so that no tree believes that it knows every cause (a choice of this program)."""
SURE_ELSE = 0.99
"""How surely a cause that nobody named gives the `otherwise` of a certain check: never quite, so that no answer leaves
nothing possible (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class Numbers:
    """What the log has taught about a tree; whatever is not in it stays as the author wrote it."""

    causes: Mapping[str, float] = field(default_factory=dict)
    """Odds of causes, "something else" included, summing to 1; empty: the author's."""
    fixes: Mapping[str, float] = field(default_factory=dict)
    """Chance that a fix restores sound when it is the right one, replacing its best written chance."""
    checks: Mapping[str, float] = field(default_factory=dict)
    """How far a check's answer can be trusted."""


AS_WRITTEN = Numbers()


def author_odds(tree: Tree) -> dict[str, float]:
    """The causes' odds as written, "something else" included, summing to 1."""
    known = [(str(name), cause.odds) for name, cause in tree.causes]
    total = fsum(odds for _, odds in known)
    made = {name: (1.0 - LEAST_ELSE) * odds / total for name, odds in known if name != SOMETHING_ELSE}
    made[SOMETHING_ELSE] = 1.0 - fsum(made.values())
    return made


def compile_tree(
    tree: Tree,
    *,
    facts: Mapping[str, bool] | None = None,
    numbers: Numbers = AS_WRITTEN,
    used: Collection[str] = (),
) -> Model:
    """The model of a tree.

    `facts` are conditions for `when`: nodes that do not apply are left out with everything below them. `used` are
    spares that are gone: what needs one of them is left out.
    """
    return canonical(_Compiler(tree, facts or {}, numbers, {u.casefold() for u in used}).model())


class _Compiler:
    def __init__(self, tree: Tree, facts: Mapping[str, bool], numbers: Numbers, used: Collection[str]) -> None:
        self.tree = tree
        self.facts = facts
        self.numbers = numbers
        self.used = used
        odds = dict(numbers.causes) or author_odds(tree)
        self.causes = tuple(odds)
        self.prior = tuple(odds.values())
        self.group_ids = [str(name) for name, _ in tree.groups]
        self.checks: list[Check] = []
        self.fixes: list[Fix | Leaf] = []
        self._collect(tree.walk)
        steps = [id_of(node) for node in (*self.checks, *self.fixes)]
        self.after = constraints(tree, steps)
        """Step id → bit mask of the steps that must come before it."""

    def model(self) -> Model:
        """The steps in the file's order."""
        questions = [self._question(check) for check in self.checks]
        actions = [self._action(fix) for fix in self.fixes]
        for index, check in enumerate(self.checks):
            if check.sure >= 1.0:
                closes = self._closes(questions[index], questions, actions)
                questions[index] = replace(questions[index], closes=closes)
        return Model(
            causes=self.causes,
            prior=self.prior,
            questions=tuple(questions),
            actions=tuple(actions),
            help_seconds=self.tree.help.takes,
            groups=tuple(group.takes for _, group in self.tree.groups),
        )

    def _collect(self, entries: Sequence[Entry]) -> None:
        for entry in entries:
            if isinstance(entry, Leaf):
                if all(id_of(f) != id_of(entry) for f in self.fixes):
                    self.fixes.append(entry)
            elif isinstance(entry, Fix):
                if holds(entry.when, self.facts) and entry.uses.casefold() not in self.used:
                    self.fixes.append(entry)
            elif isinstance(entry, Again) or holds(entry.when, self.facts):
                if isinstance(entry, Check):
                    self.checks.append(entry)
                for _, branch in entry.answers:
                    self._collect(branch)

    def _question(self, check: Check) -> Question:
        labels = check.labels()
        told = causes_by_answer(self.tree, check)
        named = [told[label] for label in labels]
        sure = self.numbers.checks.get(str(check.id), check.sure)
        columns = [_answers(cause, named, sure) for cause in self.causes]
        if sure >= 1.0 and check.otherwise in labels:
            rest = [frozenset([SOMETHING_ELSE]) if label == check.otherwise else frozenset() for label in labels]
            columns[self.causes.index(SOMETHING_ELSE)] = _answers(SOMETHING_ELSE, rest, SURE_ELSE)
        return Question(
            id=str(check.id),
            seconds=check.takes,
            answers=labels,
            likelihood=tuple(tuple(column[code] for column in columns) for code in range(len(labels))),
            after=self.after[str(check.id)],
            group=self._group(check.group),
        )

    def _closes(self, certain: Question, questions: Sequence[Question], actions: Sequence[Action]) -> tuple[int, ...]:
        """For each answer of a certain check the bit mask of the steps that are of no use to what it leaves."""
        return tuple(self._idle(row, questions, actions) for row in certain.likelihood)

    def _idle(self, row: Sequence[float], questions: Sequence[Question], actions: Sequence[Action]) -> int:
        left = [f for f, chance in enumerate(row) if chance > 0.0 and self.causes[f] != SOMETHING_ELSE]
        idle = [all(len({told[f] for f in left}) <= 1 for told in asked.likelihood) for asked in questions]
        idle += [not any(action.cures[f] for f in left) for action in actions]
        # What a step that is still of use has to come after stays open too, such as muting before pulling a plug.
        steps: list[Question | Action] = [*questions, *actions]
        needed = 0
        waiting = [step for step, is_idle in enumerate(idle) if not is_idle]
        while waiting:
            before = steps[waiting.pop()].after & ~needed
            needed |= before
            waiting += bits(before)
        return sum(1 << step for step, is_idle in enumerate(idle) if is_idle and not needed >> step & 1)

    def _action(self, fix: Fix | Leaf) -> Action:
        id = id_of(fix)
        if isinstance(fix, Leaf):
            cause = self.tree.cause(fix.cause)
            chances = {str(fix.cause): 1.0}
            look, takes = (cause.look, cause.takes) if cause else (None, 0.0)
        else:
            chances = {str(name): chance for name, chance in fix.cures}
            look, takes = fix.look, fix.takes
        learned = self.numbers.fixes.get(id)
        if learned is not None and chances:
            best = max(chances.values())
            chances = {name: min(1.0, chance * learned / best) for name, chance in chances.items()}
        return Action(
            id=id,
            seconds=takes if look is None else look,
            repair=0.0 if look is None else takes,
            cures=tuple(chances.get(cause, 0.0) for cause in self.causes),
            after=self.after[id],
            group=self._group(fix.group) if isinstance(fix, Fix) else -1,
            workaround=isinstance(fix, Fix) and fix.workaround,
            uses=str(fix.uses) if isinstance(fix, Fix) else "",
        )

    def _group(self, name: str) -> int:
        return self.group_ids.index(name) if name in self.group_ids else -1


def causes_by_answer(tree: Tree, check: Check) -> dict[str, frozenset[str]]:
    """For each answer of a check, the causes that give it: as `tells` says, else those that its branch names.

    Causes that no answer names give the one of `otherwise`, when the check has that.
    """
    if check.tells:
        told = {str(label): frozenset(map(str, causes)) for label, causes in check.tells}
        named = {label: told.get(label, frozenset()) for label in check.labels()}
    else:
        named = {str(label): _causes_below(tree, branch) for label, branch in check.answers}
    if check.otherwise in named:
        rest = {str(name) for name, _ in tree.causes}.difference(*named.values())
        named[str(check.otherwise)] |= rest
    return named


def _causes_below(tree: Tree, branch: tuple[Entry, ...]) -> frozenset[str]:
    """Every cause that a branch names: its leaves, and what its fixes cure."""
    found: set[str] = set()
    for entry in walk_entries(branch):
        node = tree.node(entry.again) if isinstance(entry, Again) else entry
        if isinstance(node, Leaf):
            found.add(str(node.cause))
        elif isinstance(node, Fix) and not node.workaround:
            found.update(str(name) for name, _ in node.cures)
    return frozenset(found)


def _answers(cause: str, named: list[frozenset[str]], sure: float) -> list[float]:
    """P(answer | cause) for each answer of a check."""
    count = len(named)
    hits = [cause in names for names in named]
    there = sum(hits)
    if there in (0, count):
        return [1.0 / count] * count
    return [sure / there if hit else (1.0 - sure) / (count - there) for hit in hits]


def invalidations(tree: Tree) -> dict[str, tuple[str, ...]]:
    """For each node that has them, the checks whose answers no longer count after it."""
    nodes = (n for n in tree.nodes() if not isinstance(n, Leaf))
    return {str(n.id): tuple(map(str, n.invalidates)) for n in nodes if n.invalidates}

"""From a tree as it is written to what it means in numbers.

Leaves and cures give the causes, inner nodes the checks, and the branch a cause is named in says how it answers them:
`sure` (0.9 unless written) for the answers whose branches name it, the rest shared by the others; a check that never
names a cause tells nothing about it, so all answers are equally likely. "Something else" takes at least 5 %. A tree
without a single number is therefore already a full model.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from showday.fault.diagnosis import Action, Model, Question
from showday.fault.model import Check, Fix, Leaf, Node, Tree, walk_nodes
from showday.fault.walk import CURE
from showday.playbook.conditions import holds

SOMETHING_ELSE = "something-else"
LEAST_ELSE = 0.05
"""Share of "something else": a floor, so that no tree believes that it knows every cause (a choice of this program)."""


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
    total = sum(odds for _, odds in known)
    made = {name: (1.0 - LEAST_ELSE) * odds / total for name, odds in known if name != SOMETHING_ELSE}
    made[SOMETHING_ELSE] = 1.0 - sum(made.values())
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
    return _Compiler(tree, facts or {}, numbers, {u.casefold() for u in used}).model()


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
        self.before: dict[str, set[str]] = {}
        """Author's order: node id → ids that must come before it."""

    def model(self) -> Model:
        """Collect the nodes, then number them."""
        self._collect(self.tree.walk, parent="")
        ids = [str(c.id) for c in self.checks] + [node_id(f) for f in self.fixes]
        bit = {id: 1 << i for i, id in enumerate(ids)}
        first = {str(n.id) for n in (*self.checks, *self.fixes) if not isinstance(n, Leaf) and n.first}
        return Model(
            causes=self.causes,
            prior=self.prior,
            questions=tuple(self._question(check, bit, first) for check in self.checks),
            actions=tuple(self._action(fix, bit, first) for fix in self.fixes),
            help_seconds=self.tree.help.takes,
            groups=tuple(group.takes for _, group in self.tree.groups),
        )

    def _collect(self, nodes: tuple[Node, ...], parent: str) -> None:
        previous, pinned = parent, False
        for node in nodes:
            id = node_id(node)
            if not self._applies(node):
                continue
            if isinstance(node, Leaf):
                if all(node_id(f) != id for f in self.fixes):
                    self.fixes.append(node)
                continue
            before = self.before.setdefault(id, set(map(str, node.after)))
            if (node.pin or pinned) and previous:
                before.add(previous)
            previous, pinned = id, node.pin
            if isinstance(node, Fix):
                self.fixes.append(node)
                continue
            self.checks.append(node)
            for _, branch in node.answers:
                self._collect(branch, parent=id)

    def _applies(self, node: Node) -> bool:
        if isinstance(node, Leaf):
            return True
        spare = node.uses.casefold() if isinstance(node, Fix) else ""
        return holds(node.when, self.facts) and (not spare or spare not in self.used)

    def _after(self, id: str, bit: Mapping[str, int], first: Collection[str]) -> int:
        mask = 0
        for other in self.before.get(id, ()):
            mask |= bit.get(other, 0)
        if id not in first:
            for other in first:
                mask |= bit.get(other, 0)
        return mask

    def _question(self, check: Check, bit: Mapping[str, int], first: Collection[str]) -> Question:
        labels = check.labels()
        named = [_causes_below(branch) for _, branch in check.answers]
        sure = self.numbers.checks.get(str(check.id), check.sure)
        columns = [_answers(cause, named, sure) for cause in self.causes]
        return Question(
            id=str(check.id),
            seconds=check.takes,
            answers=labels,
            likelihood=tuple(tuple(column[code] for column in columns) for code in range(len(labels))),
            after=self._after(str(check.id), bit, first),
            group=self._group(check.group),
        )

    def _action(self, fix: Fix | Leaf, bit: Mapping[str, int], first: Collection[str]) -> Action:
        id = node_id(fix)
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
            after=self._after(id, bit, first),
            group=self._group(fix.group) if isinstance(fix, Fix) else -1,
            workaround=isinstance(fix, Fix) and fix.workaround,
            uses=str(fix.uses) if isinstance(fix, Fix) else "",
        )

    def _group(self, name: str) -> int:
        return self.group_ids.index(name) if name in self.group_ids else -1


def node_id(node: Node) -> str:
    """A node's id; of a cause leaf, that of its cure."""
    return f"{CURE}{node.cause}" if isinstance(node, Leaf) else str(node.id)


def _causes_below(branch: tuple[Node, ...]) -> frozenset[str]:
    """Every cause that a branch names: its leaves, and what its fixes cure."""
    found: set[str] = set()
    for node in walk_nodes(branch):
        if isinstance(node, Leaf):
            found.add(str(node.cause))
        elif isinstance(node, Fix) and not node.workaround:
            found.update(str(name) for name, _ in node.cures)
    return frozenset(found)


def causes_by_answer(check: Check) -> dict[str, frozenset[str]]:
    """For each answer of a check, the causes that its branch names."""
    return {str(label): _causes_below(branch) for label, branch in check.answers}


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

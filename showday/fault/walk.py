"""The author's order of a fault tree, as a function of the answers so far.

Nothing is remembered but the answers: any step may be taken at any time, an answer may be taken back, and the
order adapts. The same answers always give the same next step.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from showday.fault.model import Again, Check, Entry, Fix, Leaf, Node, Tree
from showday.playbook.conditions import holds
from showday.rig.words import UNKNOWN
from showday.text.sentence import fill

DONT_KNOW, CANT_NOW = "don't know", "can't now"
WORKED, NO_CHANGE = "restored", "no change"
HELP = "help"
CURE = "cure:"
"""Prefix of the id of a cause leaf's cure, which is done like a fix."""

Answers = Sequence[tuple[str, str]]
"""(node id, answer) in the order given."""


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing to look at or to do, ready to show. Texts are foreign: show them as plain text."""

    kind: str
    """`check`, `fix` or `help`."""
    id: str
    do: str
    answers: tuple[str, ...]
    """The answers that belong to it, without "don't know" and "can't now"."""
    until: str = ""
    why: str = ""
    basis: str = ""
    caution: str = ""
    takes: float | None = None
    irreversible: str = ""
    workaround: bool = False
    uses: str = ""
    opens: str = ""
    """What must be opened first, when it was not opened yet."""
    causes: tuple[tuple[str, str], ...] = ()
    """For a fix: the causes it may have cured, id and words."""
    see: str = ""
    """Another fault tree that goes on from here."""

    @property
    def choices(self) -> tuple[str, ...]:
        """Every answer a person may give; help is never put off."""
        if self.kind == "help":
            return self.answers
        return (*self.answers, DONT_KNOW, CANT_NOW) if self.kind == "check" else (*self.answers, CANT_NOW)


def standing(tree: Tree, answers: Answers) -> dict[str, str]:
    """The answers that still count: the last of each node, less those that a later node made invalid."""
    invalid = {n.id: n.invalidates for n in tree.nodes() if not isinstance(n, Leaf) and n.invalidates}
    now: dict[str, str] = {}
    for node, answer in answers:
        now[node] = answer
        if answer not in (CANT_NOW, DONT_KNOW):
            for check in invalid.get(node, ()):
                now.pop(check, None)
    return now


def put_off(answers: Answers) -> dict[str, int]:
    """How often each node was put aside with "can't now"."""
    counts: dict[str, int] = {}
    for node, answer in answers:
        if answer == CANT_NOW:
            counts[node] = counts.get(node, 0) + 1
    return counts


def next_ask(
    tree: Tree,
    answers: Answers,
    *,
    facts: Mapping[str, bool] | None = None,
    known: Mapping[str, str] | None = None,
) -> Ask:
    """What comes next in the author's order; `help` when nothing is left.

    `facts` are conditions for `when`; `known` the sentence fields of the thing the walk is about.
    """
    node = next_node(tree, answers, facts)
    return help_ask(tree, known) if node is None else node_ask(tree, node, answers, known)


def next_node(tree: Tree, answers: Answers, facts: Mapping[str, bool] | None = None) -> Node | None:
    """The node that comes next in the author's order; None is help. What was put off once is offered before help."""
    order = _Order(tree, answers, facts or {})
    for again in (0, 1):
        for entry in order.open(tree.walk, again):
            node = order.meant(entry)
            if node is None:
                break
            return node
    return None


def still_open(
    tree: Tree, answers: Answers, facts: Mapping[str, bool] | None = None
) -> tuple[tuple[Entry, Node], ...]:
    """Every entry that would be asked in turn until help if none of them told anything, with the node that it is.

    What is behind a check that is still open is not counted.
    """
    order = _Order(tree, answers, facts or {})
    out = []
    for entry in order.open(tree.walk, again=0):
        node = order.meant(entry)
        if node is None:
            break
        out.append((entry, node))
    return tuple(out)


def ask_for(tree: Tree, node_id: str, answers: Answers = (), known: Mapping[str, str] | None = None) -> Ask | None:
    """The ask of one node, whatever the order; None when the tree has no such node."""
    if node_id == HELP:
        return help_ask(tree, known)
    for node in tree.nodes():
        if id_of(node) == node_id:
            return node_ask(tree, node, answers, known)
    return None


def firsts_first(entries: Sequence[Entry]) -> list[Entry]:
    """The nodes of one list in the order they are taken: those marked `first`, then the others."""
    return sorted(entries, key=lambda entry: not getattr(entry, "first", False))


def in_walking_order(entries: Sequence[Entry]) -> Iterator[Node]:
    """Every node of a list and below, in the order a walk takes them when every branch is walked."""
    for entry in firsts_first(entries):
        if not isinstance(entry, Again):
            yield entry
        if isinstance(entry, Check | Again):
            yield from in_walking_order(_all_branches(entry))


class _Order:
    """What still stands to be asked, given the answers."""

    def __init__(self, tree: Tree, answers: Answers, facts: Mapping[str, bool]) -> None:
        self.nodes = {str(node.id): node for node in tree.nodes() if not isinstance(node, Leaf)}
        self.now = standing(tree, answers)
        self.off = put_off(answers)
        self.facts = facts

    def meant(self, entry: Entry) -> Node | None:
        """The node that an entry is; None is the call for help."""
        return self.nodes.get(entry.again) if isinstance(entry, Again) else entry

    def open(self, entries: Sequence[Entry], again: int) -> Iterator[Entry]:
        """What is still to be asked of a list and below, in turn; `again` counts the rounds before."""
        for entry in firsts_first(entries):
            yield from self._open(entry, again)

    def _open(self, entry: Entry, again: int) -> Iterator[Entry]:
        node = self.meant(entry)
        if node is not None and not isinstance(node, Leaf) and not holds(node.when, self.facts):
            return
        id = HELP if node is None else id_of(node)
        answer = self.now.get(id)
        if node is None or answer is None or (answer == CANT_NOW and self.off.get(id, 0) <= again):
            yield entry
        elif isinstance(entry, Check | Again) and (answer != CANT_NOW or again):
            everything = answer in (CANT_NOW, DONT_KNOW)
            yield from self.open(_all_branches(entry) if everything else _branch(entry, answer), again)


def _branch(entry: Check | Again, answer: str) -> tuple[Entry, ...]:
    return next((nodes for label, nodes in entry.answers if label == answer), ())


def _all_branches(entry: Check | Again) -> tuple[Entry, ...]:
    """Every branch in turn. A call for help in one of them waits until all are walked."""
    entries = (entry for _, branch in entry.answers for entry in branch)
    return tuple(e for e in entries if not (isinstance(e, Again) and e.again == HELP))


def id_of(node: Node) -> str:
    """A node's id; of a cause leaf, that of its cure."""
    return f"{CURE}{node.cause}" if isinstance(node, Leaf) else str(node.id)


def help_ask(tree: Tree, known: Mapping[str, str] | None = None) -> Ask:
    """Whom to call when nothing helped."""
    return Ask(
        kind="help",
        id=HELP,
        do=fill(tree.help.do, known or {}, UNKNOWN),
        answers=(WORKED, NO_CHANGE),
        caution=fill(tree.help.caution, known or {}, UNKNOWN),
        takes=tree.help.takes,
    )


def node_ask(tree: Tree, node: Node, answers: Answers = (), known: Mapping[str, str] | None = None) -> Ask:
    """One node, ready to show."""

    def say(text: str) -> str:
        return fill(text, known or {}, UNKNOWN)

    if isinstance(node, Leaf):
        cause = tree.cause(node.cause)
        if cause is None:
            raise ValueError(f"no cause {node.cause}")
        return Ask(
            kind="fix",
            id=id_of(node),
            do=say(cause.cure),
            answers=(WORKED, NO_CHANGE),
            until=say(cause.until),
            why=say(cause.why) or f"Likely: {say(cause.what)}",
            basis=str(cause.basis),
            caution=say(cause.caution),
            takes=cause.takes,
            causes=((str(node.cause), say(cause.what)),),
            see=str(cause.see),
        )
    is_check = isinstance(node, Check)
    causes: tuple[tuple[str, str], ...] = ()
    if isinstance(node, Fix):
        causes = tuple((str(name), say(c.what)) for name, _ in node.cures if (c := tree.cause(name)))
    return Ask(
        kind="check" if is_check else "fix",
        id=str(node.id),
        do=say(node.check if isinstance(node, Check) else node.fix),
        answers=node.labels() if isinstance(node, Check) else (WORKED, NO_CHANGE),
        until=say(node.until),
        why=say(node.why),
        basis=str(node.basis),
        caution=say(node.caution),
        takes=node.takes,
        irreversible=say(node.irreversible),
        workaround=isinstance(node, Fix) and node.workaround,
        uses=str(node.uses) if isinstance(node, Fix) else "",
        opens=_opening(tree, node, answers),
        causes=causes,
    )


def _opening(tree: Tree, node: Check | Fix, answers: Answers) -> str:
    """What must be opened for a node, unless a node of the same group was answered before."""
    group = tree.group(node.group) if node.group else None
    if group is None:
        return ""
    inside = {n.id for n in tree.nodes() if not isinstance(n, Leaf) and n.group == node.group}
    opened = any(id in inside and answer != CANT_NOW for id, answer in answers)
    return "" if opened else str(group.what)


def outline(tree: Tree) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every check and fix with its answers; what a log needs to know which answers were possible."""
    made: dict[str, tuple[str, ...]] = {}
    for node in tree.nodes():
        made[id_of(node)] = node.labels() if isinstance(node, Check) else (WORKED, NO_CHANGE)
    made[HELP] = (WORKED, NO_CHANGE)
    return tuple(made.items())

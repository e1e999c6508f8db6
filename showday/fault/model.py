"""A fault tree as its file says it: checks that branch, fixes that may help, causes with their cures.

The nested form is the author's strategy; the same objects, taken flat, are the causes, checks and fixes that a
computed order works on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from showday.text.problem import Place

ODDS_WORDS = {"rare": 1.0, "occasional": 3.0, "common": 9.0}
"""Relative odds of the words: threefold steps, a choice of this program; only their ratios count."""
DEFAULT_ODDS = ODDS_WORDS["occasional"]
DEFAULT_SURE = 0.9
"""How far an answer is trusted when the author does not say."""
DEFAULT_CHECK_SECONDS = 10.0
DEFAULT_FIX_SECONDS = 20.0
DEFAULT_HELP_SECONDS = 300.0
"""Times for nodes without `takes`: a choice of this program."""


@dataclass(frozen=True, slots=True)
class Check:
    """Look and tell: changes nothing."""

    id: str
    check: str
    answers: tuple[tuple[str, tuple[Entry, ...]], ...]
    """Each answer with the nodes that follow it."""
    until: str = ""
    why: str = ""
    basis: str = ""
    caution: str = ""
    takes: float = DEFAULT_CHECK_SECONDS
    sure: float = DEFAULT_SURE
    otherwise: str = ""
    """The answer that every cause gives which no other answer names: what it looks like when it is right."""
    tells: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Each answer with the causes that give it; empty: the causes that its branch names."""
    heard: tuple[tuple[str, str], ...] = ()
    """Answers that listening can give, each with what must be heard for it (`hum on 1 line`)."""
    invalidates: tuple[str, ...] = ()
    first: bool = False
    after: tuple[str, ...] = ()
    pin: bool = False
    group: str = ""
    when: tuple[str, ...] = ()
    irreversible: str = ""
    place: Place = Place()

    def labels(self) -> tuple[str, ...]:
        """The answers' texts."""
        return tuple(str(label) for label, _ in self.answers)

    def branch(self, answer: str) -> tuple[Entry, ...]:
        """The nodes behind one answer; empty when there is no such answer."""
        return next((nodes for label, nodes in self.answers if label == answer), ())


@dataclass(frozen=True, slots=True)
class Fix:
    """Act and see: sound is back, or the walk goes on."""

    id: str
    fix: str
    cures: tuple[tuple[str, float], ...]
    """Causes it cures, each with its chance of curing it."""
    until: str = ""
    why: str = ""
    basis: str = ""
    caution: str = ""
    takes: float = DEFAULT_FIX_SECONDS
    look: float | None = None
    """Seconds to see whether it is so; then `takes` is paid only when it is."""
    workaround: bool = False
    uses: str = ""
    invalidates: tuple[str, ...] = ()
    irreversible: str = ""
    first: bool = False
    after: tuple[str, ...] = ()
    pin: bool = False
    group: str = ""
    when: tuple[str, ...] = ()
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Leaf:
    """The end of a branch: this is the cause, and its cure is done like a fix."""

    cause: str
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Again:
    """A node that stands elsewhere in the tree, or the call for help; it is the same node, answered once.

    A check that stands again has its own nodes behind its answers.
    """

    again: str
    answers: tuple[tuple[str, tuple[Entry, ...]], ...] = ()
    place: Place = Place()


Node = Check | Fix | Leaf
Entry = Node | Again
"""What may stand in a list: a node, or one that stands elsewhere."""


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that can be wrong."""

    what: str
    cure: str
    odds: float = DEFAULT_ODDS
    until: str = ""
    why: str = ""
    basis: str = ""
    caution: str = ""
    takes: float = DEFAULT_FIX_SECONDS
    look: float | None = None
    """Seconds to see whether it is so; then `takes` is paid only when it is."""
    see: str = ""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Group:
    """A thing to open once before the nodes inside of it; `takes` is opening and closing."""

    what: str
    takes: float = 60.0
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Help:
    """Whom to call when nothing helped."""

    do: str
    takes: float = DEFAULT_HELP_SECONDS
    caution: str = ""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Tree:
    """A whole fault tree."""

    fault: str
    title: str
    walk: tuple[Entry, ...]
    causes: tuple[tuple[str, Cause], ...]
    help: Help
    about: str = ""
    heard_as: tuple[str, ...] = ()
    concerns: str = "rig"
    caution: tuple[str, ...] = ()
    groups: tuple[tuple[str, Group], ...] = ()
    place: Place = Place()

    def cause(self, name: str) -> Cause | None:
        """The cause of an id, or None."""
        return next((cause for key, cause in self.causes if key == name), None)

    def group(self, name: str) -> Group | None:
        """The group of an id, or None."""
        return next((group for key, group in self.groups if key == name), None)

    def nodes(self) -> Iterator[Node]:
        """Every node, each branch in the file's order."""
        return walk_nodes(self.walk)

    def node(self, id: str) -> Check | Fix | None:
        """The check or fix of an id, or None."""
        return next((n for n in self.nodes() if not isinstance(n, Leaf) and n.id == id), None)


def walk_entries(entries: tuple[Entry, ...]) -> Iterator[Entry]:
    """Everything in a list and below, in the file's order."""
    for entry in entries:
        yield entry
        if isinstance(entry, Check | Again):
            for _, branch in entry.answers:
                yield from walk_entries(branch)


def walk_nodes(entries: tuple[Entry, ...]) -> Iterator[Node]:
    """Every node of a list and below, in the file's order; what stands again comes where it stands in full."""
    return (entry for entry in walk_entries(entries) if not isinstance(entry, Again))

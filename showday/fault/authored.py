"""The author's order of a fault tree as a strategy, so that it can be priced."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from showday.fault.diagnosis import FAILED, HELP, Model, Strategy
from showday.fault.model import Again, Check, Entry, Leaf, Tree, walk_entries
from showday.fault.walk import id_of, standing, still_open

_Key = tuple[tuple[int, ...], frozenset[tuple[str, str]]]


def authored_strategy(tree: Tree, model: Model, *, facts: Mapping[str, bool] | None = None) -> Strategy:
    """The author's order from the beginning, with the outcomes that the model knows.

    Nodes that are not in the model (their spare is gone) are passed over. Parts that come again are one and the same
    object. `facts` must be those the model was compiled with.
    """
    return _Author(tree, model, facts or {}).strategy(())


class _Author:
    def __init__(self, tree: Tree, model: Model, facts: Mapping[str, bool]) -> None:
        self.tree = tree
        self.model = model
        self.facts = facts
        self.known = {model.step_id(i) for i in range(model.steps)}
        self.held: dict[_Key, Strategy] = {}
        self.lasting = _Lasting(tree)

    def strategy(self, answers: tuple[tuple[str, str], ...]) -> Strategy:
        """What follows after these answers."""
        left = still_open(self.tree, answers, self.facts)
        if not left:
            return HELP
        now = standing(self.tree, answers)
        key = (tuple(id(entry) for entry, _ in left), self.lasting.of((entry for entry, _ in left), now))
        if key not in self.held:
            node = left[0][1]
            name = id_of(node)
            if name not in self.known:
                return self.strategy((*answers, (name, FAILED)))
            labels = node.labels() if isinstance(node, Check) else (FAILED,)
            then = tuple((label, self.strategy((*answers, (name, label)))) for label in labels)
            self.held[key] = Strategy(name, then)
        return self.held[key]


class _Lasting:
    """Which answers still matter behind what is open: those of nodes that come again or may have to."""

    def __init__(self, tree: Tree) -> None:
        entries = list(walk_entries(tree.walk))
        counts = Counter(_name(entry) for entry in entries)
        self.undoes = {id_of(n): n.invalidates for n in tree.nodes() if not isinstance(n, Leaf) and n.invalidates}
        self.around = _surroundings(tree.walk, ())
        """For each check what stands above and below it."""
        self.repeated = {name for name, count in counts.items() if count > 1}
        """What may have been answered before its entry is open: it stands twice, or below what is asked again."""
        for check in (str(check) for undone in self.undoes.values() for check in undone):
            self.repeated |= {check, *self.around.get(check, ())}
        self.below = {id(entry): self._matter(entry) for entry in entries}

    def of(self, left: Iterable[Entry], now: Mapping[str, str]) -> frozenset[tuple[str, str]]:
        """The answers among `now` that matter when these entries are open."""
        matter = frozenset[str]().union(*(self.below[id(entry)] for entry in left))
        return frozenset((name, answer) for name, answer in now.items() if name in matter)

    def _matter(self, entry: Entry) -> frozenset[str]:
        names = {_name(inner) for inner in walk_entries((entry,))}
        found, todo = names & self.repeated, list(names)
        while todo:
            for check in self.undoes.get(todo.pop(), ()):
                # What is asked again may itself make other answers invalid.
                more = {str(check), *self.around.get(check, ())} - found
                found |= more
                todo += more
        return frozenset(found)


def _surroundings(entries: tuple[Entry, ...], above: tuple[str, ...]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for entry in entries:
        if isinstance(entry, Check | Again):
            name = _name(entry)
            found.setdefault(name, set()).update(above, (_name(inner) for inner in walk_entries((entry,))))
            for _, branch in entry.answers:
                for inner, names in _surroundings(branch, (*above, name)).items():
                    found.setdefault(inner, set()).update(names)
    return found


def _name(entry: Entry) -> str:
    return str(entry.again) if isinstance(entry, Again) else id_of(entry)

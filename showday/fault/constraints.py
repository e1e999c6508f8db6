"""Which steps must come before which: the author's `after`, `pin` and `first`.

`first` comes before everything else in its list and below; `pin` keeps a node behind the node above it, and the next one
behind itself. A line that would close a circle is left out: what waits for itself never comes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from showday.fault.model import Again, Check, Entry, Leaf, Node, Tree, walk_nodes
from showday.fault.walk import firsts_first, id_of

Edge = tuple[str, str]
"""(what comes before, what comes after)."""


def constraints(tree: Tree, steps: Sequence[str]) -> dict[str, int]:
    """For each of the steps the bit mask of those that must come before it; bit i is `steps[i]`.

    Nodes that are not among the steps do not count.
    """
    bit = {id: 1 << i for i, id in enumerate(steps)}
    before = dict.fromkeys(steps, 0)
    reach = dict.fromkeys(steps, 0)
    """Everything that must come before, directly or through others."""
    for first, then in _edges(tree, set(steps)):
        if first == then or reach[first] & bit[then]:
            continue
        before[then] |= bit[first]
        gained = reach[first] | bit[first]
        for id in steps:
            if id == then or reach[id] & bit[then]:
                reach[id] |= gained
    return before


def _edges(tree: Tree, steps: set[str]) -> Iterator[Edge]:
    """Explicit lines first, then pins, then firsts: of two that contradict each other the first one counts."""
    counts = Counter(id_of(node) for node in tree.nodes())
    once = {id for id in steps if counts[id] == 1}
    for node in tree.nodes():
        if not isinstance(node, Leaf) and id_of(node) in steps:
            yield from ((str(other), id_of(node)) for other in node.after if other in steps)
    yield from _pins(tree.walk, "", once)
    for entries in _lists(tree.walk):
        yield from _firsts(entries, steps, counts)


def _pins(entries: Sequence[Entry], parent: str, once: set[str]) -> Iterator[Edge]:
    previous, pinned = parent, False
    for entry in firsts_first(entries):
        if isinstance(entry, Again):
            continue
        id, pin = id_of(entry), not isinstance(entry, Leaf) and entry.pin
        if id in once:
            if (pin or pinned) and previous:
                yield previous, id
            previous, pinned = id, pin
        if isinstance(entry, Check):
            for _, branch in entry.answers:
                yield from _pins(branch, id if id in once else "", once)


def _lists(entries: Sequence[Entry]) -> Iterator[Sequence[Entry]]:
    yield entries
    for entry in entries:
        if isinstance(entry, Check | Again):
            for _, branch in entry.answers:
                yield from _lists(branch)


def _firsts(entries: Sequence[Entry], steps: set[str], counts: Counter[str]) -> Iterator[Edge]:
    firsts = [id_of(e) for e in entries if isinstance(e, Node) and not isinstance(e, Leaf) and e.first]
    firsts = [id for id in firsts if id in steps]
    if not firsts:
        return
    here = Counter(id_of(node) for node in walk_nodes(tuple(entries)))
    for id, count in here.items():
        # A cure that also stands elsewhere need not wait for what is first only here.
        if id in steps and id not in firsts and count == counts[id]:
            yield from ((first, id) for first in firsts)

"""A strategy as a fault tree that can be read, walked and kept again.

The strategy becomes the order of the walk. A node stands in full where it comes first, and as `again` wherever else it
comes. What the walk's shape no longer says is written out: which answer speaks for which cause (`tells`), and what must
come before what (`after`). What the strategy never reaches stands behind a call for help, so that the tree still means
the same as the one it was made from.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from showday.errors import ShowdayError
from showday.fault.compile import causes_by_answer
from showday.fault.constraints import constraints
from showday.fault.diagnosis import FAILED, HELP, Strategy, bits
from showday.fault.model import ODDS_WORDS, Cause, Check, Fix, Leaf, Node, Tree
from showday.fault.walk import HELP as CALL
from showday.fault.walk import id_of
from showday.text.reader import MAX_DEPTH

_PLAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 _.,()/+-]|:(?=\S)|#(?<=\S#))*(?<![ :])")
"""Text that needs no quotes, wherever it stands."""
_LEVELS = 3
"""How much deeper a check's branch is nested than the check."""

Lines = list[str]


class Unwritable(ShowdayError):
    """A strategy that no tree file can say."""


def strategy_yaml(tree: Tree, strategy: Strategy, note: str = "") -> str:
    """The text of a fault tree whose own order is the strategy, and which means the same as `tree`.

    `note` becomes a comment at its head, and so does every order line that a cure cannot carry. Unwritable when the
    strategy asks the same thing twice on one way, has more checks below each other than a file may have, or steps that
    the tree does not have.
    """
    writer = _Writer(tree, strategy)
    notes = [*note.splitlines(), *writer.unsaid()]
    return "\n".join([*(f"# {line}" for line in notes), *writer.lines()]) + "\n"


class _Writer:
    def __init__(self, tree: Tree, strategy: Strategy) -> None:
        self.tree = tree
        self.strategy = strategy
        self.nodes: dict[str, Node] = {}
        for node in tree.nodes():
            self.nodes.setdefault(id_of(node), node)
        self.ids = list(self.nodes)
        self.masks = constraints(tree, self.ids)
        self.firsts = _leading(
            strategy, {id_of(node) for node in tree.walk if isinstance(node, Check | Fix) and node.first}
        )
        self.undone = set(_undone(strategy, self.nodes))
        self.written: set[str] = set()

    def lines(self) -> Iterator[str]:
        """The whole file."""
        tree = self.tree
        yield from _fields("", [("fault", tree.fault), ("title", tree.title), ("about", tree.about)])
        yield from _list("heard_as", tree.heard_as)
        yield from _fields("", [("concerns", tree.concerns)])
        yield from _list("caution", tree.caution)
        if tree.groups:
            yield "groups:"
            for name, group in tree.groups:
                yield f"  {name}:"
                yield from _fields("    ", [("what", group.what), ("takes", _time(group.takes))])
        yield "walk:"
        yield from self._branch(self.strategy, 0, ())
        yield from self._rest()
        yield "causes:"
        for name, cause in tree.causes:
            yield f"  {name}:"
            yield from _fields("    ", _cause(cause))
        yield "help:"
        call = [("do", tree.help.do), ("takes", _time(tree.help.takes)), ("caution", tree.help.caution)]
        yield from _fields("  ", call)

    def unsaid(self) -> Iterator[str]:
        """Order lines from or to a cure that `first` does not say: only the order of the walk keeps them."""
        for id in self.ids:
            for other in (self.ids[i] for i in bits(self.masks[id])):
                if other not in self.firsts and Leaf in (type(self.nodes[id]), type(self.nodes[other])):
                    yield f"'{id}' must come after '{other}': only the order of this walk says so."

    def _branch(self, strategy: Strategy, depth: int, way: tuple[str, ...]) -> Lines:
        """The entries of one list; `way` are the steps that lead to it."""
        out: Lines = []
        at = strategy
        if not at.step:
            return [f"{_pad(depth)}- again: {CALL}"]
        while at.step:
            if at.step in way:
                raise Unwritable(f"'{at.step}' comes twice on one way; a tree file asks everything once.")
            if at.step not in self.nodes:
                raise Unwritable(f"The tree '{self.tree.fault}' has no step '{at.step}'.")
            way = (*way, at.step)
            then = dict(at.then)
            node = self.nodes[at.step]
            out += self._entry(node, depth)
            if isinstance(node, Check):
                out.append(f"{_pad(depth)}  answers:")
                for label in node.labels():
                    out.append(f"{_pad(depth)}    {_text(label)}:")
                    out += self._branch(then.get(label, HELP), depth + 1, way)
                break
            at = then.get(FAILED, HELP)
        if 2 + _LEVELS * (depth + 1) > MAX_DEPTH:
            raise Unwritable("The strategy has more checks below each other than a tree file may have.")
        return out

    def _rest(self) -> Lines:
        """Behind a call for help, all that the strategy never reaches."""
        left = [id for id in self.ids if id not in self.written]
        out = [f"{_pad(0)}- again: {CALL}"] if left else []
        for id in left:
            node = self.nodes[id]
            out += self._entry(node, 0)
            if isinstance(node, Check):
                out.append(f"{_pad(0)}  answers:")
                for label in node.labels():
                    out += [f"{_pad(0)}    {_text(label)}:", f"{_pad(1)}- again: {CALL}"]
        return out

    def _entry(self, node: Node, depth: int) -> Lines:
        """A node, in full the first time."""
        id, pad = id_of(node), _pad(depth)
        again = id in self.written
        self.written.add(id)
        if isinstance(node, Leaf):
            return [f"{pad}- cause: {node.cause}"]
        if again:
            return [f"{pad}- again: {id}"]
        text = ("check", node.check) if isinstance(node, Check) else ("fix", node.fix)
        lines = list(_fields(f"{pad}  ", [text, ("id", id), *_shared(node), *self._own(node), *self._order(node)]))
        lines[0] = f"{pad}- {lines[0].lstrip()}"
        if isinstance(node, Fix):
            lines.append(f"{pad}  cures:")
            lines += [f"{pad}    {name}: {_number(chance)}" for name, chance in node.cures]
        else:
            lines.append(f"{pad}  tells:")
            lines += [f"{pad}    {_text(label)}: {causes}" for label, causes in self._tells(node)]
            lines += [f"{pad}  heard:"] if node.heard else []
            lines += [f"{pad}    {_text(label)}: {_text(words)}" for label, words in node.heard]
        return lines

    def _own(self, node: Check | Fix) -> Iterator[tuple[str, str]]:
        if isinstance(node, Check):
            yield "sure", _number(node.sure)
            yield "otherwise", _text(str(node.otherwise)) if node.sure >= 1.0 and node.otherwise else ""
            return
        yield "look", "" if node.look is None else _time(node.look)
        yield "workaround", "yes" if node.workaround else ""
        yield "uses", node.uses

    def _order(self, node: Check | Fix) -> Iterator[tuple[str, str]]:
        """What must come before a node; a cure cannot be named there, and no pin is needed where it stands."""
        id = id_of(node)
        before = [self.ids[i] for i in bits(self.masks[id])]
        said = set() if id in self.firsts else self.firsts
        before = [other for other in before if other not in said and not isinstance(self.nodes[other], Leaf)]
        yield "first", "yes" if id in self.firsts else ""
        yield "after", _ids(before)
        yield "invalidates", _ids(check for check in node.invalidates if (id, check) not in self.undone)

    def _tells(self, check: Check) -> Iterator[tuple[str, str]]:
        told = causes_by_answer(self.tree, check)
        if not any(told.values()):  # a cause that gives every answer says as little, and says it in so many words
            told = dict.fromkeys(told, frozenset({str(self.tree.causes[0][0])}))
        order = [str(name) for name, _ in self.tree.causes]
        yield from ((label, _ids(c for c in order if c in causes)) for label, causes in told.items() if causes)


def _leading(strategy: Strategy, firsts: set[str]) -> set[str]:
    """Those of the first nodes that a strategy begins with: there `first` says the same as before."""
    found: set[str] = set()
    at = strategy
    while at.step in firsts:
        found.add(at.step)
        if len(at.then) != 1:
            break
        at = at.then[0][1]
    return found


def _undone(strategy: Strategy, nodes: Mapping[str, Node]) -> Iterator[tuple[str, str]]:
    """(node, check) where the node comes behind a check that it makes invalid: a walk would ask that check again."""
    seen: set[tuple[int, frozenset[str]]] = set()
    todo: list[tuple[Strategy, frozenset[str]]] = [(strategy, frozenset())]
    while todo:
        at, before = todo.pop()
        if (id(at), before) in seen or at.step not in nodes:
            continue
        seen.add((id(at), before))
        node = nodes[at.step]
        if not isinstance(node, Leaf):
            yield from ((at.step, str(check)) for check in node.invalidates if check in before)
        before = before | {at.step} if isinstance(node, Check) else before
        todo += [(then, before) for _, then in at.then]


def _shared(node: Check | Fix) -> Iterator[tuple[str, str]]:
    yield "until", node.until
    yield "why", node.why
    yield "basis", node.basis
    yield "caution", node.caution
    yield "takes", _time(node.takes)
    yield "group", node.group
    yield "irreversible", node.irreversible
    yield "when", ", ".join(node.when) and f"[{', '.join(node.when)}]"


def _cause(cause: Cause) -> Iterator[tuple[str, str]]:
    words = {odds: word for word, odds in ODDS_WORDS.items()}
    yield "what", cause.what
    yield "odds", words.get(cause.odds, _number(cause.odds))
    yield "cure", cause.cure
    yield "until", cause.until
    yield "why", cause.why
    yield "basis", cause.basis
    yield "caution", cause.caution
    yield "takes", _time(cause.takes)
    yield "look", "" if cause.look is None else _time(cause.look)
    yield "see", cause.see


def _fields(pad: str, fields: Iterable[tuple[str, str]]) -> Iterator[str]:
    """One line for each field that says something."""
    for name, value in fields:
        if value:
            listed = name in ("after", "invalidates", "when")
            yield f"{pad}{name}: {value if listed else _text(value)}"


def _list(name: str, values: Iterable[str]) -> Iterator[str]:
    lines = [f"  - {_text(value)}" for value in values]
    yield from [f"{name}:", *lines] if lines else []


def _ids(ids: Iterable[str]) -> str:
    listed = ", ".join(ids)
    return listed and f"[{listed}]"


def _text(value: str) -> str:
    return value if _PLAIN.fullmatch(value) else "'" + value.replace("'", "''") + "'"


def _time(seconds: float) -> str:
    return f"{_number(seconds)}s"


def _number(value: float) -> str:
    return repr(int(value)) if value == int(value) else repr(float(value))


def _pad(depth: int) -> str:
    return "  " + "      " * depth

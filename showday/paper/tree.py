"""A fault tree on paper: a strategy as numbered boxes that send the reader on, and the author's order as it is nested.

Boxes instead of indentation: an order that meets again is printed once, and nothing runs off the page however deep it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from showday.fault.diagnosis import FAILED, HELP, Strategy
from showday.fault.model import Again, Check, Entry, Leaf, Tree
from showday.fault.walk import Ask, ask_for, firsts_first, help_ask
from showday.paper.model import CAUTION, PLAIN, SMALL, Block, Box, Branch, Part, Sheet, Tick, Way, Words
from showday.playbook.conditions import holds
from showday.rig.words import UNKNOWN
from showday.text.sentence import fill
from showday.text.values import duration

HOW = (
    "Begin at box 1. Stop as soon as the sound is back and write down what it was. "
    "After a fix that did not help take the next line, after a check the box behind its answer."
)
AUTHOR = (
    "Read from the top. What stands further in is done only after that answer; when it is used up, "
    "go on with the next line further out."
)
OPENS = "{}, unless it is done"
_Shape = tuple[str, tuple[tuple[str, int], ...]]


def tree_sheet(
    tree: Tree,
    computed: Strategy,
    *,
    seconds: tuple[float, float] | None = None,
    authored: bool = False,
    known: Mapping[str, str] | None = None,
    facts: Mapping[str, bool] | None = None,
) -> Sheet:
    """The computed order as boxes, with the author's behind it when that is wanted.

    `seconds` are the expected times to restored sound in the computed and in the author's order. `known` are sentence
    fields, `facts` conditions for `when`. KeyError on a step that the tree does not have.
    """
    writer = _Writer(tree, known or {})
    head: list[Block] = [Words(fill(text, writer.known, UNKNOWN), CAUTION) for text in tree.caution]
    head.append(Words(HOW, SMALL))
    if seconds is not None:
        head.append(Words(_cost(*seconds), SMALL))
    head += [Words("Where a box says 'call for help':", PLAIN), writer.tick(help_ask(tree, writer.known))]
    blocks = (*head, *boxes(tree, computed, writer.known))
    parts = [Part("Cheapest order" if authored else "", blocks)]
    if authored:
        lines = tuple(author_lines(tree, writer.known, facts or {}))
        parts.append(Part("The author's order", (Words(AUTHOR, SMALL), *lines)))
    return Sheet(f"Fault: {tree.title}", tuple(parts), tree.about, apart=authored)


def _cost(computed: float, authored: float) -> str:
    return (
        f"Until sound is back, on average: {_rough(computed)} in this order, {_rough(authored)} in the author's. "
        "Too many states to know whether any order is quicker still."
    )


def _rough(seconds: float) -> str:
    """From a minute on in steps of ten seconds: the odds behind it are no better."""
    return duration(seconds if seconds < 60.0 else round(seconds / 10.0) * 10.0)


def boxes(tree: Tree, strategy: Strategy, known: Mapping[str, str]) -> list[Box]:
    """The strategy as boxes: what is reached from two places, or by an answer, begins one of its own."""
    return _Boxes(_Writer(tree, known)).made(strategy)


class _Boxes:
    """Equal orders are one box, also when they are different objects."""

    def __init__(self, writer: _Writer) -> None:
        self.writer = writer
        self.shapes: dict[_Shape, int] = {}
        self.held: dict[int, int] = {}
        """By identity of a strategy the number of its shape."""
        self.nodes: list[Strategy] = []
        self.into: list[int] = []
        """How many places lead to a shape."""
        self.numbers: dict[int, int] = {}
        self.waiting: list[int] = []

    def made(self, strategy: Strategy) -> list[Box]:
        """All boxes, in the order in which they are first sent to."""
        self._number(self._shape(strategy))
        out: list[Box] = []
        while self.waiting:
            out.append(self._box(self.waiting.pop()))
        return sorted(self._renumbered(out), key=lambda box: box.number)

    def _shape(self, at: Strategy) -> int:
        """The shape of a strategy; those below it are counted first. Depth is that of the tree, at most a few dozen."""
        if id(at) not in self.held:
            then = tuple((answer, self._shape(way)) for answer, way in at.then) if at.step else ()
            shape = (at.step, then)
            if shape not in self.shapes:
                self.shapes[shape] = len(self.nodes)
                self.nodes.append(at)
                self.into.append(0)
                for below in {below for _, below in then}:
                    self.into[below] += 1
            self.held[id(at)] = self.shapes[shape]
        return self.held[id(at)]

    def _number(self, shape: int) -> int:
        """The number of the box that begins with a shape; 0 when it is the call for help."""
        if not self.nodes[shape].step:
            return 0
        if shape not in self.numbers:
            self.numbers[shape] = len(self.numbers) + 1
            self.waiting.append(shape)
        return self.numbers[shape]

    def _box(self, begin: int) -> Box:
        fixes: list[Tick] = []
        shape = begin
        while True:
            at = self.nodes[shape]
            if not at.step or (shape != begin and (self.into[shape] > 1 or shape in self.numbers)):
                return Box(self.numbers[begin], tuple(fixes), goes_on=self._number(shape))
            ask = self.writer.ask(at.step)
            then = {answer: self._shape(way) for answer, way in at.then}
            if ask.kind == "fix":
                fixes.append(self.writer.tick(ask))
                shape = then.get(FAILED, self._shape(HELP))
                continue
            targets = [(answer, then.get(answer, self._shape(HELP))) for answer in ask.answers]
            if len({target for _, target in targets}) == 1:
                fixes.append(self.writer.tick(ask, note="Whatever it is, go on."))
                shape = targets[0][1]
                continue
            # The first answer's box comes right behind this one, so it is sent to last: the newest is taken first.
            ways = {answer: self._number(target) for answer, target in reversed(targets)}
            return Box(
                self.numbers[begin],
                tuple(fixes),
                self.writer.tick(ask),
                tuple(Way(answer, ways[answer]) for answer, _ in targets),
            )

    def _renumbered(self, made: Sequence[Box]) -> Iterator[Box]:
        """Numbers in the order in which the boxes were written, which is the order of the page."""
        new = {box.number: number for number, box in enumerate(made, 1)} | {0: 0}
        for box in made:
            ways = tuple(Way(way.answer, new[way.to]) for way in box.ways)
            goes_on = None if box.goes_on is None else new[box.goes_on]
            yield Box(new[box.number], box.fixes, box.check, ways, goes_on)


class _Writer:
    """Steps of one tree as ticks."""

    def __init__(self, tree: Tree, known: Mapping[str, str]) -> None:
        self.tree = tree
        self.known = known
        self._asks: dict[str, Ask] = {}

    def ask(self, step: str) -> Ask:
        """One node in words; KeyError when the tree has none of that name."""
        if step not in self._asks:
            found = ask_for(self.tree, step, (), self.known)
            if found is None:
                raise KeyError(step)
            self._asks[step] = found
        return self._asks[step]

    def tick(self, ask: Ask, note: str = "") -> Tick:
        """One step with its dangers in front of it."""
        opens = OPENS.format(ask.opens) if ask.opens else ""
        return Tick(
            ask.do,
            ask.until,
            "; ".join(text for text in (opens, note) if text),
            tuple(text for text in (ask.caution, ask.irreversible) if text),
            takes=duration(ask.takes) if ask.takes is not None else "",
        )


def author_lines(tree: Tree, known: Mapping[str, str], facts: Mapping[str, bool]) -> Iterator[Branch]:
    """The tree as its author nested it, without what is not for tonight."""
    yield from _Nested(_Writer(tree, known), facts).lines(tree.walk, 0)


class _Nested:
    def __init__(self, writer: _Writer, facts: Mapping[str, bool]) -> None:
        self.writer = writer
        self.facts = facts

    def lines(self, entries: Sequence[Entry], depth: int) -> Iterator[Branch]:
        for entry in firsts_first(entries):
            if isinstance(entry, Check | Again):
                yield from self._branching(entry, depth)
            elif isinstance(entry, Leaf):
                cause = self.writer.tree.cause(entry.cause)
                what = fill(cause.what, self.writer.known, UNKNOWN) if cause else entry.cause
                yield Branch(depth, tick=self.writer.tick(self.writer.ask(f"cure:{entry.cause}"), note=what))
            elif holds(entry.when, self.facts):
                yield Branch(depth, tick=self.writer.tick(self.writer.ask(str(entry.id))))

    def _branching(self, entry: Check | Again, depth: int) -> Iterator[Branch]:
        node = self.writer.tree.node(str(entry.again)) if isinstance(entry, Again) else entry
        if node is None:
            yield Branch(depth, "Call for help")
            return
        if not holds(node.when, self.facts):
            return
        again = "Already done? Then its answer counts." if isinstance(entry, Again) else ""
        yield Branch(depth, tick=self.writer.tick(self.writer.ask(str(node.id)), note=again))
        behind = dict(entry.answers)
        for answer in node.labels() if isinstance(node, Check) else ():
            if behind.get(answer):
                yield Branch(depth + 1, f"If {answer}:")
                yield from self.lines(behind[answer], depth + 2)
            else:
                yield Branch(depth + 1, f"If {answer}: go on below.")

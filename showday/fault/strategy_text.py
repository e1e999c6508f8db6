"""A strategy as plain indented text, for the paper that works when the laptop does not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from showday.fault.diagnosis import FAILED, HELP, Strategy
from showday.fault.model import Tree
from showday.fault.walk import Ask, ask_for, help_ask
from showday.rig.words import UNKNOWN
from showday.text.sentence import fill
from showday.text.values import duration

INDENT = "  "
HOW = "Stop as soon as the sound is back. After a fix that did not help read on below it, after a check behind its answer."


def strategy_text(tree: Tree, strategy: Strategy, known: Mapping[str, str] | None = None) -> str:
    """One line a step, each answer of a check with what follows it indented below.

    Cautions stand before their step, those of the whole tree on top, and the call for help once at the end. `known` are
    the sentence fields of the thing it is about. KeyError on a step that the tree does not have.
    """
    paper = _Paper(tree, known or {})
    head = [tree.title, "", *(f"! {fill(caution, paper.known, UNKNOWN)}" for caution in tree.caution), HOW, ""]
    call = ["", "Help:", *_step(help_ask(tree, paper.known), "")]
    return "\n".join([*head, *paper.lines(strategy, ""), *call]) + "\n"


class _Paper:
    def __init__(self, tree: Tree, known: Mapping[str, str]) -> None:
        self.tree = tree
        self.known = known
        self.asks: dict[str, Ask] = {}

    def lines(self, strategy: Strategy, indent: str) -> Iterator[str]:
        """The lines of a strategy, and of all that follows."""
        at = strategy
        while at.step:
            ask = self._ask(at.step)
            yield from _step(ask, indent)
            then = dict(at.then)
            if ask.kind == "fix":
                at = then.get(FAILED, HELP)
                continue
            ways = [(label, then.get(label, HELP)) for label in ask.answers]
            if all(way is ways[0][1] for _, way in ways):
                at = ways[0][1]
                yield f"{indent}{INDENT}whatever it is, go on"
                continue
            for label, way in ways:
                yield f"{indent}{INDENT}{label}:"
                yield from self.lines(way, indent + 2 * INDENT)
            return
        yield f"{indent}- Call for help"

    def _ask(self, step: str) -> Ask:
        if step not in self.asks:
            ask = ask_for(self.tree, step, (), self.known)
            if ask is None:
                raise KeyError(step)
            self.asks[step] = ask
        return self.asks[step]


def _step(ask: Ask, indent: str) -> Iterator[str]:
    if ask.opens:
        yield f"{indent}({ask.opens}, unless it is done)"
    for warning in (ask.caution, ask.irreversible):
        if warning:
            yield f"{indent}! {warning}"
    takes = f" ({duration(ask.takes)})" if ask.takes is not None else ""
    until = f": {ask.until}" if ask.until else ""
    yield f"{indent}- {ask.do}{takes}{until}"

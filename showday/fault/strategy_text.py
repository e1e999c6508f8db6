"""A strategy as plain indented text, for the paper that works when the laptop does not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from showday.fault.diagnosis import FAILED, HELP, Strategy
from showday.fault.model import Tree
from showday.fault.walk import Ask, ask_for, help_ask
from showday.text.values import duration

INDENT = "  "


def strategy_text(tree: Tree, strategy: Strategy, known: Mapping[str, str] | None = None) -> str:
    """One line a step: read on after a fix that did not help, go in behind the answer of a check.

    Cautions stand before their step. `known` are the sentence fields of the thing it is about. KeyError on a step that
    the tree does not have.
    """
    return "\n".join([tree.title, "", *_Paper(tree, known or {}).lines(strategy, "")]) + "\n"


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
        yield from _step(help_ask(self.tree, self.known), indent)

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

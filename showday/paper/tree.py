"""A fault tree on paper: every step once with a number, and for each answer the numbers to take in turn.

The computed order and the author's are printed alike. What a strategy does after an answer is a list of steps up to the
next check whose answers lead apart, or up to the call for help; a check that stands at several places of the strategy has
its lists under letters. So nothing is said twice, nothing runs off the page, and every list ends.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from string import ascii_lowercase

from showday.fault.diagnosis import FAILED, HELP, Strategy
from showday.fault.model import Tree
from showday.fault.walk import HELP as CALL
from showday.fault.walk import Ask, ask_for, help_ask
from showday.paper.model import CAUTION, LONG, SMALL, TREE, Block, Numbered, Part, Sheet, Tick, Way, Words
from showday.rig.words import UNKNOWN
from showday.text.sentence import fill
from showday.text.values import duration

HOW = (
    "take the numbers in turn and strike out what is done; sound is back: stop, note the number. With a letter: do it, "
    "then take the list behind your answer; cannot tell: every list in turn."
)
BEGIN = "Begin"
OPENS = "{}, unless it is done"
_List = tuple[tuple[str, int], ...]
"""Steps in turn; behind the last one the number of its fork, -1 for all others."""
_ON = -1


def tree_sheet(
    tree: Tree,
    strategy: Strategy,
    *,
    order: str,
    known: Mapping[str, str] | None = None,
) -> Sheet:
    """The tree in the order of a strategy; `order` names it. `known` are sentence fields.

    KeyError when the strategy names a step that the tree does not have.
    """
    writer = _Writer(tree, known or {})
    head: list[Block] = [Words(fill(text, writer.known, UNKNOWN), CAUTION) for text in tree.caution]
    head.append(Words(f"{order}: {HOW}", SMALL))
    part = Part("", (*head, *numbered(tree, strategy, writer.known)))
    return Sheet(f"Fault: {tree.title}", (part,), tree.about, kind=TREE)


def numbered(tree: Tree, strategy: Strategy, known: Mapping[str, str]) -> list[Way | Numbered]:
    """Where to begin, every step in the order in which the lists come to it, and the call for help."""
    return list(_Lists(_Writer(tree, known)).blocks(strategy))


class _Lists:
    """Equal orders are one list, also when they are different objects."""

    def __init__(self, writer: _Writer) -> None:
        self.writer = writer
        self.held: dict[int, _List] = {}
        """By identity of a strategy, which must outlive this."""
        self.forks: list[tuple[str, tuple[_List, ...]]] = []
        """Checks at one place, with a list for each answer."""
        self.known_forks: dict[tuple[str, tuple[_List, ...]], int] = {}
        self.numbers: dict[str, str] = {}
        self.letters: dict[int, str] = {}
        self.places: dict[str, list[int]] = {}
        """The forks of a step, in the order of their letters."""

    def blocks(self, strategy: Strategy) -> Iterator[Way | Numbered]:
        """Everything in the order of the page."""
        first = self._list(strategy)
        self._number(first)
        yield Way(BEGIN, self._said(first))
        for step, number in self.numbers.items():
            ways = tuple((self._named(step, fork), tuple(self._ways(fork))) for fork in self.places.get(step, ()))
            tick = self.writer.tick(self.writer.ask(step))
            # The answers stand below: what it looks like when nothing is wrong need not be said too.
            yield Numbered(number, replace(tick, until="") if ways else tick, ways)
        yield Numbered(CALL, self.writer.tick(help_ask(self.writer.tree, self.writer.known)))

    def _list(self, begin: Strategy) -> _List:
        """What is done from here on whatever the outcomes, up to a fork or to help."""
        if id(begin) in self.held:
            return self.held[id(begin)]
        out: list[tuple[str, int]] = []
        at = begin
        while at.step:
            ask = self.writer.ask(at.step)
            then = dict(at.then)
            if ask.kind == "fix":
                out.append((at.step, _ON))
                at = then.get(FAILED, HELP)
                continue
            lists = tuple(self._list(then.get(answer, HELP)) for answer in ask.answers)
            if len(set(lists)) > 1:
                out.append((at.step, self._fork(at.step, lists)))
                break
            out.append((at.step, _ON))
            at = then.get(ask.answers[0], HELP)
        self.held[id(begin)] = tuple(out)
        return self.held[id(begin)]

    def _fork(self, step: str, lists: tuple[_List, ...]) -> int:
        key = (step, lists)
        if key not in self.known_forks:
            self.known_forks[key] = len(self.forks)
            self.forks.append(key)
        return self.known_forks[key]

    def _number(self, steps: _List) -> None:
        """Numbers for the steps of a list and of those behind it, as they are first met."""
        for step, fork in steps:
            self.numbers.setdefault(step, str(len(self.numbers) + 1))
            if fork == _ON or fork in self.letters:
                continue
            places = self.places.setdefault(step, [])
            self.letters[fork] = _letter(len(places))
            places.append(fork)
            for behind in self.forks[fork][1]:
                self._number(behind)

    def _named(self, step: str, fork: int) -> str:
        return self.numbers[step] + (self.letters[fork] if fork != _ON else "")

    def _said(self, steps: _List) -> tuple[str, ...]:
        named = tuple(self._named(step, fork) for step, fork in steps)
        return named if steps and steps[-1][1] != _ON else (*named, CALL)

    def _ways(self, fork: int) -> Iterator[Way]:
        """A way for each list, with all the answers that lead to it."""
        step, lists = self.forks[fork]
        answers: dict[_List, list[str]] = {}
        for answer, steps in zip(self.writer.ask(step).answers, lists, strict=True):
            answers.setdefault(steps, []).append(answer)
        for steps, said in answers.items():
            yield Way(" / ".join(said), self._said(steps))


def _letter(index: int) -> str:
    """`a` to `z`, then `aa`, `ab` …"""
    before, last = divmod(index, len(ascii_lowercase))
    return (_letter(before - 1) if before else "") + ascii_lowercase[last]


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

    def tick(self, ask: Ask) -> Tick:
        """One step with its dangers in front of it."""
        return Tick(
            ask.do,
            ask.until,
            OPENS.format(ask.opens) if ask.opens else "",
            tuple(text for text in (ask.caution, ask.irreversible) if text),
            takes=duration(ask.takes) if ask.takes is not None and ask.takes >= LONG else "",
        )

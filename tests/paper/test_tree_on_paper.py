"""A fault tree on paper leads a person with nothing but the sheet through the steps of the strategy it was made of."""

from __future__ import annotations

import random
import re
from functools import cache
from pathlib import Path

import pytest

import showday
from showday.commands.print_sheets import ROUGH
from showday.fault.authored import authored_strategy
from showday.fault.compile import compile_tree
from showday.fault.diagnosis import FAILED, HELP, Strategy, price
from showday.fault.model import Check, Fix, Tree
from showday.fault.reader import read_tree
from showday.fault.strategy import computed_strategy
from showday.fault.walk import ask_for
from showday.paper.model import Numbered, Paper, Tick, Way
from showday.paper.text import text_pages
from showday.paper.tree import numbered, tree_sheet

FAULTS = Path(showday.__file__).parent.parent / "playbooks" / "faults"
SHIPPED = [path.stem for path in sorted(FAULTS.glob("*.yaml"))]
AUTHORS, COMPUTED = "author's", "computed"
every_tree = pytest.mark.parametrize("name", SHIPPED)
both_orders = pytest.mark.parametrize("order", [COMPUTED, AUTHORS])


@cache
def tree_named(name: str) -> Tree:
    path = FAULTS / f"{name}.yaml"
    tree, problems = read_tree(path.read_bytes(), str(path))
    assert tree is not None, problems.in_order()
    return tree


@cache
def strategy_of(name: str, order: str) -> Strategy:
    tree = tree_named(name)
    model = compile_tree(tree)
    if order == AUTHORS:
        return authored_strategy(tree, model)
    return computed_strategy(model, advised=ROUGH, least_mass=ROUGH)


class Hand:
    """A person with the printed text: finds a number, does what stands there, looks for the answer, takes that list.

    Nothing is read but the lines of the page: `12   [ ] Do this`, `7b, an answer: 3, 8, help`, `Begin: 1, 2a`.
    """

    def __init__(self, page: str) -> None:
        lines = " ".join(re.sub(r"\n {7,}", " ", page).split("\n"))
        self.begin = self._list(re.search(r"Begin: ([\w, ]+?)(?:  |$)", lines))
        self.steps: dict[str, str] = {}
        self.lists: dict[tuple[str, str], list[str]] = {}
        for block in re.split(r"\n\n(?=\w+ +(?:!|\[ \]))", page)[1:]:
            number = block.split(maxsplit=1)[0]
            self.steps[number] = " ".join(block.split("[ ]", 1)[1].split())
            joined = re.sub(r"\n {11}(?=\S)", " ", block)
            for named, answers, then in re.findall(r"^ {9}(\d+[a-z]+), (.+): ([\w, ]+)$", joined, re.M):
                for answer in answers.split(" / "):
                    assert (named, answer) not in self.lists
                    self.lists[named, answer] = self._list(re.match(r"(.*)", then))

    def _list(self, found: re.Match[str] | None) -> list[str]:
        assert found
        return found.group(1).split(", ")

    def forks(self) -> set[str]:
        """Numbers with a letter."""
        return {named for named, _ in self.lists}

    def walk(self, choose: random.Random, answers: dict[str, tuple[str, ...]]) -> list[str]:
        """The numbers that are done until help when nothing helps, `choose` drawing every answer."""
        done, todo = [], self.begin
        while todo:
            at, *todo = todo
            number = at.rstrip("abcdefghijklmnopqrstuvwxyz") if at != "help" else at
            done.append(number)
            if at in self.forks():
                assert not todo, "a list goes on behind a step that leads elsewhere"
                todo = self.lists[at, choose.choice(answers[number])]
            elif number in answers:
                choose.choice(answers[number])
        assert done[-1] == "help"
        return done


def printed(name: str, order: str) -> str:
    sheet = tree_sheet(tree_named(name), strategy_of(name, order), order=order)
    (page,) = text_pages(Paper((sheet,)))
    return page


def by_strategy(tree: Tree, strategy: Strategy, choose: random.Random) -> list[str]:
    """What is done when nothing helps and every check gets a drawn answer."""
    at, done = strategy, []
    while at.step:
        ask = ask_for(tree, at.step)
        assert ask is not None
        done.append(ask.do)
        at = dict(at.then).get(FAILED if ask.kind == "fix" else choose.choice(ask.answers), HELP)
    return done


@every_tree
@both_orders
def test_by_hand_the_printed_sheet_leads_where_the_strategy_leads(name: str, order: str) -> None:
    tree, strategy = tree_named(name), strategy_of(name, order)
    hand = Hand(printed(name, order))
    said = {block.number: block.tick.do for block in numbered(tree, strategy, {}) if isinstance(block, Numbered)}
    checks = {
        ask.do: ask.answers for node in tree.nodes() if isinstance(node, Check) and (ask := ask_for(tree, node.id))
    }
    answers = {number: checks[do] for number, do in said.items() if do in checks}
    for number, do in said.items():
        assert " ".join(do.split()) in hand.steps[number]
    for seed in range(200):
        walked = hand.walk(random.Random(seed), answers)
        assert [said[number] for number in walked[:-1]] == by_strategy(tree, strategy, random.Random(seed))


@every_tree
@both_orders
def test_every_list_ends_in_help_and_every_number_stands_on_the_sheet_once(name: str, order: str) -> None:
    blocks = numbered(tree_named(name), strategy_of(name, order), {})
    steps = {block.number: block for block in blocks if isinstance(block, Numbered)}
    assert len(steps) == len(blocks) - 1
    lists = {named: [way.then for way in ways] for step in steps.values() for named, ways in step.ways}
    begin = next(block for block in blocks if isinstance(block, Way))

    def ends(then: tuple[str, ...], above: frozenset[str]) -> set[str]:
        """Every number on the ways from here; a letter that leads back to itself would have no end."""
        met = {number.rstrip("abcdefghijklmnopqrstuvwxyz") if number != "help" else number for number in then}
        assert then[-1] == "help" or then[-1] in lists
        assert not [number for number in then[:-1] if number in lists]
        if then[-1] in lists:
            assert then[-1] not in above
            for way in lists[then[-1]]:
                met |= ends(way, above | {then[-1]})
        return met

    assert ends(begin.then, frozenset()) == set(steps)


@every_tree
def test_the_printed_order_is_never_slower_than_the_authors(name: str) -> None:
    model = compile_tree(tree_named(name))
    assert price(model, strategy_of(name, COMPUTED)) <= price(model, strategy_of(name, AUTHORS))


@every_tree
@both_orders
def test_a_danger_stands_in_front_of_its_step(name: str, order: str) -> None:
    tree = tree_named(name)
    cautions: dict[str, set[tuple[str, ...]]] = {}
    for node in tree.nodes():
        ask = ask_for(tree, str(node.id) if isinstance(node, Check | Fix) else f"cure:{node.cause}")
        assert ask is not None
        cautions.setdefault(ask.do, set()).add(tuple(text for text in (ask.caution, ask.irreversible) if text))
    ticks: list[Tick] = [b.tick for b in numbered(tree, strategy_of(name, order), {}) if isinstance(b, Numbered)]
    for tick in ticks[:-1]:
        assert tick.cautions in cautions[tick.do]
    page = " ".join(printed(name, order).split())
    for tick in ticks:
        for caution in tick.cautions:
            assert f"! {' '.join(caution.split())}" in page

"""A fault tree on paper leads the reader through the same steps as the strategy it was made of."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import pytest

import showday
from showday.commands.print_sheets import ROUGH as PRINTED
from showday.fault.authored import authored_strategy
from showday.fault.compile import compile_tree
from showday.fault.diagnosis import FAILED, HELP, Strategy, price
from showday.fault.model import Check, Fix, Tree
from showday.fault.reader import read_tree
from showday.fault.strategy import computed_strategy
from showday.fault.walk import ask_for
from showday.paper.model import Box, Branch, Tick
from showday.paper.tree import author_lines, boxes, tree_sheet

FAULTS = Path(showday.__file__).parent.parent / "playbooks" / "faults"
SHIPPED = [path.stem for path in sorted(FAULTS.glob("*.yaml"))]
ROUGH = 0.2


@cache
def tree_named(name: str) -> Tree:
    path = FAULTS / f"{name}.yaml"
    tree, problems = read_tree(path.read_bytes(), str(path))
    assert tree is not None, problems.in_order()
    return tree


@cache
def computed(name: str) -> Strategy:
    return computed_strategy(compile_tree(tree_named(name)), advised=ROUGH, least_mass=ROUGH)


def by_strategy(tree: Tree, strategy: Strategy, seed: int) -> list[str]:
    """What is done when nothing helps and every check gets a drawn answer."""
    chance, at, done = random.Random(seed), strategy, []
    while at.step:
        ask = ask_for(tree, at.step)
        assert ask is not None
        done.append(ask.do)
        answer = FAILED if ask.kind == "fix" else chance.choice(ask.answers)
        at = dict(at.then).get(answer, HELP)
    return done


def by_paper(tree: Tree, made: list[Box], seed: int) -> list[str]:
    """The same with the boxes in hand; the answer to a check that leads on alike is drawn too."""
    answers = {
        ask.do: ask.answers for step in tree.nodes() if isinstance(step, Check) and (ask := ask_for(tree, step.id))
    }
    chance, number, done = random.Random(seed), 1, []
    found = {box.number: box for box in made}
    while number:
        box = found[number]
        for fix in box.fixes:
            done.append(fix.do)
            if fix.do in answers:
                chance.choice(answers[fix.do])
        if box.check is None:
            assert box.goes_on is not None
            number = box.goes_on
            continue
        done.append(box.check.do)
        ways = {way.answer: way.to for way in box.ways}
        number = ways[chance.choice(answers[box.check.do])]
    return done


@pytest.mark.parametrize("name", SHIPPED)
def test_the_boxes_lead_where_the_strategy_leads(name: str) -> None:
    tree = tree_named(name)
    strategy = computed(name)
    made = boxes(tree, strategy, {})
    assert [box.number for box in made] == list(range(1, len(made) + 1))
    for seed in range(200):
        assert by_paper(tree, made, seed) == by_strategy(tree, strategy, seed)


@pytest.mark.parametrize("name", SHIPPED)
def test_the_printed_order_is_never_slower_than_the_authors(name: str) -> None:
    tree = tree_named(name)
    model = compile_tree(tree)
    printed = computed_strategy(model, advised=PRINTED, least_mass=PRINTED)
    assert price(model, printed) <= price(model, authored_strategy(tree, model))


@pytest.mark.parametrize("name", SHIPPED)
def test_no_box_is_printed_twice_or_in_vain(name: str) -> None:
    tree = tree_named(name)
    made = boxes(tree, computed(name), {})
    sent = {way.to for box in made for way in box.ways} | {box.goes_on for box in made}
    assert sent >= {box.number for box in made} - {1}
    said = [(box.fixes, box.check, box.ways, box.goes_on) for box in made]
    assert len(set(said)) == len(said)


@pytest.mark.parametrize("name", SHIPPED)
def test_the_authors_order_names_every_node_and_every_cure(name: str) -> None:
    tree = tree_named(name)
    said = {line.tick.do for line in author_lines(tree, {}, {}) if line.tick}
    for node in tree.nodes():
        id = str(node.id) if isinstance(node, Check | Fix) else f"cure:{node.cause}"
        ask = ask_for(tree, id)
        assert ask is not None
        assert ask.do in said


@pytest.mark.parametrize("name", SHIPPED)
def test_a_danger_stands_in_front_of_its_step_wherever_it_is_printed(name: str) -> None:
    tree = tree_named(name)
    sheet = tree_sheet(tree, computed(name), authored=True)
    cautions: dict[str, set[tuple[str, ...]]] = {}
    for node in tree.nodes():
        ask = ask_for(tree, str(node.id) if isinstance(node, Check | Fix) else f"cure:{node.cause}")
        assert ask is not None
        cautions.setdefault(ask.do, set()).add(tuple(text for text in (ask.caution, ask.irreversible) if text))
    ticks: list[Tick] = []
    for part in sheet.parts:
        for block in part.blocks:
            if isinstance(block, Box):
                ticks += [*block.fixes, *([block.check] if block.check else [])]
            elif isinstance(block, Branch) and block.tick:
                ticks.append(block.tick)
    assert ticks
    for tick in ticks:
        assert tick.cautions in cautions[tick.do]

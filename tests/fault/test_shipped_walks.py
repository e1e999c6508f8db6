"""Every way through every shipped tree comes to an end, and nobody is asked the same thing for nothing."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showday.fault.model import Check, Fix, Leaf, Tree
from showday.fault.reader import read_tree
from showday.fault.walk import (
    CANT_NOW,
    DONT_KNOW,
    HELP,
    NO_CHANGE,
    WORKED,
    Ask,
    ask_for,
    next_ask,
    outline,
    put_off,
    standing,
)
from showday.playbook.model import CONDITIONS
from tests.support.world import shipped_trees

TREES = [pytest.param(path, id=path.stem) for path in shipped_trees()]
Way = tuple[tuple[str, str], ...]


@cache
def tree_at(path: Path) -> Tree:
    """A shipped tree."""
    tree, problems = read_tree(path.read_bytes(), path.name)
    assert tree is not None, [str(p) for p in problems]
    return tree


def steps_but_help(tree: Tree) -> set[str]:
    """Ids of every check, fix and cure."""
    return {id for id, _ in outline(tree)} - {HELP}


def fair(ask: Ask, steps: dict[str, tuple[str, ...]], way: Way, now: dict[str, str]) -> None:
    """The ask is one of the tree's, and its answer does not stand already."""
    assert ask.id not in now or (now[ask.id] == CANT_NOW and put_off(way)[ask.id] == 1), (ask.id, way)
    assert steps[ask.id] == ask.answers
    assert ask.do and len(way) < 4 * len(steps), way


def ends_of(tree: Tree, deviating: bool) -> tuple[set[str], set[tuple[str, str]]]:
    """Walk every way to its end: the fixes offered, and the "don't know" and "can't now" given.

    Ways that have led to the same standing answers go on alike, so each such state is walked once. When `deviating`,
    each step is once not known and once put off, and every way from there is walked.
    """
    steps = dict(outline(tree))
    offered: set[str] = set()
    deviations: set[tuple[str, str]] = set()
    seen: set[object] = set()
    todo: list[Way] = [()]
    while todo:
        way = todo.pop()
        now, off = standing(tree, way), put_off(way)
        state = (frozenset(now.items()), frozenset(off.items()))
        if state in seen:
            continue
        seen.add(state)
        ask = next_ask(tree, way)
        if ask.kind == "help":
            continue
        fair(ask, steps, way, now)
        answers = [answer for answer in ask.answers if answer != WORKED]
        if deviating and not off and DONT_KNOW not in now.values():
            new = {(ask.id, a) for a in ask.choices if a in (DONT_KNOW, CANT_NOW)} - deviations
            deviations |= new
            answers += sorted(answer for _, answer in new)
        if ask.kind == "fix":
            offered.add(ask.id)  # "restored" ends the walk here
        todo += [(*way, (ask.id, answer)) for answer in answers]
    return offered, deviations


@pytest.mark.parametrize("path", TREES)
def test_every_way_ends_and_every_fix_is_offered_on_one(path: Path) -> None:
    tree = tree_at(path)
    offered, _ = ends_of(tree, deviating=False)
    fixes = {str(node.id) for node in tree.nodes() if isinstance(node, Fix)}
    assert offered == fixes | {f"cure:{node.cause}" for node in tree.nodes() if isinstance(node, Leaf)}


@pytest.mark.parametrize("path", TREES)
def test_every_way_from_one_dont_know_or_cant_now_ends(path: Path) -> None:
    tree = tree_at(path)
    _, deviations = ends_of(tree, deviating=True)
    checks = {str(node.id) for node in tree.nodes() if isinstance(node, Check)}
    wanted = {(id, CANT_NOW) for id in steps_but_help(tree)} | {(id, DONT_KNOW) for id in checks}
    assert deviations == wanted


def walk_to_the_end(tree: Tree, answer: str) -> Way:
    """Give one answer as long as it can be given, else `no change`."""
    way: Way = ()
    steps = dict(outline(tree))
    while (ask := next_ask(tree, way)).kind != "help":
        fair(ask, steps, way, standing(tree, way))
        way = (*way, (ask.id, answer if answer in ask.choices else NO_CHANGE))
    return way


@pytest.mark.parametrize("path", TREES)
def test_knowing_nothing_visits_every_node_once(path: Path) -> None:
    tree = tree_at(path)
    asked = [id for id, _ in walk_to_the_end(tree, DONT_KNOW)]
    invalid = {c for n in tree.nodes() if not isinstance(n, Leaf) for c in n.invalidates}
    assert set(asked) == steps_but_help(tree)
    assert [id for id in set(asked) if asked.count(id) > 1 and id not in invalid] == []


@pytest.mark.parametrize("path", TREES)
def test_every_cause_can_be_cured_on_some_way(path: Path) -> None:
    tree = tree_at(path)
    reached: set[str] = set()
    for id, _ in walk_to_the_end(tree, DONT_KNOW):
        ask = ask_for(tree, id)
        assert ask is not None
        reached |= {cause for cause, _ in ask.causes}
    assert reached == {str(name) for name, _ in tree.causes}


@pytest.mark.parametrize("path", TREES)
def test_being_able_to_do_nothing_now_ends_with_help_and_each_step_offered_twice(path: Path) -> None:
    tree = tree_at(path)
    asked = [id for id, _ in walk_to_the_end(tree, CANT_NOW)]
    assert set(asked) == steps_but_help(tree)
    assert {asked.count(id) for id in asked} == {2}


TREE = st.sampled_from(shipped_trees())
FACTS = st.dictionaries(st.sampled_from(CONDITIONS), st.booleans(), max_size=6)


@settings(max_examples=120)
@given(path=TREE, facts=FACTS, data=st.data())
def test_any_answers_in_any_order_still_come_to_an_end(
    path: Path, facts: dict[str, bool], data: st.DataObject
) -> None:
    tree = tree_at(path)
    steps = dict(outline(tree))
    way: Way = ()
    for _ in range(data.draw(st.integers(0, 12), label="steps out of order")):
        id = data.draw(st.sampled_from([id for id in steps if id != HELP]), label="step")
        way = (*way, (id, data.draw(st.sampled_from([*steps[id], DONT_KNOW, CANT_NOW]), label="answer")))
        way = way[: len(way) - data.draw(st.integers(0, 1), label="taken back")]
    begun = len(way)
    while (ask := next_ask(tree, way, facts=facts)).kind != "help":
        assert len(way) - begun < 4 * len(steps)
        choices = [c for c in ask.choices if c != WORKED]
        way = (*way, (ask.id, data.draw(st.sampled_from(choices), label=ask.id)))
    assert next_ask(tree, way, facts=facts) == ask

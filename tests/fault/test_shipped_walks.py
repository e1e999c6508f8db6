"""Every way through every shipped tree comes to an end, and nobody is asked the same thing for nothing."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showday.fault.model import Fix, Leaf, Tree
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


@cache
def steps_of(tree: Tree) -> dict[str, tuple[str, ...]]:
    """Every step of a tree with its answers."""
    return dict(outline(tree))


def fair(ask: Ask, tree: Tree, way: Way, now: dict[str, str]) -> None:
    """The ask is one of the tree's, and its answer does not stand already."""
    assert ask.id not in now or (now[ask.id] == CANT_NOW and put_off(way)[ask.id] == 1), (ask.id, way)
    assert steps_of(tree)[ask.id] == ask.answers
    assert ask.do and len(way) < 4 * len(steps_of(tree)), way


def ends_of(tree: Tree, deviations: int) -> tuple[set[str], int]:
    """Walk every way with at most so many "don't know" and "can't now": fixes offered, and how many ways there are.

    Ways that have led to the same standing answers go on alike, so each such state is walked once.
    """
    offered: set[str] = set()
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
        fair(ask, tree, way, now)
        answers = [answer for answer in ask.answers if answer != WORKED]
        if sum(off.values()) + sum(answer == DONT_KNOW for answer in now.values()) < deviations:
            answers += [answer for answer in ask.choices if answer in (DONT_KNOW, CANT_NOW)]
        if ask.kind == "fix":
            offered.add(ask.id)  # "restored" ends the walk here
        todo += [(*way, (ask.id, answer)) for answer in answers]
    return offered, len(seen)


@pytest.mark.parametrize("path", TREES)
def test_every_way_ends_and_every_fix_is_offered_on_one(path: Path) -> None:
    tree = tree_at(path)
    offered, _ = ends_of(tree, deviations=0)
    fixes = {str(node.id) for node in tree.nodes() if isinstance(node, Fix)}
    assert offered == fixes | {f"cure:{node.cause}" for node in tree.nodes() if isinstance(node, Leaf)}


@pytest.mark.parametrize("path", TREES)
def test_every_way_with_one_dont_know_or_cant_now_ends(path: Path) -> None:
    tree = tree_at(path)
    offered, ways = ends_of(tree, deviations=1)
    assert offered and ways > len(steps_of(tree))


def walk_to_the_end(tree: Tree, answer: str) -> Way:
    """Give one answer as long as it can be given, else `no change`."""
    way: Way = ()
    while (ask := next_ask(tree, way)).kind != "help":
        fair(ask, tree, way, standing(tree, way))
        way = (*way, (ask.id, answer if answer in ask.choices else NO_CHANGE))
    return way


@pytest.mark.parametrize("path", TREES)
def test_knowing_nothing_visits_every_node_once(path: Path) -> None:
    tree = tree_at(path)
    asked = [id for id, _ in walk_to_the_end(tree, DONT_KNOW)]
    invalid = {c for n in tree.nodes() if not isinstance(n, Leaf) for c in n.invalidates}
    assert set(asked) == steps_of(tree).keys() - {HELP}
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
    assert set(asked) == steps_of(tree).keys() - {HELP}
    assert {asked.count(id) for id in asked} == {2}


TREE = st.sampled_from(shipped_trees())
FACTS = st.dictionaries(st.sampled_from(CONDITIONS), st.booleans(), max_size=6)


@settings(max_examples=120)
@given(path=TREE, facts=FACTS, data=st.data())
def test_any_answers_in_any_order_still_come_to_an_end(
    path: Path, facts: dict[str, bool], data: st.DataObject
) -> None:
    tree = tree_at(path)
    steps = steps_of(tree)
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

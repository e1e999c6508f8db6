"""Every playbook and fault tree that ships is whole: read without a word, complete, and never a broken sentence."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from showday.fault.model import Check, Fix, Leaf, Tree
from showday.fault.reader import read_tree
from showday.fault.walk import Ask, ask_for, outline
from showday.library import Library, load_library
from showday.playbook.model import Playbook
from showday.playbook.reader import read_playbook, walk_steps
from showday.rig.model import EMPTY, Rig
from showday.rig.reader import read_rig
from showday.rig.words import rig_fields, thing_fields
from showday.run.plan import Plan, make_plan
from showday.text.problem import Problems
from tests.support.sentences import broken
from tests.support.world import PLAYBOOKS, rig_of, shipped_playbooks, shipped_rigs, shipped_trees

BOOKS = [pytest.param(path.stem, id=path.stem) for path in shipped_playbooks()]
TREES = [pytest.param(path.stem, id=path.stem) for path in shipped_trees()]
RIGS: dict[str, Rig] = {"no rig": EMPTY, "three lines": rig_of("rig: r\nact: Us\ninputs: [Kick, Bass, Voice]")}
RIGS |= {path.name: rig for path in shipped_rigs() if (rig := read_rig(path.read_bytes(), path.name)[0])}


@cache
def library() -> Library:
    """What ships, and nothing else."""
    return load_library(PLAYBOOKS / "nothing-here", PLAYBOOKS)


def book(name: str) -> Playbook:
    return library().playbooks[name]


def tree(name: str) -> Tree:
    return library().trees[name]


def test_everything_is_read_without_a_problem_or_a_warning() -> None:
    assert [str(problem) for problem in library().problems] == []
    assert set(library().playbooks) == {path.stem for path in shipped_playbooks()}
    assert set(library().trees) == {path.stem for path in shipped_trees()}


@pytest.mark.parametrize("name", ["load-in", "line-check", "rf-scan", "teardown"])
def test_the_playbooks_of_an_evening_are_there(name: str) -> None:
    assert book(name).sections


@pytest.mark.parametrize("name", TREES)
def test_every_cause_leads_on_to_a_tree_that_is_there(name: str) -> None:
    path = PLAYBOOKS / "faults" / f"{name}.yaml"
    assert [str(p) for p in read_tree(path.read_bytes(), path.name, set(library().trees))[1]] == []


LEAST = {"no-signal": 10, "rf-dropouts": 10, "hum": 10}


@pytest.mark.parametrize("name", TREES)
def test_a_tree_has_enough_causes_checks_and_fixes(name: str) -> None:
    steps = [node for node in tree(name).nodes() if not isinstance(node, Leaf)]
    least = LEAST.get(name, 5)
    assert len(tree(name).causes) >= least and len(steps) >= least
    assert any(isinstance(node, Check) for node in steps) and any(isinstance(node, Fix) for node in steps)


def test_the_three_trees_that_every_act_needs_are_there() -> None:
    assert LEAST.keys() <= library().trees.keys()


@pytest.mark.parametrize("name", BOOKS)
def test_every_step_says_what_until_when_why_and_how_long(name: str) -> None:
    for _, step in walk_steps(book(name)):
        lacking = [key for key in ("do", "until", "why", "basis", "takes") if not getattr(step, key)]
        assert not lacking, (step.id, lacking)
        assert str(step.do)[0].isupper(), step.do


@pytest.mark.parametrize("name", TREES)
def test_every_node_says_what_until_when_and_why(name: str) -> None:
    for node in tree(name).nodes():
        if not isinstance(node, Leaf):
            assert node.until and node.why and node.basis and node.takes > 0, node.id
    for id, cause in tree(name).causes:
        assert cause.what and cause.cure and cause.until and cause.takes > 0, id


@pytest.mark.parametrize("name", TREES)
def test_every_answer_is_a_few_plain_words(name: str) -> None:
    for node in tree(name).nodes():
        for label in node.labels() if isinstance(node, Check) else ():
            assert 1 <= len(label) <= 40 and label == label.strip() and not label.endswith("."), label


@pytest.mark.parametrize("name", TREES)
def test_every_symptom_is_found_by_each_of_its_words(name: str) -> None:
    from showday.playbook.search import Entry, search

    entries = [
        Entry("fault", id, str(found.title), tuple(map(str, found.heard_as)), 15.0)
        for id, found in library().trees.items()
    ]
    for word in tree(name).heard_as:
        assert name in [hit.entry.id for hit in search(entries, word, limit=3)], word


def texts_of_plan(plan: Plan) -> Iterator[str]:
    """Every text of a plan that a person sees."""
    yield from (plan.title, plan.about, plan.pause, *plan.caution)
    for section in plan.sections:
        yield from (section.title, section.pause, *section.caution)
    for step in plan.steps:
        yield from (step.do, step.until, step.why, step.basis, step.caution, step.irreversible, step.about)
        if step.reading:
            yield from (step.reading.name, step.reading.unit, str(step.reading.wanted))


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize("name", BOOKS)
def test_no_sentence_of_a_playbook_is_broken_by_the_rig(name: str, rig: str) -> None:
    plan = make_plan(book(name), RIGS[rig])
    assert plan.steps
    assert [sign for text in texts_of_plan(plan) for sign in broken(text)] == []


def texts_of_ask(ask: Ask) -> Iterator[str]:
    """Every text of a check or a fix that a person sees."""
    yield from (
        ask.do,
        ask.until,
        ask.why,
        ask.basis,
        ask.caution,
        ask.irreversible,
        ask.uses,
        ask.opens,
        *ask.answers,
    )
    yield from (words for _, words in ask.causes)


def known_fields(rig: Rig, kind: str) -> Iterator[dict[str, str]]:
    """What sentences may know: of the rig alone, and of each thing the tree may be about."""
    yield rig_fields(rig)
    for thing in rig.things(kind):
        yield rig_fields(rig) | thing_fields(kind, thing)


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize("name", TREES)
def test_no_sentence_of_a_tree_is_broken_by_the_rig(name: str, rig: str) -> None:
    found = tree(name)
    texts = {found.title, found.about, *found.caution, *found.heard_as}
    for known in known_fields(RIGS[rig], found.concerns):
        for id, _ in outline(found):
            ask = ask_for(found, id, known=known)
            assert ask is not None
            texts.update(texts_of_ask(ask))
    assert [sign for text in texts for sign in broken(text)] == []


@pytest.mark.parametrize(
    ("sentence", "whole"),
    [
        ("", True), ("Plug Kick into A 1.", True), ("Read it: 12 to 14 V", True), ("Press [SHIFT] (twice)", True),
        ("Wait...", True), ("None of it moves", True), ("Send dit dit dit", True), ("Plug {input.name}", False),
        ("Plug Kick  in", False), ("Plug Kick , then", False), (", then", False), ("Plug the the kick", False),
        ("For None", False), ("a,, b", False), ("Kick ()", False), ("Look at,", False), ("Done..", False),
    ],
)  # fmt: skip
def test_a_broken_sentence_is_seen(sentence: str, whole: bool) -> None:
    assert (not list(broken(sentence))) is whole


FILES: list[tuple[Path, Callable[..., tuple[Any, Problems]]]] = [
    *((path, read_playbook) for path in shipped_playbooks()),
    *((path, read_tree) for path in shipped_trees()),
    *((path, read_rig) for path in shipped_rigs()),
]


@pytest.mark.parametrize(("path", "read"), [pytest.param(path, read, id=path.stem) for path, read in FILES])
def test_half_written_files_are_refused_or_read_and_never_raise(path: Path, read: Callable[..., Any]) -> None:
    whole = path.read_bytes()
    cuts = random.Random(path.stem).sample(range(len(whole)), 40)
    for cut in [*cuts, 0, 1, len(whole) - 1]:
        made, problems = read(whole[:cut], path.name)
        assert made is not None or problems.errors, cut
        assert all(problem.place.line <= whole.count(b"\n") + 2 for problem in problems)


@pytest.mark.parametrize(("path", "read"), [pytest.param(path, read, id=path.stem) for path, read in FILES])
def test_files_with_a_spoilt_byte_are_refused_or_read_and_never_raise(path: Path, read: Callable[..., Any]) -> None:
    whole = path.read_bytes()
    chance = random.Random(path.stem)
    for _ in range(30):
        spoilt = bytearray(whole)
        spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        made, problems = read(bytes(spoilt), path.name)
        assert made is not None or problems.errors

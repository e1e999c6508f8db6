"""The author's order and the computed one as strategies: what they do, what they cost, and printed to be kept."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import fields, replace
from functools import cache
from pathlib import Path

import pytest

from showday.fault.authored import authored_strategy
from showday.fault.choose import Chooser
from showday.fault.compile import compile_tree
from showday.fault.diagnosis import (
    FAILED,
    HELP,
    Contradiction,
    Model,
    Strategy,
    after_answer,
    after_failure,
    begin,
    opening,
    price,
)
from showday.fault.lattice import solve_lattice
from showday.fault.model import Again, Cause, Check, Entry, Fix, Leaf, Tree
from showday.fault.reader import read_tree
from showday.fault.strategy import computed_strategy, prices
from showday.fault.strategy_text import strategy_text
from showday.fault.strategy_yaml import Unwritable, strategy_yaml
from showday.fault.walk import id_of, next_ask
from tests.fault.models import made
from tests.support.world import shipped_trees

HEAD = (
    "fault: f\ntitle: It hums\nheard_as: hum\ncaution: Hands off the mains\nhelp: {do: Call the house, takes: 5min}\n"
)
HEAD += "groups:\n  rack: {what: Open the rack, takes: 60s}\n"
TAKES = {"a": 10, "b": 25, "c": 40, "d": 60}
CAUSES = "causes:\n" + "".join(f"  {c}: {{what: W, cure: Mend {c}, takes: {s}s}}\n" for c, s in TAKES.items())
TREES = {
    "a branch, and what is behind it": """
  - {check: Look, id: look, takes: 5s, answers: {x: [{cause: a}, {cause: b}], y: {cause: c}}}
  - {cause: d}
""",
    "the same cause twice": """
  - {check: Look, id: look, takes: 5s, sure: 0.8, answers: {x: {cause: a}, y: {cause: b}}}
  - {check: Hear, id: hear, takes: 8s, answers: {x: {cause: a}, y: [{cause: c}, {cause: b}]}}
  - {cause: d}
""",
    "a fix that makes an answer invalid": """
  - check: Look
    id: look
    takes: 5s
    answers:
      x: [{fix: Push, id: push, cures: {a: 0.5, d: 0.2}, takes: 4s, invalidates: look}, {cause: b}]
      y: [{cause: c}, {fix: Turn, id: turn, cures: {c: 0.3, d: 0.9}, takes: 9s, group: rack}]
  - {fix: Pull, id: pull, cures: {d: 0.6}, takes: 7s, group: rack, invalidates: look}
  - {cause: a}
""",
    "a node that stands again": """
  - check: Look
    id: look
    answers:
      x: [{fix: Push, id: push, cures: a, takes: 4s}, {check: Hear, id: hear, answers: {m: {cause: b}, n: {cause: c}}}]
      y: [{again: hear, answers: {n: [{again: push}, {cause: c}]}}, {cause: d}]
  - {again: push}
  - {cause: b}
""",
    "help in the middle": """
  - check: Look
    id: look
    answers:
      x: {again: help}
      y: [{cause: c}, {fix: Push, id: push, cures: a, look: 4s, takes: 50s}]
  - {cause: b}
  - {again: help}
  - {cause: d}
""",
}


def read(text: str, name: str = "f") -> Tree:
    tree, problems = read_tree(text, f"{name}.yaml")
    assert tree is not None, list(map(str, problems))
    return tree


def small(walk: str) -> Tree:
    return read(f"{HEAD}walk:{walk}{CAUSES}")


@cache
def shipped(name: str) -> Tree:
    path = next(path for path in shipped_trees() if path.stem == name)
    return read(path.read_text("utf-8"), name)


def walked(
    tree: Tree, model: Model, answers: tuple[tuple[str, str], ...], chances: Sequence[float], opened: int
) -> float:
    """What walking costs, by asking the walk itself after every outcome: chances are P(cause and outcomes so far)."""
    if sum(chances) <= 0.0:
        return 0.0
    ask = next_ask(tree, answers)
    if ask.kind == "help":
        return sum(chances) * model.help_seconds
    index = model.index(ask.id)
    step = model.step(index)
    spent = sum(chances) * (step.seconds + opening(model, opened, step.group))
    opened |= 1 << step.group if step.group >= 0 else 0
    if ask.kind == "check":
        question = model.questions[index]
        for label, row in zip(question.answers, question.likelihood, strict=True):
            after = [c * p for c, p in zip(chances, row, strict=True)]
            spent += walked(tree, model, (*answers, (ask.id, label)), after, opened)
        return spent
    action = model.actions[index - len(model.questions)]
    spent += action.repair * sum(c for c, s in zip(chances, action.cures, strict=True) if s)
    after = [c * (1 - s) for c, s in zip(chances, action.cures, strict=True)]
    return spent + walked(tree, model, (*answers, (ask.id, FAILED)), after, opened)


@pytest.mark.parametrize("name", TREES)
def test_the_authors_order_costs_what_walking_it_costs(name: str) -> None:
    tree = small(TREES[name])
    model = compile_tree(tree)
    expected = walked(tree, model, (), model.prior, 0)
    assert price(model, authored_strategy(tree, model)) == pytest.approx(expected, rel=1e-12)


def test_the_authors_order_passes_over_what_needs_a_spare_that_is_gone() -> None:
    walk = "\n  - {fix: Push, id: push, cures: a, uses: spare pack}\n  - {cause: b}\n  - {cause: a}\n"
    tree = small(walk + "  - {cause: c}\n  - {cause: d}\n")
    model = compile_tree(tree, used=["spare pack"])
    assert authored_strategy(tree, model).step == "cure:b"


def test_nodes_that_do_not_apply_are_not_in_the_authors_order() -> None:
    walk = "\n  - {fix: Push, id: push, cures: a, when: festival}\n  - {cause: b}\n  - {cause: a}\n"
    tree = small(walk + "  - {cause: c}\n  - {cause: d}\n")
    facts = {"festival": False}
    assert authored_strategy(tree, compile_tree(tree, facts=facts), facts=facts).step == "cure:b"
    assert authored_strategy(tree, compile_tree(tree)).step == "push"


# -- the computed order ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", TREES)
def test_prices_stand_in_order(name: str) -> None:
    found = prices(small(TREES[name]))
    assert found.optimum is not None
    assert found.bound <= found.optimum <= found.computed + 1e-9
    assert found.computed <= found.authored
    assert found.computed <= 1.002 * found.optimum


def test_a_tree_whose_own_order_is_the_best_is_matched() -> None:
    walk = "\n  - {cause: a}\n  - {cause: b}\n  - {cause: c}\n  - {cause: d}\n"
    found = prices(small(walk))
    assert found.authored == pytest.approx(found.computed) == pytest.approx(found.optimum)


@pytest.mark.parametrize("seed", range(4))
def test_it_goes_on_from_any_belief(seed: int) -> None:
    model = made(seed, 4, 4, 2, noisy=True)
    strategy = computed_strategy(model, advised=0.0, least_mass=0.0)
    assert strategy.step
    index, asks = model.index(strategy.step), len(model.questions)
    later = (
        after_answer(model, begin(model), index, 0)
        if index < asks
        else after_failure(model, begin(model), index - asks)
    )
    rest = computed_strategy(model, later, advised=0.0, least_mass=0.0)
    assert price(model, rest, later) == pytest.approx(price(model, strategy.then[0][1], later))
    assert price(model, rest, later) <= 1.05 * solve_lattice(model, later).seconds


def test_its_first_step_is_the_choosers() -> None:
    for name in ("noise", "dead-mic"):
        model = compile_tree(shipped(name))
        assert computed_strategy(model).step == Chooser(model).suggest(begin(model)).step


def test_a_finer_strategy_costs_no_more_than_a_coarse_one() -> None:
    model = compile_tree(shipped("one-ear"))
    coarse = price(model, computed_strategy(model, advised=0.3, least_mass=0.2))
    fine = price(model, computed_strategy(model))
    assert fine < coarse <= model.help_seconds


def test_no_possible_cause_is_a_contradiction() -> None:
    model = made(1, 3, 3, 1, noisy=True)
    with pytest.raises(Contradiction, match="contradict"):
        computed_strategy(model, replace(begin(model), weights=(0.0, 0.0, 0.0)))


def sorted_anew(entries: Sequence[Entry], draw: random.Random) -> tuple[Entry, ...]:
    """The same nodes in another order, in every list that has no pin."""
    out: list[Entry] = []
    for entry in entries:
        if isinstance(entry, Check | Again):
            branches = [(label, sorted_anew(branch, draw)) for label, branch in entry.answers]
            entry = replace(entry, answers=tuple(draw.sample(branches, len(branches))))
        out.append(entry)
    if not any(isinstance(entry, Check | Fix) and entry.pin for entry in out):
        draw.shuffle(out)
    return tuple(out)


@pytest.mark.parametrize("name", ["noise", "wrong-mix", "dead-mic"])
def test_sorting_a_shipped_file_anew_changes_no_price(name: str) -> None:
    tree = shipped(name)
    model = compile_tree(tree)
    suggested, followed = Chooser(model).suggest(begin(model)).seconds, price(model, computed_strategy(model))
    draw = random.Random(name)
    causes = tuple(draw.sample(tree.causes, len(tree.causes)))
    again = compile_tree(replace(tree, walk=sorted_anew(tree.walk, draw), causes=causes))
    assert Chooser(again).suggest(begin(again)).seconds == pytest.approx(suggested, rel=1e-12)
    assert price(again, computed_strategy(again)) == pytest.approx(followed, rel=1e-12)


# -- printed -----------------------------------------------------------------------------------------------------------


def said(node: Check | Fix | Leaf | Cause) -> dict[str, object]:
    """All that a node says, but for its place in the order and what follows it."""
    order = {"place", "answers", "first", "after", "pin", "invalidates", "tells", "otherwise"}
    return {f.name: getattr(node, f.name) for f in fields(node) if f.name not in order}


@pytest.mark.parametrize("path", shipped_trees(), ids=lambda path: Path(path).stem)
def test_the_computed_order_of_a_shipped_tree_is_a_tree_that_means_and_costs_the_same(path: Path) -> None:
    tree = shipped(path.stem)
    model = compile_tree(tree)
    strategy = computed_strategy(model, chooser=Chooser(model, work=5_000), advised=0.2, least_mass=0.03)
    again, problems = read_tree(strategy_yaml(tree, strategy, "The computed order.\nReview it."), "again.yaml")
    assert again is not None, list(map(str, problems))
    assert not problems.in_order()
    assert price(model, authored_strategy(again, model)) == pytest.approx(price(model, strategy), abs=1e-9)
    assert compile_tree(again) == model
    assert {id_of(n): said(n) for n in again.nodes()} == {id_of(n): said(n) for n in tree.nodes()}
    assert [(n, said(c)) for n, c in again.causes] == [(n, said(c)) for n, c in tree.causes]
    assert (again.title, again.heard_as, again.caution) == (tree.title, tree.heard_as, tree.caution)
    assert replace(again.help, place=tree.help.place) == tree.help


@pytest.mark.parametrize("name", [name for name in TREES if "invalid" not in name])
def test_the_authors_order_printed_is_the_same_order(name: str) -> None:
    tree = small(TREES[name])
    model = compile_tree(tree)
    again = read(strategy_yaml(tree, authored_strategy(tree, model)))
    assert price(model, authored_strategy(again, model)) == pytest.approx(
        price(model, authored_strategy(tree, model))
    )


def test_what_must_come_first_still_comes_first_in_the_printed_tree() -> None:
    for name in ("dead-mic", "hum"):
        tree = shipped(name)
        model = compile_tree(tree)
        strategy = computed_strategy(model, chooser=Chooser(model, work=2_000), advised=0.3, least_mass=0.2)
        first = {id_of(n) for n in tree.walk if isinstance(n, Check | Fix) and n.first}
        again = read(strategy_yaml(tree, strategy), name)
        assert {id_of(n) for n in again.walk if isinstance(n, Check | Fix) and n.first} == first != set()


def test_help_at_once_behind_an_answer_is_written_as_help() -> None:
    tree = small(TREES["a branch, and what is behind it"])
    text = strategy_yaml(tree, Strategy("look", (("x", Strategy("cure:a")), ("y", HELP))))
    assert "y:\n        - again: help" in text
    again = read(text)
    assert next_ask(again, (("look", "y"),)).kind == "help"
    assert next_ask(again, (("look", "x"),)).id == "cure:a"


@pytest.mark.parametrize(
    ("strategy", "said"),
    [
        (Strategy("nothing"), "has no step 'nothing'"),
        (Strategy("look", (("x", Strategy("look")),)), "'look' comes twice on one way"),
    ],
)
def test_what_no_file_can_say_is_refused(strategy: Strategy, said: str) -> None:
    with pytest.raises(Unwritable, match=said):
        strategy_yaml(small(TREES["a branch, and what is behind it"]), strategy)


def test_on_paper_cautions_stand_before_and_answers_are_indented() -> None:
    walk = """
  - {check: Look at it, id: look, takes: 5s, until: It is dry, caution: Do not touch,
     answers: {x: {cause: a}, y: {cause: b}}}
  - {fix: Turn it, id: turn, cures: [c, d], takes: 90s, group: rack, irreversible: All hear a click}
"""
    tree = small(walk)
    text = strategy_text(tree, authored_strategy(tree, compile_tree(tree)))
    assert text.splitlines()[:3] == ["It hums", "", "! Hands off the mains"]
    assert text.endswith("\nHelp:\n- Call the house (5 min)\n")
    lines = text[text.index("! Do not touch") :].splitlines()
    assert lines[:3] == ["! Do not touch", "- Look at it (5 s): It is dry", "  x:"]
    assert lines[3] == "    - Mend a (10 s)"
    turn = next(i for i, line in enumerate(lines) if "Turn it" in line)
    assert lines[turn].strip() == "- Turn it (1 min 30 s)"
    assert [line.strip() for line in lines[turn - 2 : turn]] == [
        "(Open the rack, unless it is done)",
        "! All hear a click",
    ]


def test_on_paper_the_fields_of_the_thing_are_filled_in() -> None:
    nodes = "\n  - {fix: 'Turn {pack.name}', id: turn, cures: [a, b, c, d]}\n"
    tree = read(f"concerns: pack\n{HEAD}walk:{nodes}{CAUSES}")
    strategy = authored_strategy(tree, compile_tree(tree))
    assert "\n- Turn Pack 1 (20 s)\n" in strategy_text(tree, strategy, {"pack.name": "Pack 1"})

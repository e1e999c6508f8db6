"""The price of an author's order in which answers become invalid and are asked again, against walking it."""

from __future__ import annotations

import pytest

from showday.fault.authored import authored_strategy
from showday.fault.compile import compile_tree
from showday.fault.diagnosis import price
from tests.fault.test_strategy import small, walked

PUSH = "{fix: Push, id: push, cures: {a: 0.5, d: 0.2}, takes: 4s}"
NEAR = f"{{check: Near, id: near, takes: 5s, answers: {{x: {PUSH}, y: {{cause: b}}}}}}"
FAR = "{check: Far, id: far, takes: 6s, %sanswers: {x: {cause: c}, y: {cause: d}}}"
TURN = "{fix: Turn, id: turn, cures: {c: 0.4, d: 0.4}, takes: 7s, invalidates: %s}"
TREES = {
    "one answer, with old ones below it": [NEAR, FAR % "", TURN % "near", "{cause: a}"],
    "an answer that makes another one invalid": [NEAR, FAR % "invalidates: near, ", TURN % "far", "{cause: a}"],
    "what is below an answer": [
        f"{{check: Far, id: far, takes: 6s, answers: {{x: [{NEAR}, {{cause: c}}], y: {{cause: d}}}}}}",
        TURN % "far",
        "{cause: a}",
    ],
}


@pytest.mark.parametrize("name", TREES)
def test_what_is_asked_again_costs_what_walking_it_costs(name: str) -> None:
    tree = small("\n" + "".join(f"  - {node}\n" for node in TREES[name]))
    model = compile_tree(tree)
    expected = walked(tree, model, (), model.prior, 0)
    assert price(model, authored_strategy(tree, model)) == pytest.approx(expected, rel=1e-12)

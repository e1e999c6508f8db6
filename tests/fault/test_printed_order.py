"""Order lines that a printed tree cannot carry are said at its head, so that none is lost unseen."""

from __future__ import annotations

from showday.fault.authored import authored_strategy
from showday.fault.compile import compile_tree
from showday.fault.diagnosis import price
from showday.fault.strategy import computed_strategy
from showday.fault.strategy_yaml import strategy_yaml
from tests.fault.test_strategy import read, shipped, small

OFF = """
  - check: Look
    id: look
    takes: 5s
    answers:
      x: [{fix: Switch it off, id: off, cures: {a: 0.1}, takes: 20s, first: yes}, {cause: a}, {cause: b}]
      y: {cause: c}
  - {cause: d}
"""


def test_a_cure_that_waits_in_a_branch_is_named_at_the_head() -> None:
    tree = small(OFF)
    model = compile_tree(tree)
    text = strategy_yaml(tree, computed_strategy(model), "The computed order.")
    head = [line for line in text.splitlines() if line.startswith("#")]
    assert head[0] == "# The computed order."
    for cure in ("cure:a", "cure:b"):
        assert any(line.startswith(f"# '{cure}' must come after 'off'") for line in head[1:])
    assert not any("cure:c" in line or "cure:d" in line for line in head)
    again = read(text)
    assert abs(price(model, authored_strategy(again, model)) - price(model, computed_strategy(model))) <= 1e-9


def test_nothing_is_said_where_nothing_is_lost() -> None:
    tree = small(OFF.replace(", first: yes", ""))
    assert "#" not in strategy_yaml(tree, computed_strategy(compile_tree(tree)))
    hum = shipped("hum")
    model = compile_tree(hum)
    text = strategy_yaml(hum, computed_strategy(model, advised=0.3, least_mass=0.2))
    assert not any(line.startswith("#") for line in text.splitlines())


def test_an_order_among_the_first_nodes_is_kept() -> None:
    walk = """
  - {fix: Once, id: once, cures: {a: 0.8, b: 0.5}, takes: 40s, look: 3s, first: yes}
  - {fix: Twice, id: twice, cures: {a: 0.8, b: 0.3}, takes: 5s, first: yes, after: once}
  - {cause: a}
  - {cause: b}
  - {cause: c}
  - {cause: d}
"""
    tree = small(walk)
    model = compile_tree(tree)
    assert compile_tree(read(strategy_yaml(tree, computed_strategy(model)))) == model

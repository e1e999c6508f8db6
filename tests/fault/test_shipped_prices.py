"""Every shipped tree: what the author's order costs, what the computed one costs, and the same printed back as a tree."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from showday.fault.advise import Adviser
from showday.fault.authored import authored_strategy
from showday.fault.compile import compile_tree
from showday.fault.diagnosis import price
from showday.fault.learn import PastWalk, learn
from showday.fault.model import Tree
from showday.fault.reader import read_tree
from showday.fault.strategy import computed_strategy, prices
from showday.fault.strategy_text import strategy_text
from showday.fault.strategy_yaml import strategy_yaml
from showday.fault.walk import ask_for

FOLDER = Path(__file__).parents[2] / "playbooks" / "faults"
NAMES = sorted(path.stem for path in FOLDER.glob("*.yaml"))
FIXES = (("source-battery", "laptop-supply"), ("pedals-battery", "pedal-supply"))
"""Quick fixes of the hum tree with the causes they cure."""
SHORT = ("wrong-mix", "dead-mic", "noise")


def tree(name: str) -> Tree:
    made, problems = read_tree((FOLDER / f"{name}.yaml").read_bytes(), name)
    assert made is not None, list(map(str, problems))
    return made


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_the_computed_order_is_never_dearer_than_the_authors(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    found = prices(tree(name))
    with capsys.disabled():
        print(f"\n{name}: author {found.authored:.1f} s, computed {found.computed:.1f} s, bound {found.bound:.1f} s")
    assert found.bound <= found.computed <= found.authored


@pytest.mark.parametrize("name", SHORT)
def test_the_computed_order_printed_as_yaml_loads_again_and_prices_the_same(name: str) -> None:
    original = tree(name)
    model = compile_tree(original)
    strategy = computed_strategy(model, advised=0.1, least_mass=0.05)
    again, problems = read_tree(strategy_yaml(original, strategy), "again.yaml")
    assert again is not None, list(map(str, problems))
    compiled = compile_tree(again)
    assert price(compiled, authored_strategy(again, compiled)) == pytest.approx(price(model, strategy), abs=1e-9)


@pytest.mark.parametrize("name", SHORT)
def test_the_computed_order_as_text_names_every_step_it_begins_with(name: str) -> None:
    original = tree(name)
    strategy = computed_strategy(compile_tree(original), advised=0.1, least_mass=0.05)
    lines = strategy_text(original, strategy).splitlines()
    assert lines[0] == str(original.title)
    first = ask_for(original, strategy.step)
    assert first is not None
    step = next(line for line in lines[1:] if line.startswith("- "))
    assert step.startswith(f"- {first.do}")


@pytest.mark.parametrize("name", NAMES)
def test_a_pinned_order_says_why(name: str) -> None:
    pinned = [n for n in tree(name).nodes() if getattr(n, "pin", False)]
    assert [str(getattr(n, "id", "")) for n in pinned if not getattr(n, "why", "")] == []


@pytest.mark.parametrize("help_takes", [30.0, 300.0, 480.0, 7_200.0])
@pytest.mark.parametrize(
    ("name", "seen", "cause"),
    [
        pytest.param("hum", ("tingle", "yes or perhaps"), "shock-hazard", id="a tingle"),
        pytest.param("no-power", ("danger-first", "one of these"), "dangerous", id="smoke, sparks, heat or water"),
    ],
)
def test_after_a_danger_no_price_of_help_makes_another_step_worth_while(
    name: str, seen: tuple[str, str], cause: str, help_takes: float
) -> None:
    made, cure = tree(name), f"cure:{cause}"
    adviser = Adviser(replace(made, help=replace(made.help, takes=help_takes)))
    for more in ([], [(cure, "no change")], [(cure, "can't now")]):
        assert adviser.advise([seen, *more]).step in (cure, "help")
        assert adviser.in_time([seen, *more], 60.0) is None
    likeliest = adviser.likely([seen])[0]
    assert likeliest.cause == cause and likeliest.chance > 0.9


def test_after_a_tingle_nothing_but_stopping_and_help_is_advised() -> None:
    """Whatever the log has taught: current through a person is not weighed against a quick try."""
    hum = tree("hum")
    walks = [PastWalk((("tingle", "yes or perhaps"), (id_, "restored")), cause=cause, by=id_) for id_, cause in FIXES]
    adviser = Adviser(hum, learned=learn(hum, walks * 10))
    answers: list[tuple[str, str]] = [("tingle", "yes or perhaps")]
    while (step := adviser.advise(answers).step) != "help":
        assert step == "cure:shock-hazard"
        answers.append((step, "no change"))

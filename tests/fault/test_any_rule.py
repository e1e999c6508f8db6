"""What holds of any rule and any way to solve: also where checks stand in groups, two are left, or no cause is."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from showday.fault.canonical import canonical
from showday.fault.choose import Chooser
from showday.fault.deadline import deadline
from showday.fault.diagnosis import (
    FAILED,
    HELP,
    Action,
    Belief,
    Contradiction,
    Model,
    Question,
    Strategy,
    after_answer,
    after_failure,
    available,
    begin,
    lower_bound,
    price,
)
from showday.fault.exact import Exact
from showday.fault.lattice import solve_lattice
from showday.fault.look import Look
from showday.fault.sequence import Ranker
from showday.fault.strategy import computed_strategy
from tests.fault.enumerator import Enumerator
from tests.fault.models import identity, made, sure, waiting
from tests.fault.test_choose import Choose, advice, two_step


def odd(seed: int, causes: int, fixes: int, checks: int) -> Model:
    """Like `made`, with checks and fixes in one or two groups and some that take no time; help is often worth calling."""
    draw = random.Random(seed)
    model = made(seed, causes, fixes, checks, noisy=seed % 2 == 0, help_seconds=draw.choice([5, 40, 90, 400]))
    if seed % 5 == 0:
        model = sure(seed, causes, fixes, checks)
    if seed % 3 == 0:
        model = waiting(model, seed)
    groups = tuple(float(draw.choice([0, 15, 45, 90])) for _ in range(draw.choice([1, 2])))

    def anywhere() -> int:
        return draw.randrange(-1, len(groups))

    def lasting(seconds: float) -> float:
        return draw.choice([seconds, seconds, 0.0])

    actions = [replace(a, group=anywhere(), seconds=lasting(a.seconds)) for a in model.actions]
    questions = [replace(q, group=anywhere(), seconds=lasting(q.seconds)) for q in model.questions]
    return replace(model, groups=groups, actions=tuple(actions), questions=tuple(questions))


def following(model: Model, rule: Choose, belief: Belief) -> Strategy:
    """The strategy of doing what a rule says until it calls for help or no cause is left."""
    step = rule(belief) if belief.mass > 0 else ""
    if not step:
        return HELP
    index, asks = model.index(step), len(model.questions)
    if index >= asks:
        return Strategy(step, ((FAILED, following(model, rule, after_failure(model, belief, index - asks))),))
    answers = enumerate(model.questions[index].answers)
    then = [(label, following(model, rule, after_answer(model, belief, index, code))) for code, label in answers]
    return Strategy(step, tuple(then))


def test_two_checks_in_groups_by_all_trees() -> None:
    """Only yes-or-no checks: two of them with two fixes already make thousands of trees."""
    models = [odd(seed, 3, 2, 2) for seed in range(80)]
    models = [m for m in models if all(len(q.answers) == 2 for q in m.questions)]
    assert len(models) >= 20
    for model in models[:24]:
        assert Exact(model).solve().seconds == pytest.approx(float(Enumerator(model).least()), abs=1e-9)


@pytest.mark.parametrize("seed", range(40))
def test_every_way_to_solve_gives_the_same_price_and_every_rule_stands_between_it_and_help(seed: int) -> None:
    model = odd(seed, 4, 4, 2)
    exact = Exact(model, 100_000)
    best = exact.solve().seconds
    assert solve_lattice(model).seconds == pytest.approx(best, abs=1e-7)
    assert price(model, exact.strategy()) == pytest.approx(best, abs=1e-7)
    assert Exact(canonical(model), 100_000).solve().seconds == pytest.approx(best, abs=1e-7)
    assert lower_bound(model) <= best + 1e-9
    ahead = advice(Chooser(model, exact=False))
    for rule in (advice(Chooser(model)), ahead, two_step(model)):
        followed = price(model, following(model, rule, begin(model)))
        assert best - 1e-7 <= followed <= model.help_seconds + 1e-7


@pytest.mark.parametrize("seed", range(0, 40, 5))
def test_what_is_called_exact_is(seed: int) -> None:
    """Each price of an exact suggestion is that of its step first and the best of all strategies behind it."""
    model = odd(seed, 4, 4, 2)
    found, exact, start = Chooser(model).suggest(begin(model)), Exact(model, 100_000), begin(model)
    assert found.exact
    assert found.seconds == pytest.approx(exact.solve().seconds, abs=1e-7)
    for step, seconds in found.others:
        expected = exact.step_value(start, model.index(step)) if step else model.help_seconds
        assert seconds == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize("seed", range(40))
def test_looking_at_everything_to_the_end_is_exact(seed: int) -> None:
    """With all fixes and questions followed for as many steps as there are, each price is that of the optimum."""
    model = odd(seed, 4, 3, 2)
    start, exact = begin(model), Exact(model, 100_000)
    look = Look(model, Ranker(model))
    priced = look.options(look.begin(start), ((model.steps, model.steps),) * model.steps)
    assert min(model.help_seconds, *(seconds for seconds, _ in priced)) == pytest.approx(exact.solve().seconds)
    free = available(model, start)
    for seconds, step in priced:
        if step in free:
            assert seconds == pytest.approx(exact.step_value(start, step), abs=1e-7)


def contradicted() -> tuple[Model, Belief]:
    """Two checks without error, answered so that no cause is left."""
    rows = ((1.0, 0.0), (0.0, 1.0))
    questions = tuple(Question(name, 5, ("a", "b"), rows) for name in ("one", "other"))
    actions = tuple(Action(f"fix {n}", 10, row) for n, row in zip("ab", identity(2), strict=True))
    spare = Action("spare", 10, (0.5, 0.5))
    model = Model(("a", "b"), (0.5, 0.5), (*questions, replace(questions[0], id="third")), (*actions, spare))
    return model, after_answer(model, after_answer(model, begin(model), 0, 0), 1, 1)


SOLVERS: dict[str, Callable[[Model, Belief], object]] = {
    "exact": lambda model, belief: Exact(model).solve(belief),
    "exact, a step first": lambda model, belief: Exact(model).step_value(belief, 2),
    "lattice": lambda model, belief: solve_lattice(model, belief),
    "advice": lambda model, belief: Chooser(model).suggest(belief),
    "advice, only looking ahead": lambda model, belief: Chooser(model, exact=False).suggest(belief),
    "strategy": lambda model, belief: computed_strategy(model, belief),
    "bound": lambda model, belief: lower_bound(model, belief),
    "time that is short": lambda model, belief: deadline(model, belief, 30),
}


@pytest.mark.parametrize("solver", SOLVERS)
def test_answers_that_exclude_every_cause_contradict_whoever_is_asked(solver: str) -> None:
    model, belief = contradicted()
    with pytest.raises(Contradiction, match="contradict"):
        SOLVERS[solver](model, belief)


@pytest.mark.reference
def test_a_failed_fix_by_an_independent_library() -> None:
    """Derived: two answers and a reseat that works four times of five and failed leave .504, .096, .400."""
    gum = pytest.importorskip("pyagrum")
    net = gum.fastBN("Q1{no|yes}<-C{cable|antenna|interference}->Q2{no|yes};C->R{failed|worked}")
    net.cpt("C").fillWith([0.5, 0.3, 0.2])
    net.cpt("Q1")[:] = [[0.1, 0.9], [0.8, 0.2], [0.5, 0.5]]
    net.cpt("Q2")[:] = [[0.7, 0.3], [0.2, 0.8], [0.5, 0.5]]
    net.cpt("R")[:] = [[0.2, 0.8], [1.0, 0.0], [1.0, 0.0]]
    inference = gum.LazyPropagation(net)
    inference.setEvidence({"Q1": "yes", "Q2": "no", "R": "failed"})
    inference.makeInference()
    assert inference.posterior("C").tolist() == pytest.approx([63 / 125, 12 / 125, 2 / 5])

"""Three ways to the optimum agree: the memo, sets of surviving causes, and the whole lattice by arrays."""

from __future__ import annotations

from dataclasses import replace

import pytest

from showday.fault.diagnosis import (
    Action,
    Belief,
    Contradiction,
    Model,
    after_answer,
    after_failure,
    begin,
    lower_bound,
)
from showday.fault.exact import Exact, TooLarge
from showday.fault.lattice import lattice_states, solve_lattice
from showday.fault.survivors import Survivors, fits
from tests.fault.models import identity, made, sure, waiting


@pytest.mark.parametrize("seed", range(15))
def test_the_lattice_and_the_memo_agree(seed: int) -> None:
    for model in (made(seed, 4, 4, 2, noisy=seed % 3 > 0), waiting(made(seed, 4, 4, 2, noisy=True), seed)):
        by_memo, by_arrays = Exact(model, 100_000).solve(), solve_lattice(model)
        assert by_arrays.seconds == pytest.approx(by_memo.seconds, rel=1e-9)
        assert by_arrays.step == by_memo.step
        assert by_arrays.states == lattice_states(model)


@pytest.mark.parametrize("seed", range(5))
def test_the_lattice_and_the_memo_agree_on_the_way(seed: int) -> None:
    model = waiting(made(seed, 4, 4, 2, noisy=True), seed)
    on_the_way = after_failure(model, after_answer(model, begin(model), 0, 1), 1)
    assert solve_lattice(model, on_the_way).seconds == pytest.approx(Exact(model, 100_000).solve(on_the_way).seconds)
    assert lattice_states(model, on_the_way) < lattice_states(model)


@pytest.mark.parametrize("seed", range(15))
def test_surviving_causes_and_the_lattice_agree_on_every_first_step(seed: int) -> None:
    model = sure(seed, 5, 5, 3)
    start = begin(model)
    assert fits(model, start)
    priced = Survivors(model, start, 10_000).first_steps()
    assert min(model.help_seconds, *(p for p, _ in priced)) == pytest.approx(solve_lattice(model).seconds)
    exact = Exact(model, 100_000)
    for seconds, step in priced:
        assert seconds == pytest.approx(exact.step_value(start, step)), model.step_id(step)


def test_surviving_causes_go_on_from_any_state() -> None:
    model = sure(3, 6, 6, 3)
    on_the_way = after_failure(model, after_answer(model, begin(model), 0, 0), 2)
    assert fits(model, on_the_way)
    prices = [p for p, _ in Survivors(model, on_the_way, 10_000).first_steps()]
    least = min(model.help_seconds, *(p / on_the_way.mass for p in prices))
    assert least == pytest.approx(solve_lattice(model, on_the_way).seconds)


def test_doubt_and_waiting_do_not_fit_sets_of_surviving_causes() -> None:
    assert not fits(made(1, 4, 4, 2, noisy=True), begin(made(1, 4, 4, 2, noisy=True)))
    model = sure(3, 4, 4, 2)
    later = replace(model, actions=(*model.actions[:-1], replace(model.actions[-1], after=1)))
    assert not fits(later, begin(later))
    assert fits(later, after_answer(later, begin(later), 0, 0))


def test_what_is_too_large_is_refused_before_it_is_begun() -> None:
    model = made(1, 8, 8, 4, noisy=True)
    with pytest.raises(TooLarge, match="states"):
        solve_lattice(model, most_states=1000)
    with pytest.raises(TooLarge, match="states"):
        Exact(model, most_states=100).solve()
    with pytest.raises(TooLarge, match="states"):
        Survivors(sure(1, 10, 10, 6), begin(sure(1, 10, 10, 6)), 5).first_steps()


def test_no_possible_cause_is_a_contradiction() -> None:
    model = Model(("a", "b"), (0.5, 0.5), (), tuple(Action(n, 1, r) for n, r in zip("ab", identity(2), strict=True)))
    with pytest.raises(Contradiction, match="contradict"):
        solve_lattice(model, Belief((0.0, 0.0)))


@pytest.mark.slow
def test_millions_of_states_lie_between_bound_and_help() -> None:
    """12 causes, 12 fixes, 6 noisy yes-or-no checks and more."""
    model = made(0, 12, 12, 6, noisy=True)
    found = solve_lattice(model)
    assert found.states > 2_900_000
    assert lower_bound(model) <= found.seconds <= model.help_seconds

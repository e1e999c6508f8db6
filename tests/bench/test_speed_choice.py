"""The next best step beside the plain two-step rule, and the whole lattice by arrays beside the memo in pure Python."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from showday.fault.choose import Chooser
from showday.fault.diagnosis import begin
from showday.fault.exact import Exact
from showday.fault.lattice import lattice_states, solve_lattice
from tests.bench.conftest import Compare, Pair
from tests.fault.models import made, sure
from tests.fault.test_choose import two_step


def timed(act: Callable[[], object]) -> float:
    """Seconds an act takes."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


MODELS = {
    "noisy": made(7, 12, 12, 8, noisy=True),
    "error-free": made(7, 12, 12, 8, noisy=False),
    "error-free, sure": sure(7, 12, 12, 8),
}


@pytest.mark.parametrize("kind", MODELS)
def test_next_step_at_12_causes_12_fixes_8_checks(compare: Compare, kind: str) -> None:
    """Aimed at: under 50 ms, with error-free checks under 10 ms; the ratio says how much more than the plain rule."""
    model = MODELS[kind]
    found = Chooser(model).suggest(begin(model))
    assert found.seconds <= model.help_seconds
    assert found.exact == ("sure" in kind)
    rule, chooser = two_step(model), Chooser(model)
    start = begin(model)
    what = f"next step {kind}, beside the two-step rule"
    compare(Pair(what, 40, lambda: timed(lambda: chooser.suggest(start)), lambda: timed(lambda: rule(start))), 12)


def test_a_state_of_a_large_lattice(compare: Compare) -> None:
    """Noisy 12/12/6 by arrays beside 6/6/3 by the memo, which would take minutes for 12/12/6: seconds for one state."""
    large, small = made(0, 12, 12, 6, noisy=True), made(3, 6, 6, 3, noisy=True)
    states, few = lattice_states(large), Exact(small, 200_000).solve().states
    pair = Pair(
        "a state, noisy 12/12/6 arrays, memo",
        0.05,
        lambda: timed(lambda: solve_lattice(large)) / states,
        lambda: timed(lambda: Exact(small, 200_000).solve()) / few,
    )
    compare(pair, 3)


def test_the_lattice_by_arrays(compare: Compare) -> None:
    """12/12/6 takes the memo minutes, so the two are compared at 6/6/3, where both give the same price."""
    model = made(3, 6, 6, 3, noisy=True)
    assert solve_lattice(model).seconds == pytest.approx(Exact(model, 200_000).solve().seconds)
    pair = Pair(
        "exact noisy 6/6/3, arrays beside the memo",
        0.5,
        lambda: timed(lambda: solve_lattice(model)),
        lambda: timed(lambda: Exact(model, 200_000).solve()),
    )
    compare(pair, 3)

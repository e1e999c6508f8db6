"""The exact solver against every strategy tree in every world, in exact fractions."""

from __future__ import annotations

import pytest

from showday.fault.exact import Exact
from tests.fault.enumerator import Enumerator
from tests.fault.models import made, waiting

SHAPES = [(2, 2, 1), (3, 3, 0), (3, 2, 1), (2, 3, 1), (3, 3, 1)]


@pytest.mark.parametrize("noisy", [True, False], ids=["noisy", "error-free"])
@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: "-".join(map(str, s)))
def test_the_optimum_is_the_least_of_all_trees(shape: tuple[int, int, int], noisy: bool) -> None:
    """20 models a row, 200 in all; help at 90 s, so that calling it early is often right."""
    for seed in range(20):
        model = made(seed, *shape, noisy=noisy, help_seconds=90 if seed % 2 else 400)
        assert Exact(model).solve().seconds == pytest.approx(float(Enumerator(model).least()), abs=1e-9), seed


@pytest.mark.parametrize("shape", [(3, 2, 1), (3, 3, 1)], ids=lambda s: "-".join(map(str, s)))
def test_also_where_steps_look_first_and_must_wait(shape: tuple[int, int, int]) -> None:
    for seed in range(10):
        model = waiting(made(seed, *shape, noisy=seed % 3 > 0, help_seconds=90 if seed % 2 else 400), seed)
        assert Exact(model).solve().seconds == pytest.approx(float(Enumerator(model).least()), abs=1e-9), seed

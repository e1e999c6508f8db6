"""The least room that so many carriers need: the tables found anew, and the bound that follows from them."""

from __future__ import annotations

import pytest

from showday.radio.model import Widths
from showday.radio.plan_spans import RULERS, THIRD, THIRD_FIFTH, THIRD_FIFTH_SEVENTH, largest_clearance, least_span
from showday.radio.plan_ways import equations_of
from showday.radio.products import KINDS, kinds_of
from tests.radio.least_spans import peer_finds_no_shorter, planner_finds_no_shorter, smallest

A003022 = (1, 3, 6, 11, 17, 25, 34, 44, 55, 72, 85)
"""Lengths of the shortest Golomb rulers of 2, 3 … marks (oeis.org/A003022)."""
TABLES = {(3,): THIRD, (3, 5): THIRD_FIFTH, (3, 5, 7): THIRD_FIFTH_SEVENTH}
SHORT = [(orders, count) for orders in TABLES for count in range(3, 7)] + [((3,), 7)]
SLOW = [((3,), 8), ((3,), 9), ((3, 5), 7), ((3, 5), 8), ((3, 5, 7), 7)]


def test_for_third_order_the_least_spans_are_those_of_golomb_rulers() -> None:
    assert THIRD[2:] == A003022[: len(THIRD) - 2]


@pytest.mark.parametrize("orders", [(3,), (3, 5)], ids=str)
def test_a_row_of_each_span_is_known(orders: tuple[int, ...]) -> None:
    table = TABLES[orders]
    for row in RULERS[table]:
        assert smallest(row, orders) == 1
    assert [row[-1] for row in RULERS[table]][: len(table) - 3] == list(table[3:])


@pytest.mark.parametrize(("orders", "count"), [each for each in SHORT if each[1] < 5], ids=str)
def test_no_row_is_shorter_by_another_library_s_linear_programs(orders: tuple[int, ...], count: int) -> None:
    span = TABLES[orders][count]
    assert peer_finds_no_shorter(count, span, orders)
    assert not peer_finds_no_shorter(count, span + 1, orders)


@pytest.mark.slow
@pytest.mark.parametrize("orders", TABLES, ids=str)
def test_no_row_of_five_is_shorter_by_another_library_s_linear_programs(orders: tuple[int, ...]) -> None:
    assert peer_finds_no_shorter(5, TABLES[orders][5], orders)


@pytest.mark.parametrize(("orders", "count"), SHORT, ids=str)
def test_no_row_is_shorter_by_the_planner_s_linear_programs(orders: tuple[int, ...], count: int) -> None:
    span = TABLES[orders][count]
    assert planner_finds_no_shorter(count, span, orders)
    assert not planner_finds_no_shorter(count, span + 1, orders)


@pytest.mark.slow
@pytest.mark.parametrize(("orders", "count"), SLOW, ids=str)
def test_no_longer_row_is_shorter_by_the_planner_s_linear_programs(orders: tuple[int, ...], count: int) -> None:
    assert planner_finds_no_shorter(count, TABLES[orders][count], orders)


def test_the_bound_of_six_in_one_television_channel() -> None:
    """8 MHz are 320 steps of 25 kHz; six carriers clear by t steps take 29 t, and 12 · 29 is 348."""
    equations = equations_of(kinds_of((3, 5)), Widths(), 25_000)
    assert least_span(equations, 6, 11) == 319
    assert largest_clearance(equations, 6, 320) == 11


def test_widths_are_added_to_the_clearance_and_the_smallest_of_them_counts() -> None:
    """Third order alone, 4 carriers: 6 (2 + t) with widths of 2; a spacing of 1 lets neighbours come nearer."""
    third = kinds_of((3,))
    assert least_span(equations_of(third, Widths(2, 2), 1), 4, 3) == 6 * (2 + 3)
    assert least_span(equations_of(third, Widths(1, 2), 1), 4, 3) == 6 * (1 + 3)
    assert largest_clearance(equations_of(third, Widths(2, 2), 1), 4, 10) < 0


def test_without_three_signals_only_the_neighbours_count() -> None:
    assert least_span(equations_of(KINDS[:1], Widths(5), 1), 4, 3) == 3 * (5 + 3)

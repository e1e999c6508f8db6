"""How much room so many carriers need at least, whatever their raster: a bound that no search is needed for.

Let every residue among n carriers be 1 or more. The least span of such a row is a number of its own, for each set of
orders. Carriers with clearance t over equal widths w then need at least that many times (t + w).

For the third order alone residues are differences of differences, and on whole numbers the least spans are the lengths
of the shortest Golomb rulers (OEIS A003022). Off the whole numbers they could be smaller; that they are not, and the
numbers for more orders, were found by branching on the signs of the residues with a linear program at each branch. The
tests do it again: for up to five carriers with another library's linear programs, for seven with those of the planner,
for eight and nine where that takes seconds. The last numbers of each table take that search from minutes to an hour.
"""

from __future__ import annotations

from collections.abc import Sequence

from showday.radio.plan_ways import Equation

THIRD = (0, 0, 1, 3, 6, 11, 17, 25, 34, 44, 55, 72)
THIRD_FIFTH = (0, 0, 1, 4, 11, 19, 29, 42, 58, 84)
THIRD_FIFTH_SEVENTH = (0, 0, 1, 5, 11, 19, 31, 46, 66)
"""The least span of n carriers is at index n; without 3A-2B … of the orders that are not named."""

RULERS = {
    THIRD: (
        (0, 1, 3),
        (0, 1, 4, 6),
        (0, 1, 4, 9, 11),
        (0, 1, 4, 10, 12, 17),
        (0, 1, 4, 10, 18, 23, 25),
        (0, 1, 4, 9, 15, 22, 32, 34),
        (0, 1, 5, 12, 25, 27, 35, 41, 44),
        (0, 1, 6, 10, 23, 26, 34, 41, 53, 55),
        (0, 1, 4, 13, 28, 33, 47, 54, 64, 70, 72),
        (0, 2, 6, 24, 29, 40, 43, 55, 68, 75, 76, 85),
    ),
    THIRD_FIFTH: (
        (0, 1, 4),
        (0, 1, 8, 11),
        (0, 1, 5, 16, 19),
        (0, 3, 4, 15, 20, 29),
        (0, 1, 5, 20, 29, 36, 42),
        (0, 1, 7, 25, 38, 42, 53, 58),
        (0, 1, 4, 19, 26, 47, 67, 79, 84),
        (0, 1, 5, 17, 42, 61, 81, 96, 107, 110),
    ),
}
"""A row of each least span: good places to begin from. The Golomb rulers are those of A003022."""


_SIGNALS = (
    (THIRD, {(2, -1, -1), (1, 1, -1, -1)}),
    (THIRD_FIFTH, {(3, -2, -1), (2, 1, -2, -1), (3, -1, -1, -1)}),
    (THIRD_FIFTH_SEVENTH, {(4, -3, -1)}),
)
"""Each table with the equations that it takes in beside those of the tables before it."""


def is_known(equations: Sequence[Equation], count: int) -> bool:
    """Whether a table has the least span of so many carriers under these equations, their widths being equal."""
    left = {equation.coefficients for equation in equations} - {(1, -1)}
    for table, signals in _SIGNALS:
        if not signals <= left:
            return False
        left -= signals
        if not left:
            return count < len(table) and len({equation.asked for equation in equations}) == 1
    return False


def least_span(equations: Sequence[Equation], count: int, clearance: int) -> int:
    """At least this many units lie between the lowest and the highest of so many carriers with this clearance."""
    asked: dict[int, int] = {}
    for equation in equations:
        order = sum(map(abs, equation.coefficients)) - 1
        asked[order] = min(asked.get(order, equation.asked), equation.asked)
    signals = {equation.coefficients for equation in equations}
    span = (count - 1) * (asked[1] + clearance)
    if not {(2, -1, -1), (1, 1, -1, -1)} <= signals:
        return span
    third = min(asked[1], asked[3]) + clearance
    span = max(span, _entry(THIRD, count) * third)
    if {(3, -2, -1), (2, 1, -2, -1), (3, -1, -1, -1)} <= signals:
        fifth = min(third, asked[5] + clearance)
        span = max(span, _entry(THIRD_FIFTH, count) * fifth)
        if (4, -3, -1) in signals:
            span = max(span, _entry(THIRD_FIFTH_SEVENTH, count) * min(fifth, asked[7] + clearance))
    return span


def _entry(table: Sequence[int], count: int) -> int:
    """The table's number; beyond its end, that all differences of a row are 1 or more apart, or what fewer need."""
    if count < len(table):
        return table[count]
    return max(count * (count - 1) // 2, table[-1] + count - len(table) + 1)


def largest_clearance(equations: Sequence[Equation], count: int, span: int) -> int:
    """No so many carriers within this span have a larger clearance; can be below 0."""
    low = -max(equation.asked for equation in equations) - 1
    high = span + 1
    while high - low > 1:
        middle = (low + high) // 2
        if least_span(equations, count, middle) <= span:
            low = middle
        else:
            high = middle
    return low

"""That no shorter row of carriers keeps every residue at 1 or more, on whole numbers or between them: done from nothing.

For a rising row each residue is an either-or: at least t, or at most -t. What t can be at most in a given span is a
linear program as long as the either-ors that hold by themselves are taken for decided; one that is broken at the
optimum is decided both ways. When every branch ends at t = 1 or below, no row of this span does better.

`python -m tests.radio.least_spans 9 84 3 5` asks whether nine carriers need 84 for third and fifth order; the last
numbers of the tables take an hour or more, and no test waits for them.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from itertools import pairwise, permutations

import numpy as np
from scipy.optimize import linprog

from showday.radio.plan_branch import dearest
from showday.radio.plan_forms import Floats
from showday.radio.plan_simplex import Table, first_program, joined, settle, spacing_rows
from showday.radio.products import KINDS

ABOVE = 1e-6
"""A clearance larger than 1 by less than this is taken for 1."""
BATCH = 384


def residues(orders: Sequence[int], count: int) -> Floats:
    """Every residue once, as coefficients [J, count]: a product less the carrier it falls on, up to sign."""
    found = set()
    for kind in KINDS:
        if kind.order in orders:
            for chosen in permutations(range(count), kind.signals + 1):
                row = dict(zip(chosen, (*kind.coefficients, -1), strict=True))
                sign = 1 if row[min(row)] > 0 else -1
                found.add(tuple(sign * row.get(one, 0) for one in range(count)))
    return np.array(sorted(found), dtype=np.float64).reshape(-1, count)


def unsettled(rows: Floats) -> Floats:
    """Those that a rising row does not settle: a sum of gaps, all counted with the same sign, is never below t."""
    gaps = np.cumsum(rows, axis=1)[:, :-1]
    return rows[(gaps > 0).any(axis=1) & (gaps < 0).any(axis=1)]


def smallest(row: Sequence[int], orders: Sequence[int]) -> int:
    """The smallest residue of a row of whole numbers, neighbours included."""
    gaps = [two - one for one, two in pairwise(row)]
    return min([*gaps, *(int(value) for value in np.abs(residues(orders, len(row)) @ np.array(row)))])


def peer_finds_no_shorter(count: int, span: int, orders: Sequence[int]) -> bool:
    """Whether every branch ends at 1 or below, by another library's linear programs (variables x_1 … x_n and t)."""
    rows = residues(orders, count)
    rising = -spacing_rows(count, 0.0)[:, :-1]
    bounds = [*[(0.0, float(span))] * count, (None, None)]
    aim = np.zeros(count + 1)
    aim[-1] = -1
    stack: list[list[Floats]] = [[]]
    while stack:
        decided = stack.pop()
        upper = np.concatenate([rising, *(row[None] for row in decided)])
        solved = linprog(aim, A_ub=upper, b_ub=np.zeros(len(upper)), bounds=bounds, method="highs")
        if solved.status == 2:
            continue
        assert solved.x is not None, solved.message
        if solved.x[-1] <= 1 + ABOVE:
            continue
        broken = solved.x[-1] - np.abs(rows @ solved.x[:-1])
        worst = int(broken.argmax())
        if broken[worst] <= ABOVE / 10:
            return False
        stack += [[*decided, np.append(sign * rows[worst], 1.0)] for sign in (-1.0, 1.0)]
    return True


def planner_finds_no_shorter(count: int, span: int, orders: Sequence[int]) -> bool:
    """The same by the linear programs of the planner, and its choice of what is decided first.

    Of a row and its mirror image only the one is looked at whose first gap is not the larger one.
    """
    factors = unsettled(residues(orders, count))
    rows = np.zeros((1 + 2 * len(factors), count + 2))
    rows[0, -1] = 1
    rows[1::2, :count], rows[2::2, :count], rows[1:, -2] = factors, -factors, -1
    mirror = np.zeros((1, count + 2))
    mirror[0, [0, 1]] += 1, -1
    mirror[0, [count - 2, count - 1]] += -1, 1
    table = Table(rows, np.concatenate([spacing_rows(count, 0.0), mirror]), 1e-9)
    norm = np.sqrt((factors**2).sum(axis=1))
    root = first_program(np.zeros(count), np.full(count, float(span)), 0.0, 0)
    stack = [root.pick(settle(root, table, 1 + ABOVE))]
    while stack:
        batch = stack.pop()
        while len(batch) < BATCH and stack:
            batch = joined([batch, stack.pop()])
        stack += [batch.pick(slice(BATCH, None))] if len(batch) > BATCH else []
        batch = batch.pick(slice(0, BATCH))
        broken = (batch.best[:, None] - np.abs(batch.places @ factors.T)) / norm
        if len(batch) and (broken.max(axis=1) <= ABOVE / 10).any():
            return False
        if not len(batch):
            continue
        form, _ = dearest(batch, broken, batch.places, batch.places, np.zeros_like(batch.low), table, 1)
        both = joined([batch, batch])
        sides = np.concatenate([1 + 2 * form, 2 + 2 * form]).astype(np.int32)
        both.rows = np.concatenate([both.rows, sides[:, None]], axis=1)
        stack.append(both.pick(settle(both, table, 1 + ABOVE)))
    return True


if __name__ == "__main__":
    carriers, needed, *named = map(int, sys.argv[1:])
    print(planner_finds_no_shorter(carriers, needed, named))

"""Many small linear programs at once: the dual simplex method on arrays (Lemke 1954).

Each program maximises the clearance t of a rising row of carriers x under linear rows a x + b t + c >= 0. Its state is
the dictionary of its free variables only: x_1 … x_n and t as linear functions of the m = n + 1 rows that are tight
[n + 1, m + 1], the constant last; their values at the optimum are that last column. What the other rows say is worked
out from these, so that a program stays small however many rows it has collected.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from showday.radio.plan_forms import Floats

Indices = npt.NDArray[np.int32]


@dataclass(slots=True)
class Programs:
    """B programs of one kind."""

    tight: Floats
    """[B, n + 1, n + 2]: x_1 … x_n and t by the tight rows; the last column holds their values."""
    low: Floats
    high: Floats
    """[B, n]: where each carrier may stand."""
    rows: Indices
    """[B, D]: which rows of the table each program has collected; the table's first row always holds."""
    label: Indices
    """[B]: which sequence of transmitters the program belongs to."""

    def __len__(self) -> int:
        return len(self.tight)

    @property
    def places(self) -> Floats:
        """[B, n]: x at the optimum."""
        return self.tight[:, :-1, -1]

    @property
    def best(self) -> Floats:
        """[B]: t at the optimum."""
        return self.tight[:, -1, -1]

    def pick(self, which: npt.NDArray[np.intp] | npt.NDArray[np.bool_] | slice) -> Programs:
        """Some of them."""
        return Programs(self.tight[which], self.low[which], self.high[which], self.rows[which], self.label[which])


def joined(parts: list[Programs]) -> Programs:
    """Several batches as one; shorter collections of rows are filled up with the row that always holds."""
    deep = max(part.rows.shape[1] for part in parts)
    rows = [np.pad(part.rows, ((0, 0), (0, deep - part.rows.shape[1]))) for part in parts]
    return Programs(
        np.concatenate([part.tight for part in parts]),
        np.concatenate([part.low for part in parts]),
        np.concatenate([part.high for part in parts]),
        np.concatenate(rows),
        np.concatenate([part.label for part in parts]),
    )


@dataclass(frozen=True, slots=True)
class Table:
    """Rows that programs may collect [R, n + 2] (x, t, constant), and those that always count [A, n + 2]."""

    rows: Floats
    always: Floats
    tolerance: float


def first_program(low: Floats, high: Floats, spacing: float, label: int) -> Programs:
    """One program with nothing but a rising row: its spacings, the lowest and the highest place are tight."""
    count = len(low)
    tight = np.zeros((count + 1, count + 2))
    span = high[-1] - low[0]
    clearance = np.concatenate([np.full(count + 1, -1.0), [span - (count - 1) * spacing]]) / (count - 1)
    place = np.zeros(count + 2)
    place[-1] = low[0]
    for carrier in range(count):
        place = place.copy()
        place[carrier] += 1
        if carrier:
            place += clearance
            place[-1] += spacing
        tight[carrier] = place
    tight[count] = clearance
    rows = np.zeros((1, 1), dtype=np.int32)
    return Programs(tight[None], low[None].copy(), high[None].copy(), rows, np.array([label], dtype=np.int32))


def spacing_rows(count: int, spacing: float) -> Floats:
    """x_{i+1} - x_i - t - spacing >= 0."""
    rows = np.zeros((count - 1, count + 2))
    for carrier in range(count - 1):
        rows[carrier, [carrier, carrier + 1]] = -1, 1
    rows[:, -2], rows[:, -1] = -1, -spacing
    return rows


def settle(programs: Programs, table: Table, least: float) -> npt.NDArray[np.bool_]:
    """Bring every program to its optimum, in place; False for those that have none of at least `least`."""
    alive = np.ones(len(programs), dtype=bool)
    active = np.arange(len(programs))
    work = programs.pick(slice(None))
    while len(active):
        keep, chosen, value = _worst_rows(work, table, least)
        failed = work.best < least
        alive[active[failed]] = False
        programs.tight[active[~keep]] = work.tight[~keep]
        active, work, chosen, value = active[keep], work.pick(keep), chosen[keep], value[keep]
        if not len(active):
            break
        solvable = _pivot(work.tight, chosen, value, table.tolerance)
        alive[active[~solvable]] = False
        active, work = active[solvable], work.pick(solvable)
    return alive


def _worst_rows(work: Programs, table: Table, least: float) -> tuple[npt.NDArray[np.bool_], Floats, Floats]:
    """For each program: whether it has to go on; the row it breaks most, without constant; and by how much."""
    count = work.low.shape[1]
    batch = np.arange(len(work))
    point = np.concatenate([work.tight[:, :, -1], np.ones((len(work), 1))], axis=1)
    collected = table.rows[work.rows]
    values = np.concatenate(
        [
            np.matmul(collected, point[:, :, None])[:, :, 0],
            point @ table.always.T,
            work.places - work.low,
            work.high - work.places,
        ],
        axis=1,
    )
    worst = values.argmin(axis=1)
    value = values[batch, worst]
    deep, fixed = work.rows.shape[1], len(table.always)
    chosen = np.zeros((len(work), count + 1))
    for start, end, source in ((0, deep, collected), (deep, deep + fixed, None)):
        here = np.flatnonzero((worst >= start) & (worst < end))
        index = worst[here] - start
        chosen[here] = (table.always[index] if source is None else source[here, index])[:, :-1]
    side = worst - deep - fixed
    here = np.flatnonzero(side >= 0)
    chosen[here, side[here] % count] = np.where(side[here] < count, 1.0, -1.0)
    return (value < -table.tolerance) & (work.best >= least), chosen, value


def _pivot(tight: Floats, chosen: Floats, value: Floats, tolerance: float) -> npt.NDArray[np.bool_]:
    """Make the chosen row tight in each program, in place; False where no row can give way."""
    batch = np.arange(len(tight))
    row = np.matmul(chosen[:, None, :], tight)[:, 0]
    row[:, -1] = value
    gain = row[:, :-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        price = np.where(gain > 1e-9, -tight[:, -1, :-1] / gain, np.inf)
    leaves = price.argmin(axis=1)
    solvable: npt.NDArray[np.bool_] = np.isfinite(price[batch, leaves])
    pivot = np.where(solvable, row[batch, leaves], 1.0)
    entering = -row / pivot[:, None]
    entering[batch, leaves] = 1 / pivot
    column = tight[batch, :, leaves]
    tight[batch, :, leaves] = 0
    tight += column[:, :, None] * entering[:, None, :]
    return solvable

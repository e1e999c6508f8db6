"""The planning problem told to another solver, constraint by constraint."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from ortools.sat.python import cp_model

from showday.radio.model import Band, Tuner
from showday.radio.plan_ask import Ask
from showday.radio.products import Kind
from showday.radio.verify import verify
from tests.radio.chance_asks import UNIT

FAR = 10**7
"""Units that no clearance reaches."""


def slots_of(ask: Ask, tuner: Tuner | None = None) -> list[int]:
    """Where one carrier may stand, in Hz."""
    step = ask.step if tuner is None else tuner.step
    found = {
        at
        for band in ask.ranges or (() if tuner is None else (Band(tuner.low, tuner.high),))
        for at in range(band.low if tuner is None else tuner.low, band.high + 1, step)
        if band.holds(at) and (tuner is None or tuner.reaches(at))
    }
    return sorted(found - {*ask.foreign, *ask.found, *ask.held})


def seats_of(ask: Ask) -> list[list[int]]:
    """Where the carrier of each transmitter may stand, then each spare: one for all transmitters that share a fourth of the
    usable places of the narrower, else for each such set, the largest first; none for one without a usable place."""
    seats = [slots_of(ask, tuner) for tuner in ask.tuners]
    free = {at for at in set().union(*seats) if verify([at], ask.air).clean}
    sets: list[tuple[set[int], int]] = []
    for mine in [set(seat) for seat in seats if free & set(seat)] or [set(seat) for seat in seats]:
        for index, (common, many) in enumerate(sets):
            fewest = max(1, min(len(common & free), len(mine & free)))
            if 4 * len(common & mine & free) >= fewest:
                sets[index] = (common & mine, many + 1)
                break
        else:
            sets.append((mine, 1))
    sets.sort(key=lambda pair: -pair[1])
    return seats + [sorted(sets[number % len(sets)][0]) for number in range(ask.spares)]


def troubles(kinds: tuple[Kind, ...], own: int, foreign: int, found: int = 0) -> Iterator[tuple[dict[int, int], int]]:
    """Coefficients by carrier, ours first, those of a sweep last, and the order, of every product that may fall on a
    carrier; those of a sweep take part in the third order only."""
    seen = set()
    for kind in kinds:
        everyone = range(own + foreign + (found if kind.order == 3 else 0))
        for *makers, hit in permutations(everyone, kind.signals + 1):
            row = dict(zip(makers, kind.coefficients, strict=True)) | {hit: -1}
            sign = 1 if row[min(row)] > 0 else -1
            key = (frozenset((one, sign * factor) for one, factor in row.items()), kind.order)
            if min(row) < own and key not in seen:
                seen.add(key)
                yield row, kind.order


class Peer:
    """The best clearance of `count` carriers, by CP-SAT; distances in `unit` Hz."""

    def __init__(self, ask: Ask, count: int, *, unit: int = UNIT, touching: bool = False) -> None:
        self.ask, self.count, self.unit = ask, count, unit
        self.model = cp_model.CpModel()
        self.clear = self.model.new_int_var(0 if touching else 1, FAR, "clear")
        self._more = 1 if touching else 0
        self.at = [self._place(index) for index in range(count)]
        self._in_order()
        self._apart()
        self.model.maximize(self.clear)

    def solve(self, seconds: float, workers: int = 1) -> tuple[int | None, int, bool]:
        """Clearance in units (None when there is none), the bound, and whether it is proved."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = workers
        status = solver.solve(self.model)
        proved = status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None, FAR, proved
        return solver.value(self.clear), int(solver.best_objective_bound), proved

    def _place(self, index: int) -> cp_model.IntVar:
        every = {at for tuner in self.ask.tuners or (None,) for at in slots_of(self.ask, tuner)}
        return self.model.new_int_var_from_domain(self._domain(sorted(every)), f"at{index}")

    def _domain(self, places: list[int]) -> cp_model.Domain:
        return cp_model.Domain.from_values([at // self.unit for at in places])

    def _in_order(self) -> None:
        spacing = self.ask.widths.spacing // self.unit
        for low, high in zip(self.at, self.at[1:], strict=False):
            self.model.add(high - low >= spacing + self.clear)
            self.model.add(high > low)
        if self.ask.tuners:
            self._tuners()

    def _tuners(self) -> None:
        """Each carrier has a transmitter or a spare's seat of its own; the ask has as many as carriers, or more."""
        takes, seats = [], [self._domain(seat) for seat in seats_of(self.ask)]
        for index, at in enumerate(self.at):
            row = [self.model.new_bool_var(f"take{index}.{number}") for number in range(len(seats))]
            self.model.add_exactly_one(row)
            for take, domain in zip(row, seats, strict=True):
                self.model.add_linear_expression_in_domain(at, domain).only_enforce_if(take)
            takes.append(row)
        for column in zip(*takes, strict=True):
            self.model.add_at_most_one(column)

    def _apart(self) -> None:
        ask, unit = self.ask, self.unit
        foreign, found = ([at // unit for at in others] for others in (ask.foreign, ask.found))
        for at in self.at:
            for other in (*foreign, *found):
                self._away(at - other, ask.widths.spacing // unit)
            for band in ask.avoid:
                self._outside(at, band)
        everyone = [*self.at, *foreign, *found]
        for row, order in troubles(ask.products, self.count, len(foreign), len(found)):
            expression = cp_model.LinearExpr.weighted_sum([everyone[one] for one in row], list(row.values()))
            self._away(expression, ask.widths.of_order(order) // unit + self._more)

    def _away(self, expression: cp_model.LinearExprT, asked: int) -> None:
        """|expression| >= asked + clear, as an either-or."""
        above = self.model.new_bool_var("")
        self.model.add(expression >= asked + self.clear).only_enforce_if(above)
        self.model.add(expression <= -asked - self.clear).only_enforce_if(~above)

    def _outside(self, at: cp_model.IntVar, band: Band) -> None:
        edge = self.ask.widths.edge // self.unit + self._more
        above = self.model.new_bool_var("")
        self.model.add(at >= band.high // self.unit + edge + self.clear).only_enforce_if(above)
        self.model.add(at <= band.low // self.unit - edge - self.clear).only_enforce_if(~above)

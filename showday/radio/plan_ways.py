"""The equations of trouble: which carriers, with which coefficients, have to keep away from adding up to nothing.

A product falling on a carrier is a linear equation: 2A-B falls on C when 2A - B - C = 0. Its residue, |2A - B - C|, is
the distance. Read the other way round, an equation with all carriers but one filled in says where that one must not be.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from showday.radio.model import Widths
from showday.radio.products import Ints, Kind, makers_of

EVERY_ORDER = 99
"""Higher than any order that is looked at."""


@dataclass(frozen=True, slots=True)
class Standing:
    """One carrier that does not move: whether products of ours on it count, and up to which order it makes any."""

    safe: bool = True
    most: int = EVERY_ORDER


FAR = int(np.iinfo(np.int64).max)
"""Clearance of a place that nothing can trouble."""


@dataclass(frozen=True, slots=True)
class Equation:
    """Coefficients (a carrier with one of size 1 is one that can be hit) and the distance asked for."""

    coefficients: tuple[int, ...]
    asked: int

    @property
    def order(self) -> int:
        """Of the product; 1 for neighbours."""
        return sum(map(abs, self.coefficients)) - 1


def equations_of(kinds: Sequence[Kind], widths: Widths, unit: int) -> tuple[Equation, ...]:
    """Neighbours (A - B) and every kind of product, with distances in the plan's unit of so many Hz."""
    products = (Equation((*kind.coefficients, -1), widths.of_order(kind.order) // unit) for kind in kinds)
    return (Equation((1, -1), widths.spacing // unit), *products)


@dataclass(frozen=True, slots=True)
class Way:
    """One equation with some carriers free: who else takes part, by index [P, roles], and with which coefficients."""

    free: tuple[int, ...]
    """Coefficients of the free carriers, the first one positive."""
    asked: int
    others: npt.NDArray[np.int16]
    factors: npt.NDArray[np.int64]

    def sums(self, places: Ints) -> Ints:
        """What the others add up to when they stand at these places [F]."""
        if not len(self.factors):
            return np.zeros(1, dtype=np.int64)
        total: Ints = self.factors[0] * places[self.others[:, 0]]
        for role in range(1, len(self.factors)):
            total += self.factors[role] * places[self.others[:, role]]
        return total


@lru_cache(maxsize=128)
def ways(equations: tuple[Equation, ...], free: int, standing: tuple[Standing, ...]) -> tuple[Way, ...]:
    """Every equation with `free` carriers of our own free and the rest taken by others.

    Of `standing`, one for each of the others: an equation counts when something protected may be hit, one of our own or
    a safe one, that is a carrier with a coefficient of size 1; and when its order is none too high for any of them.
    """
    is_safe = np.array([each.safe for each in standing], dtype=bool)
    most = np.array([each.most for each in standing], dtype=np.int64)
    found = []
    for equation in equations:
        for roles in _role_choices(equation.coefficients, free):
            named = [equation.coefficients[role] for role in roles]
            rest = tuple(factor for role, factor in enumerate(equation.coefficients) if role not in roles)
            chosen = makers_of(len(standing), rest)
            chosen = chosen[(most[chosen] >= equation.order).all(axis=1)]
            if all(abs(factor) > 1 for factor in named) and rest:
                hits = [is_safe[chosen[:, place]] for place, factor in enumerate(rest) if abs(factor) == 1]
                chosen = chosen[np.any(hits, axis=0)]
            if len(chosen) or not rest:
                free_factors, sign = _signed(named)
                found.append(Way(free_factors, equation.asked, chosen, sign * np.array(rest, dtype=np.int64)))
    return tuple(found)


def _signed(factors: list[int]) -> tuple[tuple[int, ...], int]:
    """The coefficients, largest first, with the first one positive; and the sign that this took."""
    ordered = sorted(factors, key=lambda factor: (-abs(factor), -factor))
    if not ordered or ordered[0] > 0:
        return tuple(ordered), 1
    turned = sorted((-factor for factor in factors), key=lambda factor: (-abs(factor), -factor))
    return tuple(turned), -1


def _role_choices(coefficients: tuple[int, ...], free: int) -> Iterator[tuple[int, ...]]:
    """Roles for the free carriers, one choice for each different set of coefficients."""
    seen = set()
    for row in makers_of(len(coefficients), (1,) * free):
        named = tuple(sorted(coefficients[role] for role in row))
        if named not in seen:
            seen.add(named)
            yield tuple(int(role) for role in row)


Sums = dict[tuple[tuple[int, ...], int], Ints]
"""(coefficients of the free carriers, distance asked for) -> what the others add up to, sorted, each sum once."""


def all_sums(equations: tuple[Equation, ...], free: int, others: Ints, standing: tuple[Standing, ...]) -> Sums:
    """The sums of every way, grouped by what is asked of the free carriers."""
    found: defaultdict[tuple[tuple[int, ...], int], list[Ints]] = defaultdict(list)
    for way in ways(equations, free, standing):
        found[way.free, way.asked].append(way.sums(others))
    return {key: np.unique(np.concatenate(parts)) for key, parts in sorted(found.items())}


def clearances(places: Ints, equations: tuple[Equation, ...], others: Ints, standing: tuple[Standing, ...]) -> Ints:
    """For each place [M], the smallest residue less what was asked, when a carrier of ours stands there among others.

    Takes in every equation that the carrier has a part in, as what is hit or as one of those that hit. FAR where
    there is none.
    """
    found: defaultdict[tuple[int, int], list[Ints]] = defaultdict(list)
    for way in ways(equations, 1, standing):
        found[way.free[0], way.asked].append(way.sums(others))
    nearest = np.full(len(places), FAR, dtype=np.int64)
    for (factor, asked), parts in found.items():
        marks = -np.concatenate(parts)
        marks.sort()
        np.minimum(nearest, _distance(factor * places, marks) - asked, out=nearest)
    return nearest


def _distance(values: Ints, marks: Ints) -> Ints:
    """From each value to the nearest of the sorted marks."""
    right = np.searchsorted(marks, values)
    above = np.abs(marks[np.minimum(right, len(marks) - 1)] - values)
    below = np.abs(values - marks[np.maximum(right - 1, 0)])
    nearest: Ints = np.minimum(above, below)
    return nearest

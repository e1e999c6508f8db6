"""Intermodulation products: which there are, where they fall, and which carriers they come from.

Carriers A, B, C are all different. The order of a product is the sum of its coefficients' sizes; odd orders fall near
the carriers, even ones do not while the carriers lie within an octave (Rec. ITU-R SM.1134).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from showday.errors import RadioTrouble

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of product: `coefficients` of its carriers A, B, C in this order; they add up to 1."""

    name: str
    order: int
    coefficients: tuple[int, ...]

    @property
    def signals(self) -> int:
        """How many carriers it is made of."""
        return len(self.coefficients)


KINDS = (
    Kind("2A-B", 3, (2, -1)),
    Kind("A+B-C", 3, (1, 1, -1)),
    Kind("3A-2B", 5, (3, -2)),
    Kind("2A+B-2C", 5, (2, 1, -2)),
    Kind("3A-B-C", 5, (3, -1, -1)),
    Kind("4A-3B", 7, (4, -3)),
)
"""Third order: two and three signals; fifth: the same; of the seventh only the strongest, 4A-3B."""
ORDERS = (3, 5, 7)
USUAL_ORDERS = (3, 5)
MOST_CARRIERS = 150
"""More than this many at once are refused: the three-signal products grow with the cube."""


def kinds_of(orders: Iterable[int]) -> tuple[Kind, ...]:
    """The kinds of these orders, each once; RadioTrouble for an order that is not looked at."""
    wanted = set(orders)
    if unknown := sorted(wanted - set(ORDERS)):
        raise RadioTrouble(f"Products of order {unknown[0]} are not looked at.", "The orders are 3, 5 and 7.")
    return tuple(kind for kind in KINDS if kind.order in wanted)


@dataclass(frozen=True, slots=True)
class Products:
    """All products of one kind: `at` [P] in Hz, rising; `makers` [P, signals], indices of the carriers by role."""

    kind: Kind
    at: Ints
    makers: npt.NDArray[np.int16]


def products(carriers: Sequence[int] | Ints, kind: Kind) -> Products:
    """Every product of this kind that these carriers (Hz) make, each once, in order of frequency."""
    hertz = np.asarray(carriers, dtype=np.int64)
    if len(hertz) > MOST_CARRIERS:
        raise RadioTrouble(f"{len(hertz)} carriers are too many at once.", f"Name at most {MOST_CARRIERS}.")
    makers = makers_of(len(hertz), kind.coefficients)
    at = hertz[makers] @ np.array(kind.coefficients)
    order = np.argsort(at)
    return Products(kind, at[order], makers[order])


@lru_cache(maxsize=24)
def makers_of(count: int, coefficients: tuple[int, ...]) -> npt.NDArray[np.int16]:
    """Index tuples [P, roles] of all different carriers; roles with equal coefficients are taken in one order only."""
    roles = len(coefficients)
    if count < roles:
        return np.zeros((0, roles), dtype=np.int16)
    axes = [np.arange(count).reshape([-1 if axis == role else 1 for axis in range(roles)]) for role in range(roles)]
    allowed = np.ones([count] * roles, dtype=bool)
    for later in range(roles):
        for earlier in range(later):
            same = coefficients[earlier] == coefficients[later]
            allowed &= axes[earlier] < axes[later] if same else axes[earlier] != axes[later]
    return np.argwhere(allowed).astype(np.int16)

"""Forbidden places as bit masks: what each chosen carrier, pair and triple rules out, looked up in one step.

The places are an even grid of M bits in W words. Carriers that are chosen add up to u grid steps, with their
coefficients; a table's row u is the mask of places for one more carrier, with its own coefficient, that the either-or
rules out. Tables of the same coefficients are merged, whatever else takes part in the either-or.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import permutations

import numpy as np
import numpy.typing as npt

from showday.radio.plan_room import Room
from showday.radio.plan_ways import all_sums
from showday.radio.products import Ints

Words = npt.NDArray[np.uint64]
MOST_PLACES = 1_024
"""A longer grid's tables grow too large; the search by linear relaxation does not mind length."""


@dataclass(frozen=True, slots=True)
class Rules:
    """One table for chosen carriers with these `factors`: rows [U, W], the row of sum u at index u - lowest."""

    factors: tuple[int, ...]
    lowest: int
    rows: Words

    def forbidden(self, sums: Ints) -> Words:
        """Masks [B, W] of what the sums [B] rule out."""
        return self.rows[sums - self.lowest]


@dataclass(frozen=True, slots=True)
class Tables:
    """All rules for one clearance; what is not ruled out alone [W], beside another [M, W], above and below it [M, W]."""

    places: int
    alone: Words
    beside: Words
    above: Words
    below: Words
    pairs: tuple[Rules, ...]
    triples: tuple[Rules, ...]


def grid_size(room: Room) -> int:
    """How many places the even grid has that all slots lie on."""
    return int(room.slots[-1] - room.slots[0]) // room.raster + 1 if len(room.slots) else 0


def make_tables(room: Room, need: int) -> Tables:
    """The rules under which every plan has a clearance of at least `need`."""
    places = grid_size(room)
    at = (room.slots - room.slots[0]) // room.raster
    good = np.zeros(places, dtype=bool)
    good[at[room.alone >= need]] = True
    beside = np.zeros((places, places), dtype=bool)
    for rules in _bad_sums(room, need, 2, places):
        sums = rules.factors[0] * np.arange(places)
        beside |= rules.bad[(sums[:, None] + rules.factors[1] * np.arange(places)) - rules.lowest]
    pairs = tuple(rules.packed(places) for rules in _bad_sums(room, need, 3, places))
    triples = tuple(rules.packed(places) for rules in _bad_sums(room, need, 4, places))
    square = np.ones((places, places), dtype=bool)
    above, below = pack(np.triu(square, 1)), pack(np.tril(square, -1))
    return Tables(places, pack(good[None])[0], pack(~beside), above, below, pairs, triples)


@dataclass(frozen=True, slots=True)
class _BadSums:
    """For carriers with these factors, the last of them the next to be chosen: which sums are ruled out."""

    factors: tuple[int, ...]
    lowest: int
    bad: npt.NDArray[np.bool_]

    def packed(self, places: int) -> Rules:
        """A row for every sum that the chosen ones can have."""
        chosen, last = self.factors[:-1], self.factors[-1]
        low, high = _reach(chosen, places)
        sums = np.arange(low, high + 1)[:, None] + last * np.arange(places)[None, :]
        return Rules(chosen, low, pack(self.bad[sums - self.lowest]))


def _bad_sums(room: Room, need: int, free: int, places: int) -> list[_BadSums]:
    """Every order of the coefficients of `free` carriers, up to sign, with the sums that are nearer than allowed."""
    first, raster = int(room.slots[0]), room.raster
    found: defaultdict[tuple[int, ...], npt.NDArray[np.bool_]] = defaultdict(lambda: np.zeros(0, dtype=bool))
    for (factors, asked), sums in all_sums(room.equations, free, room.others, room.standing).items():
        for order in sorted(set(permutations(factors))):
            sign = 1 if order[-1] > 0 else -1
            turned = tuple(sign * factor for factor in order)
            low, high = _reach(turned, places)
            offset = sign * sums + first * sum(turned)
            bad = _near(low, high, raster, offset, asked + need)
            found[turned] = bad if not len(found[turned]) else found[turned] | bad
    return [_BadSums(factors, _reach(factors, places)[0], bad) for factors, bad in sorted(found.items())]


def _reach(factors: tuple[int, ...], places: int) -> tuple[int, int]:
    """Smallest and largest sum of carriers on the grid."""
    low = sum(factor for factor in factors if factor < 0) * (places - 1)
    return low, sum(factor for factor in factors if factor > 0) * (places - 1)


def _near(low: int, high: int, raster: int, offsets: Ints, distance: int) -> npt.NDArray[np.bool_]:
    """For each grid sum from low to high, whether some |sum * raster + offset| is below the distance."""
    changes = np.zeros(high - low + 2, dtype=np.int64)
    if distance > 0:
        first = -((distance - 1 + offsets) // raster)
        last = (distance - 1 - offsets) // raster
        some = (first <= last) & (last >= low) & (first <= high)
        np.add.at(changes, np.maximum(first[some], low) - low, 1)
        np.add.at(changes, np.minimum(last[some], high) - low + 1, -1)
    return np.cumsum(changes)[:-1] > 0


def pack(bits: npt.NDArray[np.bool_]) -> Words:
    """Rows of bits [B, M] as words [B, W]."""
    short = -bits.shape[1] % 64
    padded = np.pad(bits, ((0, 0), (0, short)))
    return np.packbits(padded, axis=1, bitorder="little").view(np.uint64)


def unpack(words: Words, places: int) -> npt.NDArray[np.bool_]:
    """Words [B, W] as rows of bits [B, M]."""
    raw = np.ascontiguousarray(words).view(np.uint8)
    return np.unpackbits(raw, axis=1, count=places, bitorder="little").astype(bool)

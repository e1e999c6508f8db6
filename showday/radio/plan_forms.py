"""What keeps a rising row of carriers clean, as either-or: |C x + K| >= T + t, for a clearance t."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import permutations

import numpy as np
import numpy.typing as npt

from showday.radio.plan_room import Room
from showday.radio.plan_ways import all_sums
from showday.radio.products import Ints

MOST_FORMS = 24_000
"""With more either-ors than this the search by linear relaxation is slower than the one by masks."""

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Forms:
    """Either-ors of n carriers x_1 < … < x_n: C [J, n], K [J], T [J], in the room's unit."""

    factors: Floats
    constants: Floats
    asked: Floats

    def clearance(self, places: Ints, spacing: int) -> Ints:
        """The smallest clearance of each row of places [B, n]: either-ors and neighbours, not the bands."""
        gaps: Ints = np.diff(places, axis=1).min(axis=1) - spacing
        if not len(self.factors):
            return gaps
        residues = np.abs(places.astype(np.float64) @ self.factors.T + self.constants) - self.asked
        np.minimum(gaps, np.rint(residues.min(axis=1)).astype(np.int64), out=gaps)
        return gaps


def make_forms(room: Room, count: int, least: int, most: int) -> Forms | None:
    """The either-ors that can matter for clearances from `least` to `most`; None when there are too many."""
    rows: defaultdict[tuple[int, ...], list[tuple[int, Ints]]] = defaultdict(list)
    for free in range(2, min(count, 4) + 1):
        for (factors, asked), sums in all_sums(room.equations, free, room.others, room.standing).items():
            if len(sums) * count**free > 400 * MOST_FORMS:
                return None
            for named, sign in _assignments(factors, count):
                rows[named].append((asked, sign * sums))
    box = _box(room, count, least)
    kept = [_that_matter(row, parts, box, room.spacing, least, most) for row, parts in rows.items()]
    if sum(len(constants) for _, constants, _ in kept) > MOST_FORMS:
        return None
    matrices = [
        np.broadcast_to(np.array(row, dtype=np.float64), (len(constants), count)) for row, constants, _ in kept
    ]
    return Forms(
        np.concatenate([np.zeros((0, count)), *matrices]),
        np.concatenate([np.zeros(0), *(constants for _, constants, _ in kept)]),
        np.concatenate([np.zeros(0), *(asked for _, _, asked in kept)]),
    )


def _assignments(factors: tuple[int, ...], count: int) -> set[tuple[tuple[int, ...], int]]:
    """Every way to give the coefficients to carriers, as rows whose first number that is not 0 is positive."""
    found = set()
    for chosen in permutations(range(count), len(factors)):
        row = [0] * count
        for place, factor in zip(chosen, factors, strict=True):
            row[place] = factor
        sign = 1 if row[min(chosen)] > 0 else -1
        found.add((tuple(sign * factor for factor in row), sign))
    return found


def _box(room: Room, count: int, least: int) -> tuple[Floats, Floats]:
    """Lowest and highest place of each carrier of the row."""
    steps = np.arange(count) * max(room.spacing + least, 1)
    return room.slots[0] + steps.astype(np.float64), room.slots[-1] - steps[::-1].astype(np.float64)


def _that_matter(
    row: tuple[int, ...],
    parts: list[tuple[int, Ints]],
    box: tuple[Floats, Floats],
    spacing: int,
    least: int,
    most: int,
) -> tuple[tuple[int, ...], Floats, Floats]:
    """The constants and asked distances of one row's either-ors that are not settled by the order of the carriers."""
    factors = np.array(row, dtype=np.float64)
    lowest = np.where(factors > 0, factors * box[0], factors * box[1]).sum()
    highest = np.where(factors > 0, factors * box[1], factors * box[0]).sum()
    constants = np.concatenate([sums for _, sums in parts]).astype(np.float64)
    asked = np.concatenate([np.full(len(sums), wanted, dtype=np.float64) for wanted, sums in parts])
    matter = (lowest + constants < asked + most) & (highest + constants > -asked - most)
    partial = np.cumsum(factors)[:-1]
    if factors.sum() == 0 and ((partial >= 0).all() or (partial <= 0).all()):
        gaps = np.abs(partial).sum()
        settled = (constants == 0) & ((gaps - 1) * least + gaps * spacing >= asked)
        matter &= ~settled
    return row, constants[matter], asked[matter]

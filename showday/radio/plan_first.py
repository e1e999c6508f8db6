"""The first plans: good ones found by placing and moving carriers one at a time, so that the proof has less to do.

Chance comes from a seeded generator, so that the same ask gets the same plans.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from showday.radio.plan_ask import KeepGoing
from showday.radio.plan_room import Room
from showday.radio.plan_spans import RULERS
from showday.radio.plan_ways import FAR, Standing, clearances
from showday.radio.products import Ints

ROUNDS = 12
"""Rounds of moving every carrier once."""
MOST_PACKED = 48
"""More are not put in one after the other: the sums to look at grow with the cube."""
SEED = 1953
"""Any number will do; this is the year of Babcock's paper on choosing channels."""


class Climber:
    """Makes plans of `count` carriers in one room."""

    def __init__(self, room: Room, count: int) -> None:
        self.room, self.count = room, count
        self._chance = np.random.default_rng(SEED)
        self._shapes = list(self._ruler_starts())
        self.tries = 0

    def step(self) -> tuple[tuple[int, ...], int]:
        """One more try: the places it ended with and their clearance; fewer places when no more could be put."""
        self.tries += 1
        if self._shapes:
            return self.climb(self._shapes.pop(0))
        return self.climb(self._scatter())

    def worth(self, places: Ints) -> int:
        """The smallest clearance of a whole set."""
        return min((int(self._around(places, index)[1]) for index in range(len(places))), default=FAR)

    def worth_of(self, places: Sequence[int]) -> int:
        """The smallest clearance of a set given as numbers; less than any when it is not for these transmitters."""
        at = np.array(places, dtype=np.int64)
        known = np.isin(at, self.room.slots).all() and self.room.seats(at)
        return self.worth(at) if known else -FAR

    def improve(self, places: tuple[int, ...], clearance: int) -> tuple[tuple[int, ...], int]:
        """The same plan or a better one near it."""
        better, value = self.climb(places)
        return (better, value) if value > clearance else (places, clearance)

    def climb(self, places: Sequence[int]) -> tuple[tuple[int, ...], int]:
        """Move carriers to where they are best while the others stay, until nothing is won."""
        now = np.array(places, dtype=np.int64)
        if not len(now):
            return (), FAR
        least = 0
        for _ in range(ROUNDS):
            moved, least = False, FAR
            for index in self._chance.permutation(len(now)):
                place, value, before = self._best_place(now, int(index))
                if value > before:
                    now[index], moved = place, True
                least = min(least, value)
            if not moved:
                break
        return tuple(sorted(int(place) for place in now)), self.worth(now)

    def others_at(self, now: Ints, index: int, least: int, most: int) -> Ints:
        """Up to so many other places for one carrier that keep the clearance at least so large, the best ones first."""
        others = np.delete(now, index)
        value = np.minimum(self._near(others), self.room.alone)
        good = np.flatnonzero((value >= least) & self._groups_allow(others))
        return self.room.slots[good[np.argsort(-value[good], kind="stable")[:most]]]

    def pack(
        self, need: int, most: int, keep_going: KeepGoing, *, from_low: bool, begun: Sequence[int] = ()
    ) -> tuple[int, ...]:
        """As many carriers as go in one by one with a clearance of `need`, each at the first place that is left."""
        now = list(begun)
        allowed = self.room.alone >= need
        if now:
            allowed &= self._near(np.array(now, dtype=np.int64)) >= need
        while len(now) < most and len(now) < MOST_PACKED and (keep_going() or not now):
            here = allowed & self._groups_allow(np.array(now, dtype=np.int64))
            if not here.any():
                break
            slots = np.flatnonzero(here)
            pick = slots[0] if from_low else slots[self._chance.integers(len(slots))]
            now.append(int(self.room.slots[pick]))
            allowed &= self._near(np.array(now, dtype=np.int64)) >= need
        return tuple(sorted(now))

    def _scatter(self) -> list[int]:
        """Carriers put one by one, the first two by chance, the others where they are best."""
        now: list[int] = []
        while len(now) < self.count:
            allowed = self._groups_allow(np.array(now, dtype=np.int64))
            value = (
                np.minimum(self._near(np.array(now, dtype=np.int64)), self.room.alone)
                if len(now) > 1
                else self.room.alone
            )
            value = np.where(allowed, value, -FAR)
            good = np.flatnonzero(value > 0) if len(now) < 2 else np.flatnonzero(value == value.max())
            if not len(good):
                good = np.flatnonzero(value == value.max())
            if value[good[0]] == -FAR:
                break
            now.append(int(self.room.slots[good[self._chance.integers(len(good))]]))
        return now

    def _best_place(self, now: Ints, index: int) -> tuple[int, int, int]:
        """Where one carrier is best while the others stay, its clearance there, and where it stands."""
        others = np.delete(now, index)
        value = np.minimum(self._near(others), self.room.alone)
        before = int(value[self.room.index(now[index : index + 1])[0]])
        value = np.where(self._groups_allow(others), value, -FAR)
        best = int(value.argmax())
        return int(self.room.slots[best]), int(value[best]), before

    def _around(self, places: Ints, index: int) -> tuple[int, int]:
        """One carrier's place and clearance among the others."""
        place = places[index : index + 1]
        alone = self.room.alone[self.room.index(place)][0]
        return int(place[0]), min(int(alone), int(self._near(np.delete(places, index), place)[0]))

    def _near(self, chosen: Ints, places: Ints | None = None) -> Ints:
        """The clearance of one more carrier at each slot, among these and all that does not move."""
        room = self.room
        others = np.concatenate([chosen, room.others])
        standing = (Standing(),) * len(chosen) + room.standing
        return clearances(room.slots if places is None else places, room.equations, others, standing)

    def _groups_allow(self, chosen: Ints) -> npt.NDArray[np.bool_]:
        """Slots that a transmitter is left for when these places are taken."""
        room = self.room
        if len(room.groups) == 1:
            return np.ones(len(room.slots), dtype=bool)
        allowed = np.zeros(len(room.slots), dtype=bool)
        for index, group in enumerate(room.groups):
            if room.seats(chosen, without=index):
                allowed |= group.takes
        return allowed

    def _ruler_starts(self) -> Iterator[list[int]]:
        """Rows of the least spans, stretched over the room, and their mirror images."""
        slots = self.room.slots
        span = float(slots[-1] - slots[0])
        for rows in RULERS.values():
            for row in rows:
                if len(row) != self.count or len(self.room.groups) > 1:
                    continue
                scale = int(span // row[-1] // self.room.raster) * self.room.raster
                for stretch in (scale, span / row[-1]):
                    for marks in (row, [row[-1] - mark for mark in reversed(row)]):
                        at = np.searchsorted(slots, slots[0] + np.rint(np.array(marks) * stretch))
                        yield [int(place) for place in slots[np.minimum(at, len(slots) - 1)]]

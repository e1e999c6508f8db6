"""The other proof: place carriers from low to high on an even grid, with what is forbidden kept as bit masks.

Made for tight rooms, where few places are allowed: exact hits on a coarse raster, or many foreign carriers. Thousands
of half-made rows are grown at once. A row is dropped when what is left above it is too short for the carriers that are
still to come; how much room so many carriers need at least is found in the same way, one carrier more at a time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from showday.radio.plan_room import Room
from showday.radio.plan_spans import is_known, least_span
from showday.radio.plan_tables import MOST_PLACES, Tables, Words, grid_size, make_tables, pack, unpack
from showday.radio.products import Ints

GROWN = 16_384
"""About how many rows are grown in one step."""
MOST_GROUPS = 6
MOST_LASTS = 32
"""How many places for a row's last carrier are weighed against each other."""
SPAN_NODES = 400_000
"""How many rows are looked at for the least room of so many carriers, before a simpler bound is taken."""

Worth = Callable[[Ints], int]
Improve = Callable[[tuple[int, ...], int], tuple[tuple[int, ...], int]]
Every = Callable[[Ints], None]


@dataclass(slots=True)
class _Rows:
    """B half-made rows: places chosen [B, k] on the grid, masks of what is allowed above [B, W], counts by groups."""

    chosen: Ints
    allowed: Words
    used: npt.NDArray[np.int16]


class _Halls:
    """Which sets of places must not be taken by more carriers than transmitters can be set to them (Hall 1935)."""

    def __init__(self, room: Room, places: int) -> None:
        self.masks: list[Words] = []
        self.rooms: list[int] = []
        at = (room.slots - room.slots[0]) // room.raster
        columns = []
        if 1 < len(room.groups) <= MOST_GROUPS:
            for size in range(1, len(room.groups)):
                for inside in combinations(range(len(room.groups)), size):
                    others = [group.takes for index, group in enumerate(room.groups) if index not in inside]
                    only = ~np.logical_or.reduce(others)
                    bits = np.zeros(places, dtype=bool)
                    bits[at[only]] = True
                    columns.append(bits)
                    self.masks.append(pack(bits[None])[0])
                    self.rooms.append(sum(room.groups[index].room for index in inside))
        self.counted = np.array(columns, dtype=np.int16).reshape(len(columns), places).T

    def close(self, allowed: Words, used: npt.NDArray[np.int16]) -> Words:
        """Take away the places whose transmitters are all used."""
        for index, (mask, room) in enumerate(zip(self.masks, self.rooms, strict=True)):
            full = used[:, index] >= room
            allowed[full] &= ~mask
        return allowed


class _Growing:
    """Rows of `count` carriers with all of them at or below `last`; `spans[m]`: what m carriers need at least.

    With `outer`, the highest carrier is placed second, after the lowest, and the others rise between the two: in a tight
    room there are few places for it, and it rules out many others.
    """

    def __init__(
        self,
        tables: Tables,
        halls: _Halls,
        count: int,
        spans: list[int],
        start: Words,
        *,
        at_zero: bool,
        outer: bool = False,
    ) -> None:
        self.tables, self.halls, self.count, self.spans = tables, halls, count, spans
        self.at_zero, self.outer = at_zero, outer
        self.last = tables.places - 1
        self.shortest = tables.places
        self.looked_at = 0
        empty = _Rows(np.zeros((1, 0), dtype=np.int64), start[None], np.zeros((1, len(halls.masks)), dtype=np.int16))
        self.stack = [empty]

    def step(self) -> _Rows | None:
        """Grow the newest rows by one carrier each; the finished ones but for their last carrier, when there are any."""
        rows = self.stack.pop()
        k = rows.chosen.shape[1]
        if k == self.count - 1:
            return rows
        bits = unpack(rows.allowed, self.tables.places)
        lowest, highest = self._window(k)
        bits[:, max(highest + 1, 0) :] = False
        bits[:, :lowest] = False
        sizes = np.cumsum(bits.sum(axis=1))
        fit = max(int(np.searchsorted(sizes, GROWN)), 1)
        if fit < len(bits):
            self.stack.append(_Rows(rows.chosen[fit:], rows.allowed[fit:], rows.used[fit:]))
            bits = bits[:fit]
        parent, place = np.nonzero(bits)
        if self.outer and k > 1:
            parent, place = self._below_highest(rows, parent, place)
        self.looked_at += len(place)
        if len(place):
            self._grow(rows, parent, place.astype(np.int64))
        return None

    def _window(self, k: int) -> tuple[int, int]:
        """Where carrier k may stand, so that those below and above it have room; of a row and its mirror image only one."""
        if self.outer and k == 1:
            return self._span(self.count), self.last
        index = k - 1 if self.outer and k else k
        highest = self.last - self._span(self.count - index)
        if not self.at_zero:
            return 0, highest
        if index == (self.count - 1) // 2:
            highest = min(highest, self.last // 2)
        return self._span(index + 1), highest

    def _span(self, count: int) -> int:
        return self.spans[min(count, len(self.spans) - 1)]

    def _below_highest(
        self, rows: _Rows, parent: npt.NDArray[np.intp], place: npt.NDArray[np.intp]
    ) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
        """The same window by each row's own highest carrier."""
        index, highest = rows.chosen.shape[1] - 1, rows.chosen[parent, 1]
        keep = place <= highest - self._span(self.count - index)
        if index == (self.count - 1) // 2:
            keep &= 2 * place <= highest
        return parent[keep], place[keep]

    def _grow(self, rows: _Rows, parent: npt.NDArray[np.intp], place: Ints) -> None:
        chosen = np.concatenate([rows.chosen[parent], place[:, None]], axis=1)
        before = rows.allowed[parent] if rows.chosen.shape[1] else self.tables.alone
        allowed = before & self._by_last(chosen)
        used = rows.used[parent] + self.halls.counted[place]
        self._keep(_Rows(chosen, self.halls.close(allowed, used), used))

    def _by_last(self, chosen: Ints) -> Words:
        """What the newest carrier of each row allows on its side, alone, with one and with two of the ones before it."""
        place = chosen[:, -1]
        side = self.tables.below if self.outer and chosen.shape[1] == 2 else self.tables.above
        allowed = self.tables.beside[place] & side[place]
        earlier = range(chosen.shape[1] - 1)
        for one in earlier:
            for rules in self.tables.pairs:
                allowed &= ~rules.forbidden(rules.factors[0] * chosen[:, one] + rules.factors[1] * place)
        for one, two in combinations(earlier, 2):
            for rules in self.tables.triples:
                sums = rules.factors[0] * chosen[:, one] + rules.factors[1] * chosen[:, two]
                allowed &= ~rules.forbidden(sums + rules.factors[2] * place)
        return allowed

    def _keep(self, rows: _Rows) -> None:
        enough = np.bitwise_count(rows.allowed).sum(axis=1) >= self.count - rows.chosen.shape[1]
        if enough.any():
            self.stack.append(_Rows(rows.chosen[enough], rows.allowed[enough], rows.used[enough]))

    def shorten(self, rows: _Rows) -> None:
        """Rows that lack only their last carrier: the lowest place for it is the span; look for shorter ones only."""
        bits = unpack(rows.allowed, self.tables.places)
        self.shortest = min(self.shortest, int(bits.argmax(axis=1).min(initial=self.shortest)))
        self.last = self.shortest - 1

    def renew(self, tables: Tables) -> None:
        """Work out anew what the rows allow, by tables for a larger clearance; drop those that break it themselves."""
        self.tables, stack, self.stack = tables, self.stack, []
        for rows in stack:
            allowed, whole = np.broadcast_to(tables.alone, rows.allowed.shape).copy(), np.ones(len(rows.chosen), bool)
            for size in range(1, rows.chosen.shape[1] + 1):
                place = rows.chosen[:, size - 1].astype(np.uint64)
                word = allowed[np.arange(len(whole)), place >> np.uint64(6)]
                whole &= (word >> (place & np.uint64(63))) & np.uint64(1) > 0
                allowed &= self._by_last(rows.chosen[:, :size])
            allowed &= rows.allowed
            self._keep(_Rows(rows.chosen[whole], allowed[whole], rows.used[whole]))


class MaskSearch:
    """Looks for a row of `count` carriers with a clearance of at least `least`, then for better ones; step by step.

    With `every`, it is given all such rows instead, as places [B, count], and none is left out (but for rows that are
    another one moved or mirrored, in a room that is open).
    """

    def __init__(
        self,
        room: Room,
        count: int,
        least: int,
        *,
        worth: Worth,
        improve: Improve | None = None,
        every: Every | None = None,
    ) -> None:
        self.room, self.count, self.need = room, count, least
        self.best: tuple[int, ...] = ()
        self.clearance: int | None = None
        self.looked_at = 0
        self._worth, self._improve, self._every = worth, improve, every
        self._places = grid_size(room)
        self.complete = self._places <= MOST_PLACES and len(room.groups) <= MOST_GROUPS
        """False when this search cannot say anything about the room."""
        self.done = False
        self._stale = True
        self._growing: _Growing | None = None
        self._spans = [0, 0]

    def demand(self, places: tuple[int, ...], clearance: int) -> None:
        """Take over a plan that was found elsewhere: only better ones are looked for."""
        if clearance >= self.need:
            self.best, self.clearance, self.need = places, clearance, clearance + 1
            self._stale = True

    def step(self) -> None:
        """Grow some rows; what they need at least is found first."""
        if self._stale:
            self._renew()
        growing = self._growing
        if growing is None or not growing.stack:
            self._next_stage()
            return
        before = growing.looked_at
        finished = growing.step()
        self.looked_at += growing.looked_at - before
        if finished is not None and growing.count == self.count:
            self._found(growing, finished)
        elif finished is not None:
            growing.shorten(finished)
        elif growing.count < self.count and growing.looked_at > SPAN_NODES:
            growing.stack, growing.shortest = [], self._simple_span(growing.count)

    def _renew(self) -> None:
        """Tables for what is needed now. Spans for less are still too short."""
        self._tables = make_tables(self.room, self.need)
        self._stale = False
        if self._growing is not None:
            self._growing.renew(self._tables)

    def _next_stage(self) -> None:
        """The least span of one carrier more, or, when all of these are known, the rows themselves."""
        if self._growing is not None:
            if self._growing.count == self.count:
                self.done = True
                return
            self._spans.append(self._growing.shortest)
        while len(self._spans) < self.count and (
            not self.room.open or is_known(self.room.equations, len(self._spans))
        ):
            self._spans.append(self._simple_span(len(self._spans)))
        start = self._tables.alone
        if self.room.open:  # a plan moved down to the lowest place is a plan
            start = start & pack(np.arange(self._places)[None] == 0)[0]
        halls = _Halls(self.room, self._places)
        count = min(len(self._spans), self.count)
        outer = self.room.open and count == self.count
        spans = [*self._spans, self._simple_span(count)] if outer else self._spans
        self._growing = _Growing(self._tables, halls, count, spans, start, at_zero=self.room.open, outer=outer)

    def _simple_span(self, count: int) -> int:
        """What so many carriers need at least, by their spacing and by what one fewer need."""
        raster = self.room.raster
        gap = max(-(-(self.room.spacing + self.need) // raster), 1)
        known = -(-least_span(self.room.equations, count, self.need) // raster)
        return max(known, self._spans[count - 1] + gap)

    def _found(self, growing: _Growing, rows: _Rows) -> None:
        """Rows that lack only their last carrier: take the best of the first row, and leave the others for later."""
        if not len(rows.chosen):
            return
        step, first = self.room.raster, int(self.room.slots[0])
        if self._every is not None:
            row, place = np.nonzero(unpack(rows.allowed, self._places))
            plans = np.concatenate([rows.chosen[row], place[:, None]], axis=1)
            self._every(np.sort(plans, axis=1) * step + first)
            return
        last = np.flatnonzero(unpack(rows.allowed[:1], self._places)[0])[:MOST_LASTS]
        some = [np.sort(np.append(rows.chosen[0], place)) * step + first for place in last]
        worth = [self._worth(plan) for plan in some]
        best = some[worth.index(max(worth))]
        found, clearance = tuple(int(at) for at in best), max(worth)
        if self._improve is not None:
            found, clearance = self._improve(found, clearance)
        growing.stack.append(rows)
        self.demand(found, clearance)

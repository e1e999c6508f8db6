"""The proof: branch on which side of a trouble a carrier goes, bound by linear relaxation.

For a rising row of carriers every trouble is an either-or: a residue is at least T + t, or at most -(T + t). Without the
either-ors that are still broken, the largest t is a linear program; its value bounds every plan in the branch. A
broken either-or, or a carrier that fell between two places, is decided both ways, and each way makes the bound smaller.
Branches that cannot beat the best plan are dropped; when none is left, the best is proved. The number of branches does
not depend on how fine the steps are (Land and Doig 1960; disjunctive programming, Balas 1979). Which either-or is
decided first: the one whose two sides cost the most, by one step of the dual simplex (Driebeek 1966).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import numpy.typing as npt

from showday.radio.plan_forms import Floats, Forms
from showday.radio.plan_room import Room
from showday.radio.plan_simplex import Programs, Table, first_program, joined, settle, spacing_rows
from showday.radio.products import Ints

BATCH = 384
"""Programs that are solved together: enough to hide Python's cost, few enough for the processor's cache."""
MOST_OPEN = 60_000
"""With more open branches the search dives until there are fewer, so that memory stays small."""
MOST_SEQUENCES = 128
LOOKED_AT = 24
"""How many of the most broken either-ors are priced."""
ROUNDED = 24
LEVELS = 128

Improve = Callable[[tuple[int, ...], int], tuple[tuple[int, ...], int]]


class BranchSearch:
    """Looks for a row of `count` carriers with a clearance of at least `least`, then for better ones; step by step."""

    def __init__(
        self,
        room: Room,
        forms: Forms,
        count: int,
        least: int,
        best: tuple[int, ...] = (),
        improve: Improve | None = None,
    ) -> None:
        self.room, self.forms, self.count = room, forms, count
        self.best, self.need = best, least
        self.clearance: int | None = None if not best else least - 1
        self.looked_at = 0
        self._improve = improve
        self._tolerance = 1e-7 + 1e-10 * float(room.slots[-1] - room.slots[0])
        self._norm = np.sqrt((forms.factors**2).sum(axis=1))
        self._table = _table(forms, room, count, self._tolerance)
        self._open: dict[int, list[tuple[int, Programs]]] = {}
        self._pushed = 0
        self._filter()
        self.sequences = list(_sequences(room, self._places, count))
        self.complete = len(self.sequences) <= MOST_SEQUENCES
        """False when the transmitters can be mixed in too many ways to try; then nothing is proved here."""
        roots = [self._root(label) for label in range(len(self.sequences))] if self.complete else []
        top = max((float(root.best[0]) for root in roots if len(root)), default=0.0)
        self._level = max((top - least) / LEVELS, 1.0)
        for root in roots:
            self._push(root)

    @property
    def done(self) -> bool:
        """Whether no branch is left."""
        return self.complete and not self._open

    @property
    def bound(self) -> int | None:
        """No clearance is larger than this; None when the search says nothing about it."""
        if not self.complete:
            return None
        best = self.need - 1
        if not self._open:
            return best
        top = max(float(part.best.max()) for _, part in self._open[max(self._open)])
        return max(best, int(np.floor(top + self._tolerance * 10)))

    def demand(self, places: tuple[int, ...], clearance: int) -> None:
        """Take over a plan that was found elsewhere: only better ones are looked for."""
        if clearance >= self.need:
            self.best, self.clearance, self.need = places, clearance, clearance + 1
            self._filter()

    def step(self) -> None:
        """Look at one batch of branches."""
        batch = self._take()
        batch = batch.pick(batch.best >= self.need - self._tolerance * 10)
        if not len(batch):
            return
        self.looked_at += len(batch)
        broken = self._broken(batch)
        before, after = self._beside(batch)
        x = batch.places
        gap = np.minimum(x - before, after - x)
        gap[gap < self._tolerance * 10] = 0
        self._round(batch, broken, before, after)
        worst = broken.max(axis=1, initial=-1.0)
        leaf = (worst <= self._tolerance * 10) & (gap.max(axis=1) == 0)
        for index in np.flatnonzero(leaf):
            self._found(np.rint(x[index]).astype(np.int64))
        again = batch.best >= self.need - self._tolerance * 10
        self._push(batch.pick(leaf & again))
        rest = np.flatnonzero(~leaf & again)
        if len(rest):
            self._branch(batch.pick(rest), broken[rest], before[rest], after[rest], gap[rest])

    def _filter(self) -> None:
        """Places that are good enough by themselves, for each group of transmitters."""
        good = self.room.alone >= self.need
        self._places = [self.room.slots[group.takes & good].astype(np.float64) for group in self.room.groups]

    def _root(self, label: int) -> Programs:
        places = [self._places[group] for group in self.sequences[label]]
        low = np.array([place[0] for place in places])
        high = np.array([place[-1] for place in places])
        low, high = np.maximum.accumulate(low), np.minimum.accumulate(high[::-1])[::-1]
        root = first_program(low, high, float(self.room.spacing), label)
        alive = settle(root, self._table, self.need - self._tolerance * 10)
        return root.pick(alive)

    def _push(self, programs: Programs) -> None:
        if not len(programs):
            return
        levels = np.floor((programs.best + self._tolerance * 10) / self._level).astype(np.int64)
        for level in np.unique(levels):
            part = programs.pick(levels == level)
            self._pushed += 1
            self._open.setdefault(int(level), []).append(
                (self._pushed, part.pick(np.argsort(part.best, kind="stable")))
            )

    def _take(self) -> Programs:
        """A batch from the branches with the best bound; from the newest ones while there is no plan yet or no room."""
        total = sum(len(part) for parts in self._open.values() for _, part in parts)
        dive = self.clearance is None or total > MOST_OPEN
        level = max(self._open, key=lambda key: self._open[key][-1][0]) if dive else max(self._open)
        parts, taken, size = self._open[level], [], 0
        while parts and size < BATCH:
            part = parts.pop()[1]
            if size + len(part) > BATCH:
                split = len(part) - (BATCH - size)
                self._pushed += 1
                parts.append((self._pushed, part.pick(slice(0, split))))
                part = part.pick(slice(split, None))
            taken.append(part)
            size += len(part)
        if not parts:
            del self._open[level]
        return joined(taken)

    def _broken(self, batch: Programs) -> Floats:
        """How far each either-or is broken at the optimum [B, J]: the way to the nearer side, 0 or less when it holds."""
        if not len(self.forms.factors):
            return np.zeros((len(batch), 0))
        residues = np.abs(batch.places @ self.forms.factors.T + self.forms.constants)
        return np.asarray((self.forms.asked + batch.best[:, None] - residues) / self._norm, dtype=np.float64)

    def _beside(self, batch: Programs) -> tuple[Floats, Floats]:
        """The places at or below and at or above each carrier [B, n]; beyond the ends, the end itself."""
        before, after = np.empty_like(batch.low), np.empty_like(batch.low)
        chosen = np.array(self.sequences)[batch.label]
        x = batch.places
        for group, places in enumerate(self._places):
            mine = chosen == group
            at = x[mine]
            right = np.searchsorted(places, at - self._tolerance * 10)
            after[mine] = np.where(right < len(places), places[np.minimum(right, len(places) - 1)], np.inf)
            left = np.searchsorted(places, at + self._tolerance * 10, side="right") - 1
            before[mine] = np.where(left >= 0, places[np.maximum(left, 0)], -np.inf)
        return before, after

    def _round(self, batch: Programs, broken: Floats, before: Floats, after: Floats) -> None:
        """Try the nearest places of the least broken programs as plans."""
        order = np.argsort(broken.max(axis=1, initial=0.0), kind="stable")[:ROUNDED]
        x = batch.places[order]
        near = np.where(x - before[order] <= after[order] - x, before[order], after[order])
        near = near[np.isfinite(near).all(axis=1)].astype(np.int64)
        if not len(near):
            return
        clearance = self._clearance(near)
        index = int(clearance.argmax())
        if clearance[index] >= self.need:
            self._found(near[index])

    def _clearance(self, places: Ints) -> Ints:
        alone = self.room.alone[np.searchsorted(self.room.slots, places)].min(axis=1)
        clearance: Ints = np.minimum(self.forms.clearance(places, self.room.spacing), alone)
        return clearance

    def _found(self, places: Ints) -> None:
        clearance = int(self._clearance(places[None])[0])
        if clearance < self.need:
            return
        found = tuple(int(place) for place in places)
        if self._improve is not None:
            found, clearance = self._improve(found, clearance)
        self.demand(found, clearance)

    def _branch(self, batch: Programs, broken: Floats, before: Floats, after: Floats, gap: Floats) -> None:
        """Decide one either-or of each program both ways."""
        batch, before, after, gap = self._inside(batch, before, after, gap)
        keep = batch.label >= 0
        if not keep.all():
            batch, broken, before, after, gap = batch.pick(keep), broken[keep], before[keep], after[keep], gap[keep]
        if not len(batch):
            return
        form, by_place = dearest(batch, broken, before, after, gap, self._table, self.need)
        row = np.where(by_place, 0, 1 + 2 * form).astype(np.int32)
        both = joined([batch, batch])
        sides = np.concatenate([row, np.where(by_place, 0, row + 1).astype(np.int32)])
        both.rows = np.concatenate([both.rows, sides[:, None]], axis=1)
        carrier = gap.argmax(axis=1)
        here = np.flatnonzero(by_place)
        both.high[here, carrier[here]] = before[here, carrier[here]]
        both.low[here + len(batch), carrier[here]] = after[here, carrier[here]]
        alive = settle(both, self._table, self.need - self._tolerance * 10)
        self._push(both.pick(alive))

    def _inside(
        self, batch: Programs, before: Floats, after: Floats, gap: Floats
    ) -> tuple[Programs, Floats, Floats, Floats]:
        """A carrier beyond the last or before the first place has one side only: that side is put in its domain."""
        none = ~np.isfinite(before) & ~np.isfinite(after)
        batch.label = np.where(none.any(axis=1), -1, batch.label).astype(np.int32)
        gap = np.where(np.isfinite(gap), gap, np.nanmax(np.where(np.isfinite(gap), gap, 0)) + 1)
        return (
            batch,
            np.where(np.isfinite(before), before, after - 1e18),
            np.where(np.isfinite(after), after, before + 1e18),
            gap,
        )


def _table(forms: Forms, room: Room, count: int, tolerance: float) -> Table:
    """Row 0 always holds; rows 1 + 2 j and 2 + 2 j are the two sides of either-or j."""
    rows = np.zeros((1 + 2 * len(forms.factors), count + 2))
    rows[0, -1] = 1
    rows[1::2, :count], rows[2::2, :count] = forms.factors, -forms.factors
    rows[1:, -2] = -1
    rows[1::2, -1], rows[2::2, -1] = forms.constants - forms.asked, -forms.constants - forms.asked
    always = spacing_rows(count, float(room.spacing))
    if room.open and count > 2:
        mirror = np.zeros((1, count + 2))
        mirror[0, 0] += 1
        mirror[0, 1] -= 1
        mirror[0, count - 2] -= 1
        mirror[0, count - 1] += 1
        always = np.concatenate([always, mirror])
    return Table(rows, always, tolerance)


def _sequences(room: Room, places: Sequence[Floats], count: int) -> Iterator[tuple[int, ...]]:
    """Every order in which the groups' transmitters can stand in a rising row, up to one more than are looked at."""
    left = [group.room for group in room.groups]
    made = 0

    def extend(row: tuple[int, ...], last: float) -> Iterator[tuple[int, ...]]:
        nonlocal made
        if len(row) == count:
            made += 1
            yield row
            return
        for group, slots in enumerate(places):
            at = int(np.searchsorted(slots, last, side="right"))
            if made > MOST_SEQUENCES or not left[group] or at == len(slots):
                continue
            left[group] -= 1
            yield from extend((*row, group), float(slots[at]))
            left[group] += 1

    yield from extend((), -np.inf)


def dearest(
    batch: Programs, broken: Floats, before: Floats, after: Floats, gap: Floats, table: Table, need: int
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.bool_]]:
    """Which either-or to decide: its index, and whether a carrier's place is decided instead."""
    index = np.arange(len(batch))
    count = batch.low.shape[1]
    room_left = (batch.best - need + 1)[:, None]
    carrier = gap.argmax(axis=1)
    sides = np.zeros((len(batch), 1, count + 2))
    sides[index, 0, carrier] = -1
    sides[:, 0, -1] = before[index, carrier]
    down = _price(batch, sides, room_left)
    sides = -sides
    sides[:, 0, -1] = -after[index, carrier]
    place_price = (down + _price(batch, sides, room_left))[:, 0] + 1e-6 * gap.max(axis=1)
    place_price[gap.max(axis=1) == 0] = -1.0
    if not broken.shape[1]:
        return np.zeros(len(batch), dtype=np.intp), np.ones(len(batch), dtype=bool)
    few = min(LOOKED_AT, broken.shape[1])
    top = np.argpartition(-broken, few - 1, axis=1)[:, :few]
    how = broken[index[:, None], top]
    price = _price(batch, table.rows[1 + 2 * top], room_left) + _price(batch, table.rows[2 + 2 * top], room_left)
    price = np.where(how > 10 * table.tolerance, price + 1e-6 * how, -2.0)
    first = price.argmax(axis=1)
    return top[index, first], place_price > price[index, first]


def _price(batch: Programs, rows: Floats, room_left: Floats) -> Floats:
    """By how much a dual simplex step lowers t for each of these rows [B, K, n + 2], at most room_left."""
    by_tight = np.matmul(rows[:, :, :-1], batch.tight)
    value = np.maximum(-(by_tight[:, :, -1] + rows[:, :, -1]), 0)
    gain = by_tight[:, :, :-1]
    cost = -batch.tight[:, -1:, :-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(gain > 1e-9, cost / gain, np.inf).min(axis=2)
        price = np.where(value > 0, value * ratio, 0.0)
    return np.minimum(price, room_left)

"""What to leave out when the time will not do: the set of steps that removes the most risk.

A 0/1 knapsack with prerequisites, solved exactly by dynamic programming over seconds. A step may need others; whoever
leaves those out leaves it out too, so the program carries, beside the seconds, which later steps are already ruled out.
Of sets that remove the same risk the one that keeps more steps is taken, then the quicker one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

MOST_WAYS = 512
"""Ways in which later steps can be ruled out that are followed side by side. Lists in which a step needs a few others
stay far below it; beyond it the best are followed and the answer is no longer called exact."""
_GRAINS = 1000.0
"""Risks are told apart to a thousandth of their unit, so that sums are whole numbers and exact."""
_NEVER = -(2**62)
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Item:
    """A step that may be done or left out. Risk in any unit (here thousandths of a show), not below 0."""

    id: str
    seconds: float
    risk: float
    must: bool = False
    needs: tuple[str, ...] = ()
    """Ids of the steps that must be done for this one to make sense; those not in the list are taken as done."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What to do and what to leave out, ids in order of the alphabet."""

    kept: tuple[str, ...]
    dropped: tuple[str, ...]
    seconds: float
    """Of what is kept."""
    removed: float
    accepted: float
    """Risk removed by what is kept, and accepted by what is dropped."""
    fits: bool = True
    """False when the musts alone, with what they need, take longer than there is."""
    exact: bool = True


class LeaveOut:
    """Every best choice up to a number of seconds; times are counted in units and rounded up.

    ValueError when an id stands twice, a number is not finite or below 0, or steps need each other in a circle.
    """

    def __init__(self, items: Sequence[Item], most: float, *, unit: float = 1.0) -> None:
        self._items = {item.id: item for item in sorted(items, key=lambda item: item.id)}
        self._unit = unit
        self._check(items)
        self._forced = self._closure([item.id for item in items if item.must])
        free = [id for id in self._items if id not in self._forced]
        self._order = self._in_order(free)
        self._base = sum(self._units(id) for id in self._forced)
        whole = sum(map(self._units, free))
        self._room = max(0, min(math.floor(most / unit + 1e-9) - self._base, whole)) if math.isfinite(most) else whole
        self._exact = True
        self._best, self._steps = self._solve()

    def choice(self, seconds: float) -> Choice:
        """The best choice within so many seconds, at most those it was made for."""
        cells = math.floor(seconds / self._unit + 1e-9) - self._base if math.isfinite(seconds) else self._room
        place = max(0, min(cells, self._room))
        place = int(np.searchsorted(self._best, self._best[place]))  # the quickest of equals
        return self._told(self._chosen(place), cells >= 0)

    def falling(self, seconds: float) -> list[float]:
        """Seconds of every different best choice within these, the largest first."""
        cells = math.floor(seconds / self._unit + 1e-9) - self._base
        best = self._best[: max(0, min(cells, self._room)) + 1]
        rises = np.flatnonzero(np.diff(best, prepend=_NEVER))
        return [float(self._base + int(cell)) * self._unit for cell in rises[::-1]]

    def _check(self, items: Sequence[Item]) -> None:
        if len(self._items) < len(items):
            raise ValueError("a step stands twice")
        for item in items:
            if not (math.isfinite(item.seconds) and math.isfinite(item.risk)) or item.seconds < 0 or item.risk < 0:
                raise ValueError(f"seconds and risk of {item.id} must be plain numbers, not below 0")

    def _units(self, id: str) -> int:
        return math.ceil(self._items[id].seconds / self._unit - 1e-9)

    def _value(self, id: str) -> int:
        return round(self._items[id].risk * _GRAINS) * (len(self._items) + 1) + 1

    def _closure(self, ids: list[str]) -> frozenset[str]:
        """The steps and everything they need."""
        found: set[str] = set()
        while ids:
            id = ids.pop()
            if id in self._items and id not in found:
                found.add(id)
                ids.extend(self._items[id].needs)
        return frozenset(found)

    def _in_order(self, free: list[str]) -> list[str]:
        """The free steps, needed ones first, chosen so that few steps wait for their last answer at a time."""
        needs = {id: {n for n in self._items[id].needs if n in self._items and n not in self._forced} for id in free}
        users: dict[str, list[str]] = {id: [] for id in free}
        for id, wanted in needs.items():
            for one in wanted:
                users[one].append(id)
        waits = {id: len(wanted) for id, wanted in needs.items()}
        order: list[str] = []
        opened: set[str] = set()
        ready = {id for id in free if not waits[id]}
        while ready:
            id = min(ready, key=lambda one: (one not in opened, len([u for u in users[one] if u not in opened]), one))
            ready.remove(id)
            order.append(id)
            for user in users[id]:
                opened.add(user)
                waits[user] -= 1
                if not waits[user]:
                    ready.add(user)
        if len(order) < len(free):
            circle = min(set(free) - set(order))
            raise ValueError(f"{circle} needs itself by way of others")
        return order

    def _solve(self) -> tuple[Ints, list[dict[int, _Way]]]:
        """The best value at every number of units, and the way to it after each step."""
        place = {id: index for index, id in enumerate(self._order)}
        users = dict.fromkeys(self._order, 0)
        for id in self._order:
            for one in self._items[id].needs:
                if one in place:
                    users[one] |= 1 << place[id]
        ways: dict[int, Ints] = {0: np.zeros(self._room + 1, dtype=np.int64)}
        steps: list[dict[int, _Way]] = []
        for index, id in enumerate(self._order):
            made: dict[int, Ints] = {}
            kept: dict[int, _Way] = {}
            own = 1 << index
            for out, best in sorted(ways.items()):
                _meet(made, kept, (out | users[id]) & ~own, best, out, False)
                if not out & own and self._units(id) <= self._room:
                    _meet(made, kept, out, self._taken(id, best), out, True)
            ways = self._thinned(made)
            steps.append(kept)
        return np.maximum.accumulate(ways[0]), steps

    def _taken(self, id: str, best: Ints) -> Ints:
        units = self._units(id)
        moved = np.full(len(best), _NEVER, dtype=np.int64)
        moved[units:] = best[: len(best) - units] + self._value(id)
        return moved

    def _thinned(self, ways: dict[int, Ints]) -> dict[int, Ints]:
        if len(ways) <= MOST_WAYS:
            return ways
        self._exact = False
        best = sorted(ways, key=lambda out: (-int(ways[out][-1]), out))[:MOST_WAYS]
        return {out: ways[out] for out in best}

    def _chosen(self, cell: int) -> set[str]:
        """The free steps kept by the best way within so many units, read from the last step to the first."""
        taken: set[str] = set()
        out = 0
        for id, ways in zip(reversed(self._order), reversed(self._steps), strict=True):
            way = ways[out]
            source = int(way.source[cell])
            out = way.outs[source]
            if way.takes[source]:
                taken.add(id)
                cell -= self._units(id)
        return taken

    def _told(self, taken: set[str], fits: bool) -> Choice:
        kept = [id for id in self._items if id in self._forced or id in taken]
        dropped = [id for id in self._items if id not in self._forced and id not in taken]
        return Choice(
            kept=tuple(kept),
            dropped=tuple(dropped),
            seconds=math.fsum(self._items[id].seconds for id in kept),
            removed=math.fsum(self._items[id].risk for id in kept),
            accepted=math.fsum(self._items[id].risk for id in dropped),
            fits=fits,
            exact=self._exact,
        )


class _Way:
    """How the best at each number of units was reached: what was ruled out before, and whether the step was taken."""

    def __init__(self, cells: int) -> None:
        self.outs: list[int] = []
        self.takes: list[bool] = []
        self.source = np.zeros(cells, dtype=np.int16)


def _meet(made: dict[int, Ints], kept: dict[int, _Way], out: int, best: Ints, came: int, take: bool) -> None:
    """Keep the better of what is there and one more way to the same place."""
    way = kept.setdefault(out, _Way(len(best)))
    way.outs.append(came)
    way.takes.append(take)
    if out not in made:
        made[out] = best
        return
    better = best > made[out]
    way.source[better] = len(way.outs) - 1
    made[out] = np.where(better, best, made[out])

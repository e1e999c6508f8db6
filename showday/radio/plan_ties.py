"""Among plans with the same smallest clearance: the one whose next smallest is largest, and so on."""

from __future__ import annotations

import numpy as np

from showday.radio.plan_ask import KeepGoing
from showday.radio.plan_first import Climber
from showday.radio.plan_masks import MaskSearch
from showday.radio.plan_rank import Rank, ranking
from showday.radio.plan_room import Room
from showday.radio.products import Ints

MOST_NODES = 600_000
MOST_PLANS = 4_000
"""With more plans, or more rows to look at, the best that was seen is taken, and not called proved."""
MOVES = 24
"""How many other places for one carrier are compared."""


def settle_ties(
    room: Room, places: tuple[int, ...], clearance: int, keep_going: KeepGoing
) -> tuple[tuple[int, ...], bool]:
    """The best such plan that is found, and whether every plan with this smallest clearance was compared."""
    best = _Best(room)
    best.offer(np.array(places, dtype=np.int64)[None])
    _move(best, Climber(room, len(places)), clearance, keep_going)
    every = MaskSearch(room, len(places), clearance, worth=Climber(room, len(places)).worth, every=best.offer)
    if not every.complete:
        return best.places, False
    while not every.done:
        if not keep_going() or every.looked_at > MOST_NODES or best.seen > MOST_PLANS:
            return best.places, False
        every.step()
    return best.places, True


class _Best:
    """Keeps the best of the plans that are offered; of equal ones, the lowest."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self.seen = 0
        self.rank: Rank = ()
        self.places: tuple[int, ...] = ()

    def offer(self, plans: Ints) -> None:
        """Plans [B, count]; beyond the limit they are only counted."""
        for plan in plans[: max(MOST_PLANS - self.seen, 0)]:
            rank = ranking(self.room, plan)
            row = tuple(int(place) for place in plan)
            if rank > self.rank or (rank == self.rank and row < self.places) or not self.places:
                self.rank, self.places = rank, row
        self.seen += len(plans)


def _move(best: _Best, climber: Climber, clearance: int, keep_going: KeepGoing) -> None:
    """Move one carrier at a time while that makes the plan better."""
    moved = True
    while moved and keep_going():
        before = best.rank
        now = np.array(best.places, dtype=np.int64)
        for index in range(len(now)):
            plans = np.repeat(now[None], MOVES, axis=0)
            others = climber.others_at(now, index, clearance, MOVES)
            plans[: len(others), index] = others
            best.offer(np.sort(plans[: len(others)], axis=1))
        best.seen = 0
        moved = best.rank > before

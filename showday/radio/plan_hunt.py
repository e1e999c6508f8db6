"""Looking for the best plan of so many carriers in one room: climbing, and both proofs in turns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from showday.radio.plan_ask import KeepGoing
from showday.radio.plan_branch import BranchSearch
from showday.radio.plan_first import Climber
from showday.radio.plan_forms import make_forms
from showday.radio.plan_masks import MaskSearch
from showday.radio.plan_room import Room
from showday.radio.plan_spans import largest_clearance
from showday.radio.plan_tables import grid_size
from showday.radio.plan_ways import FAR

MOST_CLIMBED = 16
"""Plans of more carriers are not made by climbing: a round would take seconds."""
MOST_BRANCHED = 14
FEW_PLACES = 128
"""In a room of so few places the masks alone are quicker: measured, up to eight times."""
CLIMBS_FIRST = 8
CLIMBS_WITHOUT_GAIN = 150
MASKS_AFTER = 10
"""Turns of the relaxation before the masks begin: most plans are proved by then."""


@dataclass(slots=True)
class Hunt:
    """What was found so far, in the room's unit. `bound`: no plan of as many carriers has a larger clearance."""

    room: Room
    count: int
    places: tuple[int, ...] = ()
    clearance: int = -FAR
    bound: int = FAR
    complete: bool = False
    looked_at: int = 0

    @property
    def found(self) -> bool:
        """Whether there is a plan at all."""
        return len(self.places) == self.count

    def take(self, places: tuple[int, ...], clearance: int) -> bool:
        """Keep a plan when it is better than the one that is kept."""
        if len(places) != self.count or clearance <= self.clearance:
            return False
        self.places, self.clearance = places, clearance
        return True


Watch = Callable[[Hunt], None]


def hunt(
    room: Room,
    count: int,
    least: int,
    keep_going: KeepGoing,
    watch: Watch,
    known: tuple[int, ...] = (),
    *,
    only_one: bool = False,
    turns: int | None = None,
) -> Hunt:
    """The best plan of `count` carriers with a clearance of at least `least`; any such plan with `only_one`.

    `known`: a plan to begin with. `turns` limits the work by something that is the same on every machine.
    """
    found = Hunt(room, count)
    if count > len(room.slots) or count > sum(group.room for group in room.groups):
        found.complete, found.bound = True, least - 1
        return found
    found.bound = _quick_bound(room, count)
    climber = Climber(room, count)
    if len(known) == count:
        found.take(known, climber.worth_of(known))
    if count == 1:
        return _one(found, least)
    enough = least if only_one else FAR
    _climb_first(found, climber, least, enough, keep_going, watch)
    if found.clearance < min(found.bound, enough) and found.bound >= least:
        _prove(found, climber, least, enough, keep_going, watch, turns)
    if found.clearance >= found.bound or found.bound < least:
        found.complete = True
    if found.complete and not only_one:
        found.bound = max(found.clearance, least - 1)
    return found


def _quick_bound(room: Room, count: int) -> int:
    span = int(room.slots[-1] - room.slots[0])
    if count < 2:
        return int(room.alone.max())
    return min(largest_clearance(room.equations, count, span), int(room.alone.max()))


def _one(found: Hunt, least: int) -> Hunt:
    """A single carrier: the best slot, the lowest of equal ones."""
    best = int(found.room.alone.argmax())
    found.take((int(found.room.slots[best]),), int(found.room.alone[best]))
    found.complete, found.bound = True, found.clearance
    if found.clearance < least:
        found.places = ()
    return found


def _climb_first(found: Hunt, climber: Climber, least: int, enough: int, keep_going: KeepGoing, watch: Watch) -> None:
    if found.count > MOST_CLIMBED:
        return
    while climber.tries < CLIMBS_FIRST and found.clearance < min(found.bound, enough) and keep_going():
        _climb(found, climber, least)
        watch(found)


def _climb(found: Hunt, climber: Climber, least: int) -> bool:
    places, clearance = climber.step()
    return clearance >= least and found.take(places, clearance)


def _prove(
    found: Hunt,
    climber: Climber,
    least: int,
    enough: int,
    keep_going: KeepGoing,
    watch: Watch,
    turns: int | None,
) -> None:
    """Both proofs, a step each in turns, until one is complete; whatever one finds helps the other."""
    need = max(least, found.clearance + 1)
    room, count = found.room, found.count
    masks = MaskSearch(room, count, need, worth=climber.worth, improve=climber.improve)
    alone = masks.complete and grid_size(room) <= FEW_PLACES
    forms = make_forms(room, count, least, found.bound) if count <= MOST_BRANCHED and not alone else None
    branch = BranchSearch(room, forms, count, need, found.places, climber.improve) if forms else None
    last_gain = turn = 0
    while found.clearance < min(found.bound, enough) and keep_going() and turn != turns:
        turn += 1
        gained = False
        if branch is not None and branch.complete and not branch.done:
            branch.step()
            gained |= branch.clearance is not None and found.take(branch.best, branch.clearance)
            bound = branch.bound
            found.bound = found.bound if bound is None else max(min(found.bound, bound), found.clearance)
        if masks.complete and not masks.done and (turn > MASKS_AFTER or branch is None or not branch.complete):
            masks.step()
            gained |= masks.clearance is not None and found.take(masks.best, masks.clearance)
        if count <= MOST_CLIMBED and climber.tries < last_gain + CLIMBS_WITHOUT_GAIN:
            gained |= _climb(found, climber, least)
        if gained:
            last_gain = climber.tries
            masks.demand(found.places, found.clearance)
            if branch is not None and branch.complete:
                branch.demand(found.places, found.clearance)
        found.looked_at = masks.looked_at + (branch.looked_at if branch is not None else 0)
        watch(found)
        if masks.done or (branch is not None and branch.done):
            found.complete = True
            found.bound = max(found.clearance, least - 1)
            break
        if (
            not masks.complete
            and (branch is None or not branch.complete)
            and climber.tries >= last_gain + CLIMBS_WITHOUT_GAIN
        ):
            break

"""Plans: the most carriers that fit, where they are clearest, who gets which, and which are the spares.

The largest smallest clearance comes first; of plans with the same, the one whose next smallest is larger, and so on.
Spares are planned like carriers, everything on at once, so that any of them can take over at any time; those become
spares without which the others are clearest; with transmitters, each set that shares places gets its own (`spare_places`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations, islice

import numpy as np

from showday.radio.plan_ask import Ask, KeepGoing, Plan, Planned, Progress, Report, always, silent
from showday.radio.plan_first import Climber
from showday.radio.plan_hunt import MOST_CLIMBED, Hunt, hunt
from showday.radio.plan_rank import MOST_RANKED, ranking
from showday.radio.plan_room import Room, make_room
from showday.radio.plan_spans import largest_clearance
from showday.radio.plan_ties import settle_ties
from showday.radio.plan_ways import FAR
from showday.radio.tuning import assign, seated
from showday.radio.verify import Verdict, verify

PACKINGS = 6
MOST_CHOICES = 2_000
"""Ways to choose the spares that are compared, those first in which high carriers are spares (a choice of this program)."""


def plan(ask: Ask, keep_going: KeepGoing = always, report: Report = silent) -> Plan:
    """The best plan for an ask; RadioTrouble when nothing can be planned for it.

    `keep_going` is asked often; when it says no, the best so far is given with a bound instead of a proof. `report`
    hears about every stretch of the search. The same ask gets the same plan, as long as it is not stopped.
    """
    room = make_room(ask)
    search = _Search(room, keep_going, report)
    count, loose, most = search.most_that_fit()
    found = search.best(count, loose)
    settled = found.complete and search.ties(found)
    return _finished(search, found, most, settled)


def fits(ask: Ask, keep_going: KeepGoing = always, turns: int | None = None) -> bool | None:
    """Whether as many as are asked for can be clean at once; None when it was not found out."""
    return _Search(make_room(ask), keep_going, silent, turns).all_fit()


@dataclass(slots=True)
class _Search:
    """One search: the room as asked, and the same where two carriers exactly at their spacing count as clear."""

    room: Room
    keep_going: KeepGoing
    report: Report
    turns: int | None = None
    looked_at: int = 0

    @property
    def touching(self) -> Room:
        """In it a clearance of 0 means clean; in the room as asked only 1 or more does."""
        return make_room(self.room.ask, touching=True) if self.room.spacing else self.room

    def most_that_fit(self) -> tuple[int, tuple[int, ...], int]:
        """How many carriers, up to those that are asked for, are planned; such a plan; how many at most can be."""
        wanted = self.room.free
        room = self.touching
        least = 0 if self.room.spacing else 1
        best = self._packed(room, wanted, least)
        most = max(min(wanted, _quick_most(room, least)), len(best))
        while len(best) < most:
            found = self._hunt(room, len(best) + 1, least, "fitting", only_one=True)
            if found.found and found.clearance >= least:
                best = self._filled(room, found.places, most, least)
            elif found.complete:
                most = len(best)
            else:
                break
        return len(best), best, most

    def all_fit(self) -> bool | None:
        """Whether all that are asked for fit; None when it was not found out."""
        room, wanted = self.touching, self.room.free
        least = 0 if self.room.spacing else 1
        if len(self._packed(room, wanted, least)) == wanted:
            return True
        if _quick_most(room, least) < wanted:
            return False
        found = self._hunt(room, wanted, least, "fitting", only_one=True)
        if found.found and found.clearance >= least:
            return True
        return False if found.complete else None

    def best(self, count: int, loose: tuple[int, ...]) -> Hunt:
        """The plan of so many carriers with the largest smallest clearance."""
        if not count:
            return Hunt(self.room, 0, (), FAR, FAR, complete=True)
        found = self._hunt(self.room, count, 1, "proving", known=loose)
        if found.found and found.clearance >= 1:
            return found
        bound = max(found.bound, 0)
        return Hunt(self.room, count, loose, 0, bound, found.complete, found.looked_at)

    def ties(self, found: Hunt) -> bool:
        """Make the clearances after the smallest larger, where that costs the smallest nothing; whether that is proved."""
        if found.count + len(self.room.others) > MOST_RANKED or found.clearance < 1 or not found.count:
            return found.count <= 1
        found.places, settled = settle_ties(found.room, found.places, found.clearance, self.keep_going)
        return settled

    def _packed(self, room: Room, wanted: int, least: int) -> tuple[int, ...]:
        """The most carriers that go in one after the other, in a few orders; or a plan made by climbing."""
        best: tuple[int, ...] = ()
        climber = Climber(room, wanted)
        for packing in range(PACKINGS):
            if len(best) == wanted or not (packing == 0 or self.keep_going()):
                break
            packed = climber.pack(least, wanted, self.keep_going, from_low=packing == 0)
            best = max(best, packed, key=len)
        while len(best) < wanted <= MOST_CLIMBED and climber.tries < PACKINGS and self.keep_going():
            places, clearance = climber.step()
            if len(places) == wanted and clearance >= least:
                best = places
        return best

    def _filled(self, room: Room, places: tuple[int, ...], most: int, least: int) -> tuple[int, ...]:
        return Climber(room, most).pack(least, most, self.keep_going, from_low=True, begun=places)

    def _hunt(
        self, room: Room, count: int, least: int, doing: str, *, known: tuple[int, ...] = (), only_one: bool = False
    ) -> Hunt:
        def watch(found: Hunt) -> None:
            best = found.clearance * room.unit if found.found else None
            bound = None if found.bound == FAR else found.bound * room.unit
            carriers = (*room.hertz(found.places), *room.ask.held)
            self.report(Progress(best, bound, tuple(sorted(carriers)), self.looked_at + found.looked_at, doing))

        found = hunt(room, count, least, self.keep_going, watch, known, only_one=only_one, turns=self.turns)
        self.looked_at += found.looked_at
        return found


def _quick_most(room: Room, least: int) -> int:
    """A bound on how many fit, without a search: slots, transmitters, and what the span has room for."""
    good = int((room.alone >= least).sum())
    most = min(good, sum(group.room for group in room.groups))
    span = int(room.slots[-1] - room.slots[0]) if len(room.slots) else 0
    while most > 1 and largest_clearance(room.equations, most, span) < least:
        most -= 1
    return most


def _finished(search: _Search, found: Hunt, most: int, settled: bool) -> Plan:
    room, ask = search.room, search.room.ask
    spares = max(found.count - (ask.count - len(ask.held)), _unseated(room, found.places))
    mains, extras = _choose_spares(room, found.places, spares)
    own = sorted((*mains, *ask.held))
    verdict = verify([*own, *extras], ask.air)
    judged = {each.at: each for each in verdict.carriers}
    places = assign(own, ask.tuners)
    carriers = tuple(
        Planned(judged[at], ask.tuners[place].name if place is not None else "", (), at in ask.held)
        for at, place in zip(own, places, strict=True)
    )
    kept = tuple(
        Planned(judged[at], "", tuple(tuner.name for tuner in ask.tuners if tuner.reaches(at))) for at in extras
    )
    bound = _bound(room, found, verdict)
    limit = verdict.worst
    proved = found.complete or (limit is not None and bound is not None and limit.clearance >= bound)
    return Plan(
        carriers,
        kept,
        limit,
        proved,
        settled,
        bound,
        asked=ask.count + ask.spares,
        most=most + len(ask.held),
        looked_at=search.looked_at,
    )


def _unseated(room: Room, places: tuple[int, ...]) -> int:
    """How many of these no transmitter is left for: not all that were asked for fit, and what was meant for a spare did."""
    ask = room.ask
    return assign([*room.hertz(places), *ask.held], ask.tuners).count(None) if ask.tuners else 0


def _bound(room: Room, found: Hunt, verdict: Verdict) -> int | None:
    """In Hz; what does not move can be worse than all that does."""
    fixed = verify(room.ask.held, room.ask.air).worst
    bounds = [] if fixed is None else [fixed.clearance]
    if found.bound != FAR:
        bounds.append(found.bound * room.unit)
    if verdict.worst is not None and found.complete:
        bounds.append(verdict.worst.clearance)
    return min(bounds, default=None)


def _choose_spares(room: Room, places: tuple[int, ...], spares: int) -> tuple[list[int], list[int]]:
    """Carriers and spares in Hz: the carriers are clearest without these spares; of equal choices, high spares."""
    if not spares:
        return list(room.hertz(places)), []
    choices: Iterable[tuple[int, ...]] = islice(combinations(range(len(places)), len(places) - spares), MOST_CHOICES)
    best: _Rank | None = None
    chosen: tuple[int, ...] = ()
    for choice in choices:
        rank = _rank(room, places, choice)
        if rank is not None and (best is None or rank > best):
            best, chosen = rank, choice
    if best is None or not best[0]:
        # Among so few of the ways there may be none that can be set.
        choice = _by_seats(room, places, len(places) - spares)
        rank = _rank(room, places, choice)
        if rank is not None and (best is None or rank > best):
            chosen = choice
    mains = [places[index] for index in chosen]
    return list(room.hertz(mains)), list(room.hertz(place for place in places if place not in mains))


_Rank = tuple[bool, tuple[tuple[int, ...], ...]]
"""Whether each spare is one for the transmitters that it is meant for, then how clear the carriers are."""


def _rank(room: Room, places: tuple[int, ...], choice: tuple[int, ...]) -> _Rank | None:
    """How good it is when these of the places are the carriers; None when no transmitters can be set to them."""
    mains = [places[index] for index in choice]
    if not _for_transmitters(room, mains):
        return None
    ranked = len(places) + len(room.others) <= MOST_RANKED
    return (
        _for_spares(room, [place for place in places if place not in mains]),
        (ranking(room, np.array(mains, dtype=np.int64)),) if ranked else (),
    )


def _by_seats(room: Room, places: tuple[int, ...], count: int) -> tuple[int, ...]:
    """So many of the places that transmitters can be set to, the others spares for those that they are meant for."""
    tuners, held = room.ask.tuners, room.ask.held
    at = [*held, *(int(hz) for hz in room.origin + np.array(places, dtype=np.int64) * room.unit)]
    reached = [[seat for seat, tuner in enumerate(tuners) if tuner.reaches(hz)] for hz in at]
    for row, slot in zip(reached[len(held) :], room.index(np.array(places, dtype=np.int64)), strict=True):
        row += [len(tuners) + seat for seat, takes in enumerate(room.spares) if takes[slot]]
    seats = seated(reached, len(tuners) + len(room.spares), before=len(tuners))[len(held) :]
    return tuple(index for index, seat in enumerate(seats) if seat is not None and seat < len(tuners))[:count]


def _for_transmitters(room: Room, places: list[int]) -> bool:
    """Whether these, and the held ones, can be set on different transmitters."""
    ask = room.ask
    return not ask.tuners or None not in assign([*room.hertz(places), *ask.held], ask.tuners)


def _for_spares(room: Room, places: list[int]) -> bool:
    """Whether each of these is a spare for the transmitters that one is meant for."""
    if not room.spares:
        return True
    at = room.index(np.array(places, dtype=np.int64))
    reached = [[seat for seat, takes in enumerate(room.spares) if takes[slot]] for slot in at]
    return None not in seated(reached, len(room.spares))

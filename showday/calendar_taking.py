"""Dates of a calendar made into shows: which show is meant, at which venue, and what changes."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field

from showday.calendar_file import HOME, Dated
from showday.memory import find_venues
from showday.opening import place
from showday.run.events import Entry, Event
from showday.run.session import World, touring_entry
from showday.run.touring import Book, Show, ShowChanged, ShowLinked, ShowPlanned, Venue, VenueAdded
from showday.text.folded import bare

SPACE = uuid.UUID("0b6c2a52-7c5b-4d3e-9a3f-3b8f4f6a8d10")
"""Name space of the ids below: two laptops that take the same calendar make the same show of the same entry."""
SURE = 95.0
"""Likeness in percent from which a place written otherwise is taken for one that is known (a choice of this program)."""


@dataclass
class Taking:
    """What a calendar changes: events by stream, in order, and a line for each date."""

    book: Book
    changes: list[tuple[str, Event]] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    _venues: dict[str, Venue] = field(default_factory=dict)
    """Venues that this calendar brings, by id."""
    _met: set[str] = field(default_factory=set)
    """Shows that an entry was matched with already."""

    def take(self, found: Dated) -> None:
        """One date: the show it is, as it stands now, or a new one."""
        venue = self._venue(found)
        show = self._show(found, venue)
        id = show.id if show else str(uuid.uuid5(SPACE, f"show/{found.uid}"))
        self._met.add(id)
        slot = found.slot or (show.slot if show else "")
        changeover = found.changeover if found.changeover is not None else show.changeover if show else None
        same_venue = show is not None and show.venue in self.book.same_place(venue.id)
        said = (show.venue if show and same_venue else venue.id, found.date, slot, changeover)
        if show is None:
            self.changes.append((id, ShowPlanned(*said)))
        elif said != (show.venue, show.date, show.slot, show.changeover):
            self.changes.append((id, ShowChanged(*said, show.facts)))
        if not found.uid.endswith(HOME) and (show is None or found.uid not in show.uids):
            self.changes.append((id, ShowLinked(found.uid)))
        self.lines.append(_told(found, venue, slot, changeover, _how(show, said)))

    def entries(self, world: World) -> list[Entry]:
        """The changes as entries of the log, to be written together."""
        first = round(world.clock.now().timestamp() * 1000)
        return [touring_entry(world, stream, event, first + n) for n, (stream, event) in enumerate(self.changes)]

    def _show(self, found: Dated, venue: Venue) -> Show | None:
        shows = self.book.shows
        by_id = (found.uid.removesuffix(HOME), str(uuid.uuid5(SPACE, f"show/{found.uid}")))
        for id in by_id:
            if id in shows:
                return shows[id]
        here = self.book.same_place(venue.id)
        linked = [s for s in shows.values() if found.uid in s.uids]
        there = [s for s in shows.values() if s.venue in here and s.date == found.date and s.id not in self._met]
        return next(iter(linked or there), None)

    def _venue(self, found: Dated) -> Venue:
        known = _known(self.book, found)
        if known is not None:
            return known
        id = str(uuid.uuid5(SPACE, f"venue/{bare(found.place)}/{bare(found.town)}"))
        if held := self.book.venue(id):
            return held
        if id not in self._venues:
            self._venues[id] = Venue(id, found.place, found.town)
            self.changes.append((id, VenueAdded(found.place, found.town)))
            like = [place(venue) for venue, likeness in find_venues(self.book, found.place) if likeness >= 80][:3]
            more = f"; like it: {'; '.join(like)}. `showday venue merge` makes two names one" if like else ""
            self.lines.append(f"New venue: {place(self._venues[id])}{more}.")
        return self._venues[id]


def _known(book: Book, found: Dated) -> Venue | None:
    """The venue of that name, also an older one; of several, the one in that town."""
    likely = find_venues(book, found.place)
    same = [venue for venue, _ in likely if bare(found.place) in map(bare, (venue.name, *venue.former))]
    there = [v for v in same if not found.town or not v.town or bare(v.town) in bare(found.town)]
    if there:
        return there[0]
    close = [venue for venue, likeness in likely if likeness >= SURE and venue not in same]
    fits = [v for v in close if v.town and bare(v.town) in bare(found.town)]
    return fits[0] if len(fits) == 1 else None


def _how(show: Show | None, said: tuple[str, str, str, float | None]) -> str:
    if show is None:
        return "new"
    if said == (show.venue, show.date, show.slot, show.changeover):
        return "as it was"
    before = " ".join(part for part in (show.date, show.slot) if part)
    minutes = f", changeover {show.changeover:g} min" if show.changeover else ""
    return f"changed, was {before}{minutes}"


def _told(found: Dated, venue: Venue, slot: str, changeover: float | None, how: str) -> str:
    there = f" here, {found.told} there; --zone {found.zone} would keep that" if found.told else ""
    at = f" {slot}{there}" if slot else ", stage time not known"
    minutes = f", changeover {changeover:g} min" if changeover else ""
    return f"{found.date}{at}{minutes}: {place(venue)}: {how}"


def taking(book: Book, dates: Iterable[Dated]) -> Taking:
    """What these dates change, in the order of their days."""
    made = Taking(book)
    for found in sorted(dates, key=lambda d: (d.date, d.slot, d.uid)):
        made.take(found)
    return made

"""Venues, shows and the to-fix list: their events, and the book they fold into."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from showday.run.attached import ATTACHED_EVENTS, Attached, FileAttached, FileDetached, fold_file
from showday.run.events import Entry, Event
from showday.run.to_fix import (
    TO_FIX_EVENTS,
    ToFix,
    ToFixAssigned,
    ToFixClosed,
    ToFixNoted,
    ToFixOpened,
    ToFixReopened,
    ToFixWithdrawn,
    fold_item,
)

__all__ = [
    "TOPICS",
    "TOURING_EVENTS",
    "Attached",
    "Book",
    "FileAttached",
    "FileDetached",
    "Show",
    "ShowAwayChanged",
    "ShowChanged",
    "ShowLinked",
    "ShowPlanned",
    "ToFix",
    "ToFixAssigned",
    "ToFixClosed",
    "ToFixNoted",
    "ToFixOpened",
    "ToFixReopened",
    "ToFixWithdrawn",
    "Venue",
    "VenueAdded",
    "VenueMerged",
    "VenueNote",
    "VenueNoted",
    "VenueRenamed",
    "VenueUnmerged",
    "fold_book",
]

TOPICS = ("note", "contact", "supply", "frequency", "access", "distance")
"""What a venue note is about."""


@dataclass(frozen=True, slots=True)
class VenueAdded(Event):
    """A place is entered; the stream is the venue's id."""

    name: str
    town: str = ""
    country: str = ""


@dataclass(frozen=True, slots=True)
class VenueRenamed(Event):
    """The place has another name now; the old one still finds it."""

    name: str
    town: str = ""
    country: str = ""


@dataclass(frozen=True, slots=True)
class VenueMerged(Event):
    """This venue is the same place as `into`."""

    into: str


@dataclass(frozen=True, slots=True)
class VenueUnmerged(Event):
    """This venue is a place of its own after all; what `VenueMerged` said no longer holds."""


@dataclass(frozen=True, slots=True)
class VenueNoted(Event):
    """Something to know about a place."""

    topic: str
    text: str


@dataclass(frozen=True, slots=True)
class ShowPlanned(Event):
    """A date at a venue; the stream is the show's id."""

    venue: str
    date: str
    """YYYY-MM-DD."""
    slot: str = ""
    """Stage time, HH:MM local."""
    changeover: float | None = None
    """Minutes available."""
    facts: tuple[str, ...] = ()
    """Conditions that hold: `festival`, `outdoors`; `not indoors` for one that does not."""


@dataclass(frozen=True, slots=True)
class ShowChanged(Event):
    """The show's plan as it is now; replaces what `ShowPlanned` said."""

    venue: str
    date: str
    slot: str = ""
    changeover: float | None = None
    facts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ShowAwayChanged(Event):
    """Who is not here at this show."""

    away: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShowLinked(Event):
    """The show is this entry of somebody's calendar, so that the next import finds it again."""

    uid: str
    """The entry's UID (RFC 5545, section 3.8.4.7)."""


_VENUE_EVENTS = (VenueAdded, VenueRenamed, VenueMerged, VenueUnmerged, VenueNoted)
_SHOW_EVENTS = (ShowPlanned, ShowChanged, ShowAwayChanged, ShowLinked)
TOURING_EVENTS: tuple[type[Event], ...] = (*_VENUE_EVENTS, *_SHOW_EVENTS, *TO_FIX_EVENTS, *ATTACHED_EVENTS)


@dataclass(frozen=True, slots=True)
class VenueNote:
    """One thing to know, with the day it was noted."""

    topic: str
    text: str
    at: str


@dataclass(frozen=True, slots=True)
class Venue:
    """A place."""

    id: str
    name: str
    town: str = ""
    country: str = ""
    former: tuple[str, ...] = ()
    """Earlier names, and the names of places merged into this one."""
    notes: tuple[VenueNote, ...] = ()
    merged_into: str = ""


@dataclass(frozen=True, slots=True)
class Show:
    """One date at a place."""

    id: str
    venue: str
    date: str
    slot: str = ""
    changeover: float | None = None
    facts: tuple[str, ...] = ()
    away: tuple[str, ...] = ()
    away_said: bool = False
    """True once somebody said who is not here; then the rig file's word counts no longer."""
    uids: tuple[str, ...] = ()
    """The entries of calendars that it is."""
    changed: str = field(default="", compare=False)
    """UTC of when its plan was last said; not a part of the plan."""
    changes: int = field(default=0, compare=False)
    """How often its plan was said anew."""


@dataclass(frozen=True)
class Book:
    """All venues, shows and to-fix items, by id."""

    venues: dict[str, Venue]
    shows: dict[str, Show]
    items: dict[str, ToFix]
    files: dict[str, tuple[Attached, ...]] = field(default_factory=dict)
    """Files by the id of the venue, show or to-fix item that they were attached to."""

    def venue(self, id: str) -> Venue | None:
        """The venue of an id, following merges; None when unknown.

        Two laptops may have merged two places into each other: the circle's least id then stands for all of them.
        A merge into a place that is not here yet counts for nothing.
        """
        way: list[str] = []
        while id in self.venues and id not in way:
            way.append(id)
            id = self.venues[id].merged_into
        if not way:
            return None
        return self.venues[min(way[way.index(id) :]) if id in way else way[-1]]

    def places(self) -> list[Venue]:
        """Every venue that was not merged away, by name."""
        kept = {found.id: found for id in self.venues if (found := self.venue(id))}
        return sorted(kept.values(), key=lambda v: (v.name.lower(), v.id))

    def same_place(self, id: str) -> set[str]:
        """Every venue id that means the same place as `id`."""
        target = self.venue(id)
        return {v for v in self.venues if (found := self.venue(v)) and target and found.id == target.id}

    def parts(self, id: str) -> list[Venue]:
        """The venues that were merged into the place of `id`, by name."""
        target = self.venue(id)
        others = (self.venues[v] for v in self.same_place(id) if target is None or v != target.id)
        return sorted(others, key=lambda v: (v.name.lower(), v.id))

    def venue_of(self, item: ToFix) -> str:
        """The id of the place an item comes from, by its show when that is known; empty when it comes from none."""
        show = self.shows.get(item.show)
        found = self.venue(show.venue if show else item.venue)
        return found.id if found else ""

    def open_items(self) -> list[ToFix]:
        """Open to-fix items: what is due first, then the oldest."""
        return sorted((i for i in self.items.values() if not i.closed), key=lambda i: i.order)

    def closed_items(self) -> list[ToFix]:
        """Closed to-fix items, the last closed first."""
        return sorted((i for i in self.items.values() if i.closed), key=lambda i: (i.closed, i.id), reverse=True)

    def files_of(self, id: str) -> list[Attached]:
        """Files of a venue (of all that it is made of), a show or a to-fix item, newest first."""
        found = [file for stream in self.same_place(id) or {id} for file in self.files.get(stream, ())]
        return sorted(found, key=lambda f: (f.at, f.path), reverse=True)


def fold_book(entries: Iterable[Entry]) -> Book:
    """The book after all entries; order within a stream counts, order between streams does not.

    Entries of events that cannot apply (a note for a venue that is not here, a second opening) are passed over:
    two joined logs may hold halves of each other's story.
    """
    venues: dict[str, Venue] = {}
    shows: dict[str, Show] = {}
    items: dict[str, ToFix] = {}
    files: dict[str, tuple[Attached, ...]] = {}
    for entry in entries:
        event = entry.event
        if isinstance(event, _VENUE_EVENTS):
            _fold_venue(venues, entry, event)
        elif isinstance(event, _SHOW_EVENTS):
            _fold_show(shows, entry, event)
        elif isinstance(event, TO_FIX_EVENTS):
            fold_item(items, entry)
        elif isinstance(event, ATTACHED_EVENTS):
            fold_file(files, entry)
    book = Book(venues, shows, {id: item for id, item in items.items() if not item.withdrawn}, files)
    _join_places(book)
    return book


def _join_places(book: Book) -> None:
    """Give each place the names and notes of those merged into it."""
    joined: dict[str, list[Venue]] = {}
    for id in sorted(book.venues):
        target = book.venue(id)
        if target and target.id != id:
            joined.setdefault(target.id, []).append(book.venues[id])
    for id, sources in joined.items():
        target = book.venues[id]
        names = dict.fromkeys((*target.former, *(n for s in sources for n in (s.name, *s.former))))
        notes = tuple(sorted((*target.notes, *(n for s in sources for n in s.notes)), key=lambda n: n.at))
        former = tuple(name for name in names if name != target.name)
        book.venues[id] = replace(target, former=former, notes=notes)


def _fold_venue(
    venues: dict[str, Venue],
    entry: Entry,
    event: VenueAdded | VenueRenamed | VenueMerged | VenueUnmerged | VenueNoted,
) -> None:
    held = venues.get(entry.stream)
    if isinstance(event, VenueAdded):
        if held is None:
            venues[entry.stream] = Venue(entry.stream, event.name, event.town, event.country)
    elif held is None:
        return
    elif isinstance(event, VenueRenamed):
        former = tuple(name for name in dict.fromkeys((*held.former, held.name)) if name != event.name)
        town, country = event.town or held.town, event.country or held.country
        venues[entry.stream] = replace(held, name=event.name, town=town, country=country, former=former)
    elif isinstance(event, VenueMerged):
        venues[entry.stream] = replace(held, merged_into=event.into)
    elif isinstance(event, VenueUnmerged):
        venues[entry.stream] = replace(held, merged_into="")
    else:
        note = VenueNote(event.topic, event.text, entry.at)
        venues[entry.stream] = replace(held, notes=(*held.notes, note))


def _fold_show(
    shows: dict[str, Show], entry: Entry, event: ShowPlanned | ShowChanged | ShowAwayChanged | ShowLinked
) -> None:
    held = shows.get(entry.stream)
    if isinstance(event, ShowPlanned) or (isinstance(event, ShowChanged) and held is not None):
        said = (event.venue, event.date, event.slot, event.changeover, event.facts)
        made = Show(entry.stream, *said, changed=entry.at)
        if held is not None:
            made = replace(made, away=held.away, away_said=held.away_said, uids=held.uids, changes=held.changes + 1)
        shows[entry.stream] = made
    elif held is not None and isinstance(event, ShowAwayChanged):
        shows[entry.stream] = replace(held, away=event.away, away_said=True)
    elif held is not None and isinstance(event, ShowLinked):
        shows[entry.stream] = replace(held, uids=tuple(dict.fromkeys((*held.uids, event.uid))))

"""Venues, shows and the to-fix list: their events, and the book they fold into."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from showday.run.events import Entry, Event

TOPICS = ("note", "contact", "supply", "frequency", "access")
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
class ToFixOpened(Event):
    """Something restored but not cured, or an open fault; the stream is the item's id."""

    text: str
    venue: str = ""
    show: str = ""
    run: str = ""
    walk: str = ""
    about: str = ""
    uses: str = ""
    """The spare that was used up."""
    fault: str = ""
    """The fault tree that was walked, for looking for the cause later."""
    odds: tuple[tuple[str, float], ...] = ()
    """What was still likely, cause in words and chance."""


@dataclass(frozen=True, slots=True)
class ToFixNoted(Event):
    """Words about an item."""

    text: str


@dataclass(frozen=True, slots=True)
class ToFixClosed(Event):
    """The item is cured: how."""

    how: str = ""


@dataclass(frozen=True, slots=True)
class ToFixReopened(Event):
    """The item was not cured after all."""

    why: str = ""


TOURING_EVENTS: tuple[type[Event], ...] = (
    VenueAdded,
    VenueRenamed,
    VenueMerged,
    VenueNoted,
    ShowPlanned,
    ShowChanged,
    ShowAwayChanged,
    ToFixOpened,
    ToFixNoted,
    ToFixClosed,
    ToFixReopened,
)


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


@dataclass(frozen=True, slots=True)
class ToFix:
    """One item of the to-fix list."""

    id: str
    text: str
    opened: str
    venue: str = ""
    show: str = ""
    run: str = ""
    walk: str = ""
    about: str = ""
    uses: str = ""
    notes: tuple[str, ...] = ()
    closed: str = ""
    """When it was closed; empty while it is open."""
    how: str = ""
    fault: str = ""
    odds: tuple[tuple[str, float], ...] = ()

    def likely(self) -> str:
        """`then likely: cable dead 47%, muted 20%`, or the cause when it was known; empty when nothing was kept."""
        if len(self.odds) == 1 and self.odds[0][1] >= 1.0:
            return f"cause: {self.odds[0][0]}"
        named = ", ".join(f"{what} {round(100 * chance)}%" for what, chance in self.odds[:3])
        return f"then likely: {named}" if named else ""


@dataclass(frozen=True)
class Book:
    """All venues, shows and to-fix items, by id."""

    venues: dict[str, Venue]
    shows: dict[str, Show]
    items: dict[str, ToFix]

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

    def open_items(self) -> list[ToFix]:
        """Open to-fix items, oldest first."""
        return sorted((i for i in self.items.values() if not i.closed), key=lambda i: (i.opened, i.id))


def fold_book(entries: Iterable[Entry]) -> Book:
    """The book after all entries; order within a stream counts, order between streams does not.

    Entries of events that cannot apply (a note for a venue that is not here, a second opening) are passed over:
    two joined logs may hold halves of each other's story.
    """
    venues: dict[str, Venue] = {}
    shows: dict[str, Show] = {}
    items: dict[str, ToFix] = {}
    for entry in entries:
        event = entry.event
        if isinstance(event, (VenueAdded, VenueRenamed, VenueMerged, VenueNoted)):
            _fold_venue(venues, entry, event)
        elif isinstance(event, (ShowPlanned, ShowChanged, ShowAwayChanged)):
            _fold_show(shows, entry, event)
        elif type(event) in _ITEM_FOLDS:
            _fold_item(items, entry)
    _join_places(Book(venues, shows, items))
    return Book(venues, shows, items)


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
    venues: dict[str, Venue], entry: Entry, event: VenueAdded | VenueRenamed | VenueMerged | VenueNoted
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
    else:
        note = VenueNote(event.topic, event.text, entry.at)
        venues[entry.stream] = replace(held, notes=(*held.notes, note))


def _fold_show(shows: dict[str, Show], entry: Entry, event: ShowPlanned | ShowChanged | ShowAwayChanged) -> None:
    held = shows.get(entry.stream)
    if isinstance(event, ShowAwayChanged):
        if held is not None:
            shows[entry.stream] = replace(held, away=event.away, away_said=True)
        return
    if isinstance(event, ShowChanged) and held is None:
        return
    made = Show(entry.stream, event.venue, event.date, event.slot, event.changeover, event.facts)
    shows[entry.stream] = replace(made, away=held.away, away_said=held.away_said) if held else made


def _note(item: ToFix, entry: Entry, event: Any) -> ToFix:
    return replace(item, notes=(*item.notes, event.text))


def _close(item: ToFix, entry: Entry, event: Any) -> ToFix:
    return replace(item, closed=entry.at, how=event.how)


def _reopen(item: ToFix, entry: Entry, event: Any) -> ToFix:
    notes = (*item.notes, event.why) if event.why else item.notes
    return replace(item, closed="", how="", notes=notes)


_ITEM_FOLDS: dict[type[Event], Callable[[ToFix, Entry, Any], ToFix] | None] = {
    ToFixOpened: None,
    ToFixNoted: _note,
    ToFixClosed: _close,
    ToFixReopened: _reopen,
}


def _fold_item(items: dict[str, ToFix], entry: Entry) -> None:
    event = entry.event
    held = items.get(entry.stream)
    if isinstance(event, ToFixOpened):
        if held is None:
            items[entry.stream] = ToFix(
                entry.stream,
                event.text,
                entry.at,
                event.venue,
                event.show,
                event.run,
                event.walk,
                event.about,
                event.uses,
                fault=event.fault,
                odds=event.odds,
            )
        return
    change = _ITEM_FOLDS[type(event)]
    if held is not None and change is not None:
        items[entry.stream] = change(held, entry, event)

"""Which part of a log goes into a bundle, always in the same order."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from typing import Protocol

from showday.log import codec
from showday.log.records import RunRecord, Snapshot
from showday.run.events import Entry, Event
from showday.run.touring import Book, Venue

_HASH = re.compile(r"[0-9a-f]{64}")


class Readable(Protocol):
    """What is read of a log."""

    def entries(self, stream: str) -> list[Entry]:
        """A stream's entries."""

    def touring(self) -> list[Entry]:
        """All entries that belong to no run."""

    def runs(self) -> list[RunRecord]:
        """Every run."""

    def all_streams(self) -> list[str]:
        """Ids of all streams."""

    def snapshots(self) -> Iterator[Snapshot]:
        """Every snapshot."""


@dataclass(frozen=True, slots=True)
class Picked:
    """A part of a log; both can be gone through more than once."""

    entries: Callable[[], Iterator[Entry]]
    snapshots: Callable[[], Iterator[Snapshot]]


def everything(log: Readable) -> Picked:
    """All that is in the log."""

    def entries() -> Iterator[Entry]:
        for stream in log.all_streams():
            yield from log.entries(stream)

    return Picked(entries, log.snapshots)


def of_venue(log: Readable, book: Book, venue: Venue) -> Picked:
    """What belongs to one place, under whatever names: its shows, runs, to-fix items, and the snapshots they name."""
    here = book.same_place(venue.id)
    shows = {show.id for show in book.shows.values() if show.venue in here}
    streams = {*here, *shows}
    for record in log.runs():
        at = book.shows[record.show].venue if record.show in book.shows else record.venue
        if at in here:
            streams.add(record.id)
    for entry in log.touring():
        if getattr(entry.event, "venue", "") in here or getattr(entry.event, "show", "") in shows:
            streams.add(entry.stream)
    ordered = sorted(streams)

    def entries() -> Iterator[Entry]:
        for stream in ordered:
            yield from log.entries(stream)

    def snapshots() -> Iterator[Snapshot]:
        named = {hash for entry in entries() for hash in _hashes(entry.event)}
        return (snapshot for snapshot in log.snapshots() if snapshot.hash in named)

    return Picked(entries, snapshots)


def _hashes(event: Event) -> Iterator[str]:
    """Every text in an event that can name a snapshot."""
    if isinstance(event, codec.Unknown):
        yield from _HASH.findall(event.body)
        return
    for each in fields(event):
        value = getattr(event, each.name)
        for text in value if isinstance(value, tuple) else (value,):
            if isinstance(text, str) and _HASH.fullmatch(text):
                yield text

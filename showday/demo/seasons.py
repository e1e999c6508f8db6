"""Two seasons of the example act from a stored bundle, moved so that they lie as many days before tonight as before
the day the bundle was made for.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from pathlib import Path

from showday.errors import FileTrouble
from showday.log.bundle import Head, read_bundle
from showday.log.codec import TOURING_TYPES
from showday.log.records import Snapshot
from showday.run import touring as tour
from showday.run.events import Entry, Event
from showday.run.session import stamp


@dataclass(frozen=True, slots=True)
class Seasons:
    """What a bundle holds, its times and dates moved."""

    entries: tuple[Entry, ...]
    snapshots: tuple[Snapshot, ...]

    def between(self, since: str, until: str) -> list[Entry]:
        """Entries of a span of time, as UTC stamps; an empty `since` is the beginning."""
        return [entry for entry in self.entries if since <= entry.at < until]


def read_seasons(path: Path, tonight: date, zone: tzinfo) -> Seasons:
    """Read a bundle whose head says which day it was made for, in UTC; that day becomes `tonight`.

    Its times of day become those of `zone`, so that an evening is an evening wherever the demo is opened. FileTrouble
    when the bundle is damaged or not there.
    """
    try:
        lines = path.read_bytes().splitlines(keepends=True)
    except OSError as error:
        raise FileTrouble(f"{path.name} cannot be read ({error.strerror}).", "Install showday again.") from None
    found = list(read_bundle(lines, path.name))
    made = next(datetime.fromisoformat(each.made) for each in found if isinstance(each, Head))
    days = timedelta(days=(tonight - made.date()).days)
    by = datetime.combine(tonight, made.time(), zone) - made
    return Seasons(
        tuple(_moved(each, by, days) for each in found if isinstance(each, Entry)),
        tuple(each for each in found if isinstance(each, Snapshot)),
    )


def _moved(entry: Entry, by: timedelta, days: timedelta) -> Entry:
    at, event, seq = stamp(datetime.fromisoformat(entry.at) + by), entry.event, entry.seq
    if type(event) in TOURING_TYPES:
        event = _dated(event, days)
        seq += round(by.total_seconds() * 1000)  # outside of runs an entry's place is its time, as in `touring_entry`
    return Entry(entry.id, entry.stream, seq, at, entry.elapsed, event)


def _dated(event: Event, days: timedelta) -> Event:
    """The event with its own date moved, when it has one."""
    if isinstance(event, tour.ShowPlanned | tour.ShowChanged):
        return replace(event, date=_later(event.date, days))
    if isinstance(event, tour.ToFixAssigned) and event.due:
        return replace(event, due=_later(event.due, days))
    return event


def _later(day: str, days: timedelta) -> str:
    return (date.fromisoformat(day) + days).isoformat()


__all__ = ["Seasons", "read_seasons"]

"""Photos and other files that belong to a venue, a show or a to-fix item, by their paths. Nothing here opens them."""

from __future__ import annotations

from dataclasses import dataclass

from showday.run.events import Entry, Event

MISSING = "not there now"


@dataclass(frozen=True, slots=True)
class FileAttached(Event):
    """A file belongs to the venue, show or to-fix item whose stream this is."""

    path: str
    """As it was named, made absolute; the file stays where it is."""
    about: str = ""
    """What is to be seen in it."""


@dataclass(frozen=True, slots=True)
class FileDetached(Event):
    """The file does not belong there after all."""

    path: str


ATTACHED_EVENTS: tuple[type[Event], ...] = (FileAttached, FileDetached)


@dataclass(frozen=True, slots=True)
class Attached:
    """One file, and since when it is named here. Both texts are foreign: show them as plain text."""

    path: str
    about: str
    at: str
    """UTC."""


def fold_file(files: dict[str, tuple[Attached, ...]], entry: Entry) -> None:
    """Take one entry; the same path named again has its words replaced."""
    event = entry.event
    if not isinstance(event, (FileAttached, FileDetached)):
        return
    kept = tuple(file for file in files.get(entry.stream, ()) if file.path != event.path)
    if isinstance(event, FileAttached):
        kept = (*kept, Attached(event.path, event.about, entry.at))
    files[entry.stream] = kept

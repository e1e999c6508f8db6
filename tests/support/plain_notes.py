"""Searching notes the long way: every entry is read, every note is looked at, one after the other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rapidfuzz import fuzz

from showday.log.records import summarise
from showday.log.store import Log
from showday.notes import Note, of_touring
from showday.run import events as ev
from showday.run.events import Entry
from showday.run.touring import Book, fold_book
from showday.text.folded import bare


def all_notes(log: Log, unsaved: Iterable[Entry] = ()) -> list[Note]:
    """Every note, straight from the entries."""
    entries = [entry for stream in log.all_streams() for entry in log.entries(stream)] + list(unsaved)
    book = fold_book(log.touring())
    return [*_of_runs(entries, book), *of_touring(book)]


def _of_runs(entries: list[Entry], book: Book) -> Iterator[Note]:
    back = {entry.event.target for entry in entries if isinstance(entry.event, ev.Undone)}
    streams: dict[str, list[Entry]] = {}
    for entry in entries:
        streams.setdefault(entry.stream, []).append(entry)
    for stream, those in streams.items():
        run = summarise(sorted(those, key=lambda e: (e.seq, e.at, e.id)))
        show = book.shows.get(run.show) if run else None
        venue = book.venue(show.venue if show else run.venue) if run else None
        for entry in those:
            said = getattr(entry.event, "text" if isinstance(entry.event, ev.NoteAdded) else "reason", "")
            if isinstance(entry.event, ev.NoteAdded | ev.StepAnswered) and said and entry.id not in back:
                name, place = (venue.name, venue.id) if venue else ("", "")
                yield Note(entry.at, name, run.title if run else "", said, run=stream, place=place)


def search(notes: Iterable[Note], book: Book, query: str, limit: int) -> list[Note]:
    """The notes in which every word of the query stands, or nearly; the best first, then the newest."""
    asked = bare(query).split()
    found = []
    for note in notes:
        venue = book.venues.get(note.place)
        names = " ".join((venue.name, *venue.former)) if venue else ""
        words = set(bare(f"{note.text} {note.about} {names}").split())
        scores = [max((_likeness(one, word) for word in words), default=0.0) for one in asked]
        if all(scores):
            found.append((sum(scores), note.age, note))
    return [note for _, _, note in sorted(found, key=lambda row: row[:2], reverse=True)[:limit]]


def _likeness(asked: str, word: str) -> float:
    if word.startswith(asked) and word != asked:
        return 99.0
    likeness = fuzz.ratio(asked, word)
    return likeness if likeness >= 75.0 else 0.0

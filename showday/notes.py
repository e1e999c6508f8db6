"""Everything that was ever written down in words, and finding it again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from showday.log.keeper import Keeper
from showday.memory import bare
from showday.run import events as ev
from showday.run.events import Entry
from showday.run.touring import Book

KINDS = (ev.NoteAdded, ev.Undone)
LEAST = 75.0
"""Likeness in percent from which on a misspelt word still counts (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class Note:
    """Words of a person, and where they were written."""

    at: str
    """UTC."""
    venue: str
    """The venue's name; empty when it is of no venue."""
    about: str
    """What it was written at: a list's title, a topic, a to-fix item."""
    text: str
    run: str = ""
    """Id of the run that it was written in."""
    place: str = ""
    """Id of the venue that it is about."""
    item: str = ""
    """Id of the to-fix item that it is about."""


class NoteIndex:
    """Notes made ready for being searched at every key."""

    def __init__(self, notes: Iterable[Note]) -> None:
        self.notes = list(notes)
        self._where: dict[str, list[int]] = {}
        for at, note in enumerate(self.notes):
            for word in set(bare(f"{note.text} {note.about} {note.venue}").split()):
                self._where.setdefault(word, []).append(at)
        self._known = sorted(self._where)

    def find(self, query: str, limit: int = 50) -> list[Note]:
        """Notes in which every asked word stands, as it is, as a beginning, or nearly; the best first, then the newest.

        Accents, case and punctuation do not matter. All of them when nothing is asked.
        """
        asked = bare(query).split()
        if not asked:
            return self.notes[:limit]
        total: dict[int, float] = {}
        for count, word in enumerate(asked):
            found = self._notes_with(word)
            total = {at: total.get(at, 0.0) + score for at, score in found.items() if not count or at in total}
        best = sorted(total, key=lambda at: (-total[at], at))
        return [self.notes[at] for at in best[:limit]]

    def _notes_with(self, word: str) -> dict[int, float]:
        """Where a word stands, with its likeness in percent."""
        from rapidfuzz import fuzz, process

        spelt = process.extract(word, self._known, scorer=fuzz.ratio, limit=None, score_cutoff=LEAST)
        near = {other: score for other, score, _ in spelt}
        near |= {other: 99.0 for other in self._known if other.startswith(word) and other != word}
        scores: dict[int, float] = {}
        for other, score in near.items():
            for at in self._where[other]:
                scores[at] = max(scores.get(at, 0.0), score)
        return scores


def every_note(keeper: Keeper, book: Book) -> list[Note]:
    """Notes of runs and venues, reasons for what was not good, the to-fix list and files, newest first."""
    found = [*_of_runs(keeper, book), *_of_venues(book), *_of_items(book), *_of_files(book)]
    return sorted(found, key=lambda note: (note.at, note.text), reverse=True)


def find_notes(notes: Iterable[Note], query: str, limit: int = 50) -> list[Note]:
    """One search among notes, as `NoteIndex.find` does it."""
    return NoteIndex(notes).find(query, limit)


def note_lines(notes: Iterable[Note]) -> list[str]:
    """One line a note: the day, where, at what, and the words."""
    lines = []
    for note in notes:
        place = " | ".join(filter(None, (note.venue, note.about)))
        lines.append(f"{note.at[:10]}  {place}: {note.text}" if place else f"{note.at[:10]}  {note.text}")
    return lines


def _of_runs(keeper: Keeper, book: Book) -> Iterator[Note]:
    entries = [*keeper.events_of(KINDS), *keeper.reasons()]
    gone = {entry.event.target for entry in entries if isinstance(entry.event, ev.Undone)}
    places: dict[str, tuple[str, str, str]] = {}
    for entry in entries:
        text = _words(entry)
        if not text or entry.id in gone:
            continue
        if not places:
            places = _runs(keeper, book)
        venue, place, title = places.get(entry.stream, ("", "", ""))
        yield Note(entry.at, venue, title, text, run=entry.stream, place=place)


def _words(entry: Entry) -> str:
    event = entry.event
    if isinstance(event, ev.NoteAdded):
        return event.text
    return event.reason if isinstance(event, ev.StepAnswered) else ""


def _runs(keeper: Keeper, book: Book) -> dict[str, tuple[str, str, str]]:
    """Name and id of the venue, and the title, of every run."""
    made = {}
    for record in keeper.runs():
        show = book.shows.get(record.show)
        venue = book.venue(show.venue if show else record.venue)
        made[record.id] = (venue.name if venue else "", venue.id if venue else "", record.title)
    return made


def _of_venues(book: Book) -> Iterator[Note]:
    for venue in book.places():
        for note in venue.notes:
            yield Note(note.at, venue.name, note.topic, note.text, place=venue.id)


def _of_items(book: Book) -> Iterator[Note]:
    for item in book.items.values():
        place = book.venue_of(item)
        name = book.venues[place].name if place else ""
        about = f"to fix: {item.about}" if item.about else "to fix"
        first = f"{item.text}; {item.likely()}" if item.odds else item.text
        for text in (first, *item.notes):
            yield Note(item.opened, name, about, text, item.run, place, item.id)
        if item.how:
            yield Note(item.closed, name, about, f"closed: {item.how}", item.run, place, item.id)


def _of_files(book: Book) -> Iterator[Note]:
    """Words about files, and the names of the files."""
    for stream, files in book.files.items():
        item, show = book.items.get(stream), book.shows.get(stream)
        place = book.venue_of(item) if item else show.venue if show else stream
        venue = book.venue(place)
        for file in files:
            text = f"{file.about} ({file.path})" if file.about else file.path
            of = item.id if item else ""
            yield Note(file.at, venue.name if venue else "", "file", text, place=venue.id if venue else "", item=of)

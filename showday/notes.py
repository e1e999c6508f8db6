"""Everything that was ever written down in words: what a note is, and those that stand in no run."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from showday.log.word_index import words_of
from showday.log.word_search import Held
from showday.run.touring import Book, Venue


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

    @property
    def age(self) -> tuple[str, ...]:
        """What notes are put in order by; the newest is the greatest."""
        return self.at, self.text, self.run, self.place, self.item, self.about


def of_touring(book: Book) -> list[Note]:
    """Notes of venues, the to-fix list, and files."""
    return [*_of_venues(book), *_of_items(book), *_of_files(book)]


def of_run(book: Book, held: Held) -> Note:
    """A note that was written in a run, or the reason for an answer."""
    venue = place_of(book, held.venue, held.show)
    name, place = (venue.name, venue.id) if venue else ("", "")
    return Note(held.entry.at, name, held.title, words_of(held.entry), run=held.entry.stream, place=place)


def place_of(book: Book, venue: str, show: str) -> Venue | None:
    """Where a run was: with its show, also when the show's venue was corrected later."""
    found = book.shows.get(show)
    return book.venue(found.venue if found else venue)


def note_lines(notes: Iterable[Note]) -> list[str]:
    """One line a note: the day, where, at what, and the words."""
    lines = []
    for note in notes:
        place = " | ".join(filter(None, (note.venue, note.about)))
        lines.append(f"{note.at[:10]}  {place}: {note.text}" if place else f"{note.at[:10]}  {note.text}")
    return lines


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

"""Finding what was written down, in spite of spelling, among the notes of many years.

Only words are compared with what is asked, each word once; which notes hold the words is read from the log's tables.
Sets of notes are the bits of one number, so that "all of these words" is one `&`. What the tables do not hold (venues,
the to-fix list, what is not saved yet) is searched in memory, in the same way.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from itertools import islice

from showday.log.keeper import Keeper
from showday.log.word_index import words_of
from showday.log.word_search import Chunk, Held, NoteWords
from showday.log.word_tables import joined, numbers
from showday.notes import Note, of_run, of_touring, place_of
from showday.run import events as ev
from showday.run.events import Event
from showday.run.touring import Book, Venue
from showday.text.folded import bare

LEAST = 75.0
"""Likeness in percent from which on a misspelt word still counts (a choice of this program)."""
BEGINS = 99.0
"""Likeness of a word that begins with what is asked (a choice of this program)."""

Scored = dict[float, int]
"""Notes, as bits, by how well they fit; no note twice."""


class NoteSearch:
    """Every note of one moment: of runs, venues, the to-fix list and files."""

    def __init__(self, keeper: Keeper, book: Book) -> None:
        """What `Keeper.make_words_ready` has come to is found quickly."""
        self._keeper = keeper
        self._words = keeper.note_words()
        loose = keeper.unsaved(_may_be_note)
        if self._words is not None:
            there = {held.entry.id for held in loose}
            beyond: list[Held] = keeper.reading(self._words.beyond, [])
            loose = [*(held for held in beyond if held.entry.id not in there), *loose]
        back = {held.entry.event.target for held in loose if isinstance(held.entry.event, ev.Undone)}
        written = [held for held in loose if words_of(held.entry) and held.entry.id not in back]
        self._loose = _Loose([*(of_run(book, held) for held in written), *of_touring(book)], book)
        self._tables = self._in_tables(book, {*back, *(held.entry.id for held in loose)})

    def _in_tables(self, book: Book, without: Collection[str]) -> _InTables | None:
        words = self._words
        return self._keeper.reading(lambda: _InTables(words, book, without), None) if words is not None else None

    @property
    def empty(self) -> bool:
        """Whether there is no note at all."""
        return not self.find("", 1)

    def find(self, query: str, limit: int = 50) -> list[Note]:
        """Notes in which every asked word stands, as it is, as a beginning, or nearly; the best first, then the newest.

        Words are looked for in the note's text, in what it is about, and in the venue's names, former ones too. Accents,
        case and punctuation do not matter. The newest of all when nothing is asked.
        """
        asked = bare(query).split()
        found = self._loose.find(asked, limit)
        if self._tables is not None:
            tables = self._tables
            found += self._keeper.reading(lambda: tables.find(asked, limit), [])
        found.sort(key=lambda pair: (pair[0], pair[1].age), reverse=True)
        return [note for _, note in found[:limit]]


class _Loose:
    """Notes in memory."""

    def __init__(self, notes: list[Note], book: Book) -> None:
        self._notes = sorted(notes, key=lambda note: note.age)
        self._where: dict[str, int] = {}
        called = {venue.id: _called(venue) for venue in book.places()}
        for at, note in enumerate(self._notes):
            for word in set(f"{bare(f'{note.text} {note.about}')} {called.get(note.place, '')}".split()):
                self._where[word] = self._where.get(word, 0) | 1 << at

    def find(self, asked: Collection[str], limit: int) -> list[tuple[float, Note]]:
        """The best of them with what each word's likeness adds up to."""
        each = [_apart((score, self._where[word]) for word, score in near(a, self._where).items()) for a in asked]
        found: list[tuple[float, Note]] = []
        for total, notes in _ranked(each, (1 << len(self._notes)) - 1):
            newest = reversed(list(numbers(notes)))
            found += [(total, self._notes[at]) for at in islice(newest, limit - len(found))]
        return found


class _InTables:
    """Notes of runs, found through the log's tables."""

    def __init__(self, words: NoteWords, book: Book, without: Collection[str]) -> None:
        self._words = words
        self._book = book
        self._notes = words.notes & ~words.numbers_of(without)
        self._titles = _by_word((bare(title), title) for title in words.titles())
        self._places = _by_word((_called(venue), venue.id) for venue in book.places())
        self._of_runs: tuple[dict[str, list[Chunk]], dict[str, list[Chunk]]] | None = None

    def find(self, asked: Collection[str], limit: int) -> list[tuple[float, Note]]:
        """The best of them with what each word's likeness adds up to."""
        each = [self._with(word) for word in asked]
        found: list[tuple[float, Note]] = []
        for total, notes in _ranked(each, self._notes):
            if len(found) >= limit:
                break
            read = [
                of_run(self._book, held) for held in self._words.read(self._words.newest(notes, limit - len(found)))
            ]
            read.sort(key=lambda note: note.age, reverse=True)
            found += [(total, note) for note in read[: limit - len(found)]]
        return found

    def _with(self, asked: str) -> Scored:
        """The notes with a word like this in their text, or in their run's title or venue."""
        spelt = defaultdict[float, list[str]](list)
        for word, score in near(asked, self._words.words).items():
            spelt[score].append(word)
        found = [(score, self._words.with_any(words)) for score, words in spelt.items()]
        for known, which in ((self._titles, 0), (self._places, 1)):
            for word, score in near(asked, known).items():
                of_runs = self._runs()[which]
                chunks = [chunk for name in known[word] for chunk in of_runs.get(name, ())]
                found.append((score, joined(chunks) & self._notes))
        return _apart(found)

    def _runs(self) -> tuple[dict[str, list[Chunk]], dict[str, list[Chunk]]]:
        """The notes by their run's title and by the id of its place."""
        if self._of_runs is None:
            titles, places = defaultdict[str, list[Chunk]](list), defaultdict[str, list[Chunk]](list)
            ids: dict[tuple[str, str], str] = {}
            for title, venue, show, chunk in self._words.of_runs():
                if (venue, show) not in ids:
                    place = place_of(self._book, venue, show)
                    ids[venue, show] = place.id if place else ""
                titles[title].append(chunk)
                places[ids[venue, show]].append(chunk)
            self._of_runs = titles, places
        return self._of_runs


def near(asked: str, words: Collection[str]) -> dict[str, float]:
    """The words that are like the asked one, or begin with it, with their likeness in percent."""
    from rapidfuzz import fuzz, process

    spelt = process.extract(asked, list(words), scorer=fuzz.ratio, limit=None, score_cutoff=LEAST)
    found = {word: score for word, score, _ in spelt}
    return found | {word: BEGINS for word in words if word.startswith(asked) and word != asked}


def _called(venue: Venue) -> str:
    """A venue's name and its former names, bare."""
    return bare(" ".join((venue.name, *venue.former)))


def _may_be_note(event: Event) -> bool:
    return isinstance(event, ev.NoteAdded | ev.Undone) or (isinstance(event, ev.StepAnswered) and bool(event.reason))


def _by_word(names: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    """Titles or places by each word of their bare names."""
    made: dict[str, list[str]] = {}
    for name, meant in names:
        for word in set(name.split()):
            made.setdefault(word, []).append(meant)
    return made


def _apart(scored: Iterable[tuple[float, int]]) -> Scored:
    """Each note with the best of its scores."""
    together: Scored = {}
    for score, notes in scored:
        together[score] = together.get(score, 0) | notes
    taken, made = 0, {}
    for score in sorted(together, reverse=True):
        made[score] = together[score] & ~taken
        taken |= together[score]
    return made


def _ranked(each: Iterable[Scored], notes: int) -> list[tuple[float, int]]:
    """The notes that fit every asked word, by the sum of their scores, the best first."""
    totals = {0.0: notes}
    for scored in each:
        summed: Scored = {}
        for total, those in totals.items():
            for score, others in scored.items():
                if both := those & others:
                    summed[total + score] = summed.get(total + score, 0) | both
        totals = summed
    return sorted(totals.items(), reverse=True)

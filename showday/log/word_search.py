"""Reading the tables of words: which notes hold a word or belong to a run, the newest of some notes, and the notes."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from showday.log import checks, word_index
from showday.log.schema import Database
from showday.log.word_tables import joined, numbers
from showday.run.events import Entry

SPARSE = 400
"""Notes that are sooner looked up one by one than met on the way from the newest to the oldest (our choice)."""


Chunk = tuple[int, bytes]
"""Some notes: the chunk's number and its bits."""


@dataclass(frozen=True, slots=True)
class Held:
    """A note of a run, and what is known of the run."""

    entry: Entry
    title: str
    venue: str
    show: str


class NoteWords:
    """The tables of one moment. Notes are the bits of a number: bit n stands for note n."""

    def __init__(self, db: Database) -> None:
        self._db = db
        self._upto = word_index.upto(db)
        self.words: dict[str, int] = {}
        """Every word, with its number in the tables."""
        self.notes = 0
        """The notes that count."""
        if self._upto:
            self.words = dict(db.execute("SELECT word, number FROM note_word"))
            every = db.execute("SELECT max(number) FROM note").fetchone()[0] or 0
            gone = sum(1 << number for (number,) in db.execute("SELECT number FROM note WHERE gone = 1"))
            self.notes = ((1 << (every + 1)) - 2) & ~gone

    def beyond(self) -> list[Held]:
        """Entries that the tables do not know yet: notes, answers with a reason, and what takes them back."""
        entries = word_index.beyond(self._db, self._upto)
        asked = "SELECT id FROM note_taken_back WHERE id IN (SELECT value FROM json_each(?))"
        named = (json.dumps([entry.id for entry in entries]),)
        back = {id for (id,) in self._db.execute(asked, named)} if entries and self._upto else set()
        return [self._held(entry) for entry in entries if entry.id not in back]

    def titles(self) -> list[str]:
        """The titles of all runs, each once."""
        return [title for (title,) in self._db.execute("SELECT DISTINCT title FROM run")]

    def with_any(self, words: Iterable[str]) -> int:
        """The notes that hold one of some of `words`."""
        asked = "SELECT chunk, bits FROM json_each(?) CROSS JOIN note_with_word ON word = value"
        return joined(self._db.execute(asked, (json.dumps([self.words[word] for word in words]),))) & self.notes

    def of_runs(self) -> Iterator[tuple[str, str, str, Chunk]]:
        """Title, venue and show of runs, with the chunks of their notes, for `joined`; runs of many notes have several."""
        asked = """SELECT title, venue, show, chunk, bits FROM note_of_run
                   CROSS JOIN run ON run.id = note_of_run.run"""
        for title, venue, show, *chunk in self._db.execute(asked) if self._upto else ():
            yield title, venue, show, (chunk[0], chunk[1])

    def numbers_of(self, entries: Collection[str]) -> int:
        """The notes that are entries of these ids."""
        asked = """SELECT note.number FROM json_each(?) CROSS JOIN entry ON entry.id = value
                   CROSS JOIN note ON note.written = entry.written"""
        rows = self._db.execute(asked, (json.dumps(list(entries)),)) if self._upto and entries else ()
        return sum(1 << number for (number,) in rows)

    def newest(self, notes: int, limit: int) -> list[int]:
        """The newest of some notes, at least `limit` if there are as many, and all of the same time as the last."""
        if notes.bit_count() <= max(SPARSE, limit):
            return list(numbers(notes))
        bits = notes.to_bytes((notes.bit_length() + 7) // 8, "little")
        found: list[int] = []
        last = ""
        for at, number in self._db.execute("SELECT at, number FROM note ORDER BY at DESC"):
            if len(found) >= limit and at != last:
                break
            if number >> 3 < len(bits) and bits[number >> 3] >> (number & 7) & 1:
                found.append(number)
                last = at
        return found

    def read(self, notes: Collection[int]) -> list[Held]:
        """Some notes, in no order."""
        asked = """SELECT entry.id, stream, seq, entry.at, elapsed, kind, body, title, venue, show
                   FROM json_each(?) CROSS JOIN note ON note.number = value
                   JOIN entry ON entry.written = note.written LEFT JOIN run ON run.id = stream"""
        rows = self._db.execute(asked, (json.dumps(list(notes)),)) if notes else ()
        return [Held(checks.entry_of(row), *(text or "" for text in row[7:])) for row in rows]

    def _held(self, entry: Entry) -> Held:
        asked = "SELECT title, venue, show FROM run WHERE id = ?"
        return Held(entry, *(self._db.execute(asked, (entry.stream,)).fetchone() or ("", "", "")))

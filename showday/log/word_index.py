"""Keeping the words of notes findable: entries that came since the last time are gone through in batches.

Nothing is done when an entry is appended. Whoever is about to search catches up first; what was not come to is given
by `beyond`, so that a search is complete even where nothing can be written.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from showday.log import checks
from showday.log.schema import Database
from showday.log.word_tables import CHUNK, FORM, NAMES, TABLES, joined, to_bytes
from showday.run import events as ev
from showday.run.events import Entry
from showday.text.folded import bare

FEW = 5_000
"""Entries that are sooner looked at one by one than found through the indexes of their kinds (measured: a few ms)."""
_KINDS = ("note-added", "undone")
_COLUMNS = "id, stream, seq, at, elapsed, kind, body"
_REASON = """kind = 'step-answered' AND instr(body, '"reason":""') = 0"""  # in the words of its index

_NEAR = f"SELECT written FROM entry WHERE written > ? AND (+kind IN {_KINDS} OR (+{_REASON})) ORDER BY written"
_FAR = f"""SELECT written FROM entry WHERE kind IN {_KINDS} AND +written > ?1
           UNION ALL SELECT written FROM entry WHERE {_REASON} AND +written > ?1 ORDER BY 1"""
_ROWS = f"SELECT {_COLUMNS}, written FROM entry WHERE written IN (SELECT value FROM json_each(?)) ORDER BY written"

Bits = dict[tuple[Any, int], int]
"""Bits of notes by (word or run, chunk)."""


def words_of(entry: Entry) -> str:
    """What a person wrote in an entry; empty when it is no note."""
    event = entry.event
    if isinstance(event, ev.NoteAdded):
        return event.text
    return event.reason if isinstance(event, ev.StepAnswered) else ""


def upto(db: Database) -> int:
    """The last entry that was gone through; 0 when the tables are missing, of another form, or of another log."""
    there = {name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    if not there.issuperset(NAMES):
        return 0
    row = db.execute("SELECT form, written, id FROM note_upto").fetchone()
    if row is None or row[0] != FORM:
        return 0
    held = db.execute("SELECT id FROM entry WHERE written = ?", (row[1],)).fetchone()
    return int(row[1]) if held == (row[2],) else 0


def beyond(db: Database, done: int) -> list[Entry]:
    """Entries written after `done` that may be notes, or take notes back, in the order of writing."""
    rows = db.execute(_ROWS, (json.dumps(_todo(db, done)),)).fetchall()
    return [checks.entry_of(row) for row in rows]


def forget(db: Database) -> None:
    """Make the tables anew, empty."""
    for name in NAMES:
        db.execute(f"DROP TABLE IF EXISTS {name}")
    for statement in TABLES:
        db.execute(statement)


class CatchingUp:
    """What is still to be gone through, found once: to find it among many years takes a moment."""

    def __init__(self, db: Database) -> None:
        self._db = db
        self._look()

    def _look(self) -> None:
        self._done, self._last = upto(self._db), _last(self._db)
        self._todo = _todo(self._db, self._done) if self._last > self._done else []

    @property
    def whole(self) -> bool:
        """Whether everything was gone through that was there at the beginning."""
        return self._done >= self._last

    @property
    def left(self) -> int:
        """Entries that may be notes and were not gone through."""
        return len(self._todo)

    def go_on(self, most: int) -> None:
        """Go through the next of them, at most so many. In a transaction, which may be undone by an error."""
        if self.whole:
            return
        if upto(self._db) != self._done:  # another program has been here meanwhile
            self._look()
            return
        if not self._done:
            forget(self._db)
        batch, rest = self._todo[:most], self._todo[most:]
        last = batch[-1] if rest else self._last
        _take(self._db, self._db.execute(_ROWS, (json.dumps(batch),)).fetchall(), last)
        self._done, self._todo = last, rest


def _last(db: Database) -> int:
    return db.execute("SELECT max(written) FROM entry").fetchone()[0] or 0


def _todo(db: Database, done: int) -> list[int]:
    asked = _NEAR if _last(db) - done <= FEW else _FAR
    return [written for (written,) in db.execute(asked, (done,))]


def _take(db: Database, rows: Sequence[tuple[Any, ...]], last: int) -> None:
    first = number = (db.execute("SELECT max(number) FROM note").fetchone()[0] or 0) + 1
    of_word, of_run = defaultdict[tuple[str, int], int](int), defaultdict[tuple[str, int], int](int)
    taken_back = []
    for row in rows:
        entry = checks.entry_of(row)
        if isinstance(entry.event, ev.Undone):
            taken_back.append(entry.event.target)
        elif text := words_of(entry):
            db.execute("INSERT INTO note (number, written, at) VALUES (?, ?, ?)", (number, row[-1], entry.at))
            chunk, bit = number // CHUNK, 1 << (number % CHUNK)
            of_run[entry.stream, chunk] |= bit
            for word in set(bare(text).split()):
                of_word[word, chunk] |= bit
            number += 1
    _put(db, "note_of_run", "run", of_run)
    _put(db, "note_with_word", "word", _by_number(db, of_word))
    _take_back(db, taken_back, first, last)
    db.execute("DELETE FROM note_upto")
    db.execute("INSERT INTO note_upto SELECT ?, written, id FROM entry WHERE written = ?", (FORM, last))


def _by_number(db: Database, of_word: Bits) -> Bits:
    """The same by the words' numbers; a word that is new is given one."""
    known: dict[str, int] = {}
    for word in {word for word, _ in of_word}:
        row = db.execute("SELECT number FROM note_word WHERE word = ?", (word,)).fetchone()
        known[word] = row[0] if row else db.execute("INSERT INTO note_word (word) VALUES (?)", (word,)).lastrowid
    return {(known[word], chunk): bits for (word, chunk), bits in of_word.items()}


def _put(db: Database, table: str, key: str, made: Bits) -> None:
    asked = f"SELECT bits FROM {table} WHERE {key} = ? AND chunk = ?"
    for (name, chunk), bits in made.items():
        held = db.execute(asked, (name, chunk)).fetchone()
        whole = bits | (int.from_bytes(held[0], "little") if held else 0)
        db.execute(f"INSERT OR REPLACE INTO {table} VALUES (?, ?, ?)", (name, chunk, to_bytes(whole)))


def _take_back(db: Database, ids: Iterable[str], first: int, last: int) -> None:
    """Mark the notes that no longer count: of these entries, and new ones that were taken back before they came."""
    named = json.dumps(list(ids))
    db.execute(
        "UPDATE note SET gone = 1 WHERE written IN "
        "(SELECT entry.written FROM json_each(?) CROSS JOIN entry ON entry.id = value)",
        (named,),
    )
    db.execute(
        "INSERT OR IGNORE INTO note_taken_back SELECT value FROM json_each(?) "
        "WHERE NOT EXISTS (SELECT 1 FROM entry WHERE id = value AND written <= ?)",
        (named, last),
    )
    db.execute(
        "UPDATE note SET gone = 1 WHERE number >= ? AND "
        "(SELECT id FROM entry WHERE entry.written = note.written) IN (SELECT id FROM note_taken_back)",
        (first,),
    )


def agrees(db: Database) -> bool:
    """Whether the tables say of every entry that was gone through what the entry says."""
    done = upto(db)
    if not done:
        return True
    todo = [written for written in _todo(db, 0) if written <= done]
    wanted = _wanted(checks.entry_of(row) for row in db.execute(_ROWS, (json.dumps(todo),)))
    held: dict[str, dict[str, int]] = {"word": {}, "run": {}}
    for word, number in db.execute("SELECT word, number FROM note_word").fetchall():
        rows = db.execute("SELECT chunk, bits FROM note_with_word WHERE word = ?", (number,))
        held["word"][word] = joined(rows)
    for run, chunk, bits in db.execute("SELECT run, chunk, bits FROM note_of_run"):
        held["run"][run] = held["run"].get(run, 0) | joined([(chunk, bits)])
    asked = "SELECT entry.id, note.at, gone FROM note LEFT JOIN entry ON entry.written = note.written ORDER BY number"
    return (db.execute(asked).fetchall(), held["word"], held["run"]) == wanted


def _wanted(entries: Iterable[Entry]) -> tuple[list[tuple[str, str, int]], dict[str, int], dict[str, int]]:
    """The rows of notes, and the notes of each word and run, as they should be."""
    read = list(entries)
    back = {entry.event.target for entry in read if isinstance(entry.event, ev.Undone)}
    notes = [entry for entry in read if words_of(entry)]
    of_word, of_run = defaultdict[str, int](int), defaultdict[str, int](int)
    for number, entry in enumerate(notes, 1):
        of_run[entry.stream] |= 1 << number
        for word in set(bare(words_of(entry)).split()):
            of_word[word] |= 1 << number
    return [(e.id, e.at, int(e.id in back)) for e in notes], of_word, of_run

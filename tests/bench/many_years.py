"""A log of twenty years: the example act's evenings over and over, at other venues, and one venue as often as it was."""

from __future__ import annotations

import sqlite3
from pathlib import Path

VENUES = 300
"""Venues of a hard-touring act, beside those of the example act."""
WORDS = 15_000
"""Words that people used in their notes, names and misspelt ones among them, beside those of the example act."""


def multiply(log: Path, runs: int) -> None:
    """Add copies of every run to a log until there are so many; each copy is a week older, at one of `VENUES` other
    venues, and its notes hold two words more, of `WORDS`.

    Done in the database itself, because a million appends one by one would take longer than what is measured.
    """
    db = sqlite3.connect(log, isolation_level=None)
    try:
        db.execute("PRAGMA synchronous = OFF")
        db.execute("BEGIN")
        copies = runs // db.execute("SELECT count(*) FROM run").fetchone()[0]
        db.execute("CREATE TEMP TABLE n (k INTEGER PRIMARY KEY)")
        db.executemany("INSERT INTO n VALUES (?)", [(k,) for k in range(1, copies + 1)])
        for statement in _STATEMENTS:
            db.execute(statement, {"venues": VENUES, "words": WORDS})
        db.execute("COMMIT")
        db.execute("ANALYZE")
        db.execute("DELETE FROM sqlite_stat1")  # a log has no statistics; the indexes must serve without
    finally:
        db.close()


_OLDER = "strftime('%Y-%m-%dT%H:%M:%fZ', {at}, '-' || (n.k * 7) || ' days')"
_VENUE = "printf('00000000-0000-4000-9000-%012d', n.k % :venues)"
_SHOW = "printf('00000000-0000-4000-a000-%012d', n.k)"
_STREAM = "{stream} || printf('-%06d', n.k)"
_SYLLABLE = "substr('bdfgklmnprst', {n} / 5 % 12 + 1, 1) || substr('aeiou', {n} % 5 + 1, 1)"
_WORD = " || ".join(_SYLLABLE.format(n=f"({{n}} % :words / {part})") for part in (1, 60, 3600))
_WORDS = f"{_WORD.format(n='(n.k * 7919 + e.written)')} || ' ' || {_WORD.format(n='(n.k + e.written * 104729)')}"

_STATEMENTS = (
    f"""INSERT INTO entry (id, stream, family, seq, at, elapsed, kind, body)
        SELECT e.id || printf('-%06d', n.k), {_STREAM.format(stream="e.stream")}, 'run', e.seq,
               {_OLDER.format(at="e.at")}, e.elapsed, e.kind,
               CASE e.kind WHEN 'run-started'
                 THEN replace(replace(e.body, '"' || r.venue || '"', '"' || {_VENUE} || '"'),
                              '"' || r.show || '"', '"' || {_SHOW} || '"')
                 WHEN 'note-added' THEN replace(e.body, '"text":"', '"text":"' || {_WORDS} || ' ')
                 ELSE e.body END
        FROM n CROSS JOIN entry e JOIN run r ON r.id = e.stream WHERE e.family = 'run'""",
    f"""INSERT INTO run
        SELECT {_STREAM.format(stream="r.id")}, r.playbook, r.title, {_VENUE}, {_SHOW}, {_OLDER.format(at="r.started")},
               {_OLDER.format(at="r.last")}, r.outcome, r.answers, r.walks, r.notes, r.top
        FROM n CROSS JOIN run r""",
    f"""INSERT INTO entry (id, stream, family, seq, at, elapsed, kind, body)
        SELECT 'venue-' || n.k, {_VENUE}, 'touring', 0, '2005-01-01T12:00:00.000Z', 0.0, 'venue-added',
               json_object('name', 'Hall ' || n.k, 'town', 'Town ' || (n.k % 40), 'country', '')
        FROM n WHERE n.k <= :venues""",
    f"""INSERT INTO entry (id, stream, family, seq, at, elapsed, kind, body)
        SELECT 'show-' || n.k, {_SHOW}, 'touring', 0, {_OLDER.format(at="'2026-05-02T12:00:00.000Z'")}, 0.0, 'show-planned',
               json_object('venue', {_VENUE}, 'date', substr({_OLDER.format(at="'2026-05-02T12:00:00.000Z'")}, 1, 10),
                           'slot', '21:00', 'changeover', 20.0, 'facts', json('[]'))
        FROM n""",
)

"""The log's tables, as numbered migrations. A migration that has been released is never edited."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

from showday.log import word_tables


class Database(Protocol):
    """A connection whose transactions are begun by hand."""

    def execute(self, sql: str, values: Any = ..., /) -> Any:
        """Run one statement."""


APPLICATION_ID = 0x73686F77
"""Marks the file as ours in the database header (`show` in ASCII; sqlite.org/pragma.html#pragma_application_id)."""

MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        """CREATE TABLE entry (
             written INTEGER PRIMARY KEY,
             id TEXT NOT NULL UNIQUE,
             stream TEXT NOT NULL,
             family TEXT NOT NULL CHECK (family IN ('run', 'touring')),
             seq INTEGER NOT NULL,
             at TEXT NOT NULL,
             elapsed REAL NOT NULL,
             kind TEXT NOT NULL,
             body TEXT NOT NULL
           ) STRICT""",
        "CREATE INDEX entry_of_stream ON entry (stream, kind)",
        "CREATE INDEX entry_of_touring ON entry (stream) WHERE family = 'touring'",
        """CREATE TABLE snapshot (
             hash TEXT NOT NULL PRIMARY KEY,
             kind TEXT NOT NULL,
             name TEXT NOT NULL,
             text TEXT NOT NULL
           ) STRICT""",
        # Derived from the entries, kept so that lists and briefs need not read them all. `top` is the highest seq
        # that is in the numbers: a higher one can be counted in without reading the run again.
        """CREATE TABLE run (
             id TEXT NOT NULL PRIMARY KEY,
             playbook TEXT NOT NULL,
             title TEXT NOT NULL,
             venue TEXT NOT NULL,
             show TEXT NOT NULL,
             started TEXT NOT NULL,
             last TEXT NOT NULL,
             outcome TEXT NOT NULL,
             answers INTEGER NOT NULL,
             walks INTEGER NOT NULL,
             notes INTEGER NOT NULL,
             top INTEGER NOT NULL
           ) STRICT, WITHOUT ROWID""",
        "CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry "
        "BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END",
        "CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry "
        "BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END",
        "CREATE TRIGGER snapshot_is_never_changed BEFORE UPDATE ON snapshot "
        "BEGIN SELECT RAISE(ABORT, 'snapshots are never changed'); END",
        "CREATE TRIGGER snapshot_is_never_deleted BEFORE DELETE ON snapshot "
        "BEGIN SELECT RAISE(ABORT, 'snapshots are never deleted'); END",
    ),
    (
        # What is asked of many years: the walks, notes and so on of all runs; the newest runs, of a playbook, a venue.
        "CREATE INDEX entry_of_kind ON entry (kind, stream)",
        "CREATE INDEX entry_with_reason ON entry (stream) "
        """WHERE kind = 'step-answered' AND instr(body, '"reason":""') = 0""",
        "CREATE INDEX run_by_age ON run (started, id)",
        "CREATE INDEX run_of_playbook ON run (playbook, started)",
        "CREATE INDEX run_of_venue ON run (venue)",
        "CREATE INDEX run_of_show ON run (show)",
        "CREATE INDEX run_unfinished ON run (started) WHERE outcome = ''",
    ),
    (
        # The newest runs of one place, without going through all of its runs, or all that have no place.
        "DROP INDEX run_of_venue",
        "CREATE INDEX run_of_venue ON run (venue, started)",
        *word_tables.TABLES,
    ),
)
"""One tuple of statements a version; version N is what the first N of them make."""


def version_of(db: Database) -> int | None:
    """The form of the log, 0 for an empty file; None when the file is not a log."""
    db.execute("BEGIN")  # all of one moment, even while another program makes the log
    version, mark = _number(db, "user_version"), _number(db, "application_id")
    empty = db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0] == 0
    db.execute("COMMIT")
    if mark == APPLICATION_ID:
        return version if version > 0 else None
    return 0 if empty and not mark and not version else None


def migrate(db: Database, migrations: Sequence[Sequence[str]]) -> None:
    """Bring the log up to date, each step in a transaction of its own; what fails leaves the step before it."""
    for number, statements in enumerate(migrations, 1):
        if _number(db, "user_version") >= number:
            continue
        db.execute("BEGIN IMMEDIATE")
        try:
            if _number(db, "user_version") < number:  # else another program did it meanwhile
                for statement in statements:
                    db.execute(statement)
                db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                db.execute(f"PRAGMA user_version = {number}")
            db.execute("COMMIT")
        except BaseException:
            db.execute("ROLLBACK")
            raise


def _number(db: Database, pragma: str) -> int:
    return int(db.execute(f"PRAGMA {pragma}").fetchone()[0])

"""Copies of the whole log's file: made beside their place and checked before they count, and put back the same way."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path

from showday import paths
from showday.errors import LogTrouble
from showday.log import schema, trouble

BUSY = 3.0
"""Seconds to wait for another program to let go of the log."""


def connect(path: str, busy: float) -> sqlite3.Connection:
    """A connection with no transactions but those asked for."""
    return sqlite3.connect(path, timeout=busy, isolation_level=None)


def copy(db: sqlite3.Connection, path: Path) -> None:
    """Copy the whole database to `path` by way of a checked file beside it."""
    part: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        os.close(handle)
        part = Path(name)
        with contextlib.closing(connect(name, BUSY)) as made:
            _fill(made, db)
            if made.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
                raise LogTrouble("The log is damaged, so no copy was made.", trouble.KEEP_AND_BEGIN)
        paths.put_in_place(part, path)
    except BaseException as error:
        if part is not None:
            part.unlink(missing_ok=True)
        if isinstance(error, (OSError, sqlite3.Error)):
            raise trouble.no_copy(trouble.named(path), str(error)) from error
        raise


def _fill(made: sqlite3.Connection, db: sqlite3.Connection) -> None:
    # Reading first takes the lock with patience; a copy begun without a lock would wait for it without end.
    db.execute("BEGIN")
    try:
        db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        db.backup(made)
    finally:
        if db.in_transaction:
            db.execute("ROLLBACK")
    made.execute("PRAGMA journal_mode = DELETE")  # one plain file, with nothing beside it


@contextlib.contextmanager
def opened_backup(path: Path, log: Path, newest: int) -> Iterator[sqlite3.Connection]:
    """A whole, checked backup to read from; it is copied first, so that nothing is ever written into it."""
    where = trouble.named(path)
    if not path.is_file():
        raise trouble.absent(where)
    if path.resolve() == log.resolve():
        raise LogTrouble(f"{where} is the log itself.", "Name a copy that was made with `showday log backup`.")
    with tempfile.TemporaryDirectory(prefix="showday-") as folder:
        held = Path(folder) / "backup.db"
        try:
            held.write_bytes(path.read_bytes())
        except OSError as error:
            raise trouble.unreadable(where, str(error)) from error
        with contextlib.closing(connect(str(held), BUSY)) as source:
            try:
                version = schema.version_of(source)
                if not version:
                    raise trouble.not_a_log(where)
                if version > newest:
                    raise trouble.newer(where, version, newest)
                if source.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
                    raise LogTrouble(f"The backup {where} is damaged.", "The log stays as it is; try an older one.")
            except sqlite3.DatabaseError as error:
                raise LogTrouble(f"The backup {where} is damaged.", "The log stays as it is.") from error
            yield source


def fill_over(db: sqlite3.Connection, source: sqlite3.Connection) -> None:
    """Make an open log what `source` is, all or nothing (sqlite.org/backup.html)."""
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    source.backup(db)

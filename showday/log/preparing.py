"""Making a connection to the log ready: settings, form, journal. Only beside the store."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Sequence
from pathlib import Path

from showday.log import copies, places, schema, trouble

_OLDEST = (3, 37)
"""STRICT tables (sqlite.org/stricttables.html)."""


def prepare(db: sqlite3.Connection, path: Path, wal: bool, migrations: Sequence[Sequence[str]]) -> None:
    """Make the connection ready; nothing is changed before the file is known to be a log that this program knows."""
    where = trouble.named(path)
    if sqlite3.sqlite_version_info < _OLDEST:
        raise trouble.too_old(sqlite3.sqlite_version)
    set_up(db)
    version = schema.version_of(db)
    if version is None:
        raise trouble.not_a_log(where)
    if version > len(migrations):
        raise trouble.newer(where, version, len(migrations))
    if 0 < version < len(migrations):
        _bring_up_to_date(db, places.free_name(path, f"v{version}"), version, migrations)
    else:
        schema.migrate(db, migrations)
    _choose_journal(db, wal)
    # Takes the lock that every append needs and asks to write nothing: what is read-only or locked says so now.
    db.execute("BEGIN IMMEDIATE")
    db.execute("UPDATE run SET top = top WHERE false")
    db.execute("ROLLBACK")


def _bring_up_to_date(db: sqlite3.Connection, kept: Path, version: int, migrations: Sequence[Sequence[str]]) -> None:
    """Copy the older form, then change it. What fails is tried again and again: it must not leave a copy each time."""
    copies.copy(db, kept)
    try:
        schema.migrate(db, migrations)
    except BaseException:
        if schema.version_of(db) == version:
            kept.unlink(missing_ok=True)
        raise


def set_up(db: sqlite3.Connection) -> None:
    """What every connection needs. `fullfsync` is what makes a commit durable on macOS and nothing elsewhere."""
    for setting in (
        "synchronous = FULL",
        "fullfsync = ON",
        "checkpoint_fullfsync = ON",
        "foreign_keys = ON",
        "recursive_triggers = ON",  # without it INSERT OR REPLACE would pass by the triggers that forbid deleting
        "trusted_schema = OFF",
    ):
        db.execute(f"PRAGMA {setting}")


def _choose_journal(db: sqlite3.Connection, wal: bool) -> None:
    """The write-ahead log where it can be, else a journal that is cut off; both are durable with FULL."""
    # Refused while another program has the file open in the other mode; that mode then serves as well.
    with contextlib.suppress(sqlite3.OperationalError):
        if not wal or db.execute("PRAGMA journal_mode = WAL").fetchone()[0] != "wal":
            db.execute("PRAGMA journal_mode = TRUNCATE")

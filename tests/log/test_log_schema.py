"""Forms of the log and how an older one is brought up to date."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from showday.errors import LogTrouble
from showday.log.schema import MIGRATIONS
from showday.log.store import Log
from showday.log.word_tables import NAMES
from tests.log.made import an_evening, entry, started

NOW = len(MIGRATIONS)
NEXT = (*MIGRATIONS, ("CREATE TABLE tag (name TEXT NOT NULL) STRICT", "ALTER TABLE run ADD COLUMN mood TEXT"))
BROKEN = (*MIGRATIONS, ("CREATE TABLE tag (name TEXT NOT NULL) STRICT", "CREATE TABLE entry (id TEXT)"))


def version(path: Path) -> int:
    with contextlib.closing(sqlite3.connect(path)) as db:
        return int(db.execute("PRAGMA user_version").fetchone()[0])


def test_every_table_is_strict(log: Log) -> None:
    tables = log._db.execute("SELECT name, strict FROM pragma_table_list WHERE type = 'table' AND schema = 'main'")
    assert {name: strict for name, strict in tables if not name.startswith("sqlite_")} == {
        "entry": 1,
        "snapshot": 1,
        "run": 1,
        **dict.fromkeys(NAMES, 1),
    }


def test_an_older_form_is_copied_and_then_brought_up_to_date(path: Path) -> None:
    with Log.open(path) as log:
        log.append(an_evening())
    with Log.open(path, migrations=NEXT) as log:
        assert log.runs() != []
        log._db.execute("INSERT INTO tag VALUES ('a')")
    copy = path.with_name(f"showday-log-v{NOW}.sqlite")
    assert (version(path), version(copy)) == (NOW + 1, NOW)
    with Log.open(copy) as old:
        assert old.entries("r1") == [e for e in an_evening() if e.stream == "r1"]
        assert old.check() == []


def test_a_new_log_needs_no_copy(path: Path) -> None:
    Log.open(path, migrations=NEXT).close()
    Log.open(path, migrations=NEXT).close()
    assert version(path) == NOW + 1
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_an_earlier_copy_is_never_written_over(path: Path) -> None:
    Log.open(path).close()
    path.with_name(f"showday-log-v{NOW}.sqlite").write_text("an earlier copy")
    Log.open(path, migrations=NEXT).close()
    assert path.with_name(f"showday-log-v{NOW}.sqlite").read_text() == "an earlier copy"
    assert version(path.with_name(f"showday-log-v{NOW}-2.sqlite")) == NOW


def test_a_step_that_fails_leaves_the_form_before_it(path: Path) -> None:
    with Log.open(path) as log:
        log.append([entry(started())])
    with pytest.raises(LogTrouble):
        Log.open(path, migrations=BROKEN)
    assert version(path) == NOW
    assert [p.name for p in path.parent.iterdir()] == [path.name]  # it is tried again: not a copy each time
    with Log.open(path) as log:
        assert log.entries("r1") == [entry(started())]
        assert log.check() == []
        assert log._db.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'tag'").fetchone()[0] == 0


def test_when_no_copy_can_be_made_the_older_form_stays(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Log.open(path).close()

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.mkstemp", full)
    with pytest.raises(LogTrouble, match=r"No copy was made at .*No space left"):
        Log.open(path, migrations=NEXT)
    assert version(path) == NOW


def test_a_log_that_two_programs_bring_up_to_date_at_once(path: Path) -> None:
    """The second finds, once it has the lock, that the first has done it."""
    Log.open(path).close()
    stale = iter([1])

    class Slow(sqlite3.Connection):
        def execute(self, sql: str, values: Any = (), /) -> sqlite3.Cursor:
            if sql == "BEGIN IMMEDIATE" and next(stale, None):
                Log.open(path, migrations=NEXT).close()
            return super().execute(sql, values)

    def connect(name: str, busy: float) -> sqlite3.Connection:
        return sqlite3.connect(name, timeout=busy, isolation_level=None, factory=Slow)

    with Log.open(path, migrations=NEXT, connect=connect) as log:
        assert log.check() == []
    assert version(path) == NOW + 1

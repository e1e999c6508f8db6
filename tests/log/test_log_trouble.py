"""What can go wrong with the file: one clear sentence, what to do, and nothing changed."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from showday.errors import LogTrouble
from showday.log import trouble
from showday.log.store import Log
from tests.log.made import an_evening, entry, good, snapshot, started, story


def make(path: Path, *statements: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    db = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        db.execute(statement)
    db.close()


def a_log(path: Path) -> None:
    with Log.open(path, wal=True) as log:
        log.append(
            [each for n in range(100) for each in story([started(), good()], f"r{n}")], [snapshot("x" * 20_000)]
        )


def garbage(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(b"This is a letter to the promoter.\n" * 200)


def a_few_bytes(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(b"hello")


def zeros(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(bytes(8192))


def another_database(path: Path) -> None:
    make(path, "CREATE TABLE song (title TEXT)")


def anothers_empty_database(path: Path) -> None:
    make(path, "PRAGMA user_version = 3")


def newer(path: Path) -> None:
    a_log(path)
    make(path, "PRAGMA user_version = 99")


def truncated(path: Path) -> None:
    a_log(path)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def cut_in_the_first_page(path: Path) -> None:
    a_log(path)
    path.write_bytes(path.read_bytes()[:50])


def a_spoiled_schema(path: Path) -> None:
    a_log(path)
    data = bytearray(path.read_bytes())
    data[100:4096] = b"\xaa" * (4096 - 100)
    path.write_bytes(bytes(data))


def a_folder(path: Path) -> None:
    path.mkdir(parents=True)


UNFIT: dict[str, tuple[Callable[[Path], None], str, str]] = {
    "garbage": (garbage, "is not a showday log, or its beginning is damaged", "Keep it: rename it"),
    "a few bytes": (a_few_bytes, "is not a showday log", "Keep it: rename it"),
    "zeros": (zeros, "is not a showday log", "Keep it: rename it"),
    "another database": (another_database, "is not a showday log", "Keep it: rename it"),
    "another's empty database": (anothers_empty_database, "is not a showday log", "Keep it: rename it"),
    "a folder": (a_folder, "is not a showday log", "Keep it: rename it"),
    "newer": (newer, "written by a newer showday \\(form 99; this one knows \\d+\\)", "Use the newer showday"),
    "truncated": (truncated, "is damaged", "Keep it: rename it"),
    "cut in the first page": (cut_in_the_first_page, "is damaged", "Keep it: rename it"),
    "a spoiled schema": (a_spoiled_schema, "is damaged", "Keep it: rename it"),
}


@pytest.mark.parametrize("name", list(UNFIT))
def test_an_unfit_file_is_named_in_a_sentence_and_left_as_it_is(path: Path, name: str) -> None:
    spoil, message, hint = UNFIT[name]
    spoil(path)
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(LogTrouble, match=message) as said:
        Log.open(path)
    assert hint in said.value.hint
    assert str(path) in said.value.message
    assert "delete" not in str(said.value).lower()
    assert (path.read_bytes() if path.is_file() else None) == before
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_an_empty_file_is_a_new_log(path: Path) -> None:
    path.parent.mkdir()
    path.touch()
    with Log.open(path) as log:
        log.append(an_evening())
        assert log.check() == []


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file")
    with pytest.raises(LogTrouble, match=r"The folder for .* cannot be made") as said:
        Log.open(tmp_path / "data" / "more" / "showday-log.sqlite")
    assert "SHOWDAY_HOME" in said.value.hint


def test_nothing_is_made_for_one_who_only_looks(path: Path) -> None:
    with pytest.raises(LogTrouble, match=r"There is no log at .* yet"):
        Log.open(path, create=False)
    assert not path.parent.exists()


def test_a_name_with_escape_codes_is_shown_as_text(tmp_path: Path) -> None:
    with pytest.raises(LogTrouble) as said:
        Log.open(tmp_path / "\x1b[2J.sqlite", create=False)
    assert "\x1b" not in str(said.value)


# -- locked ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("wal", [True, False], ids=["write-ahead log", "journal"])
def test_a_log_that_another_program_holds(path: Path, wal: bool) -> None:
    with Log.open(path, busy=0.02, wal=wal) as log:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(LogTrouble, match=r"Another program is writing to the log .* within 0\.02 s") as said:
            log.append([entry(started())])
        assert "Close the other program" in said.value.hint
        other.execute("ROLLBACK")
        log.append([entry(started())])
        assert len(log.entries("r1")) == 1
        other.close()


def test_opening_a_log_that_another_program_holds(path: Path) -> None:
    a_log(path)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(LogTrouble, match="Another program is writing"):
        Log.open(path, busy=0.02)
    other.execute("ROLLBACK")
    other.close()
    Log.open(path).close()


def test_waiting_can_be_shortened_and_restored(log: Log) -> None:
    log.wait_at_most(0.01)
    assert log._db.execute("PRAGMA busy_timeout").fetchone()[0] == 10
    log.wait_at_most(None)
    assert log._db.execute("PRAGMA busy_timeout").fetchone()[0] == 50


# -- read-only, full, gone -------------------------------------------------------------------------------------


def test_a_file_that_cannot_be_written_to(path: Path) -> None:
    a_log(path)

    def only_read(name: str, busy: float) -> sqlite3.Connection:
        return sqlite3.connect(f"file:{name}?mode=ro", uri=True, timeout=busy, isolation_level=None)

    with pytest.raises(LogTrouble, match="is read-only") as said:
        Log.open(path, connect=only_read)
    assert "Allow writing" in said.value.hint


def test_a_log_that_becomes_read_only(log: Log) -> None:
    log.append([entry(started())])
    log._db.execute("PRAGMA query_only = ON")
    with pytest.raises(LogTrouble, match="is read-only"):
        log.append([entry(good(), 1)])
    log._db.execute("PRAGMA query_only = OFF")
    log.append([entry(good(), 1)])
    assert len(log.entries("r1")) == 2


def test_a_full_disk(log: Log) -> None:
    log.append([entry(started())])
    log._db.execute("PRAGMA max_page_count = 1")  # SQLite raises it to the pages that are there
    with pytest.raises(LogTrouble, match="The disk is full") as said:
        log.append([entry(good(), 1)], [snapshot("x" * 1_000_000)])
    assert said.value.hint == "Make room on the disk."
    assert len(log.entries("r1")) == 1
    log._db.execute("PRAGMA max_page_count = 1000000")
    log.append([entry(good(), 1)], [snapshot("x" * 1_000_000)])
    assert len(log.entries("r1")) == 2
    assert log.check() == []


@pytest.mark.parametrize("wal", [True, False], ids=["write-ahead log", "journal"])
def test_a_file_that_was_moved_away_takes_nothing_more_until_it_is_back(path: Path, wal: bool) -> None:
    with Log.open(path, wal=wal) as log:
        path.rename(path.with_name("elsewhere"))
        with pytest.raises(LogTrouble, match="was moved or deleted while it was in use"):
            log.append([entry(started())])
        path.with_name("elsewhere").rename(path)
        log.append([entry(started())])
        assert len(log.entries("r1")) == 1


def test_damage_that_is_met_while_reading(path: Path) -> None:
    a_log(path)
    with contextlib.closing(sqlite3.connect(path)) as db:
        size = db.execute("PRAGMA page_size").fetchone()[0]
        pages = [
            page for (page,) in db.execute("SELECT rootpage FROM sqlite_schema WHERE tbl_name = 'entry'") if page
        ]
    data = bytearray(path.read_bytes())
    for page in pages:
        data[size * (page - 1) : size * page] = b"\xaa" * size
    path.write_bytes(bytes(data))
    with Log.open(path) as log:
        with pytest.raises(LogTrouble, match="is damaged"):
            log.entries("r1")
        with pytest.raises(LogTrouble, match="is damaged"):
            log.append([entry(good(), 5)])
        assert log.check() != []


def test_text_that_is_not_unicode_is_damage(log: Log) -> None:
    log._db.execute(
        "INSERT INTO entry (id, stream, family, seq, at, elapsed, kind, body) "
        "VALUES ('a', 'r1', 'run', 0, '', 0, 'note-added', CAST(x'ff' AS TEXT))"
    )
    with pytest.raises(LogTrouble, match="is damaged"):
        log.entries("r1")
    assert any("is damaged" in said for said in log.check())


def test_a_python_with_an_old_database(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 36, 0))
    with pytest.raises(LogTrouble, match=r"the log needs 3\.37 or later"):
        Log.open(path)


NAMES = (
    "BUSY",
    "LOCKED",
    "READONLY",
    "READONLY_DBMOVED",
    "PERM",
    "FULL",
    "CORRUPT",
    "NOTADB",
    "CANTOPEN",
    "IOERR_FSYNC",
)


@pytest.mark.parametrize("name", [*NAMES, "ERROR", "NOMEM"])
def test_every_error_of_the_database_is_a_sentence_with_the_file_in_it(name: str) -> None:
    said = trouble.from_database(f"SQLITE_{name}", "out of memory", "/data/{log}", 3.0)
    assert "/data/{log}" in said.message
    assert said.message.endswith(".")
    assert said.hint


def test_the_wrong_thread_is_a_fault_of_the_program_and_not_of_the_log(log: Log) -> None:
    log.close()
    with pytest.raises(sqlite3.ProgrammingError):
        log.append([entry(started())])

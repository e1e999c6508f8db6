from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

import pytest

from showday.errors import LogTrouble
from showday.log.store import Log
from tests.log.made import an_evening, entry, good, snapshot, started, story


def rows(path: Path, table: str) -> list[tuple[object, ...]]:
    db = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    found = db.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall()
    db.close()
    return found


def test_a_copy_holds_all_of_the_log_in_one_file(log: Log, path: Path, tmp_path: Path) -> None:
    log.append(an_evening(), [snapshot()])
    copy = tmp_path / "stick" / "evening.sqlite"
    log.backup(copy)
    assert [p.name for p in copy.parent.iterdir()] == ["evening.sqlite"]
    for table in ("entry", "snapshot", "run"):
        assert rows(copy, table) == rows(path, table) != []
    with Log.open(copy) as opened:
        assert opened.check() == []


def test_a_later_copy_takes_the_place_of_an_earlier(log: Log, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    for count, each in enumerate(story([started(), good()]), 1):
        log.append([each])
        log.backup(copy)
        assert len(rows(copy, "entry")) == count


@pytest.mark.parametrize("wal", [True, False], ids=["write-ahead log", "journal"])
def test_a_copy_while_another_connection_writes_is_the_log_as_it_was_committed(
    path: Path, tmp_path: Path, wal: bool
) -> None:
    with Log.open(path, wal=wal) as log:
        log.append([entry(started())])
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        other.execute(
            "INSERT INTO entry (id, stream, family, seq, at, elapsed, kind, body) "
            "VALUES ('half', 'r1', 'run', 1, '', 0, 'note-added', '{}')"
        )
        log.backup(tmp_path / "copy.sqlite")
        other.execute("ROLLBACK")
        other.close()
        with Log.open(tmp_path / "copy.sqlite") as copy:
            assert copy.entries("r1") == [entry(started())]
            assert copy.check() == []


def test_a_log_in_memory_can_be_copied(tmp_path: Path) -> None:
    with Log.in_memory() as log:
        log.append(an_evening())
        log.backup(tmp_path / "copy.sqlite")
    with Log.open(tmp_path / "copy.sqlite") as copy:
        assert copy.check() == []
        assert len(copy.runs()) == 2


def itself(path: Path) -> Path:
    return path


def by_a_link(path: Path) -> Path:
    link = path.parent.parent / "link.sqlite"
    link.symlink_to(path)
    return link


def by_a_hard_link(path: Path) -> Path:
    link = path.parent.parent / "hard.sqlite"
    link.hardlink_to(path)
    return link


def by_a_way_round(path: Path) -> Path:
    return path.parent / ".." / path.parent.name / path.name


def its_write_ahead_log(path: Path) -> Path:
    return path.with_name(path.name + "-wal")


def a_folder(path: Path) -> Path:
    return path.parent


def a_letter(path: Path) -> Path:
    letter = path.with_name("letter.txt")
    letter.write_text("Dear promoter, " * 20)
    return letter


def another_database(path: Path) -> Path:
    other = path.with_name("songs.sqlite")
    with contextlib.closing(sqlite3.connect(other)) as db:
        db.execute("CREATE TABLE song (title TEXT)")
    return other


def an_open_log(path: Path) -> Path:
    other = path.with_name("other.sqlite")
    Log.open(other).close()
    other.with_name("other.sqlite-wal").write_bytes(b"frames")
    return other


REFUSED = {
    "itself": (itself, "is the log itself"),
    "itself by a link": (by_a_link, "is the log itself"),
    "itself by a hard link": (by_a_hard_link, "is the log itself"),
    "itself by a way round": (by_a_way_round, "is the log itself"),
    "its write-ahead log": (its_write_ahead_log, "is the log itself"),
    "a folder": (a_folder, "is a folder"),
    "a letter": (a_letter, "is another file"),
    "another database": (another_database, "is another file"),
    "an open log": (an_open_log, "is in use"),
}


@pytest.mark.parametrize("name", list(REFUSED))
def test_a_copy_never_goes_over_something_else(log: Log, path: Path, name: str) -> None:
    log.append(an_evening())
    make, message = REFUSED[name]
    target = make(path)
    before = target.read_bytes() if target.is_file() else None
    names = sorted(path.parent.iterdir())
    with pytest.raises(LogTrouble, match=message) as said:
        log.backup(target)
    assert said.value.hint
    assert (target.read_bytes() if target.is_file() else None) == before
    assert sorted(path.parent.iterdir()) == names
    assert log.check() == []


def test_a_place_that_cannot_be_written_to(log: Log, tmp_path: Path) -> None:
    (tmp_path / "stick").write_text("not a folder")
    with pytest.raises(LogTrouble, match="No copy was made at"):
        log.backup(tmp_path / "stick" / "copy.sqlite")
    log.append(an_evening())


def test_a_damaged_log_makes_no_copy_and_leaves_the_earlier_one(path: Path, tmp_path: Path) -> None:
    with Log.open(path) as log:
        log.append(an_evening())
        log.append([entry(good(str(n)), n) for n in range(10, 300)])
        log.backup(tmp_path / "copy.sqlite")
    earlier = (tmp_path / "copy.sqlite").read_bytes()
    data = bytearray(path.read_bytes())
    data[-8192:] = b"\xaa" * 8192
    path.write_bytes(bytes(data))
    with Log.open(path) as log:
        with pytest.raises(LogTrouble, match=r"damaged, so no copy|No copy was made"):
            log.backup(tmp_path / "copy.sqlite")
        assert (tmp_path / "copy.sqlite").read_bytes() == earlier
    assert sorted(p.name for p in tmp_path.iterdir()) == ["copy.sqlite", "data"]

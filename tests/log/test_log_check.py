from __future__ import annotations

from collections.abc import Callable

import pytest

from showday.log.checks import MANY
from showday.log.records import summarise
from showday.log.store import Log
from showday.run import events as ev
from showday.run.events import Entry
from tests.log.made import an_evening, entry, snapshot, started, story, walk_opened

PUT = "INSERT INTO entry (id, stream, family, seq, at, elapsed, kind, body) VALUES (?, ?, 'run', ?, '', 0, ?, ?)"


def nothing(log: Log) -> None:
    pass


def a_damaged_entry(log: Log) -> None:
    log._db.execute(PUT, ("bad", "r9", 0, "note-added", '{"text": 5}'))


def an_altered_snapshot(log: Log) -> None:
    log._db.execute("DROP TRIGGER snapshot_is_never_changed")
    log._db.execute("UPDATE snapshot SET text = 'another'")


def a_wrong_record(log: Log) -> None:
    log._db.execute("UPDATE run SET answers = 99 WHERE id = 'r1'")


def a_missing_record(log: Log) -> None:
    log._db.execute("DELETE FROM run WHERE id = 'r2'")


def a_record_of_nothing(log: Log) -> None:
    log._db.execute("INSERT INTO run SELECT 'r7', title, '', '', '', '', '', '', 0, 0, 0, 0 FROM run LIMIT 1")


def a_missing_plan(log: Log) -> None:
    log.append([entry(ev.RunStarted("p", "t", "f" * 64), stream="r3")])


def a_missing_tree(log: Log) -> None:
    opened = walk_opened()
    lost = ev.WalkOpened(opened.walk, opened.fault, opened.title, "d" * 64, opened.outline)
    log.append([entry(lost, 9, stream="r2")])


def an_index_that_lacks_a_row(log: Log) -> None:
    db = log._db
    [(sql,)] = db.execute("SELECT sql FROM sqlite_schema WHERE name = 'entry_of_stream'").fetchall()
    db.execute("DROP INDEX entry_of_stream")
    db.execute(f"{sql} WHERE seq > 0")
    db.execute("PRAGMA writable_schema = ON")
    db.execute("UPDATE sqlite_schema SET sql = ? WHERE name = 'entry_of_stream'", (sql,))
    db.execute("PRAGMA writable_schema = RESET")


FOUND: dict[str, tuple[Callable[[Log], None], list[str]]] = {
    "nothing": (nothing, []),
    "a damaged entry": (a_damaged_entry, ["Entry bad of r9 is damaged: 'text' is not what it should be."]),
    "an altered snapshot": (
        an_altered_snapshot,
        [f"The plan 'line-check' is not what was kept ({snapshot().hash})."],
    ),
    "a wrong record": (
        a_wrong_record,
        ["The record of run r1 does not agree with its entries; `showday log rebuild` mends that."],
    ),
    "a missing record": (
        a_missing_record,
        ["The record of run r2 does not agree with its entries; `showday log rebuild` mends that."],
    ),
    "a record of nothing": (
        a_record_of_nothing,
        ["The record of run r7 has no entries; `showday log rebuild` mends that."],
    ),
    "a missing plan": (a_missing_plan, [f"Run r3 names a snapshot that is not in the log: {'f' * 64}."]),
    "a missing tree": (a_missing_tree, [f"Run r2 names a snapshot that is not in the log: {'d' * 64}."]),
}


@pytest.mark.parametrize("name", list(FOUND))
def test_what_is_wrong_is_said_in_sentences(log: Log, name: str) -> None:
    log.append(an_evening(), [snapshot()])
    spoil, wanted = FOUND[name]
    spoil(log)
    assert log.check() == wanted


def test_a_fault_in_the_file_is_found(log: Log) -> None:
    log.append(an_evening())
    an_index_that_lacks_a_row(log)
    assert any(said.startswith("The file is damaged:") for said in log.check())


def test_each_run_is_replayed_by_what_is_given(log: Log) -> None:
    log.append(an_evening())
    seen: dict[str, list[Entry]] = {}

    def replay(stream: str, entries: list[Entry]) -> str | None:
        seen[stream] = entries
        return "the second answer does not fit." if stream == "r2" else None

    assert log.check(replay) == ["Run r2 does not replay: the second answer does not fit."]
    assert seen == {"r1": log.entries("r1"), "r2": log.entries("r2")}


def test_a_run_with_a_damaged_entry_is_not_replayed(log: Log) -> None:
    log.append(story([started()]))
    log._db.execute(PUT, ("bad", "r1", 1, "note-added", ""))
    log.rebuild()
    assert len(log.check(lambda stream, entries: "replayed")) == 1


def test_a_damaged_entry_hides_no_other(log: Log) -> None:
    log.append(story([started(), walk_opened()]))
    log._db.execute(PUT, ("bad", "r1", 2, "note-added", "{"))
    assert [e.id for e in log.entries("r1")] == ["r1-0", "r1-1", "bad"]
    assert log.runs() == [summarise(log.entries("r1")[:2])]


def test_long_lists_are_cut_and_counted(log: Log) -> None:
    for number in range(MANY + 5):
        log._db.execute(PUT, (f"bad{number}", "r9", number, "note-added", ""))
    log.append(story([started()]))
    a_wrong_record(log)
    said = log.check()
    assert len(said) == 1 + MANY + 1
    assert said[0].startswith("The record of run r1")
    assert said[-1] == "… and 5 more damaged entries."


def test_looking_changes_nothing(log: Log) -> None:
    log.append(an_evening())
    a_wrong_record(log)
    before = log._db.total_changes
    log.check()
    assert log._db.total_changes == before


def test_what_is_said_holds_no_escape_codes(log: Log) -> None:
    log._db.execute(PUT, ("\x1b[2J", "r9", 0, "note-added", ""))
    assert "\x1b" not in "".join(log.check())

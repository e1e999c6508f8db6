"""The log on a real database."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showday.log.codec import Unknown
from showday.log.copies import connect
from showday.log.records import EntryRefused, RunRecord, in_order, snapshot_hash, summarise
from showday.log.schema import MIGRATIONS
from showday.log.store import Log
from showday.run import events as ev
from showday.run.events import Entry
from tests.log.made import (
    EVERY_EVENT,
    HOSTILE,
    UNKNOWN,
    an_evening,
    entry,
    good,
    snapshot,
    started,
    story,
    walk_opened,
)


def titles(records: list[RunRecord]) -> list[str]:
    return [record.title for record in records]


def test_what_was_appended_is_there_after_opening_again(log: Log, path: Path) -> None:
    log.append(an_evening())
    with Log.open(path) as again:
        for stream in ("r1", "r2", "v1", "v2", "i1"):
            assert again.entries(stream) == [e for e in an_evening() if e.stream == stream]
        assert again.all_streams() == ["i1", "r1", "r2", "v1", "v2"]
        assert again.entries("none") == []


@pytest.mark.parametrize("word", list(EVERY_EVENT))
def test_every_event_can_be_written_and_read(log: Log, word: str) -> None:
    log.append([entry(EVERY_EVENT[word])])
    assert log.entries("r1") == [entry(EVERY_EVENT[word])]


@pytest.mark.parametrize("name", list(HOSTILE))
def test_hostile_text_comes_back_as_it_was(log: Log, name: str) -> None:
    text = HOSTILE[name]
    begun = ev.RunStarted(text, text, "", venue=text, away=(text,))
    log.append(story([begun, ev.NoteAdded(text)]), [snapshot(text, name=text)])
    assert log.entries("r1") == story([begun, ev.NoteAdded(text)])
    assert log.text_of(snapshot_hash("plan", text)) == text
    assert [(s.name, s.text) for s in log.snapshots()] == [(text, text)]
    assert log.runs() == [summarise(log.entries("r1"))]
    assert log.check() == []


def test_entries_come_in_the_order_of_seq_time_and_id_however_they_arrive(log: Log) -> None:
    entries = story([started(), good(), good("b"), ev.NoteAdded("c")])
    twin = entry(ev.NoteAdded("from the other laptop"), 2, id="0")
    for each in (entries[3], twin, entries[0], entries[2], entries[1]):
        log.append([each])
    assert log.entries("r1") == in_order([*entries, twin])


def test_touring_gives_venues_shows_and_items_whole_and_in_order(log: Log) -> None:
    log.append(list(reversed(an_evening())))
    assert log.touring() == in_order(e for e in an_evening() if e.stream[0] in "vi")


def test_touring_sees_what_this_and_another_connection_wrote(log: Log, path: Path) -> None:
    assert log.touring() == []
    log.append(story([EVERY_EVENT["venue-added"]], "v1"))
    assert len(log.touring()) == 1
    with Log.open(path) as other:
        other.append(story([EVERY_EVENT["venue-added"]], "v2"))
    assert len(log.touring()) == 2
    log.append(story([started()]))
    assert len(log.touring()) == 2


def test_a_list_of_touring_entries_belongs_to_who_asked(log: Log) -> None:
    log.append(story([EVERY_EVENT["venue-added"]], "v1"))
    log.touring().clear()
    assert len(log.touring()) == 1


@pytest.mark.parametrize("event", [UNKNOWN, Unknown("note-added", '{"text": "a", "mood": "calm"}')])
def test_what_a_newer_program_wrote_stays_as_it_is(log: Log, event: Unknown) -> None:
    log.append([entry(started()), entry(event, 1)])
    log.append(story([EVERY_EVENT["venue-added"], event], "v1"))
    assert log.entries("r1")[1].event == event
    assert [e.event for e in log.touring()] == [EVERY_EVENT["venue-added"], event]
    assert log.check() == []


# -- once and for all ------------------------------------------------------------------------------------------


def test_the_same_again_changes_nothing(log: Log) -> None:
    kept = snapshot()
    log.append(an_evening(), [kept])
    before = log.runs()
    log.append(an_evening(), [kept])
    assert len(log.entries("r1")) == 5
    assert log.runs() == before
    assert log.check() == []


def test_a_try_that_was_half_known_writes_the_rest(log: Log) -> None:
    entries = story([started(), good(), good("b")])
    log.append(entries[:2])
    log.append(entries)
    assert log.entries("r1") == entries
    assert log.runs()[0].answers == 2


def test_the_same_event_in_other_words_is_the_same(log: Log) -> None:
    """Another version may have written a field that this one writes too, or left out one at its default."""
    log.append([entry(good())])
    with contextlib.closing(connect(str(log.path), 1)) as db:
        body = '{"step": "signal@1", "result": "good"}'
        db.execute("DROP TRIGGER entry_is_never_changed")
        db.execute("UPDATE entry SET body = ?", (body,))
    log.append([entry(good())])
    assert log.entries("r1") == [entry(good())]


OTHER: dict[str, Entry] = {
    "another event": entry(good("b")),
    "another stream": entry(good(), id="r1-0", stream="r2"),
    "another place": entry(good(), 7, id="r1-0"),
    "another time": entry(good(), at="2027"),
    "other seconds": entry(good(), elapsed=99.0),
}


@pytest.mark.parametrize("name", list(OTHER))
def test_an_id_that_says_something_else_is_refused_and_nothing_is_written(log: Log, name: str) -> None:
    log.append([entry(good())])
    with pytest.raises(EntryRefused, match="says something else"):
        log.append([entry(started(), 1), OTHER[name], entry(good(), 2)], [snapshot()])
    assert log.entries("r1") == [entry(good())]
    assert list(log.snapshots()) == []
    assert log.runs() == []


UNFIT: dict[str, Entry] = {
    "an id that is no text": entry(good(), id="\ud83d"),
    "a stream that is no text": entry(good(), stream="\udc00", id="x"),
    "a place that is too large": entry(good(), 2**63),
    "seconds that are no number": entry(good(), elapsed=float("nan")),
    "a body that is no text": entry(Unknown("lamp-lit", '{"a":"\ud83d"}')),
}


@pytest.mark.parametrize("name", list(UNFIT))
def test_an_entry_that_no_database_takes_is_refused_in_a_sentence(log: Log, name: str) -> None:
    with pytest.raises(EntryRefused, match="is not fit for the log"):
        log.append([UNFIT[name]])
    log.append([entry(started())])
    assert len(log.entries("r1")) == 1


def test_a_snapshot_that_was_altered_is_refused(log: Log) -> None:
    altered = snapshot()
    with pytest.raises(EntryRefused, match="is not the text"):
        log.append((), [type(altered)(altered.hash, altered.kind, altered.name, "another plan")])
    assert log.text_of(altered.hash) is None


FORBIDDEN = {
    "change an entry": "UPDATE entry SET body = '{}'",
    "delete an entry": "DELETE FROM entry",
    "replace an entry": "INSERT OR REPLACE INTO entry SELECT * FROM entry",
    "replace by id": "REPLACE INTO entry (id, stream, family, seq, at, elapsed, kind, body) "
    "SELECT id, stream, family, seq, at, elapsed, kind, '{}' FROM entry",
    "upsert an entry": "INSERT INTO entry SELECT * FROM entry WHERE true ON CONFLICT (id) DO UPDATE SET body = '{}'",
    "change a snapshot": "UPDATE snapshot SET text = ''",
    "delete a snapshot": "DELETE FROM snapshot",
    "replace a snapshot": "INSERT OR REPLACE INTO snapshot SELECT * FROM snapshot",
}


@pytest.mark.parametrize("name", list(FORBIDDEN))
def test_nothing_is_ever_changed_or_deleted(log: Log, name: str) -> None:
    log.append(story([started(), good()]), [snapshot()])
    with pytest.raises(sqlite3.IntegrityError):
        log._db.execute(FORBIDDEN[name])
    assert log.entries("r1") == story([started(), good()])
    assert log.text_of(snapshot().hash) == "plan"


# -- snapshots and records -------------------------------------------------------------------------------------


def test_a_snapshot_is_kept_once_and_found_by_its_hash(log: Log) -> None:
    for name in ("line-check.yaml", "another-name.yaml"):
        log.append((), [snapshot("playbook: line-check\n", "playbook", name)])
    assert [s.name for s in log.snapshots()] == ["line-check.yaml"]
    assert log.text_of(snapshot_hash("playbook", "playbook: line-check\n")) == "playbook: line-check\n"
    assert log.text_of("0" * 64) is None


RUNS: dict[str, tuple[dict[str, object], list[str]]] = {
    "all, newest first": ({}, ["C", "B", "A"]),
    "of one venue": ({"venue_ids": ["v1"]}, ["C", "A"]),
    "of several": ({"venue_ids": {"v1", "v2"}}, ["C", "B", "A"]),
    "of none": ({"venue_ids": []}, []),
    "of an unknown one": ({"venue_ids": ["v9"]}, []),
    "unfinished": ({"unfinished": True}, ["C", "B"]),
    "unfinished at one venue": ({"venue_ids": ("v1",), "unfinished": True}, ["C"]),
    "the newest": ({"limit": 1}, ["C"]),
    "none at all": ({"limit": 0}, []),
}


@pytest.mark.parametrize("name", list(RUNS))
def test_runs_are_found_by_venue_and_by_being_unfinished(log: Log, name: str) -> None:
    for place, (title, venue) in enumerate([("B", "v2"), ("A", "v1"), ("C", "v1")]):
        at = {"A": "2026-01-01", "B": "2026-02-01", "C": "2026-03-01"}[title]
        log.append([entry(started(venue, title), stream=f"r{place}", at=at)])
        if title == "A":
            log.append([entry(ev.RunFinished(ev.STOPPED), 1, stream=f"r{place}", at=at)])
    asked, wanted = RUNS[name]
    assert titles(log.runs(**asked)) == wanted  # type: ignore[arg-type]


def test_entries_of_some_kinds_in_some_streams(log: Log) -> None:
    log.append(an_evening())
    kinds = ["run-started", "walk-opened", "note-added"]
    assert [e.id for e in log.entries_of(kinds, ["r2", "r1"])] == ["r1-0", "r1-3", "r2-0", "r2-2"]
    assert [e.id for e in log.entries_of(kinds, ["r2"])] == ["r2-0", "r2-2"]
    assert log.entries_of([], ["r1"]) == log.entries_of(kinds, []) == []


def test_the_newest_runs_in_which_a_tree_was_walked(log: Log) -> None:
    for number, fault in enumerate(["hum", "no-signal", "hum", "hum"]):
        walk = ev.WalkOpened(f"w{number}", fault, 'A title with "fault":"hum" in it', "", ())
        log.append(entry(e, n, f"r{number}", at=f"2026-05-0{number + 1}") for n, e in enumerate([started(), walk]))
    assert log.walked("hum", 2) == ["r3", "r2"]
    assert log.walked("no-signal", 9) == ["r1"]
    assert log.walked("hu", 9) == []


RUN_EVENTS = st.one_of(
    st.sampled_from([started(), good(), walk_opened(), ev.NoteAdded("a"), ev.StepBegun("a"), UNKNOWN]),
    st.sampled_from([ev.RunFinished(ev.COMPLETE), ev.RunFinished(ev.STOPPED), EVERY_EVENT["to-fix-opened"]]),
    st.integers(0, 9).map(lambda place: ev.Undone(f"r1-{place}")),
)


@st.composite
def arrivals(draw: st.DrawFn) -> list[list[Entry]]:
    """Entries of one run in any order, in any pieces."""
    entries = draw(st.permutations(story(draw(st.lists(RUN_EVENTS, max_size=10)))))
    cuts = sorted(draw(st.lists(st.integers(0, len(entries)), max_size=4)))
    return [entries[a:b] for a, b in zip([0, *cuts], [*cuts, len(entries)], strict=True)]


@given(arrivals())
@settings(deadline=None)
def test_records_agree_with_the_entries_however_they_arrive(pieces: list[list[Entry]]) -> None:
    with Log.in_memory() as log:
        for piece in pieces:
            log.append(piece)
        record = summarise(in_order(e for piece in pieces for e in piece))
        assert log.runs() == ([record] if record else [])
        before = log.runs()
        log.rebuild()
        assert log.runs() == before
        assert log.check() == []


def test_a_spoiled_record_is_made_anew(log: Log) -> None:
    log.append(an_evening())
    before = log.runs()
    log._db.execute("UPDATE run SET title = 'wrong', answers = 7")
    log._db.execute("INSERT INTO run SELECT 'none', title, '', '', '', '', '', '', 0, 0, 0, 0 FROM run LIMIT 1")
    assert log.runs() != before
    log.rebuild()
    assert log.runs() == before


# -- the file --------------------------------------------------------------------------------------------------

SETTINGS = {
    "journal_mode": "wal",
    "synchronous": 2,
    "foreign_keys": 1,
    "recursive_triggers": 1,
    "trusted_schema": 0,
    "busy_timeout": 50,
    "user_version": len(MIGRATIONS),
    "application_id": 0x73686F77,
}


@pytest.mark.parametrize("name", list(SETTINGS))
def test_the_settings_that_make_it_durable(log: Log, name: str) -> None:
    assert log._db.execute(f"PRAGMA {name}").fetchone()[0] == SETTINGS[name]


def test_where_the_write_ahead_log_cannot_be_it_is_still_durable(path: Path) -> None:
    with Log.open(path, wal=False) as log:
        log.append(an_evening())
        assert log._db.execute("PRAGMA journal_mode").fetchone()[0] == "truncate"
        assert log._db.execute("PRAGMA synchronous").fetchone()[0] == 2
        assert log.check() == []
    with Log.open(path, wal=True) as log:
        assert log._db.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert len(log.entries("r1")) == 5
    with Log.open(path, wal=False) as log:
        assert log._db.execute("PRAGMA journal_mode").fetchone()[0] == "truncate"
        assert len(log.entries("r1")) == 5


def test_closing_leaves_one_whole_file(log: Log, path: Path) -> None:
    log.append(an_evening())
    log.close()
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_a_log_in_memory_is_a_log() -> None:
    with Log.in_memory() as log:
        log.append(an_evening())
        assert len(log.runs()) == 2
        assert log.check() == []


def test_what_another_process_left_without_closing_is_there(log: Log, path: Path, tmp_path: Path) -> None:
    """Copies of the files as a power cut would leave them: the last commits are only in the write-ahead log."""
    log.append(an_evening())
    cut = tmp_path / "cut"
    cut.mkdir()
    for file in path.parent.iterdir():
        if not file.name.endswith("-shm"):
            (cut / file.name).write_bytes(file.read_bytes())
    with Log.open(cut / path.name) as again:
        assert again.entries("r1") == log.entries("r1")
        assert again.check() == []

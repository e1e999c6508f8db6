"""The tables of words are derived: never trusted over the entries, and made anew whenever they do not fit."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from showday.errors import LogTrouble
from showday.log.keeper import Keeper
from showday.log.schema import MIGRATIONS
from showday.log.store import Log
from showday.log.word_tables import NAMES
from showday.note_search import NoteSearch
from showday.run import events as ev
from showday.run.events import Entry
from showday.run.touring import fold_book
from tests.log.made import an_evening, entry, started, story

NOTES = [*story([started(), *(ev.NoteAdded(f"lamp number {n}") for n in range(30)), ev.Undone("r1-3")])]


def ready(log: Log) -> None:
    while log.make_words_ready():
        pass


def found(log: Log, asked: str = "lamp", limit: int = 99) -> list[str]:
    keeper = Keeper(lambda: log)
    return [note.text for note in NoteSearch(keeper, fold_book(keeper.touring())).find(asked, limit)]


def in_tables(log: Log) -> int:
    return log.note_words().notes.bit_count()


def test_an_append_writes_nothing_into_them(log: Log) -> None:
    log.append(NOTES)
    assert in_tables(log) == 0
    assert len(found(log)) == 29
    ready(log)
    assert in_tables(log) == 29
    assert len(found(log)) == 29


def test_a_log_of_the_form_before_finds_its_notes(path: Path) -> None:
    with Log.open(path, migrations=MIGRATIONS[:2]) as log:
        log.append(NOTES)
    with Log.open(path) as log:
        assert len(found(log)) == 29
        ready(log)
        assert (in_tables(log), len(found(log))) == (29, 29)
        assert log.check() == []


@pytest.mark.parametrize(
    "spoil",
    [
        *(f"DROP TABLE {name}" for name in NAMES),
        "DELETE FROM note_upto",
        "UPDATE note_upto SET form = 0",
        "UPDATE note_upto SET id = 'of another log'",
        "UPDATE note_upto SET written = written + 7",
    ],
)
def test_tables_that_do_not_fit_are_made_anew(log: Log, spoil: str) -> None:
    log.append(NOTES)
    ready(log)
    log._db.execute(spoil)
    assert len(found(log)) == 29
    ready(log)
    assert (in_tables(log), len(found(log))) == (29, 29)
    assert log.check() == []


@pytest.mark.parametrize(
    "spoil",
    [
        "DELETE FROM note WHERE number = 5",
        "UPDATE note SET gone = 1",
        "UPDATE note_with_word SET bits = x'ff'",
        "UPDATE note_word SET word = 'camp' WHERE word = 'lamp'",
        "DELETE FROM note_of_run",
    ],
)
def test_what_they_say_wrongly_is_told_and_mended(log: Log, spoil: str) -> None:
    log.append(NOTES)
    ready(log)
    log._db.execute(spoil)
    assert log.check() == [
        "The words by which notes are found do not agree with the notes; `showday log rebuild` mends that."
    ]
    log.rebuild()
    assert log.check() == []
    assert len(found(log)) == 29


def test_while_another_program_writes_nobody_waits_and_everything_is_found(log: Log, path: Path) -> None:
    log.append(NOTES)
    log.make_words_ready(4)
    log.wait_at_most(60.0)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        with pytest.raises(LogTrouble, match="Another program is writing"):
            log.make_words_ready()
        keeper = Keeper(lambda: log)
        assert keeper.make_words_ready() == 0
        assert not keeper.warning
        assert len(found(log)) == 29
    finally:
        other.close()
    ready(log)
    assert in_tables(log) == 29
    assert log._db.execute("PRAGMA busy_timeout").fetchone() == (60_000,)


def test_two_programs_that_make_them_ready_in_turns(log: Log, path: Path) -> None:
    log.append(NOTES)
    with Log.open(path, busy=0.05, wal=True) as other:
        while any([log.make_words_ready(3), other.make_words_ready(5)]):
            pass
        assert other.check() == []
        log.append([entry(ev.NoteAdded("lamp at last"), 40)])
        assert other.make_words_ready() == 0
        assert found(log)[0] == found(other)[0] == "lamp at last"


def test_a_note_that_was_taken_back_before_it_came(log: Log) -> None:
    for late in (NOTES[-1:], NOTES[:-1]):
        log.append(late)
        ready(log)
    assert len(found(log)) == 29
    assert log.check() == []


def test_what_takes_back_something_that_is_no_text_hides_no_note(log: Log) -> None:
    log.append([*NOTES[:2], entry(ev.Undone("\ud800"), 40)])
    ready(log)
    log.append([entry(ev.NoteAdded("lamp out"), 41)])
    assert found(log) == ["lamp out", "lamp number 0"]


KILLED = """
import os, sys
from pathlib import Path
from showday.log import word_index
from showday.log.store import Log

log = Log.open(Path(sys.argv[1]))
log.make_words_ready(7)
take_back = word_index._take_back
def killed(*args):
    take_back(*args)
    os.kill(os.getpid(), 9)
word_index._take_back = killed
log.make_words_ready(7)
"""


def test_killed_on_the_way_it_goes_on_where_it_was(path: Path) -> None:
    with Log.open(path) as log:
        log.append(NOTES)
    killed = subprocess.run([sys.executable, "-c", KILLED, str(path)], check=False, timeout=60)
    assert killed.returncode == -9
    with Log.open(path) as log:
        assert in_tables(log) == 7
        assert len(found(log)) == 29
        ready(log)
        assert log.check() == []
        assert len(found(log)) == 29


def test_a_backup_brings_its_words_and_a_restored_log_has_its_own(log: Log, path: Path) -> None:
    log.append(NOTES)
    ready(log)
    log.backup(path.with_name("copy.sqlite"))
    more: list[Entry] = [e for e in an_evening() if e.stream != "r1"]
    log.append([*more, entry(ev.NoteAdded("lamp of later"), 50, "r2")])
    ready(log)
    assert len(found(log)) == 30
    log.restore(path.with_name("copy.sqlite"))
    assert (in_tables(log), len(found(log))) == (29, 29)
    assert log.check() == []

"""A sitting whose log fails: what was entered lies beside the log at once, and the next sitting takes it up."""

from __future__ import annotations

from pathlib import Path

import pytest

from showday import paths
from showday.errors import LogTrouble
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.run.events import NoteAdded
from showday.saving import the_log
from tests.log.made import entry, good, started


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))
    return tmp_path


def refuse(*args: object, **more: object) -> None:
    raise LogTrouble("The disk is full.")


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    monkeypatch.setattr(Log, "append", refuse)
    return monkeypatch


def ids() -> list[str]:
    with Log.open(paths.log_path()) as log:
        return [e.id for stream in log.all_streams() for e in log.entries(stream)]


def test_what_waits_lies_beside_the_log_before_the_sitting_ends(broken: pytest.MonkeyPatch) -> None:
    first, second = entry(started(), 0, "r1"), entry(good("a"), 1, "r1")
    with the_log(lambda _: None) as keeper:
        keeper.append([first])
        keeper.append([second])
        (beside,) = paths.unsaved_files()
        text = beside.read_text(encoding="utf-8")
        assert first.id in text
        assert second.id in text
        broken.undo()
        assert keeper.retry()
        assert paths.unsaved_files() == []


def test_at_its_end_a_sittings_notes_are_ready_to_be_searched() -> None:
    with the_log(lambda _: None) as keeper:
        keeper.append([entry(started(), 0, "r1"), entry(NoteAdded("dark"), 1, "r1")])
    with Log.open(paths.log_path()) as log:
        assert list(log.note_words().words) == ["dark"]


def test_one_who_cannot_wait_for_that_loses_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(_: Keeper) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(Keeper, "make_words_ready", stopped)
    said: list[str] = []
    with pytest.raises(KeyboardInterrupt), the_log(said.append) as keeper:
        keeper.append([entry(started(), 0, "r1")])
        monkeypatch.setattr(Log, "append", refuse)
        keeper.append([entry(good("a"), 1, "r1")])
    assert len(paths.unsaved_files()) == 1
    assert len(said) == 1


def test_the_next_sitting_takes_up_every_file_and_deletes_it(broken: pytest.MonkeyPatch, home: Path) -> None:
    said: list[str] = []
    for stream in ("r1", "r2"):
        with the_log(said.append) as keeper:
            keeper.append([entry(started(), 0, stream)])
    assert any("goes into the log at the next start" in line for line in said)
    assert len(paths.unsaved_files()) >= 2
    broken.undo()
    broken.setenv("SHOWDAY_HOME", str(home))
    with the_log(said.append):
        pass
    assert sorted(ids()) == sorted([entry(started(), 0, "r1").id, entry(started(), 0, "r2").id])
    assert paths.unsaved_files() == []


def test_a_sitting_that_ends_well_leaves_the_file_of_another_alone() -> None:
    with the_log(lambda _: None) as keeper:
        keeper.append([entry(started(), 0, "r1")])
        other = paths.unsaved_path("another")
        other.parent.mkdir(parents=True, exist_ok=True)
        other.write_text("written by another sitting\n", encoding="utf-8")
    assert other.exists()


def test_a_file_that_cannot_be_read_is_said_and_left() -> None:
    folder = paths.unsaved_path("a-folder")
    folder.mkdir(parents=True)
    said: list[str] = []
    with the_log(said.append):
        pass
    assert "cannot be read" in said[0]
    assert folder.is_dir()

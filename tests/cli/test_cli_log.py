"""`showday brief` and `showday log`: what is in the log, and whether it is whole."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from showday import paths
from showday.log.store import Log
from tests.cli.calling import Called, own_files

Call = Callable[..., Called]


@pytest.fixture
def played(call: Call, home: Path) -> Call:
    """Two runs at two venues are in the log."""
    own_files(home)
    at = ("--date", "2031-07-04", "--venue")
    call("run", "mine", "--plain", *at, "Café Süd", typed="note ask for Pat\ng\nf socket is loose\n")
    call("run", "mine", "--plain", *at, "Café Nord", typed="g\n")
    return call


@pytest.mark.parametrize(
    "command", [("brief", "x"), ("log", "check"), ("log", "runs"), ("log", "backup", "b")], ids=" ".join
)
def test_without_a_log_that_is_said_and_none_is_made(call: Call, home: Path, command: tuple[str, ...]) -> None:
    called = call(*command)
    assert called.code == 2
    assert called.err.startswith("showday: There is no log at ")
    assert not home.exists()


def test_the_brief_of_a_venue(played: Call) -> None:
    called = played("brief", "cafe", "sud")
    assert called.code == 0
    assert called.out.startswith("Café Süd\n")
    assert "socket is loose" in called.out
    assert "ask for Pat" in called.out


def test_the_brief_as_json(played: Call) -> None:
    data = played("brief", "süd", "--json").data
    assert data["venue"]["name"] == "Café Süd"
    assert data["shows"][0]["date"] == "2031-07-04"


def test_a_brief_of_several_or_none_has_status_1(played: Call) -> None:
    several = played("brief", "cafe")
    assert (several.code, several.out) == (1, "")
    assert "Café Nord; Café Süd" in several.err
    assert played("brief", "qqqqqqq").code == 1


def test_runs_newest_first(played: Call) -> None:
    called = played("log", "runs")
    assert called.code == 0
    first, second = called.out.splitlines()
    assert first.endswith("My own, Café Nord: unfinished; 1 answer, 0 fault walks, 0 notes")
    assert second.endswith("My own, Café Süd: complete; 2 answers, 0 fault walks, 1 note")
    assert len(played("log", "runs", "--limit", "1").out.splitlines()) == 1
    assert [run["outcome"] for run in played("log", "runs", "--json").data] == ["", "complete"]


def test_a_whole_log_is_said_to_be_whole(played: Call) -> None:
    called = played("log", "check")
    assert (called.code, called.out) == (0, "The log is whole: 2 runs, each can be read.\n")
    assert played("log", "check", "--json").data == {"problems": [], "warnings": [], "runs": 2}


def test_a_run_that_does_not_replay_is_a_problem(played: Call) -> None:
    db = sqlite3.connect(paths.log_path())
    for (guard,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.execute(f"DROP TRIGGER {guard}")
    db.execute("DELETE FROM snapshot WHERE kind = 'plan'")
    db.commit()
    db.close()
    called = played("log", "check")
    assert called.code == 1
    assert "The plan of this run is not in the log." in called.out
    assert played("log", "check", "--json").code == 1


def test_a_backup_is_a_whole_log(played: Call, tmp_path: Path) -> None:
    target = tmp_path / "stick" / "copy.sqlite"
    called = played("log", "backup", str(target))
    assert called.code == 0
    assert called.out == f"The log is copied to {target}.\n"
    with Log.open(target) as copy:
        assert copy.check() == []
        assert len(copy.runs()) == 2


def test_a_backup_over_another_file_is_refused(played: Call, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear", "utf-8")
    called = played("log", "backup", str(tmp_path / "letter.txt"))
    assert called.code == 2
    assert (tmp_path / "letter.txt").read_text("utf-8") == "dear"
    assert played("log", "backup", str(paths.log_path())).code == 2


def test_something_else_in_the_place_of_the_log(call: Call, home: Path) -> None:
    paths.log_path().parent.mkdir(parents=True)
    paths.log_path().write_text("dear", "utf-8")
    for command in (("log", "check"), ("log", "runs"), ("brief", "x")):
        called = call(*command)
        assert called.code == 2
        assert "is not a showday log" in called.err
    assert paths.log_path().read_text("utf-8") == "dear"

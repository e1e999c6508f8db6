"""The program as a shell sees it: exit status, streams, what is imported, what is not there."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from showday import __version__, cli
from showday.errors import LogTrouble, ProblemsFound
from tests.cli.calling import Called, own_files

Call = Callable[..., Called]
QUIET = [
    ("--version",),
    ("--help",),
    ("where",),
    ("check",),
    ("check", "--schema", "rig"),
    ("log", "runs"),
    ("log", "check"),
    ("brief", "hall"),
    ("fault",),
    ("fault", "hum", "--plain"),
    ("run", "mine", "--plain", "--venue", "Hall"),
    ("run", "line-check", "--plain", "--demo"),
]
"""Commands that draw nothing."""


def run(home: Path, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    """The program as a process of its own, with nothing typed."""
    environment = {**os.environ, "SHOWDAY_HOME": str(home), **more}
    command = [sys.executable, "-m", "showday.cli", *words]
    return subprocess.run(
        command, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )


def imported_by(home: Path, *words: str) -> set[str]:
    """The modules that a command imports."""
    code = (
        "import sys; from showday.cli import main; main(sys.argv[1:]); "
        "print('\\nmodules', *sys.modules, file=sys.stderr)"
    )
    environment = {**os.environ, "SHOWDAY_HOME": str(home)}
    command = [sys.executable, "-c", code, *words]
    done = subprocess.run(
        command, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=True
    )
    return set(done.stderr.split("\nmodules ")[1].split())


@pytest.mark.parametrize("words", QUIET, ids=" ".join)
def test_commands_that_draw_nothing_never_import_the_screens(home: Path, words: tuple[str, ...]) -> None:
    own_files(home)
    modules = imported_by(home, *words)
    assert "showday.cli" in modules
    assert not {m for m in modules if m.split(".")[0] in ("textual", "rich", "numpy") or m.startswith("showday.tui")}


def test_the_version_costs_next_to_nothing(home: Path) -> None:
    modules = imported_by(home, "--version")
    assert not modules & {"yaml", "sqlite3", "importlib.metadata", "platformdirs", "rapidfuzz", "dataclasses", "json"}


@pytest.mark.parametrize(
    "words", [("where",), ("--version",), ("nothing",), ("run", "nothing", "--plain")], ids=" ".join
)
def test_what_the_start_switches_off_is_on_again(call: Call, words: tuple[str, ...]) -> None:
    call(*words)
    assert gc.isenabled()


def test_the_version(call: Call) -> None:
    called = call("--version")
    assert (called.code, called.out) == (0, f"showday {__version__}\n")


@pytest.mark.parametrize("command", ["demo", "run", "fault", "check", "brief", "log", "where"])
def test_every_command_explains_itself(call: Call, command: str) -> None:
    called = call(command, "--help")
    assert called.code == 0
    assert "Exit status" in called.out
    assert f"  {command}" in call("--help").out or f"    {command}" in call("--help").out


@pytest.mark.parametrize("command", ["radio", "listen", "print", "chek", "Run"])
def test_other_commands_are_not_there(call: Call, command: str) -> None:
    called = call(command)
    assert called.code == 2
    assert called.err.startswith("showday: ")
    assert len(called.err.splitlines()) == 1


@pytest.mark.parametrize("action", ["export", "import", ""])
def test_other_actions_on_the_log_are_not_there(call: Call, action: str) -> None:
    assert call("log", *([action] if action else [])).code == 2


@pytest.mark.parametrize(
    ("raised", "code"),
    [
        (LogTrouble("It is broken.", "Mend it."), 2),
        (ProblemsFound("Two are alike."), 1),
        (OSError(28, "No space"), 2),
    ],
)
def test_trouble_is_one_sentence_on_the_error_stream(
    call: Call, monkeypatch: pytest.MonkeyPatch, raised: Exception, code: int
) -> None:
    def fail(args: object) -> int:
        raise raised

    monkeypatch.setattr(cli, "_do", fail)
    called = call("where")
    assert (called.code, called.out) == (code, "")
    assert called.err.startswith("showday: ")
    assert len(called.err.splitlines()) == 1


def test_trouble_with_escape_codes_is_harmless(call: Call) -> None:
    for words in (("run", "\x1b[31mx", "--plain"), ("x\x1b[31m",), ("brief", "\x1b]0;x\x07")):
        called = call(*words)
        assert called.code in (1, 2)
        assert "\x1b" not in called.err + called.out


def test_the_interrupt_key_gives_130(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    def press(args: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "_do", press)
    assert call("where").code == 130


def test_a_reader_that_went_away_ends_it_quietly(home: Path) -> None:
    reads, writes = os.pipe()
    os.close(reads)
    command = [sys.executable, "-m", "showday.cli", "check", "--schema", "playbook"]
    environment = {**os.environ, "SHOWDAY_HOME": str(home)}
    done = subprocess.run(command, env=environment, stdout=writes, stderr=subprocess.PIPE, check=False)
    os.close(writes)
    assert (done.returncode, done.stderr) == (2, b"")


def test_a_terminal_without_the_letters_shows_question_marks(home: Path) -> None:
    done = run(home, "run", "line-check", "--plain", "--venue", "Café Ørk", PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert "New venue: Caf? ?rk." in done.stdout


# -- the screens ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words", [(), ("demo",), ("run", "line-check"), ("run", "line-check", "--demo"), ("fault", "hum")], ids=" ".join
)
def test_without_a_terminal_the_screens_point_to_the_plain_front(home: Path, words: tuple[str, ...]) -> None:
    done = run(home, *words)
    assert done.returncode == 2
    assert "--plain" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not home.exists()


def test_where_makes_nothing_and_names_every_place(call: Call, home: Path) -> None:
    called = call("where")
    assert called.code == 0
    assert str(home / "data" / "showday-log.sqlite") in called.out
    assert str(home / "config" / "rig.yaml") in called.out
    assert not home.exists()
    there = call("where", "--json").data
    assert there["shipped playbooks"]["there"] is True
    assert there["log"] == {"path": str(home / "data" / "showday-log.sqlite"), "there": False}

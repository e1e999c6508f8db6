"""The real program in a real terminal: it opens, it ends, and leaves terminal and log as they should be."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from showday.log.store import Log
from showday.run import events as ev
from tests.support.terminal import PATIENCE, ROOT, Terminal, environment

pytestmark = pytest.mark.slow

LAST_KEY = "q  "
"""Stands at the end of the key bar: once it is there, the screen is whole."""


def answers(home: Path) -> list[tuple[str, str]]:
    """(step, result) of every answer in the log, oldest first."""
    with Log.open(home / "data" / "showday-log.sqlite", create=False) as log:
        found = [e.event for run in log.runs() for e in log.entries(run.id)]
    return [(event.step, event.result) for event in found if isinstance(event, ev.StepAnswered)]


def is_restored(terminal: Terminal) -> bool:
    """Whether the terminal is as it was before the program."""
    cells = terminal.cells
    return not cells.alternate and cells.cursor_shown and not cells.mouse


def quit_tonight(terminal: Terminal) -> None:
    """Leave the first screen, which asks for the key twice; the program ends in good order."""
    terminal.press("q")
    terminal.until_shows("Once more quits")
    terminal.press("q")
    assert terminal.end() == 0
    assert is_restored(terminal)


def open_line_check(terminal: Terminal) -> None:
    """Wait for the first card, read it, and wait for the first step."""
    terminal.until_shows("Ears out first.", LAST_KEY)
    terminal.press("\r")
    terminal.until_shows("until minutes on the screen", LAST_KEY)


def test_tonight_opens_and_q_leaves_the_terminal_as_it_was(home: Path) -> None:
    with Terminal.showday(home=home) as terminal:
        terminal.until_shows("Tonight", "Small line check", LAST_KEY)
        assert terminal.cells.alternate and not terminal.cells.cursor_shown
        quit_tonight(terminal)


def test_the_example_act_opens_and_writes_nothing(tmp_path: Path) -> None:
    with Terminal.showday("demo", home=tmp_path) as terminal:
        terminal.until_shows("Brickworks Yard", "Line check", LAST_KEY)
        quit_tonight(terminal)
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_the_first_start_offers_the_example_act(tmp_path: Path) -> None:
    with Terminal.showday(home=tmp_path) as terminal:
        terminal.until_shows("Tonight: no venue", "example act", LAST_KEY)
        quit_tonight(terminal)


@pytest.mark.parametrize(
    ("number", "status"), [(signal.SIGTERM, 143), (signal.SIGHUP, 129)], ids=["terminated", "hung up"]
)
def test_a_signal_ends_it_in_good_order(home: Path, number: signal.Signals, status: int) -> None:
    with Terminal.showday("run", "line-check", home=home) as terminal:
        open_line_check(terminal)
        terminal.press("g")
        terminal.until_shows("Turn every pack to minimum")
        terminal.send_signal(number)
        assert terminal.end() == status
        assert is_restored(terminal)
    assert answers(home) == [("clock", "good")]


def rows_on(terminal: Terminal) -> list[str]:
    """The rows on the run's screen, without the two that tell the time: what is over, and what is to come."""
    rows = (line.strip() for line in terminal.cells.lines)
    return [row for row in rows if row and not row.startswith("elapsed") and " more [" not in row]


def test_killed_in_the_middle_it_goes_on_at_the_same_step_with_the_same_screen(home: Path) -> None:
    with Terminal.showday("run", "line-check", home=home) as terminal:
        open_line_check(terminal)
        terminal.press("g")
        terminal.until_shows("Turn every pack to minimum", "! MUST")
        terminal.press("m")
        terminal.until_shows("Make a sound into Bass")
        terminal.press("g")
        terminal.until_shows("Listen while Bass rests")
        terminal.press("l")
        terminal.until_shows("until channel 2 moves", "1 owed", LAST_KEY)
        before = rows_on(terminal)
        terminal.send_signal(signal.SIGKILL)
        assert terminal.end() == -signal.SIGKILL
    with Terminal.showday("run", "line-check", home=home) as terminal:
        terminal.until_shows("AWAY", "until channel 2 moves", "1 owed", LAST_KEY)
        assert [row for row in rows_on(terminal) if row in before] == before  # all of it, and the absence
        terminal.press("g")
        terminal.until_shows("Listen while Voice rests")
        terminal.press("q")
        assert terminal.end() == 0
    assert [result for _, result in answers(home)] == ["good", "good", "good", "later", "good"]


ODD = [
    pytest.param({"TERM": "linux"}, (24, 80), id="linux console"),
    pytest.param({"TERM": "vt100"}, (24, 80), id="old terminal"),
    pytest.param({"LANG": "C", "LC_ALL": "C"}, (12, 40), id="C locale, 40x12"),
    pytest.param({}, (20, 60), id="60x20"),
]


@pytest.mark.parametrize(("env", "size"), ODD)
def test_an_evening_begins_in_odd_terminals(home: Path, env: dict[str, str], size: tuple[int, int]) -> None:
    with Terminal.showday(home=home, env=env, size=size) as terminal:
        begin_an_evening(terminal)


def begin_an_evening(terminal: Terminal) -> None:
    """From tonight to the keys' help and back, into the first playbook's first two steps, and out again."""
    terminal.until_shows("Tonight: no venue")
    terminal.press("?")
    terminal.until(lambda: "Tonight: no venue" not in terminal.cells.text)
    terminal.press("q")
    terminal.until_shows("Tonight: no venue")
    terminal.press("1")
    terminal.until_shows("Ears out first.", "I have read it")
    terminal.press("\r")
    terminal.until_shows("Start the clock", "good")
    terminal.press("g")
    terminal.until_shows("Turn every pack to minimum", "confirm")
    terminal.press("q")
    terminal.until_shows("Tonight: no venue")
    quit_tonight(terminal)


def colours(terminal: Terminal) -> set[tuple[bytes, ...]]:
    """Every red, green and blue that was written and is no grey."""
    found = re.findall(rb"[34]8;2;(\d+);(\d+);(\d+)", bytes(terminal.raw))
    return {rgb for rgb in found if len(set(rgb)) > 1}


@pytest.mark.parametrize("env", [{}, {"NO_COLOR": "1"}], ids=["colour", "no colour"])
def test_colour_is_written_unless_it_is_not_wanted(home: Path, env: dict[str, str]) -> None:
    with Terminal.showday(home=home, env={"COLORTERM": "truecolor", **env}) as terminal:
        begin_an_evening(terminal)
        assert (not colours(terminal)) == bool(env)


def test_a_window_made_smaller_is_drawn_anew(home: Path) -> None:
    with Terminal.showday("run", "line-check", home=home) as terminal:
        open_line_check(terminal)
        terminal.resize((20, 60))
        terminal.until(lambda: LAST_KEY in terminal.cells.lines[-1] and "Start the clock" in terminal.cells.text)
        assert all(len(line) <= 60 for line in terminal.cells.lines)
        terminal.press("q")
        assert terminal.end() == 0


def run_without_terminal(home: Path, *arguments: str, env: dict[str, str] | None = None) -> tuple[int, str, str]:
    """Exit status, output and errors of the program with nothing typed and no terminal."""
    done = subprocess.run(
        [sys.executable, "-m", "showday.cli", *arguments],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        cwd=ROOT,
        env=environment(home, env),
        check=False,
    )
    return done.returncode, done.stdout, done.stderr


@pytest.mark.parametrize("arguments", [(), ("demo",), ("run", "line-check"), ("fault", "hum")], ids=" ".join)
def test_without_a_terminal_one_sentence_says_what_to_do(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    code, out, errors = run_without_terminal(tmp_path, *arguments)
    assert (code, out) == (2, "")
    assert errors.startswith("showday: ") and errors.count("\n") == 1 and "\x1b" not in errors
    assert "--plain" in errors
    assert list(tmp_path.iterdir()) == []


def test_a_dumb_terminal_is_told_about_line_prompts(tmp_path: Path) -> None:
    with Terminal.showday("run", "line-check", home=tmp_path, env={"TERM": "dumb"}) as terminal:
        assert terminal.end() == 2
        assert "--plain" in terminal.cells.text
        assert b"\x1b" not in terminal.raw

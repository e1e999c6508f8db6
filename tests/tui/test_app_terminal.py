"""The real program in a real terminal: it paints, takes keys, and gives the terminal back."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pexpect
import pytest

ROOT = Path(__file__).parents[2]

PROGRAM = """
import sys
from itertools import count
from showday.desk import Desk
from showday.library import Source
from showday.run.session import World
from showday.tui.app import ShowdayApp
from tests.tui.evening import RIG, FakeClock, FakeKeeper, library_of, rig_of
keeper, ids = FakeKeeper(), count()
world = World(keeper, FakeClock(), lambda: f"id-{next(ids)}")
desk = Desk(library_of(), rig_of(RIG), Source("rig", "small", "rig.yaml", RIG), keeper, world, by_author=True)
app = ShowdayApp(desk, session=desk.start_run("line-check"))
app.run()
print("answers:", keeper.kinds().count("StepAnswered"))
sys.exit(app.return_code or 0)
"""

LEAVE_SCREEN, SHOW_CURSOR = "\x1b[?1049l", "\x1b[?25h"
"""DEC private modes: back from the alternate screen, cursor shown (xterm control sequences)."""


def start(tmp_path: Path, **more: str) -> pexpect.spawn[str]:
    env = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), "SHOWDAY_HOME": str(tmp_path), "HOME": str(tmp_path)}
    env |= {"LANG": "C.UTF-8", "TERM": "xterm-256color", **more}
    return pexpect.spawn(
        sys.executable, ["-c", PROGRAM], cwd=str(ROOT), env=env, dimensions=(20, 60), encoding="utf-8", timeout=30
    )


@pytest.fixture(params=[{}, {"NO_COLOR": "1"}, {"TERM": "dumb"}, {"TERM": "linux"}, {"LANG": "C"}], ids=str)
def program(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[pexpect.spawn[str]]:
    child = start(tmp_path, **request.param)
    yield child
    child.close(force=True)


def test_it_paints_takes_keys_and_leaves(program: pexpect.spawn[str]) -> None:
    program.expect("If anything tingles")
    program.send("\r")
    program.expect("minutes on the screen")
    program.send("g")
    program.expect("all knobs at zero")
    program.send("q")
    program.expect("goes on at the same step")
    program.expect("answers: 1")
    program.expect(pexpect.EOF)
    program.wait()
    assert program.exitstatus == 0


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_being_told_to_end_gives_the_terminal_back(tmp_path: Path, number: signal.Signals) -> None:
    child = start(tmp_path)
    child.expect("If anything tingles")
    child.kill(number)
    child.expect(pexpect.EOF)
    child.wait()
    written = child.before or ""
    assert LEAVE_SCREEN in written
    assert SHOW_CURSOR in written
    assert child.exitstatus == 128 + number

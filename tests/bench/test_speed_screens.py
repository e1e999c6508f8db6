"""First paint and key to repaint, in a terminal, beside an app of one line of text."""

from __future__ import annotations

import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.bench.conftest import Compare, Pair
from tests.support.terminal import Terminal, environment

REST = 0.03
"""Seconds of silence before a key, about two frames: an app that painted just now lets the next paint wait."""
COUNTER = ["-m", "tests.bench.counter"]


def seconds_to_paint(start: Callable[[], Terminal], painted: bytes) -> float:
    """From the start of a process until these bytes stand on its terminal."""
    began = time.perf_counter()
    with start() as terminal:
        terminal.until_written(painted)
        took = time.perf_counter() - began
        assert terminal.cells.alternate
        terminal.send_signal(signal.SIGKILL)
    return took


@pytest.mark.parametrize(
    ("arguments", "painted"), [((), b"Line check, alone"), (("demo",), b"Line check, alone")], ids=["tonight", "demo"]
)
def test_first_paint(compare: Compare, home: Path, arguments: tuple[str, ...], painted: bytes) -> None:
    pair = Pair(
        what=f"first paint of `{' '.join(('showday', *arguments))}`",
        goal=1.25,
        ours=lambda: seconds_to_paint(lambda: Terminal.showday(*arguments, home=home), painted),
        bare=lambda: seconds_to_paint(lambda: Terminal(COUNTER, environment(home)), rb"count 0"),
    )
    compare(pair, 15)


def seconds_to_repaint(terminal: Terminal, key: str, painted: bytes) -> float:
    """From a key, pressed while the program rests, until these bytes were written anew."""
    terminal.until_quiet(REST)
    written = len(terminal.raw)
    began = time.perf_counter()
    terminal.press(key)
    terminal.until_written(painted, written)
    return time.perf_counter() - began


@pytest.mark.parametrize(("key", "what"), [("g", "an answer"), ("j", "the next step")], ids=["answer", "next"])
def test_key_to_repaint(compare: Compare, home: Path, key: str, what: str) -> None:
    run = Terminal.showday("run", "lines", "--new", home=home)
    counter = Terminal(COUNTER, environment(home))
    with run, counter:
        run.until_shows("1 of 66 | Every input", "q  back")
        counter.until_shows("count 0")
        pair = Pair(
            what=f"key to repaint of {what}",
            goal=1.5,
            ours=lambda: seconds_to_repaint(run, key, rb"\d+ of 66 \|"),
            bare=lambda: seconds_to_repaint(counter, key, rb"count \d+"),
        )
        compare(pair, 60)
        run.until_shows(f"{len(pair.times) + 1} of 66 | Every input")
        counter.until_shows(f"count {len(pair.times)}")

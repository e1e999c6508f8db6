"""Line prompts in a real terminal: the same run without a full screen, left and gone on with."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from tests.support.terminal import Terminal

pytestmark = pytest.mark.slow

PROMPTS = ("run", "line-check", "--plain")


def test_a_whole_run_is_walked_by_typed_lines(home: Path) -> None:
    with Terminal.showday(*PROMPTS, home=home) as terminal:
        terminal.until_shows("Caution: Ears out first.", "Do: Start the clock", "[step clock] Result?")
        terminal.enter("good")
        terminal.until_shows("[must minimum] Confirm?")
        terminal.enter("confirm")
        for line in ("1", "2"):
            terminal.until_shows(f"[reading signal@{line} dBFS]")
            terminal.enter("-18")
            terminal.until_shows(f"[step rest@{line}] Result?")
            terminal.enter("good")
        terminal.until_shows("complete")
        terminal.enter("")
        assert terminal.end() == 0
        assert b"\x1b" not in terminal.raw


def test_killed_at_a_prompt_it_goes_on_at_the_same_step(home: Path) -> None:
    with Terminal.showday(*PROMPTS, home=home) as terminal:
        terminal.until_shows("[step clock] Result?")
        terminal.enter("good")
        terminal.until_shows("[must minimum] Confirm?")
        terminal.send_signal(signal.SIGKILL)
        assert terminal.end() == -signal.SIGKILL
    with Terminal.showday(*PROMPTS, home=home) as terminal:
        terminal.until_shows("Step 2 of 6", "[must minimum] Confirm?")
        assert "[step clock]" not in terminal.cells.text
        terminal.press("\x04")  # the end of input
        assert terminal.end() == 0
        assert "goes on with it" in terminal.cells.text


def test_the_interrupt_key_ends_it_and_the_screens_go_on_with_it(home: Path) -> None:
    with Terminal.showday(*PROMPTS, home=home) as terminal:
        terminal.until_shows("[step clock] Result?")
        terminal.enter("good")
        terminal.until_shows("[must minimum] Confirm?")
        terminal.press("\x03")
        assert terminal.end() == 130
        assert "Traceback" not in terminal.cells.text
    with Terminal.showday("run", "line-check", home=home) as terminal:
        terminal.until_shows("Turn every pack to minimum", "! MUST", "confirm")
        terminal.press("q")
        assert terminal.end() == 0

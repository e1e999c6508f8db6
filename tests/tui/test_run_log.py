"""The run's screen and the log: written first, shown after; trouble is said and nothing is lost."""

from __future__ import annotations

from showday.errors import LogTrouble
from showday.run.session import Session
from showday.tui.app import ShowdayApp
from tests.tui.evening import FakeKeeper, press, said, screen_text

SIZE = (80, 24)


async def test_trouble_with_the_log_stands_on_the_screen(app: ShowdayApp, keeper: FakeKeeper) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        keeper.warning = "The log is locked; 2 not saved yet."
        await press(pilot, "enter")
        assert "! The log is locked; 2 not saved yet." in screen_text(app)
        keeper.warning = ""
        await press(pilot, "g")
        assert "locked" not in screen_text(app)


async def test_a_write_that_fails_changes_nothing_and_says_why(
    app: ShowdayApp, session: Session, keeper: FakeKeeper
) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        keeper.fail = LogTrouble("The disk is full.", "Make room.")
        await press(pilot, "g")
        assert session.state.step("clock").result == ""
        assert said(app) == "The disk is full. Make room."


async def test_a_step_shown_is_written_before_it_is_answered(app: ShowdayApp, keeper: FakeKeeper) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g")
        assert keeper.kinds() == ["RunStarted", "StepBegun", "StepAnswered", "StepBegun"]

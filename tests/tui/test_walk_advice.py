"""The advice on the fault walk's screen: why this step, what is still likely, either order, either goal."""

from __future__ import annotations

import pytest

from showday.desk import Desk
from showday.run.progress import current
from showday.tui.app import ShowdayApp
from showday.tui.screens.modals import ListModal
from showday.tui.screens.walk import WalkScreen
from tests.tui.evening import card, press, screen_text, until

SIZE = (80, 24)


@pytest.fixture
def app(desk: Desk) -> ShowdayApp:
    """A walk in the computed order."""
    desk.by_author = False
    session = desk.start_run("line-check")
    session.go_to("signal@1")
    desk.open_walk(session, "no-signal", current(session.state))
    return ShowdayApp(desk, session=session)


def first_step(app: ShowdayApp) -> str:
    assert isinstance(app.screen, WalkScreen)
    return app.screen.ask().id


async def test_the_step_says_why_it_comes_now(app: ShowdayApp) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        assert isinstance(app.screen, WalkScreen)
        advice = app.screen.counsel.next(app.screen.state)[1]
        assert advice is not None
        assert advice.reason.split(";")[0] in card(app)


async def test_a_key_shows_what_is_still_likely_as_bars(app: ShowdayApp) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        await press(pilot, "z")
        await until(pilot, lambda: isinstance(app.screen, ListModal))
        shown = screen_text(app)
        assert "%" in shown
        assert "###" in shown
        await press(pilot, "escape")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))


async def test_a_key_changes_to_the_authors_order_and_it_is_remembered(app: ShowdayApp, desk: Desk) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        await press(pilot, "f3")
        assert desk.by_author
        assert "in the author's order" in card(app)
        assert first_step(app) == "meter"
        await press(pilot, "f3")
        assert not desk.by_author


async def test_a_key_changes_the_goal(app: ShowdayApp) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        assert "cause first, no workarounds" in card(app)
        await press(pilot, "f4")
        assert "sound first" in card(app)


async def test_going_back_gives_the_advice_that_was_shown_before(app: ShowdayApp) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        before = card(app)
        await press(pilot, "c")
        await press(pilot, "u")
        assert card(app) == before

"""The advice on the fault walk's screen: why this step, what is still likely, either order, either goal, little time."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from textual.pilot import Pilot

from showday.desk import Desk
from showday.run import events as ev
from showday.run.progress import current
from showday.run.session import Session
from showday.run.state import WalkState
from showday.tui.app import ShowdayApp
from showday.tui.screens.modals import ChoiceModal, ListModal
from showday.tui.screens.odds import OddsScreen
from showday.tui.screens.run import RunScreen
from showday.tui.screens.tonight import TonightScreen
from showday.tui.screens.walk import WalkScreen
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.row_list import RowList
from tests.fault.test_advise import LATE
from tests.tui.evening import HUM, LINE_CHECK, NO_SIGNAL, FakeClock, card, press, said, screen_text, until
from tests.tui.nights import a_desk, a_show, head, mark

SIZE = (80, 24)
SIZES = [(80, 24), (60, 20)]

SHELVES = """
fault: shelves
title: Shelves
heard_as: shelves
walk:
  - {fix: Take the spare pack, id: spare, cures: {pack: 0.9}, takes: 10s, workaround: yes, uses: spare pack}
  - {fix: Mend the pack, id: mend, cures: pack, takes: 2min}
causes:
  pack: {what: The pack is broken, cure: Mend it}
help: {do: Call, takes: 10min}
"""


@pytest.fixture
def session(desk: Desk) -> Session:
    """A run that stands at the bass's signal with a walk for it open, in the computed order."""
    desk.by_author = False
    session = desk.start_run("line-check")
    session.go_to("signal@1")
    desk.open_walk(session, "no-signal", current(session.state))
    return session


@pytest.fixture
def app(desk: Desk, session: Session) -> ShowdayApp:
    return ShowdayApp(desk, session=session)


def walking(app: ShowdayApp) -> WalkScreen:
    assert isinstance(app.screen, WalkScreen)
    return app.screen


async def walk_shown(pilot: Pilot[Any]) -> None:
    """Wait until the walk stands on the screen."""
    screens: Any = pilot.app
    await until(pilot, lambda: isinstance(screens.screen, WalkScreen) and screens.screen.whole and card(screens))


def walk(session: Session) -> WalkState:
    assert session.state.walk is not None
    return session.state.walk


def walking_list(app: ShowdayApp) -> list[str]:
    """The sentences of the list over the walk."""
    return [str(option.prompt)[2:] for option in app.screen.query_one(RowList).options]


def mode(app: ShowdayApp) -> str:
    """The standing line that names the order or the goal."""
    return app.screen.query_one("#standing", Lines).lines[1].text


@pytest.mark.parametrize("size", SIZES)
async def test_the_step_says_why_it_comes_now_and_it_is_seen(app: ShowdayApp, size: tuple[int, int]) -> None:
    async with app.run_test(size=size, notifications=True) as pilot:
        await press(pilot, "enter")
        advice = walking(app).counsel.next(walking(app).state)[1]
        assert advice is not None
        assert walking(app).ask().id == advice.step
        assert advice.reason in screen_text(app)
        assert walking(app).ask().do in screen_text(app)


@pytest.mark.parametrize("size", SIZES)
async def test_a_key_shows_what_is_still_likely_as_bars(app: ShowdayApp, size: tuple[int, int]) -> None:
    async with app.run_test(size=size, notifications=True) as pilot:
        await press(pilot, "enter z")
        await until(pilot, lambda: isinstance(app.screen, OddsScreen))
        likely = app.desk.library.trees["no-signal"].causes
        assert "% #" in screen_text(app)
        assert any(str(cause.what) in screen_text(app) for _, cause in likely)
        await press(pilot, "z")
        await walk_shown(pilot)


@pytest.mark.parametrize("key", ["q", "escape", "z", "enter"])
async def test_the_bars_answer_nothing(app: ShowdayApp, session: Session, key: str) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter z")
        await until(pilot, lambda: isinstance(app.screen, OddsScreen))
        await press(pilot, f"j k {key}")
        await walk_shown(pilot)
        assert walk(session).answers == ()


async def test_a_key_changes_to_the_authors_order_and_it_is_remembered(desk: Desk, session: Session) -> None:
    kept: list[bool] = []
    app = ShowdayApp(desk, session=session, remember_order=kept.append)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter f3")
        assert desk.by_author
        assert "the author's order" in card(app)
        assert "author's order (F3)" in mode(app)
        assert walking(app).ask().id == "meter"
        await press(pilot, "f4")
        assert "has no goal" in said(app)
        await press(pilot, "f3")
        assert not desk.by_author
    assert kept == [True, False]


async def test_a_key_changes_the_goal(app: ShowdayApp) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        assert "cause first (F4)" in mode(app)
        await press(pilot, "f4")
        assert "sound first (F4)" in mode(app)
        assert "workarounds are offered" in said(app)


async def test_going_back_gives_the_advice_that_was_shown_before(app: ShowdayApp) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        before = card(app)
        await press(pilot, "c u")
        assert card(app) == before


async def test_another_step_can_be_taken_and_the_suggested_one_taken_again(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        suggested = walking(app).ask().id
        await press(pilot, "t")
        await until(pilot, lambda: isinstance(app.screen, ListModal))
        await press(pilot, "j j enter")
        await walk_shown(pilot)
        assert walking(app).ask().id != suggested
        assert "taken out of turn" in card(app)
        await press(pilot, "u")
        assert walking(app).ask().id == suggested
        assert walk(session).answers == ()


async def test_the_advice_follows_a_step_taken_out_of_turn(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter t")
        await until(pilot, lambda: isinstance(app.screen, ListModal))
        await press(pilot, "j j enter")
        await walk_shown(pilot)
        taken = walking(app).ask()
        await press(pilot, "c")
        assert walk(session).answers == ((taken.id, "can't now"),)
        assert walking(app).ask().id not in (taken.id, "")
        assert "taken out of turn" not in card(app)


# -- when time is short ----------------------------------------------------------------------------------------


@pytest.fixture
def night(clock: FakeClock) -> Desk:
    """An evening with a show whose slot is a minute and some seconds away."""
    desk = a_desk(clock, [LINE_CHECK], [NO_SIGNAL, HUM, LATE, SHELVES])
    desk.by_author = False
    a_show(desk)
    show = desk.tonight()
    assert show is not None
    slot = (clock.now() + timedelta(minutes=2)).astimezone()
    desk.plan_show(show.venue, show.date, f"{slot:%H:%M}", 20)
    clock.advance(55)
    return desk


@pytest.mark.parametrize("size", SIZES)
async def test_what_is_likelier_to_help_in_time_is_said_and_taken_by_its_key(
    night: Desk, clock: FakeClock, size: tuple[int, int]
) -> None:
    """60 s are left, rounded: the pack (9 of 11) takes them all, the plug (2 of 11) is quicker on average."""
    app = ShowdayApp(night, fault="late")
    async with app.run_test(size=size, notifications=True) as pilot:
        await walk_shown(pilot)
        assert walking(app).ask().id == "plug"
        assert "F5 likelier" in screen_text(app)
        assert "Swap the pack" in card(app)
        clock.advance(40)  # what was said stands, though it would not be said any more
        await press(pilot, "f5")
        assert walking(app).ask().id == "swap"
        assert "F5" not in card(app)


async def test_without_a_slot_near_no_other_step_is_named(night: Desk, clock: FakeClock) -> None:
    clock.advance(600)
    app = ShowdayApp(night, fault="late")
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await walk_shown(pilot)
        assert "F5" not in card(app)
        await press(pilot, "f5")
        assert "No other step" in said(app)
        assert walking(app).ask().id == "plug"


# -- spares, and what is left to fix ---------------------------------------------------------------------------


async def test_a_workaround_shows_its_spares_and_a_used_one_is_not_offered(night: Desk) -> None:
    app = ShowdayApp(night)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))
        app.open_walk("shelves")
        await walk_shown(pilot)
        assert "uses spare pack (1 left)" in card(app)
        await press(pilot, "1")
        assert "Used up: spare pack, NONE left" in card(app)
        await press(pilot, "d")
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))
        app.open_walk("shelves")
        await walk_shown(pilot)
        assert walking(app).ask().id == "mend"


async def test_an_item_is_hunted_from_tonight_and_closed_when_its_cause_was_found(night: Desk) -> None:
    session = night.start_bare()
    night.open_walk(session, "shelves")
    ask = night.ask_again(session.state, night.tree_of(session.state), "spare")
    assert ask is not None
    session.answer_walk(ask, "restored")
    session.end_walk(odds=(("The pack is broken", 0.9),))
    session.finish()
    app = ShowdayApp(night)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))
        await mark(pilot, "then likely: The pack is broken 90%")
        await press(pilot, "enter 4")
        await walk_shown(pilot)
        assert "TO FIX: Shelves" in head(app)
        assert "cause first (F4)" in mode(app)
        assert walking(app).ask().id == "mend"
        await press(pilot, "1 1")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        assert "Is this item done?" in screen_text(app)
        await press(pilot, "1")
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))
        assert night.book().open_items() == []
        [item] = night.book().items.values()
        assert item.how == "The pack is broken"


async def test_cautions_come_again_before_a_cause_is_hunted(night: Desk) -> None:
    session = night.start_bare()
    night.open_walk(session, "no-signal")
    ask = night.ask_again(session.state, night.tree_of(session.state), "meter")
    assert ask is not None
    session.answer_walk(ask, "it moves")
    session.end_walk()
    session.finish("stopped")
    app = ShowdayApp(night)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))
        app.open_hunt(night.book().open_items()[0])
        await walk_shown(pilot)
        assert "! Keep ears out while you pull plugs." in card(app)
        await press(pilot, "enter")
        assert "Keep ears out" not in card(app)
        assert "1 answered" in mode(app)
        await press(pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))
        assert len(night.book().open_items()) == 1


async def test_what_came_back_is_told_to_the_log_and_lowers_its_fix(night: Desk) -> None:
    session = night.start_run("line-check")
    session.go_to("signal@1")
    night.open_walk(session, "no-signal", current(session.state))
    app = ShowdayApp(night, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter t")
        await until(pilot, lambda: isinstance(app.screen, ListModal))
        rows = walking_list(app)
        await press(pilot, " ".join(["j"] * rows.index("Push the plug in at the box") + ["enter"]))
        await walk_shown(pilot)
        await press(pilot, "1 1")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        app.open_walk("no-signal", session.state.planned("signal@1"))
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        await press(pilot, "1")
        await walk_shown(pilot)
        assert [type(e.event) for e in night.keeper.events_of((ev.CameBack,), [session.state.run])] == [ev.CameBack]
        learned = walking(app).counsel.learned(walking(app).state)
        assert learned.numbers.fixes["plug"] < 1.0
        assert "fixed, but it came back" in night.book().open_items()[0].text

"""What do you hear: typing finds the tree, Enter walks it, Esc goes back to the same step."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from showday.run import events as ev
from showday.run.progress import current
from showday.tui.app import ShowdayApp
from showday.tui.screens.brief import BriefScreen
from showday.tui.screens.run import RunScreen
from showday.tui.screens.search import SearchScreen
from showday.tui.screens.tonight import TonightScreen
from showday.tui.screens.walk import WalkScreen
from showday.tui.widgets.pick_list import PickList
from tests.tui.evening import HUM, NO_SIGNAL, FakeClock, press, until
from tests.tui.nights import HOSTILE, LOAD_IN, MARKUP, SIZES, a_desk, a_show, harmless, head, listed, marked, row_of

SIZE = (80, 24)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))


async def shown(pilot: Pilot[int], screen: type[object]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, screen))


async def test_two_keys_from_tonight_to_a_fault_walk(clock: FakeClock) -> None:
    desk = a_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "w")
        await shown(pilot, SearchScreen)
        await press(pilot, "enter")
        await shown(pilot, WalkScreen)
        assert app.session is not None and not app.session.state.plan.steps


async def test_typing_narrows_to_what_is_heard(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "w")
        await shown(pilot, SearchScreen)
        await press(pilot, "b u z")
        await until(pilot, lambda: marked(app).startswith("Hum or buzz"))
        await press(pilot, "enter")
        await shown(pilot, WalkScreen)
        assert app.session is not None and app.session.state.walk is not None
        assert app.session.state.walk.fault == "hum"


async def test_letters_and_digits_are_typed_whatever_they_mean_elsewhere(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "w")
        await shown(pilot, SearchScreen)
        await press(pilot, "q w 1 s slash question_mark")
        assert app.screen.query_one(Input).value == "qw1s/?"
        assert isinstance(app.screen, SearchScreen)


async def test_nothing_like_it_says_so_and_enter_does_nothing(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "w z z x x q q")
        await until(pilot, lambda: any("No fault tree sounds like that" in row for row in listed(app)))
        await press(pilot, "enter")
        assert isinstance(app.screen, SearchScreen)


async def test_trees_named_by_the_current_step_come_first(clock: FakeClock) -> None:
    desk = a_desk(clock)
    session = desk.start_run("line-check")
    session.go_to("signal@1")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "w")
        await shown(pilot, SearchScreen)
        assert [row.split(":")[0] for row in listed(app)] == ["No signal", "Hum or buzz"]
        assert "Make a sound into Bass" in head(app)
        await press(pilot, "down enter")
        await shown(pilot, WalkScreen)
        assert session.state.walk is not None
        assert (session.state.walk.fault, session.state.walk.step) == ("hum", "signal@1")


async def test_esc_goes_back_to_the_same_step(clock: FakeClock) -> None:
    desk = a_desk(clock)
    session = desk.start_run("line-check")
    session.go_to("signal@2")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "w h u escape")
        await shown(pilot, RunScreen)
        step = current(session.state)
        assert step is not None and step.key == "signal@2"
        assert session.state.walk is None


async def test_a_tap_takes_a_row_and_leaves_the_typing_where_it_was(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "w")
        await shown(pilot, SearchScreen)
        await pilot.click(PickList, offset=(6, 10))
        assert app.screen.focused is app.screen.query_one(Input)
        await pilot.click(PickList, offset=(6, row_of(app, "Hum or buzz")))
        await shown(pilot, WalkScreen)


async def test_find_opens_a_playbook_by_its_title(clock: FakeClock) -> None:
    desk = a_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "slash l o a d")
        await until(pilot, lambda: marked(app) == "Load-in")
        await press(pilot, "enter")
        await shown(pilot, RunScreen)
        await press(pilot, "m q slash l o a d enter")
        await shown(pilot, RunScreen)
        assert len(desk.keeper.runs()) == 1


async def test_find_jumps_to_a_step_of_the_open_run(clock: FakeClock) -> None:
    desk = a_desk(clock)
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "slash r e s t a r t")
        await until(pilot, lambda: marked(app).startswith("Restart the mixer"))
        await press(pilot, "enter")
        await shown(pilot, RunScreen)
        step = current(session.state)
        assert step is not None and step.id == "reboot"
        assert len(desk.keeper.runs()) == 1


async def test_another_playbook_closes_the_screen_of_the_open_run_but_not_the_run(clock: FakeClock) -> None:
    desk = a_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "2")
        await shown(pilot, RunScreen)
        await press(pilot, "slash l o a d enter")
        await until(pilot, lambda: app.session is not None and app.session.state.plan.playbook == "load-in")
        assert [record.outcome for record in desk.keeper.runs()] == ["", ""]
        await press(pilot, "q")
        await shown(pilot, TonightScreen)


async def test_find_knows_venues(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "slash m i l l")
        await until(pilot, lambda: marked(app) == "Old Mill (Aldford)")
        await press(pilot, "enter")
        await shown(pilot, BriefScreen)


@pytest.mark.parametrize("size", SIZES)
async def test_foreign_titles_are_shown_as_they_are(clock: FakeClock, size: tuple[int, int]) -> None:
    desk = a_desk(clock, playbooks=(LOAD_IN,), trees=(HUM, NO_SIGNAL))
    book = desk.library.playbooks["load-in"]
    step = replace(book.sections[0].steps[0], do=HOSTILE)
    section = replace(book.sections[0], title=HOSTILE, steps=(step,))
    desk.library.playbooks["load-in"] = replace(book, title=HOSTILE, phase=HOSTILE, sections=(section,))
    desk.library.trees["hum"] = replace(desk.library.trees["hum"], title=HOSTILE, heard_as=(HOSTILE,))
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await shown(pilot, TonightScreen)
        harmless(app)
        await press(pilot, "w")
        await shown(pilot, SearchScreen)
        harmless(app)
        await press(pilot, "S H I F T")
        await until(pilot, lambda: MARKUP in marked(app))
        harmless(app)
        await press(pilot, "escape slash S H I F T")
        await until(pilot, lambda: sum(MARKUP in row for row in listed(app)) == 3)
        harmless(app)


async def test_a_fault_found_during_a_run_belongs_to_that_run(clock: FakeClock) -> None:
    desk = a_desk(clock)
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "slash h u m enter")
        await shown(pilot, WalkScreen)
        assert isinstance(session.state.history[-1].event, ev.WalkOpened)

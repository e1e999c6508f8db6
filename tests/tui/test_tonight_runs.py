"""Tonight's screen: beginning and going on with runs, what is owed, what is to fix, what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from showday.clockwork import new_id
from showday.demo import begin_demo_desk
from showday.errors import LogTrouble
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.run import events as ev
from showday.run.session import World
from showday.text.problem import Place, Problem
from showday.tui.app import ShowdayApp
from showday.tui.screens.modals import ChoiceModal, TextModal
from showday.tui.screens.past_run import PastRunScreen
from showday.tui.screens.problems import ProblemsScreen
from showday.tui.screens.run import RunScreen
from showday.tui.screens.tonight import TonightScreen
from tests.tui.evening import FakeClock, FakeKeeper, press, said, screen_text, until
from tests.tui.nights import (
    a_desk,
    a_show,
    answer_all,
    head,
    listed,
    mark,
    marked,
    today,
)

SIZE = (80, 24)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))


async def shown(pilot: Pilot[int], screen: type[object]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, screen))


# -- runs ----------------------------------------------------------------------------------------------------


async def test_a_digit_begins_a_playbook_and_goes_on_with_it_later(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "1")
        await shown(pilot, RunScreen)
        await press(pilot, "m q")
        await shown(pilot, TonightScreen)
        clock.advance(20 * 60)
        rows = listed(app)
        assert any("Load-in, at 2 of 2" in row and "next: Plug in the rack" in row for row in rows)
        await press(pilot, "1")
        await shown(pilot, RunScreen)
        assert len(desk.keeper.runs()) == 1


async def test_enter_alone_goes_on_with_what_was_left(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    desk.start_run("line-check")
    clock.advance(3600)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await until(pilot, lambda: "1 h ago" in marked(app))
        await press(pilot, "enter")
        await shown(pilot, RunScreen)
        assert [type(e.event).__name__ for e in desk.keeper.entries(desk.keeper.runs()[0].id)][-2:] == [
            "RunResumed",
            "StepBegun",
        ]


async def test_after_a_complete_playbook_the_mark_is_on_the_next(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    answer_all(desk.start_run("load-in"), clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await until(pilot, lambda: "Line check" in marked(app))
        assert any("x Load-in" in row and "complete: 2 good" in row for row in listed(app))


async def test_a_finished_run_is_looked_at_gone_back_into_or_run_again(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    answer_all(desk.start_run("load-in"), clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "1")
        await shown(pilot, ChoiceModal)
        await press(pilot, "1")
        await shown(pilot, PastRunScreen)
        await press(pilot, "q 1 2")
        await shown(pilot, RunScreen)
        assert desk.keeper.runs()[0].outcome == ""
        await press(pilot, "enter q")
        await shown(pilot, TonightScreen)
        assert desk.keeper.runs()[0].outcome == ev.COMPLETE
        clock.advance(60)
        await press(pilot, "1 3")
        await shown(pilot, RunScreen)
        assert len(desk.keeper.runs()) == 2


async def test_musts_owed_by_a_stopped_run_are_listed(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    session = desk.start_run("load-in")
    session.answer(ev.LATER)
    session.finish(ev.STOPPED)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await until(pilot, lambda: "! Load-in: Meter the socket" in listed(app))
        await mark(pilot, "Load-in: Meter")
        await press(pilot, "enter")
        await shown(pilot, ChoiceModal)
        assert "MUST owed: Meter the socket" in screen_text(app)


async def test_a_run_begun_before_the_venue_was_entered_is_still_tonights(clock: FakeClock) -> None:
    desk = a_desk(clock)
    desk.start_run("load-in")
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True):
        assert any("Load-in, at 1 of 2" in row for row in listed(app))
        assert "Left open at other shows" not in listed(app)


async def test_runs_of_other_shows_are_apart(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk, "Harbour Hall", day="2026-04-01")
    desk.start_run("load-in")
    clock.advance(3 * 24 * 3600)
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        rows = listed(app)
        assert any("Harbour Hall (Aldford) | 3 days ago" in row for row in rows)
        assert any("Load-in" in row and "not begun" in row for row in rows)
        await mark(pilot, "3 days ago")
        await press(pilot, "enter")
        await shown(pilot, RunScreen)


async def test_a_playbook_that_is_not_for_tonight_says_so(clock: FakeClock) -> None:
    book = "playbook: tent\ntitle: Tent\nwhen: [outdoors]\nsections: [{title: A, steps: [{id: a, do: Do it}]}]\n"
    desk = a_desk(clock, playbooks=(book,))
    venue = desk.add_venue("Old Mill")
    desk.plan_show(venue, today(desk), facts=("not outdoors",))
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True):
        assert any("not for tonight (outdoors)" in row for row in listed(app))


# -- to fix, problems, trouble -------------------------------------------------------------------------------


async def test_an_item_is_closed_with_words_and_opened_again(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    answer_all(desk.start_run("load-in"), clock, ev.FAULT)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await mark(pilot, "Meter the socket: fault")
        await press(pilot, "enter 1")
        await shown(pilot, TextModal)
        await press(pilot, "n e w enter")
        await shown(pilot, ChoiceModal)
        await press(pilot, "1")
        await shown(pilot, TonightScreen)
        await until(pilot, lambda: "To fix: 1" in listed(app))
        assert [(i.how, i.by) for i in desk.book().items.values() if i.closed] == [("new", "Ada")]
        await press(pilot, "u")
        await until(pilot, lambda: "To fix: 2" in listed(app))


async def test_a_note_is_written_to_an_item(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    answer_all(desk.start_run("load-in"), clock, ev.FAULT)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await mark(pilot, "Meter the socket: fault")
        await press(pilot, "enter 2 o d d enter")
        await until(pilot, lambda: any("Meter" in row and row.endswith("; odd") for row in listed(app)))


async def test_the_example_act_shows_its_titles_before_its_log_is_written(clock: FakeClock) -> None:
    desk, rest = begin_demo_desk(World(FakeKeeper(), clock, new_id))
    app = ShowdayApp(desk, rest=rest)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        assert "being written" in head(app) and any("Line check, alone" in row for row in listed(app))
        await until(pilot, lambda: "Brickworks Yard" in head(app))
        assert app.whole and not any("being written" in line for line in (head(app), *listed(app)))


async def test_a_key_that_needs_the_example_acts_log_waits_for_it(clock: FakeClock) -> None:
    desk, rest = begin_demo_desk(World(FakeKeeper(), clock, new_id))
    app = ShowdayApp(desk, rest=rest)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "1")
        await shown(pilot, RunScreen)
        assert app.whole and app.session is not None
        assert app.desk.tonight() is not None and app.session.state.history[0].at[:10] == "2026-05-02"


async def test_problems_in_files_are_counted_and_one_key_away(clock: FakeClock) -> None:
    desk = a_desk(clock)
    desk.library.problems += [
        Problem("/own/a.yaml", Place(3, 4), "unknown key 'titel'", "title"),
        Problem("/own/b.yaml", Place(1, 1), "no sections"),
        Problem("/own/c.yaml", Place(1, 1), "over 9 items", warning=True),
    ]
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        assert "! 2 files have problems: p" in head(app)
        await press(pilot, "p")
        await shown(pilot, ProblemsScreen)


async def test_a_log_that_cannot_be_written_is_said_with_what_to_do(clock: FakeClock) -> None:
    def locked() -> Log:
        raise LogTrouble("The log is locked.", "Close the other program.")

    app = ShowdayApp(a_desk(clock, keeper=Keeper(locked)))
    async with app.run_test(size=SIZE, notifications=True):
        assert "The log is locked; nothing is saved now." in head(app)
        assert "Close the other program." in head(app)


async def test_one_q_too_many_does_not_end_the_evening(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "q")
        assert "Once more" in said(app)
        await press(pilot, "j q")
        assert app.is_running and isinstance(app.screen, TonightScreen)
        await press(pilot, "q")
        await until(pilot, lambda: app._exit)
    assert app.return_value == 0

"""Past runs: the list of them, one run step by step and entry by entry, a cause that became known later."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from showday.desk import Desk
from showday.fault.walk import Ask
from showday.run import events as ev
from showday.run.session import Session
from showday.tui.app import ShowdayApp
from showday.tui.screens import past
from showday.tui.screens.modals import ChoiceModal, ListModal
from showday.tui.screens.past import PastScreen
from showday.tui.screens.past_run import PastRunScreen
from showday.tui.screens.run import RunScreen
from tests.tui.evening import FakeClock, press, said, screen_text, until
from tests.tui.nights import HOSTILE, SIZES, a_desk, a_show, answer_all, harmless, head, listed, mark, marked

SIZE = (80, 24)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))


@pytest.fixture
def desk(clock: FakeClock) -> Desk:
    desk = a_desk(clock)
    a_show(desk)
    return desk


def a_walk(desk: Desk, session: Session, clock: FakeClock) -> str:
    """Hum at the current step, restored by its one fix; the walk's id."""
    state = desk.open_walk(session, "hum")
    assert state.walk is not None
    tree = desk.tree_of(state)
    ask: Ask = desk.ask(state, tree)
    clock.advance(5)
    session.answer_walk(ask, "restored")
    session.end_walk()
    return state.walk.walk


def a_finished_run(desk: Desk, clock: FakeClock) -> Session:
    """A line check with a reading, a note, an undo, a walk and a reason."""
    session = desk.start_run("line-check")
    session.show_current()
    session.answer(ev.LEFT_OUT, reason="no time")
    session.undo()
    session.answer(ev.GOOD)
    a_walk(desk, session, clock)
    session.go_to("signal@1")
    session.read(-3.0)
    session.record(ev.NoteAdded("too hot", "signal@1"))
    clock.advance(20)
    session.answer(ev.FAULT, reason="clips")
    session.finish(ev.STOPPED)
    return session


async def shown(pilot: Pilot[int], screen: type[object]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, screen))


async def looking(pilot: Pilot[int], app: ShowdayApp) -> None:
    """Past runs, then the newest of them."""
    await press(pilot, "b")
    await shown(pilot, PastScreen)
    await press(pilot, "enter")
    await shown(pilot, PastRunScreen)


async def test_runs_stand_under_their_day_and_place(desk: Desk, clock: FakeClock) -> None:
    answer_all(desk.start_run("load-in"), clock)
    clock.advance(60)
    desk.start_run("line-check")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "b")
        await shown(pilot, PastScreen)
        rows = listed(app)
        assert "Old Mill (Aldford)" in rows[0]
        assert "Line check, unfinished" in rows[1]
        assert "Load-in, complete | 2 answers" in rows[2]


async def test_no_runs_says_so(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "b")
        await shown(pilot, PastScreen)
        assert listed(app) == ["No run is in the log yet."]


async def test_older_runs_come_on_request(desk: Desk, clock: FakeClock, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(past, "PAGE", 2)
    for _ in range(5):
        desk.start_run("load-in")
        clock.advance(60)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "b")
        await shown(pilot, PastScreen)
        for count in (2, 4):
            assert sum("Load-in" in row for row in listed(app)) == count
            await mark(pilot, "Older runs")
            await press(pilot, "enter")
        assert sum("Load-in" in row for row in listed(app)) == 5
        assert not any("Older runs" in row for row in listed(app))


async def test_a_run_is_told_step_by_step(desk: Desk, clock: FakeClock) -> None:
    a_finished_run(desk, clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await looking(pilot, app)
        rows = listed(app)
        assert head(app).startswith("Line check | ") and "stopped, " in head(app)
        assert "x Start the clock | good" in rows
        assert "! Make a sound into Bass | fault | clips | -3 dBFS OUTSIDE" in rows
        assert "note: too hot" in rows
        assert "! Fault walk: Hum or buzz, restored" in rows
        assert any(row.endswith("Press the audio ground lift on the DI: restored") for row in rows)


async def test_a_step_shows_its_entries_with_their_times_and_folds_again(desk: Desk, clock: FakeClock) -> None:
    a_finished_run(desk, clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await looking(pilot, app)
        before = listed(app)
        await mark(pilot, "Start the clock | good")
        await press(pilot, "enter")
        rows = listed(app)
        assert any(row.endswith("left out: no time: Start the clock (taken back)") for row in rows)
        assert marked(app).startswith("Start the clock")
        await press(pilot, "enter")
        assert listed(app) == before


async def test_every_entry_stands_in_its_order(desk: Desk, clock: FakeClock) -> None:
    session = a_finished_run(desk, clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await looking(pilot, app)
        await press(pilot, "t")
        assert len(listed(app)) == len(desk.keeper.entries(session.state.run))
        assert listed(app)[0].endswith("begun: Line check")
        assert listed(app)[-1].endswith("the run is stopped")
        await press(pilot, "t")
        assert "x Start the clock | good" in listed(app)


async def test_an_unfinished_run_is_gone_on_with(desk: Desk) -> None:
    desk.start_run("line-check")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await looking(pilot, app)
        assert marked(app) == "Go on with this run"
        await press(pilot, "enter")
        await shown(pilot, RunScreen)


async def test_a_cause_that_became_known_is_kept(desk: Desk, clock: FakeClock) -> None:
    session = a_finished_run(desk, clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await looking(pilot, app)
        await mark(pilot, "Fault walk: Hum")
        await press(pilot, "enter 1")
        await shown(pilot, ListModal)
        await press(pilot, "enter")
        await until(pilot, lambda: "! Fault walk: Hum or buzz, restored, cause: A ground loop" in listed(app))
        kinds = [type(e.event).__name__ for e in desk.keeper.entries(session.state.run)]
        assert kinds[-1] == "CauseConfirmed"


async def test_a_cause_is_not_asked_while_the_run_is_open(desk: Desk, clock: FakeClock) -> None:
    session = desk.start_run("line-check")
    a_walk(desk, session, clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await looking(pilot, app)
        await mark(pilot, "Fault walk: Hum")
        await press(pilot, "enter")
        assert isinstance(app.screen, PastRunScreen)
        assert "not over" in said(app)


async def test_a_run_that_cannot_be_replayed_still_shows_its_entries(desk: Desk, clock: FakeClock) -> None:
    session = desk.start_run("line-check")
    session.world.sink.append(
        [ev.Entry("odd", session.state.run, 99, "2026-05-02T18:05:00.000Z", 9.0, ev.StepBegun("gone"))]
    )
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await looking(pilot, app)
        assert "cannot be replayed" in head(app)
        assert any(row.endswith("shown: gone") for row in listed(app))


async def test_a_run_that_is_not_there_says_so(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await pilot.pause()
        app.push_screen(PastRunScreen("nothing"))
        await until(pilot, lambda: "not in the log" in head(app))


@pytest.mark.parametrize("size", SIZES)
async def test_foreign_text_is_shown_as_it_is(clock: FakeClock, size: tuple[int, int]) -> None:
    desk = a_desk(clock)
    a_show(desk, HOSTILE, HOSTILE)
    session = desk.start_run("line-check")
    session.record(ev.NoteAdded(HOSTILE))
    session.interrupt(HOSTILE)
    session.resume_here()
    session.answer(ev.LEFT_OUT, reason=HOSTILE)
    session.record(ev.AwayChanged((HOSTILE,)))
    session.finish(ev.STOPPED)
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await press(pilot, "b")
        await shown(pilot, PastScreen)
        harmless(app)
        await press(pilot, "enter")
        await shown(pilot, PastRunScreen)
        harmless(app)
        await press(pilot, "t")
        harmless(app)
        await press(pilot, "end")
        assert "\x1b" not in screen_text(app)


async def test_the_choice_over_a_walk_can_be_left(desk: Desk, clock: FakeClock) -> None:
    session = a_finished_run(desk, clock)
    before = len(desk.keeper.entries(session.state.run))
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await looking(pilot, app)
        await mark(pilot, "Fault walk: Hum")
        await press(pilot, "enter")
        await shown(pilot, ChoiceModal)
        await press(pilot, "escape")
        await shown(pilot, PastRunScreen)
        assert len(desk.keeper.entries(session.state.run)) == before

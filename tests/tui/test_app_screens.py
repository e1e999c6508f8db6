"""Which screen opens what, and how one gets back."""

from __future__ import annotations

from typing import Any

import pytest

from showday.desk import Desk
from showday.run import events as ev
from showday.run.phases import FINISHED
from showday.tui.app import ShowdayApp
from showday.tui.screens.run import RunScreen
from showday.tui.screens.tonight import TonightScreen
from showday.tui.screens.walk import WalkScreen
from tests.tui.evening import FakeKeeper, press, said, screen_text, until

SIZE = (80, 24)


def names(app: ShowdayApp) -> list[str]:
    return [type(screen).__name__ for screen in app.screen_stack]


async def test_leaving_the_only_screen_ends_the_program_with_nothing_lost(desk: Desk, keeper: FakeKeeper) -> None:
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g q")
    assert app.return_code == 0
    assert [run.outcome for run in desk.unfinished()] == [""]
    again = desk.resume_run(session.state.run)
    assert again.state.step("clock").result == ev.GOOD


async def test_a_resumed_walk_opens_on_top_of_its_run(desk: Desk) -> None:
    session = desk.start_run("line-check")
    session.show_current()
    desk.open_walk(session, "hum", None)
    app = ShowdayApp(desk, session=desk.resume_run(session.state.run))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        assert names(app)[-2:] == ["RunScreen", "WalkScreen"]
        await press(pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert "If anything tingles" in screen_text(app)


async def test_a_finished_walk_of_its_own_is_ended_when_it_is_opened_again(desk: Desk) -> None:
    session = desk.start_bare()
    desk.open_walk(session, "hum", None)
    session.end_walk()
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True):
        app.resume_run(session.state.run)
        assert [run.id for run in desk.unfinished()] == []


async def test_a_fault_from_the_run_returns_to_the_same_step(desk: Desk) -> None:
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g")
        app.open_walk("hum")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert session.state.walk is not None
        assert session.state.walk.step == ""
        await press(pilot, "1 d")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert "Turn every pack to minimum" in screen_text(app)


async def test_a_fault_that_the_current_step_names_belongs_to_it(desk: Desk) -> None:
    session = desk.start_run("line-check")
    session.go_to("signal@2")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        app.open_walk("hum")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert session.state.walk is not None
        assert session.state.walk.step == "signal@2"


async def test_a_fault_after_the_end_is_a_run_of_its_own_and_comes_back_to_the_end(desk: Desk) -> None:
    session = desk.start_run("line-check")
    session.finish(ev.STOPPED)
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        app.open_walk("hum")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert app.session is not session
        await press(pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert app.session is session
        assert session.state.phase == FINISHED
    assert desk.unfinished() == []


async def test_a_tree_that_is_not_there_is_said_and_nothing_happens(desk: Desk) -> None:
    app = ShowdayApp(desk, session=desk.start_run("line-check"))
    async with app.run_test(size=SIZE, notifications=True):
        app.open_walk("nowhere")
        assert "no fault tree 'nowhere'" in said(app)
        assert isinstance(app.screen, RunScreen)


async def test_what_was_not_written_is_tried_again(desk: Desk, keeper: FakeKeeper) -> None:
    app = ShowdayApp(desk, session=desk.start_run("line-check"))
    async with app.run_test(size=SIZE, notifications=True):
        app.retry()
        assert keeper.retried == 0
        keeper.pending = 2
        app.retry()
        assert keeper.retried == 1


async def test_nothing_has_the_focus_so_that_every_key_is_a_command(desk: Desk) -> None:
    app: Any = ShowdayApp(desk, session=desk.start_run("line-check"))
    async with app.run_test(size=(140, 30), notifications=True) as pilot:
        assert app.focused is None
        await pilot.click("#pane", offset=(5, 3))
        assert app.focused is None


async def test_a_fault_of_the_program_ends_it_with_a_sentence(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(screen: TonightScreen) -> None:
        raise ValueError("broken \x1b[31m")

    monkeypatch.setattr(TonightScreen, "show_all", broken)
    app = ShowdayApp(desk)
    last: list[Any] = []

    def panic(*said: Any) -> None:
        last.extend(said)
        app.exit()

    monkeypatch.setattr(app, "panic", panic)
    with pytest.raises(ValueError, match="broken"):
        async with app.run_test() as pilot:
            await pilot.pause()
    shown = "\n".join(text.plain for text in last)
    assert "Every answer that was given is in the log" in shown
    assert "ValueError: broken" in shown
    assert "\x1b" not in shown

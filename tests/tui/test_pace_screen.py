"""The forecast on the screens of a run: always there, and two keys from leaving out what will not fit."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from showday.desk import Desk
from showday.run import events as ev
from showday.tui.app import ShowdayApp
from showday.tui.screens.pace import PaceScreen
from showday.tui.widgets.lines import Lines
from tests.tui.evening import LINE_CHECK, press, screen_text, until

SIZE = (80, 24)
SHORT = LINE_CHECK.replace("title: Line check\n", "title: Line check\nby: changeover\n")


@pytest.fixture
def desk(make_desk: Callable[..., Desk]) -> Desk:
    made = make_desk(playbooks=[SHORT])
    made.plan_show(made.add_venue("The Quay"), "2026-05-02", changeover=1.2)
    return made


def standing(app: ShowdayApp) -> str:
    return "\n".join(line.text for line in app.screen.query_one("#standing", Lines).lines)


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_range_bar_and_chance_stand_on_the_run_and_move(desk: Desk, size: tuple[int, int]) -> None:
    app = ShowdayApp(desk, session=desk.start_run("line-check"))
    async with app.run_test(size=size, notifications=True) as pilot:
        await press(pilot, "enter")
        await until(pilot, lambda: "in time" in standing(app))
        line = standing(app).splitlines()[-1]
        assert " more [" in line and "|" in line and line.endswith("F8")
        assert line in screen_text(app).replace("\n", " \n")
        await press(pilot, "g m m")
        await until(pilot, lambda: standing(app).splitlines()[-1] != line)


async def test_f8_and_o_leave_out_f8_and_u_ask_again(desk: Desk) -> None:
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        await until(pilot, lambda: "in time" in standing(app))
        before = session.state.steps
        await press(pilot, "f8")
        await until(pilot, lambda: isinstance(app.screen, PaceScreen))
        assert session.state.steps == before
        await press(pilot, "o")
        await until(pilot, lambda: not isinstance(app.screen, PaceScreen))
        out = [key for key, step in session.state.steps.items() if step.result == ev.LEFT_OUT]
        assert out
        assert not any(session.state.planned(key).must for key in out)
        assert "left out for want of time" in screen_text(app)
        await press(pilot, "f8 u")
        await until(pilot, lambda: not isinstance(app.screen, PaceScreen))
        assert not any(step.result == ev.LEFT_OUT for step in session.state.steps.values())


async def test_looking_changes_nothing(desk: Desk) -> None:
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        await until(pilot, lambda: "in time" in standing(app))
        entries = len(session.state.history)
        await press(pilot, "f8 j k escape")
        await until(pilot, lambda: not isinstance(app.screen, PaceScreen))
        assert len(session.state.history) == entries

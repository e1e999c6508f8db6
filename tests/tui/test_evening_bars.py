"""Whatever stands on the key bar of an evening's screen does what its key does."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from showday.tui import commands as cmd
from showday.tui.app import ShowdayApp
from showday.tui.screens.brief import BriefScreen
from showday.tui.screens.help import HelpScreen
from showday.tui.screens.notes import NotesScreen
from showday.tui.screens.past import PastScreen
from showday.tui.screens.past_run import PastRunScreen
from showday.tui.screens.problems import ProblemsScreen
from showday.tui.screens.search import SearchScreen
from showday.tui.screens.to_fix import ToFixScreen
from showday.tui.screens.tonight import TonightScreen
from showday.tui.widgets.choices import KeyBar
from tests.tui.evening import FakeClock, until
from tests.tui.nights import SIZES, a_desk, a_show

OPENERS: dict[type[object], Callable[[ShowdayApp], object]] = {
    TonightScreen: lambda app: None,
    SearchScreen: lambda app: app.open_search(),
    BriefScreen: lambda app: app.open_brief(next(iter(app.desk.book().venues))),
    PastScreen: lambda app: app.open_past(),
    PastRunScreen: lambda app: app.push_screen(PastRunScreen(app.desk.keeper.runs()[0].id)),
    ProblemsScreen: lambda app: app.open_problems(),
    ToFixScreen: lambda app: app.open_to_fix(),
    NotesScreen: lambda app: app.open_notes(),
    HelpScreen: lambda app: app.open_help(cmd.TONIGHT),
}


def ready(app: ShowdayApp) -> bool:
    """Whether the key bar of the screen on top offers something."""
    return any(bar.choices for bar in app.screen.query(KeyBar))


@pytest.mark.parametrize("screen", OPENERS)
@pytest.mark.parametrize("size", SIZES)
async def test_every_key_of_the_bar_has_its_action_and_back_is_always_there(
    clock: FakeClock, screen: type[object], size: tuple[int, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))
    desk = a_desk(clock)
    a_show(desk)
    desk.start_run("load-in")
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await pilot.pause()
        OPENERS[screen](app)
        await until(pilot, lambda: isinstance(app.screen, screen) and ready(app))
        bar = app.screen.query_one(KeyBar)
        for choice in bar.choices:
            name = f"action_{choice.action}"
            assert hasattr(app.screen, name) or hasattr(app, name), choice
        shown = bar.render().plain
        assert f" {bar.choices[-1].key} " in shown
        assert bar.choices[-1].action in ("back", "leave")


async def test_a_tap_on_the_bar_goes_back(clock: FakeClock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await pilot.pause()
        app.open_problems()
        await until(pilot, lambda: isinstance(app.screen, ProblemsScreen) and ready(app))
        bar = app.screen.query_one(KeyBar)
        await pilot.click(KeyBar, offset=(bar.render().plain.index(" q ") + 2, 0))
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))

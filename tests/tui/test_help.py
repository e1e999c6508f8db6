"""Help: every command of the table with its keys, the cautions, and where files are."""

from __future__ import annotations

from pathlib import Path

import pytest

from showday import paths
from showday.library import Source
from showday.tui import commands as cmd
from showday.tui.app import ShowdayApp
from showday.tui.screens.help import TITLES, HelpScreen
from showday.tui.screens.search import SearchScreen
from showday.tui.screens.tonight import TonightScreen
from tests.tui.evening import FakeClock, press, until
from tests.tui.nights import HOSTILE, SIZES, a_desk, harmless, listed

SIZE = (80, 24)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))


@pytest.mark.parametrize("key", ["question_mark", "f1"])
async def test_the_keys_of_the_screen_come_first(clock: FakeClock, key: str) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, key)
        await until(pilot, lambda: isinstance(app.screen, HelpScreen))
        rows = listed(app)
        assert rows[0] == "Tonight"
        assert rows.index("Everywhere") < rows.index("In a run")
        await press(pilot, key)
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))


async def test_every_command_of_the_table_is_there_with_its_key(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "question_mark")
        await until(pilot, lambda: isinstance(app.screen, HelpScreen))
        rows = listed(app)
        for command in cmd.COMMANDS:
            assert any(row.split(" ", 1)[0] == command.key and command.help in row for row in rows), command.id


async def test_cautions_and_files_are_there(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "question_mark")
        await until(pilot, lambda: isinstance(app.screen, HelpScreen))
        text = "\n".join(listed(app))
        for words in ("never lift or defeat the protective earth", "Hearing", "two people", "licence holder"):
            assert words in text
        for path in (paths.log_path(), paths.own_playbooks(), "rig.yaml"):
            assert str(path) in text


async def test_help_opens_while_typing_too(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "w h u f1")
        await until(pilot, lambda: isinstance(app.screen, HelpScreen))
        assert listed(app)[0] == TITLES[cmd.SEARCH]
        await press(pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, SearchScreen))


def test_every_screen_of_the_table_has_a_title() -> None:
    assert {where for command in cmd.COMMANDS for where in command.where} <= set(TITLES)


@pytest.mark.parametrize("size", SIZES)
async def test_foreign_text_is_shown_as_it_is(clock: FakeClock, size: tuple[int, int]) -> None:
    desk = a_desk(clock)
    desk.rig_source = Source("rig", HOSTILE, HOSTILE, "rig: small\n")
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await press(pilot, "question_mark")
        await until(pilot, lambda: isinstance(app.screen, HelpScreen))
        pick = app.screen.query_one("#list")
        pick.highlighted = next(n for n, row in enumerate(listed(app)) if "[SHIFT]" in row)  # type: ignore[attr-defined]
        await pilot.pause()
        harmless(app)

"""The table of commands is what every screen, the footer, the palette and the help are made of."""

from __future__ import annotations

import string

import pytest
from textual.binding import Binding

from showday.desk import Desk
from showday.tui import commands as cmd
from showday.tui.app import ShowdayApp
from showday.tui.screens.run import ENDED_KEYS, KEYS, RunScreen
from showday.tui.screens.walk import KEYS as WALK_KEYS
from showday.tui.screens.walk import WalkScreen
from showday.tui.widgets.choices import KeyBar
from tests.tui.evening import press, until

PLAIN = {*string.ascii_lowercase, *string.digits, "enter", "escape", "space", "up", "down", "slash", "question_mark"}
PLAIN |= {"pageup", "pagedown", *(f"f{n}" for n in range(1, 11))}


def test_a_key_means_one_thing_on_every_screen() -> None:
    keys = [key for command in cmd.COMMANDS for key in command.keys]
    assert len(keys) == len(set(keys))
    assert len({command.id for command in cmd.COMMANDS}) == len(cmd.COMMANDS)


def test_no_command_needs_more_than_one_plain_key() -> None:
    keys = {key for command in cmd.COMMANDS for key in command.keys}
    assert keys <= PLAIN


def test_every_command_says_what_it_does_in_a_sentence() -> None:
    for command in cmd.COMMANDS:
        assert command.help.endswith(".")
        assert command.help[0].isupper()
        assert 0 < len(command.label) <= 13


@pytest.mark.parametrize(
    ("screen", "where"), [(RunScreen, cmd.RUN), (WalkScreen, cmd.WALK), (ShowdayApp, "everywhere")]
)
def test_every_command_has_its_action(screen: type, where: str) -> None:
    commands = cmd.commands(where)
    assert commands
    assert [c.id for c in commands if not callable(getattr(screen, f"action_{c.action}", None))] == []


def test_bindings_carry_ids_and_help_for_remapping() -> None:
    bindings = cmd.bindings(cmd.RUN)
    assert {b.id for b in bindings} == {c.id for c in cmd.commands(cmd.RUN)}
    assert all(isinstance(b, Binding) and b.tooltip and not b.priority for b in bindings)


def test_every_key_of_the_bars_is_a_command_of_its_screen() -> None:
    for keys, where in ((KEYS, cmd.RUN), (ENDED_KEYS, cmd.RUN), (WALK_KEYS, cmd.WALK)):
        known = {c.id for c in (*cmd.commands(where), *cmd.commands(cmd.EVERYWHERE))}
        assert set(keys) <= known


def test_an_unknown_command_is_an_error() -> None:
    with pytest.raises(KeyError):
        cmd.command("fly")


@pytest.mark.parametrize("width", [60, 80, 140])
async def test_help_and_back_are_always_in_the_bar_and_no_key_is_cut(desk: Desk, width: int) -> None:
    app = ShowdayApp(desk, session=desk.start_run("line-check"))
    async with app.run_test(size=(width, 20), notifications=True) as pilot:
        await press(pilot, "enter")
        bar = app.screen.query_one("#keys", KeyBar)
        lines = ["".join(s.text for s in bar.render_line(y)) for y in range(bar.size.height)]
        assert any("? " in line and " help" in line for line in lines)
        assert any("q " in line and " back" in line for line in lines)
        assert all(len(line) <= width for line in lines)
        assert bar.size.height <= 2


async def test_a_remapped_key_does_what_the_old_one_did(desk: Desk) -> None:
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.set_keymap({"good": "7"})
        await press(pilot, "enter 7")
        assert session.state.step("clock").result == "good"


async def test_the_palette_offers_the_commands_of_the_screen_on_top(desk: Desk) -> None:
    app = ShowdayApp(desk, session=desk.start_run("line-check"))
    async with app.run_test(size=(80, 24), notifications=True):
        titles = [command.title for command in app.get_system_commands(app.screen)]
    assert "good (g)" in titles
    assert "sun/stage (s)" in titles
    assert not any(title.startswith("can't now") for title in titles)


async def test_a_command_of_the_palette_acts_on_the_screen(desk: Desk) -> None:
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await press(pilot, "enter")
        good = next(c for c in app.get_system_commands(app.screen) if c.title == "good (g)")
        good.callback()
        await until(pilot, lambda: session.state.step("clock").result == "good")

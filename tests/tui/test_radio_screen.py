"""The frequencies screen: what a glance says, what if by key, cursor and window, and leaving."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from showday.desk import Desk
from showday.tui import commands as cmd
from showday.tui.app import ShowdayApp
from showday.tui.radio_state import Frequencies
from showday.tui.screens.modals import ChoiceModal
from showday.tui.screens.radio import ALSO, KEYS, KEYS_PROVING, RadioScreen
from showday.tui.screens.tonight import TonightScreen
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.spectrum import Spectrum
from tests.tui.evening import FakeClock, press, said, screen_text, until
from tests.tui.nights import MARKUP, head, listed
from tests.tui.radio_evening import RIG, SIZE, TUNED, open_radio, place, planned, radio_desk, tuned


@pytest.fixture
def desk(clock: FakeClock) -> Desk:
    return radio_desk(clock)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    yield


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (140, 45)])
@pytest.mark.parametrize("colour", ["", "1"])
async def test_the_first_glance(
    desk: Desk, size: tuple[int, int], colour: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if colour:
        monkeypatch.setenv("NO_COLOR", colour)
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await open_radio(pilot)
        text = screen_text(app)
        for words in ("In-ear 1", "607.000 MHz", "610.000 MHz", "3000 kHz", "beside 2"):
            assert words in text, words
        assert "CLEAN among your own" in head(app)
        assert "No sweep: what others use here is not known." in text
        assert "Local rules and the licence holder decide." in text
        assert "help" in text.splitlines()[-1] and "back" in text.splitlines()[-1]


def test_every_key_of_the_bar_is_a_command_of_the_screen() -> None:
    known = {c.id for c in (*cmd.commands(cmd.RADIO), *cmd.commands(cmd.EVERYWHERE))}
    assert {*KEYS, *KEYS_PROVING} <= known
    missing = [c.id for c in cmd.commands(cmd.RADIO) if not hasattr(RadioScreen, f"action_{c.action}")]
    assert missing == []


def test_a_key_means_one_thing_on_this_screen() -> None:
    keys = [key for c in (*cmd.commands(cmd.RADIO), *cmd.commands(cmd.EVERYWHERE)) for key in c.keys]
    assert len(keys) == len(set(keys))


def test_second_ways_are_no_keys_of_the_table_and_end_in_an_action() -> None:
    keys = [key for binding in ALSO for key in binding.key.split(",")]
    table = {key for c in (*cmd.commands(cmd.RADIO), *cmd.commands(cmd.EVERYWHERE)) for key in c.keys}
    assert not table & set(keys)
    assert len(keys) == len(set(keys))
    assert [b for b in ALSO if not hasattr(RadioScreen, f"action_{b.action.partition('(')[0]}")] == []


def test_keys_of_everywhere_are_called_here_what_they_do_here() -> None:
    here = {command.id: command for command in cmd.commands(cmd.RADIO)}
    assert set(cmd.ON_RADIO) <= set(here)
    for id, (label, help) in cmd.ON_RADIO.items():
        assert (here[id].label, here[id].help, here[id].keys) == (label, help, cmd.command(id).keys)
        assert 0 < len(label) <= 13 and help.endswith(".")


async def test_the_palette_offers_them_by_these_words(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await open_radio(pilot)
        titles = [command.title for command in app.get_system_commands(app.screen)]
    assert "keep plan (g)" in titles and "plan (F9)" in titles and "hold (m)" in titles


async def test_the_drawing_is_gone_along_part_by_part_and_round(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "z z z")
        seen = [screen.cursor]
        while seen[-1] < screen.held.limits().high:
            await press(pilot, "space")
            assert screen.cursor > seen[-1]
            assert screen.query_one(Spectrum).frame.window.holds(screen.cursor)
            seen.append(screen.cursor)
        await press(pilot, "space")
        assert screen.cursor == screen.held.limits().low
        await press(pilot, "space pageup")
        assert screen.cursor <= screen.held.limits().low + screen.query_one(Spectrum).frame.window.width // 16


async def test_moving_a_carrier_shows_its_clearance_at_once(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "full_stop full_stop")
        assert tuned(screen) == [607.05, 610.0]
        assert "2950 kHz" in listed(app)[1]
        await press(pilot, "j comma")
        assert tuned(screen) == [607.05, 609.975]
        assert "2925 kHz" in listed(app)[1]
        assert place(app, "reading").startswith("609.975 MHz")
        await press(pilot, "u u u")
        assert tuned(screen) == TUNED
        await press(pilot, "u")
        assert "Nothing was changed" in said(app)


async def test_two_on_one_frequency_are_hit_and_it_says_so_without_colour(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await open_radio(pilot)
        await press(pilot, "enter")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press(*"610", "enter")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen))
        assert "NOT CLEAN: 2 of them are hit" in head(app)
        assert listed(app)[1].startswith("1! In-ear 1")
        assert "HIT: beside 2" in listed(app)[1] or "HIT: beside 1" in listed(app)[1]


async def test_a_typed_frequency_out_of_reach_is_said_and_one_that_is_none_is_refused(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "enter")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press(*"loud", "enter")
        assert "is not a frequency" in place(app, "trouble")
        await pilot.press(*["backspace"] * 4, *"700", "enter")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen))
        assert tuned(screen)[0] == 700
        assert "out of reach" in listed(app)[1]


async def test_dropping_holding_and_adding(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "m")
        assert "held" in listed(app)[1]
        await press(pilot, "full_stop")
        assert "held" not in listed(app)[1]
        assert "No longer held" in said(app)
        await press(pilot, "o")
        assert tuned(screen) == [610.0]
        await press(pilot, "x c")
        await until(pilot, lambda: "Which carrier" in screen_text(app))
        assert "In-ear 1, a transmitter of the rig" in screen_text(app)
        await press(pilot, "1")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press(*"608", "enter")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen))
        assert tuned(screen) == [610.0, 608.0]
        assert screen.held.table.rows[1].name == "In-ear 1"


@pytest.mark.parametrize(
    ("key", "typed", "shown"),
    [("s", "612", "a  spare"), ("c", "614", "3  carrier"), ("f", "609", "609.000"), ("b", "606-608", "avoid")],
)
async def test_what_can_be_added(desk: Desk, key: str, typed: str, shown: str) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await open_radio(pilot)
        await press(pilot, "x")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        await press(pilot, key)
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press(*("minus" if char == "-" else char for char in typed), "enter")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen))
        assert shown in "\n".join(listed(app))


async def test_wishes_change_the_verdict_at_once(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "x")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        assert "carriers: 2, one for each row of the table" in screen_text(app)
        await press(pilot, "6")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press(*"4000", "enter")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        assert "spacing: 4000 kHz" in screen_text(app)
        await press(pilot, "escape")
        assert "NOT CLEAN" in head(app)
        assert screen.held.wishes.widths.spacing == 4_000_000
        await press(pilot, "u")
        assert "CLEAN among" in head(app)


async def test_cursor_and_window_by_key_and_click(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        frame = screen.query_one(Spectrum).frame
        column = frame.column(screen.cursor)
        await press(pilot, "right right left")
        assert frame.column(screen.cursor) == (column or 0) + 1
        wide = screen.query_one(Spectrum).frame.window
        await press(pilot, "z")
        near = screen.query_one(Spectrum).frame.window
        assert abs(near.width - wide.width / 2) <= 1
        assert near.holds(screen.cursor)
        await press(pilot, "b b 0")
        assert screen.query_one(Spectrum).frame.window == screen.held.limits()
        await pilot.click("#spectrum", offset=(10, 1))
        assert screen.query_one(Spectrum).frame.column(screen.cursor) == 4
        await press(pilot, "2")
        assert screen.cursor == 610_000_000
        await press(pilot, "7")
        assert "no carrier 7" in said(app)


async def test_a_clicked_row_is_marked_and_a_clicked_key_is_pressed(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        lines = screen_text(app).splitlines()
        y = next(n for n, line in enumerate(lines) if "In-ear 2" in line)
        await pilot.click(offset=(12, y))
        assert screen.row == 1
        bar = next(n for n, line in enumerate(screen_text(app).splitlines()) if " drop" in line)
        x = screen_text(app).splitlines()[bar].index(" drop")
        await pilot.click(offset=(x, bar))
        assert tuned(screen) == [607.0]


async def test_who_is_away_needs_no_frequency(clock: FakeClock) -> None:
    desk = radio_desk(clock)
    desk.set_away(["Ben"])
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        assert [row.name for row in screen.held.table.rows] == ["In-ear 1"]


async def test_without_any_transmitter_it_says_what_to_do(clock: FakeClock) -> None:
    app = ShowdayApp(radio_desk(clock, "rig: bare\n", show=False))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        app.open_radio()
        await until(pilot, lambda: isinstance(app.screen, RadioScreen) and "x adds one" in head(app))
        await press(pilot, "f9")
        assert "x, then 1" in said(app)
        await press(pilot, "full_stop")
        assert "There is no carrier here" in said(app)


async def test_leaving_says_once_that_a_plan_is_not_kept(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))
        screen = await open_radio(pilot)
        await planned(pilot, screen)
        await press(pilot, "escape")
        assert app.screen is screen
        assert "not in the log" in said(app)
        await press(pilot, "escape")
        await until(pilot, lambda: isinstance(app.screen, TonightScreen))


async def test_names_are_shown_as_they_are(clock: FakeClock) -> None:
    rig = RIG.replace("In-ear 1", f'"{MARKUP}"').replace('transmitter: "', 'transmitter: "')
    app = ShowdayApp(radio_desk(clock, rig))
    async with app.run_test(size=(140, 45), notifications=True) as pilot:
        await open_radio(pilot)
        assert "[/] [SHIFT]" in screen_text(app)
        await press(pilot, "enter")
        await until(pilot, lambda: app.screen.query("#field"))
        assert "[/] [SHIFT] [red]" in screen_text(app)


async def test_the_bar_keeps_help_and_back_at_every_width(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await open_radio(pilot)
        bar = app.screen.query_one("#keys", KeyBar)
        rows = ["".join(s.text for s in bar.render_line(y)) for y in range(bar.size.height)]
        assert "plan" in rows[0] and "back" in rows[-1]
        assert all(len(row) <= 60 for row in rows)


def test_the_state_begins_empty_without_a_rig() -> None:
    assert Frequencies().home().width > 0

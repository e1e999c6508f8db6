"""Sweep files on the frequencies screen: choosing, what they leave open, and what they show."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from showday.radio_desk import tonight_sweep
from showday.sweep_shelf import sweep_files, typed_file, usual_folders
from showday.tui.app import ShowdayApp
from showday.tui.screens.modals import ChoiceModal
from showday.tui.screens.radio import RadioScreen
from tests.tui.evening import FakeClock, press, said, screen_text, until
from tests.tui.nights import head, listed
from tests.tui.radio_evening import (
    SIZE,
    TUNED,
    choose_file,
    open_radio,
    place,
    planned,
    radio_desk,
    sweep_file,
    tuned,
)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("HOME", str(tmp_path))
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    return here


async def answered(app: ShowdayApp, pilot: object, key: str, words: str = "Were your own") -> None:
    """Answer the question with these words."""
    await until(pilot, lambda: isinstance(app.screen, ChoiceModal) and words in screen_text(app))  # type: ignore[arg-type]
    await press(pilot, key)  # type: ignore[arg-type]


async def read_in(app: ShowdayApp, pilot: Pilot[int], ours: str = "1") -> RadioScreen:
    """Open the sweep called hall; `ours` answers whether our own transmitters were on."""
    screen = await open_radio(pilot)
    await choose_file(pilot, "hall")
    await answered(app, pilot, ours)
    await until(pilot, lambda: screen.held.seen is not None)
    return screen


async def test_a_sweep_shows_who_else_is_there_and_is_kept(clock: FakeClock, folder: Path) -> None:
    sweep_file(folder / "hall.csv", [607.0])
    desk = radio_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await read_in(app, pilot)
        assert "1 carrier of others" in said(app)
        assert "NOT CLEAN: 1 of them" in head(app)
        assert "HIT: others at 607" in listed(app)[1]
        assert "hall.csv" in place(app, "state")
        text = screen_text(app)
        assert "█" in text and "-100" in text
        kept = tonight_sweep(desk)
        assert kept is not None and kept.files == (str(folder / "hall.csv"),)
        await planned(pilot, screen)
        assert all(at is not None and abs(at - 607) > 0.1 for at in tuned(screen))
        await press(pilot, "q q")
        again = await open_radio(pilot)
        assert again.held.seen is not None
        assert tuned(again) == TUNED


async def test_strong_carriers_of_a_sweep_make_products_as_long_as_they_are_wanted(
    clock: FakeClock, folder: Path
) -> None:
    """2 x 610.4 - 613.8 = 607.0, where In-ear 1 stands."""
    sweep_file(folder / "hall.csv", [610.4, 613.8])
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await read_in(app, pilot)
        assert "2 carriers of others (products counted)" in said(app)
        assert "2A-B of 610.4" in listed(app)[1] and "(found)" in listed(app)[1]
        near = screen.held.table.told[0].clearance
        assert near is not None and near < 20_000
        await press(pilot, "x m")
        await until(pilot, lambda: "Seldom changed" in screen_text(app))
        assert "2 carriers found in the sweep: kept off, and make third-order" in screen_text(app)
        await press(pilot, "1")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press("backspace", "backspace", "0", "enter")
        await until(pilot, lambda: "products of the sweep: not counted" in screen_text(app))
        await press(pilot, "escape")
        await until(pilot, lambda: "Change what is planned" in screen_text(app))
        await press(pilot, "escape")
        assert "(found)" not in listed(app)[1]
        assert "others at 610.4" in listed(app)[2]


async def test_a_gap_of_the_sweep_is_not_taken_for_free_when_it_comes_from_the_log(
    clock: FakeClock, folder: Path
) -> None:
    file = sweep_file(folder / "hall.csv")
    rows = [row for row in file.read_text().splitlines() if not 608 < float(row.split(",")[0]) < 612]
    file.write_text("\n".join(rows))
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await read_in(app, pilot)
        assert "HIT: not measured" in listed(app)[2]
        await press(pilot, "q")
        await until(pilot, lambda: app.screen is not screen)
        again = await open_radio(pilot)
        assert again.held.seen is not None
        assert "HIT: not measured" in listed(app)[2]


async def test_our_own_transmitters_are_told_apart_when_they_were_on(clock: FakeClock, folder: Path) -> None:
    sweep_file(folder / "hall.csv", [607.0])
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await read_in(app, pilot, "2")
        assert head(app).splitlines()[1].startswith("CLEAN")
        assert "not seen in the sweep: In-ear 2" in place(app, "state")
        await press(pilot, "x o")
        await until(pilot, lambda: "NOT CLEAN" in head(app))


async def test_levels_of_an_unknown_unit_are_asked_for(clock: FakeClock, folder: Path) -> None:
    sweep_file(folder / "hall.csv", [607.0], shift=120)
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await choose_file(pilot, "hall")
        await answered(app, pilot, "2", "What are the levels")
        await answered(app, pilot, "1")
        await until(pilot, lambda: screen.held.seen is not None)
        seen = screen.held.seen
        assert seen is not None and seen.trace.unit == "dBm"
        assert seen.trace.floor == pytest.approx(120 - 100 - 106.99, abs=2)


async def test_a_second_file_can_be_merged(clock: FakeClock, folder: Path) -> None:
    sweep_file(folder / "one.csv", [607.0])
    sweep_file(folder / "two.csv", [610.0])
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await choose_file(pilot, "one")
        await answered(app, pilot, "1")
        await until(pilot, lambda: screen.held.seen is not None)
        await choose_file(pilot, "two")
        await answered(app, pilot, "2", "There is a sweep already")
        await answered(app, pilot, "1")
        await until(pilot, lambda: screen.held.seen is not None and len(screen.held.seen.files) == 2)
        assert "NOT CLEAN: 2 of them" in head(app)


async def test_lines_that_cannot_be_used_are_said_in_a_sentence(clock: FakeClock, folder: Path) -> None:
    path = sweep_file(folder / "hall.csv")
    path.write_text(path.read_text("utf-8").replace("605.0000,", "605.0000;[/];[red]x", 1), "utf-8")
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await read_in(app, pilot)
        assert "hall.csv:201" in said(app)


@pytest.mark.parametrize(("content", "words"), [(b"", "is empty"), (b"\x00\xff\x00\xfe" * 400, "")])
async def test_a_file_that_is_no_sweep_changes_nothing(
    clock: FakeClock, folder: Path, content: bytes, words: str
) -> None:
    (folder / "odd.csv").write_bytes(content)
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await choose_file(pilot, "odd")
        await until(pilot, lambda: said(app) and "Reading" not in said(app))
        assert words in said(app)
        assert screen.held.seen is None
        assert tuned(screen) == TUNED


async def test_a_hostile_file_name_is_shown_as_it_is(clock: FakeClock, folder: Path) -> None:
    name = "[red]x [@click=app.quit] \x1b[31m\u202e.csv"
    sweep_file(folder / name)
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=(140, 45), notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "t")
        await until(pilot, lambda: app.screen.query("#field"))
        assert "[red]x [@click=app.quit]" in screen_text(app)
        assert "\x1b" not in screen_text(app) and "\u202e" not in screen_text(app)
        await press(pilot, "enter")
        await answered(app, pilot, "1")
        await until(pilot, lambda: screen.held.seen is not None)
        assert "[red]x [@click=app.quit]" in screen_text(app)
        assert "\x1b" not in screen_text(app) and "\u202e" not in screen_text(app)


async def test_a_path_can_be_typed_and_nothing_is_opened_that_is_not_there(
    clock: FakeClock, folder: Path, tmp_path: Path
) -> None:
    sweep_file(tmp_path / "elsewhere.log")
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await open_radio(pilot)
        await press(pilot, "t")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press(*"nothing", "enter")
        assert "There is no file 'nothing'." in place(app, "trouble")
        field = app.screen.query_one("#field")
        field.value = str(tmp_path / "elsewhere.log")  # type: ignore[attr-defined]
        await until(pilot, lambda: "this file:" in screen_text(app))
        await press(pilot, "enter")
        await answered(app, pilot, "1")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen) and "elsewhere.log" in place(app, "state"))


def test_where_files_are_looked_for(tmp_path: Path, folder: Path) -> None:
    (tmp_path / "Downloads").mkdir()
    own = tmp_path / "home" / "config" / "sweeps"
    own.mkdir(parents=True)
    made = [sweep_file(place / "a.csv") for place in (own, folder, tmp_path / "Downloads")]
    (folder / ".hidden.csv").write_text("", "utf-8")
    (folder / "photo.png").write_text("", "utf-8")
    (folder / "folder.csv").mkdir()
    assert set(sweep_files(usual_folders())) == set(made)
    assert sweep_files([tmp_path / "not there"]) == []
    assert typed_file(f" '{made[0]}' ") == made[0]
    assert typed_file("~/Downloads/a.csv") == made[2]
    assert typed_file("") is None and typed_file("\x00") is None and typed_file(str(folder)) is None

"""Planning beside the screen: the proof, stopping it with the best, and what the log keeps."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from showday.radio.model import Widths
from showday.radio_desk import tonight_plan
from showday.tui.app import ShowdayApp
from showday.tui.screens.modals import TextModal
from showday.tui.screens.radio import RadioScreen
from tests.tui.evening import FakeClock, press, said, screen_text, until
from tests.tui.nights import head, listed
from tests.tui.radio_evening import (
    HARD,
    SIZE,
    choose_file,
    open_radio,
    place,
    planned,
    radio_desk,
    sweep_file,
    tuned,
)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)


async def test_a_small_plan_is_proved_and_stands_in_the_table(clock: FakeClock) -> None:
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await planned(pilot, screen)
        proof = screen.held.proof
        assert proof is not None and proof.proved
        assert [row.spare for row in screen.held.table.rows] == [False, False, True]
        assert screen.held.table.clearance == proof.clearance
        assert "Proved: no plan has more than" in place(app, "state")
        assert "CLEAN among" in head(app)
        await press(pilot, "full_stop")
        assert "Changed by hand: the plan had" in place(app, "state")
        await press(pilot, "u")
        assert "Proved" in place(app, "state")
        await press(pilot, "u")
        assert tuned(screen) == [607.0, 610.0]


async def test_what_is_held_stays(clock: FakeClock) -> None:
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "2 m")
        await planned(pilot, screen)
        assert tuned(screen)[1] == 610.0
        assert screen.held.table.rows[1].held


@pytest.mark.slow
async def test_a_long_proof_shows_its_bound_takes_keys_and_keeps_the_best_when_stopped(clock: FakeClock) -> None:
    app = ShowdayApp(radio_desk(clock, HARD))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "f9")
        await until(pilot, lambda: "best" in place(app, "state") and "at most" in place(app, "state"), 3000)
        assert "i stops, keeps it" in screen_text(app)
        cursor = screen.cursor
        await press(pilot, "right")
        assert screen.cursor != cursor
        await press(pilot, "full_stop")
        assert "i stops it" in said(app)
        await press(pilot, "i")
        await until(pilot, lambda: not screen.proving, 3000)
        proof = screen.held.proof
        assert proof is not None and not proof.proved
        assert proof.bound is not None and proof.clearance is not None and proof.bound >= proof.clearance
        assert "Not proved: best found" in place(app, "state")
        assert len(screen.held.table.rows) == 13


async def test_leaving_stops_the_proof_first(clock: FakeClock) -> None:
    app = ShowdayApp(radio_desk(clock, HARD))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "f9")
        await until(pilot, lambda: "at most" in place(app, "state"), 3000)
        await press(pilot, "escape")
        await until(pilot, lambda: not screen.proving, 3000)
        assert isinstance(app.screen, RadioScreen)


async def test_the_program_ends_while_a_proof_runs(clock: FakeClock) -> None:
    app = ShowdayApp(radio_desk(clock, HARD))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "f9")
        await until(pilot, lambda: screen.proving)
    assert screen.closed


async def test_keeping_writes_the_plan_with_the_reason_and_the_next_time_it_is_there(clock: FakeClock) -> None:
    desk = radio_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await planned(pilot, screen)
        await press(pilot, "g")
        await until(pilot, lambda: isinstance(app.screen, TextModal))
        await pilot.press(*"quiet", "enter")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen))
        kept = tonight_plan(desk)
        assert kept is not None
        assert (kept.reason, kept.proved, kept.show) == ("quiet", True, desk.show)
        assert [c.hz / 1e6 for c in (*kept.carriers, *kept.spares)] == tuned(screen)
        assert [c.name for c in kept.carriers] == ["In-ear 1", "In-ear 2"]
        assert kept.spares[0].fits == ("In-ear 1", "In-ear 2")
        before = tuned(screen)
        await press(pilot, "q")
        await until(pilot, lambda: app.screen is not screen)
        again = await open_radio(pilot)
        assert tuned(again) == before
        assert "Proved" in place(app, "state")


async def test_without_words_the_reason_is_ours(clock: FakeClock) -> None:
    desk = radio_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await open_radio(pilot)
        await press(pilot, "g")
        await until(pilot, lambda: isinstance(app.screen, TextModal))
        await press(pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen))
        kept = tonight_plan(desk)
        assert kept is not None and kept.reason == "set by hand, smallest clearance 3000 kHz"


async def test_a_plan_that_cannot_be_is_said(clock: FakeClock) -> None:
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "1 m 2")
        for _ in range(2):
            await press(pilot, "full_stop")
        await press(pilot, "enter")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press(*"607", "enter")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen))
        await press(pilot, "m f9")
        assert "held twice" in said(app)
        assert not screen.proving
        assert "2!" in listed(app)[2]


async def test_when_not_all_fit_it_is_said_which_wish_would_help(clock: FakeClock) -> None:
    """0 to 0.6 MHz in steps of 100 kHz hold no more than three that are clean in third and fifth order."""
    rows = [f"  - {{name: T{n}, low: 606, high: 606.6, step: 100, frequency: 606}}" for n in range(4)]
    app = ShowdayApp(radio_desk(clock, "\n".join(["rig: narrow", "transmitters:", *rows])))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "x 2")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press("backspace", "0", "enter")
        await until(pilot, lambda: "spares: 0" in screen_text(app))
        await press(pilot, "escape")
        await planned(pilot, screen)
        assert "Only 3 of 4 fit, proved." in place(app, "state")
        assert "All would fit with third-order products only." in said(app)
        assert "are 100 kHz apart: each is some 200 kHz wide" in place(app, "state")


async def test_a_kept_plan_says_the_plain_distance_beside_what_was_wished(clock: FakeClock) -> None:
    """Two alone in 8 MHz stand at its ends; 300 kHz of the 8000 are what was asked for."""
    desk = radio_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        screen.held.wish(replace(screen.held.wishes, spares=0, widths=Widths(spacing=300_000)))
        kept = screen.held.to_keep("")
        assert (kept.clearance, kept.nearest) == (2_700_000, 3_000_000)


async def test_more_carriers_than_transmitters_stay_where_these_can_be_set(clock: FakeClock, tmp_path: Path) -> None:
    sweep_file(tmp_path / "hall.csv", first=600_012_500)
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await choose_file(pilot, "hall")
        await until(pilot, lambda: "Were your own" in screen_text(app))
        await press(pilot, "1")
        await until(pilot, lambda: screen.held.seen is not None)
        await press(pilot, "x 1")
        await until(pilot, lambda: app.screen.query("#field"))
        await pilot.press("backspace", "4", "enter")
        await until(pilot, lambda: "carriers: 4" in screen_text(app))
        await press(pilot, "escape")
        await planned(pilot, screen)
        rows = screen.held.table.rows
        assert [row.name for row in rows] == ["In-ear 1", "In-ear 2", "", "", ""]
        assert all(row.hz is not None and row.hz % 25_000 == 0 for row in rows)
        assert "CLEAN" in head(app) and "NOT" not in head(app)


async def test_one_more_than_the_transmitters_leaves_each_of_these_where_it_can_be_set(clock: FakeClock) -> None:
    """The first reaches nothing but 609.9 to 610 MHz; three in 606 to 614 MHz are clearest elsewhere."""
    rows = [("T1", 609.9, 610), ("T2", 606, 614)]
    made = [f"  - {{name: {name}, low: {low}, high: {high}, step: 25}}" for name, low, high in rows]
    app = ShowdayApp(radio_desk(clock, "\n".join(["rig: two", "transmitters:", *made])))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        screen.held.wish(replace(screen.held.wishes, count=3, spares=0))
        await planned(pilot, screen)
        table = screen.held.table
        assert [row.name for row in table.rows] == ["T1", "T2", ""]
        assert all(told.usable for told in table.told)


async def test_moving_by_step_shows_every_clearance_before_it_is_kept(clock: FakeClock) -> None:
    app = ShowdayApp(radio_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await press(pilot, "enter")
        await until(pilot, lambda: app.screen.query("#field"))
        await press(pilot, "up up down up")
        assert "1 2950 kHz | 2 2950 kHz" in place(app, "follows")
        assert tuned(screen) == [607.0, 610.0]
        await press(pilot, "escape")
        assert tuned(screen) == [607.0, 610.0]
        await press(pilot, "enter")
        await until(pilot, lambda: app.screen.query("#field"))
        await press(pilot, "down enter")
        await until(pilot, lambda: isinstance(app.screen, RadioScreen))
        assert tuned(screen) == [606.975, 610.0]


async def test_a_spare_takes_over_from_a_carrier_in_trouble_and_is_given_back(clock: FakeClock) -> None:
    desk = radio_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        screen = await open_radio(pilot)
        await planned(pilot, screen)
        await press(pilot, "1 f")
        assert "What stands here is not in the log yet." in said(app)
        await press(pilot, "g enter")
        await until(pilot, lambda: tonight_plan(desk) is not None)
        plan = tonight_plan(desk)
        assert plan is not None
        before, spare = plan.carriers[0].hz, plan.spares[0].hz
        await press(pilot, "1 f 1")
        assert tuned(screen)[0] == spare / 1e6
        assert f"Set In-ear 1 and its packs to {spare / 1e6:.3f} MHz." in said(app)
        assert not any(row.spare for row in screen.held.table.rows)
        await press(pilot, "2 f")
        assert "The plan has no spare left for In-ear 2." in said(app)
        await press(pilot, "1 f b")
        assert tuned(screen)[0] == before / 1e6
        assert [row.spare for row in screen.held.table.rows] == [False, False, True]

"""The to-fix list across shows, files by their paths, notes found again, and what differs from last time."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from showday.desk import Desk
from showday.run import events as ev
from showday.run.plan import TO_FIX_ITEM, PlannedStep
from showday.run.to_fix import ToFixAssigned, ToFixClosed, ToFixOpened
from showday.run.touring import FileAttached, VenueNoted
from showday.tui.app import ShowdayApp
from showday.tui.screens.brief import BriefScreen
from showday.tui.screens.entry import a_day_or_nothing
from showday.tui.screens.modals import ChoiceModal, TextModal
from showday.tui.screens.notes import NotesScreen
from showday.tui.screens.past_run import PastRunScreen
from showday.tui.screens.run import RunScreen
from showday.tui.screens.to_fix import ToFixScreen
from showday.tui.screens.tonight import TonightScreen
from showday.tui.widgets.lines import Lines
from tests.support.packing import PACKING
from tests.tui.evening import FakeClock, card, press, said, until
from tests.tui.nights import HOSTILE, SIZES, a_desk, a_show, harmless, head, listed, mark

SIZE = (80, 24)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))


@pytest.fixture
def desk(clock: FakeClock) -> Desk:
    """Two open items, one of them late, and a closed one."""
    desk = a_desk(clock)
    venue = a_show(desk)
    for id, text in (("i1", "DI box hums"), ("i2", "Pack clip broken"), ("i3", "Fader sticks")):
        desk.record(id, ToFixOpened(text, venue=venue if id != "i2" else ""))
        clock.advance(1)
    desk.record("i2", ToFixAssigned("Ben", "2026-04-30"))
    desk.record("i3", ToFixClosed("cleaned", "Ada"))
    return desk


def test_an_item_whose_words_stand_in_another_is_not_taken_for_it(desk: Desk) -> None:
    for id, text in (("long", "DI box  hums on the left"), ("alike", "DI box hums")):
        desk.record(id, ToFixOpened(text))
    desk.record("long", ToFixClosed("new cable"))
    long = PlannedStep("a", "a", 0, "See to it: DI box hums on the left", about=TO_FIX_ITEM, kind="item")
    short = PlannedStep("b", "b", 0, "See to it: DI box hums", about=TO_FIX_ITEM, kind="item")
    assert [item and item.id for item in map(desk.item_of, (long, short))] == ["long", "i1"]


def test_an_item_is_closed_also_where_the_clock_is_behind_the_one_it_was_opened_by(
    desk: Desk, clock: FakeClock
) -> None:
    clock.advance(-3600)
    desk.record("i1", ToFixClosed("new cable"))
    assert "i1" not in [item.id for item in desk.book().open_items()]


async def shown(pilot: Pilot[int], screen: type[object]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, screen))


async def opened(pilot: Pilot[int]) -> None:
    await press(pilot, "t")
    await shown(pilot, ToFixScreen)


async def test_what_is_late_stands_first_under_its_place_and_closed_ones_on_request(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot)
        assert head(app).endswith("2 open, 1 OVERDUE | 1 closed")
        assert listed(app) == [
            "From no venue",
            "* 2026-05-02 Pack clip broken; Ben; OVERDUE since 2026-04-30",
            "",
            "From Old Mill (Aldford)",
            "* 2026-05-02 DI box hums",
        ]
        await press(pilot, "t")
        assert listed(app)[-1] == "x 2026-05-02 Fader sticks; closed 2026-05-02 by Ada: cleaned"


async def test_an_item_is_entered_assigned_closed_and_opened_again(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot)
        await press(pilot, "n")
        await shown(pilot, TextModal)
        await press(pilot, "f u s e enter")
        await until(pilot, lambda: any("fuse" in row for row in listed(app)))
        await mark(pilot, "fuse")
        await press(pilot, "enter 5 1")
        await until(pilot, lambda: bool(app.screen.query(Input)))
        await press(pilot, "2 0 2 6 minus 0 6 minus 0 1 enter")
        await until(pilot, lambda: any("fuse; Ada; due 2026-06-01" in row for row in listed(app)))
        await mark(pilot, "fuse")
        await press(pilot, "enter 1 n e w enter 2")
        await until(pilot, lambda: not any("fuse" in row for row in listed(app)))
        item = next(item for item in desk.book().items.values() if item.text == "fuse")
        assert (item.how, item.by, item.venue) == ("new", "Ben", desk.book().places()[0].id)
        await press(pilot, "u")
        await until(pilot, lambda: any("fuse" in row for row in listed(app)))


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("3", "2026-05-05"),
        ("0", "2026-05-02"),
        ("30", "2026-06-01"),
        ("20260601", "2026-06-01"),
        ("2026-06-01", "2026-06-01"),
        (" ", ""),
    ],
)
def test_a_day_is_also_a_number_of_days_from_today(typed: str, day: str) -> None:
    assert a_day_or_nothing(typed, date(2026, 5, 2)) == day


@pytest.mark.parametrize("typed", ["soon", "-3", "2026-13-01", "³"])
def test_what_is_no_day_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="in how many days"):
        a_day_or_nothing(typed, date(2026, 5, 2))


async def test_a_closed_item_is_opened_again_with_the_reason(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot)
        await press(pilot, "t")
        await mark(pilot, "Fader sticks")
        await press(pilot, "enter 1 s t i l l enter")
        await until(pilot, lambda: any("Fader sticks; still" in row for row in listed(app)))
        assert not desk.book().items["i3"].closed


async def test_a_step_about_an_item_opens_it_and_comes_back(clock: FakeClock) -> None:
    desk = a_desk(clock, playbooks=(PACKING,))
    desk.record("i1", ToFixOpened("DI box hums"))
    app = ShowdayApp(desk, session=desk.start_run("packing"))
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await shown(pilot, RunScreen)
        await until(pilot, lambda: "Enter opens it: cured, who sees to it, a note" in card(app))
        await press(pilot, "enter")
        await shown(pilot, ChoiceModal)
        await press(pilot, "1 c a p enter 2")
        await until(pilot, lambda: bool(desk.book().items["i1"].closed))
        await shown(pilot, RunScreen)
        assert (desk.book().items["i1"].how, desk.book().items["i1"].by) == ("cap", "Ben")
        await press(pilot, "g")
        await until(pilot, lambda: "Enter opens the to-fix list" in card(app))
        await press(pilot, "enter")
        await shown(pilot, ToFixScreen)
        await press(pilot, "q")
        await shown(pilot, RunScreen)


async def test_a_wrong_day_is_said_and_keeps_the_field(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot)
        await mark(pilot, "DI box")
        await press(pilot, "enter 5 1")
        await until(pilot, lambda: bool(app.screen.query(Input)))
        await press(pilot, "s o o n enter")
        trouble = app.screen.query_one("#trouble", Lines)
        await until(pilot, lambda: "YYYY-MM-DD" in "".join(line.text for line in trouble.lines))
        assert not desk.book().items["i1"].owner


async def test_a_file_of_an_item_is_kept_by_its_path_and_said_to_be_missing(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot)
        await mark(pilot, "DI box")
        await press(pilot, "enter 6 slash n o w h e r e slash x enter p l u g enter")
        await until(pilot, lambda: any("DI box hums; 1 file" in row for row in listed(app)))
        assert "not there now" in said(app)
        assert [(f.path, f.about) for f in desk.book().files_of("i1")] == [("/nowhere/x", "plug")]
        await mark(pilot, "DI box")
        await press(pilot, "enter")
        await shown(pilot, ChoiceModal)
        lines = [line.text for place in app.screen.query(Lines) for line in place.lines]
        assert "file: /nowhere/x: plug (not there now)" in lines


async def test_files_of_a_show_and_a_venue_stand_in_the_brief(desk: Desk, tmp_path: Path) -> None:
    photo = tmp_path / "p"
    photo.touch()
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "x 7 slash g o n e enter enter")
        await until(pilot, lambda: bool(desk.book().files))
        venue = desk.book().places()[0].id
        desk.record(venue, FileAttached(str(photo), "stairs"))
        await press(pilot, "v")
        await until(pilot, lambda: f"{photo}: stairs" in listed(app))
        assert any(row.endswith("/gone (not there now)") for row in listed(app))


async def test_a_merge_is_taken_apart_on_the_brief(desk: Desk) -> None:
    other = desk.add_venue("The Mill", "Aldford")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await pilot.pause()
        app.open_brief(other)
        await shown(pilot, BriefScreen)
        await press(pilot, "x 4 enter y")
        await until(pilot, lambda: head(app).startswith("Old Mill (Aldford), formerly The Mill"))
        await press(pilot, "x 6 1")
        await until(pilot, lambda: "formerly" not in head(app))
        assert [venue.name for venue in desk.book().places()] == ["Old Mill", "The Mill"]


class TestNotes:
    @pytest.fixture
    def noted(self, desk: Desk) -> Desk:
        """A note at the venue and one in a run."""
        desk.record(desk.book().places()[0].id, VenueNoted("supply", "Ask for the red socket"))
        session = desk.start_run("line-check")
        session.record(ev.NoteAdded("curtain hides the box"))
        session.finish(ev.STOPPED)
        return desk

    @pytest.mark.parametrize(
        ("typed", "screen"),
        [("curtan", PastRunScreen), ("red socket", BriefScreen), ("clip", ChoiceModal)],
        ids=["of a run", "of a venue", "of an item"],
    )
    async def test_a_note_is_found_and_leads_to_where_it_was_written(
        self, noted: Desk, typed: str, screen: type[object]
    ) -> None:
        app = ShowdayApp(noted)
        async with app.run_test(size=SIZE, notifications=True) as pilot:
            await press(pilot, "f10")
            await shown(pilot, NotesScreen)
            app.screen.query_one(Input).value = typed
            await until(pilot, lambda: len(listed(app)) == 1)
            await press(pilot, "enter")
            await shown(pilot, screen)

    async def test_what_is_not_found_among_lists_is_looked_for_in_notes(self, noted: Desk) -> None:
        app = ShowdayApp(noted)
        async with app.run_test(size=SIZE, notifications=True) as pilot:
            await press(pilot, "slash")
            await until(pilot, lambda: bool(app.screen.query(Input)))
            app.screen.query_one(Input).value = "curtain"
            await until(pilot, lambda: any("all that was noted" in row for row in listed(app)))
            await press(pilot, "up enter")
            await shown(pilot, NotesScreen)
            await until(pilot, lambda: any("curtain hides the box" in row for row in listed(app)))
            await press(pilot, "escape")
            await shown(pilot, TonightScreen)

    async def test_while_many_years_are_read_keys_are_taken(
        self, noted: Desk, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        left = [2000]
        read = noted.keeper.make_words_ready
        monkeypatch.setattr(noted.keeper, "make_words_ready", lambda: left[0] if left else read())
        app = ShowdayApp(noted)
        async with app.run_test(size=SIZE, notifications=True) as pilot:
            await press(pilot, "f10")
            await shown(pilot, NotesScreen)
            await until(pilot, lambda: any("2,000 notes to go" in row for row in listed(app)))
            await press(pilot, "c u r t")
            await until(pilot, lambda: app.screen.query_one(Input).value == "curt")
            left.clear()
            await until(pilot, lambda: any("curtain hides the box" in row for row in listed(app)))
            assert len(listed(app)) == 1

    async def test_nothing_like_it_says_so(self, noted: Desk) -> None:
        app = ShowdayApp(noted)
        async with app.run_test(size=SIZE, notifications=True) as pilot:
            await press(pilot, "f10")
            await shown(pilot, NotesScreen)
            app.screen.query_one(Input).value = "zebra"
            await until(pilot, lambda: listed(app)[0].startswith("Nothing that was noted is like that."))


async def test_the_run_says_what_differs_from_last_time(desk: Desk, clock: FakeClock) -> None:
    first = desk.start_run("line-check")
    first.show_current()
    first.answer(ev.GOOD)
    first.finish(ev.STOPPED)
    desk.plan_show(desk.book().places()[0].id, "2026-05-09")
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await shown(pilot, RunScreen)
        await press(pilot, "enter f")
        await until(pilot, lambda: session.state.step("clock").result == ev.FAULT)
        if not isinstance(app.screen, RunScreen):
            await press(pilot, "escape")
        await press(pilot, "k")
        banner = app.screen.query_one("#banner", Lines)
        wanted = "New here: it was good last time (2026-05-02)."
        await until(pilot, lambda: any(wanted in line.text for line in banner.lines))


@pytest.mark.parametrize("size", SIZES)
async def test_foreign_text_is_shown_as_it_is(clock: FakeClock, size: tuple[int, int]) -> None:
    desk = a_desk(clock)
    venue = desk.add_venue(HOSTILE, HOSTILE)
    desk.record("i", ToFixOpened(HOSTILE, venue=venue, about=HOSTILE))
    desk.record("i", ToFixAssigned(HOSTILE, HOSTILE))
    desk.record("i", FileAttached(HOSTILE, HOSTILE))
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await opened(pilot)
        harmless(app)
        await mark(pilot, "* 2026-05-02")
        await press(pilot, "enter")
        await shown(pilot, ChoiceModal)
        harmless(app)
        await press(pilot, "escape f10")
        await shown(pilot, NotesScreen)
        harmless(app)

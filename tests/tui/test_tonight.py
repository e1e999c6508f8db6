"""Tonight's screen: entering the show, moving the mark, how it looks."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from showday.run import events as ev
from showday.run.touring import ShowChanged
from showday.tui.app import ShowdayApp
from showday.tui.screens.away import AwayModal
from showday.tui.screens.brief import BriefScreen
from showday.tui.screens.entry import FactsModal, FieldModal, VenueModal
from showday.tui.screens.modals import ChoiceModal
from showday.tui.screens.run import RunScreen
from showday.tui.screens.tonight import TonightScreen
from showday.tui.themes import THEMES
from showday.tui.widgets.pick_list import PickList
from tests.tui.evening import FakeClock, press, screen_text, until
from tests.tui.nights import (
    HOSTILE,
    SIZES,
    a_desk,
    a_show,
    answer_all,
    harmless,
    head,
    listed,
    mark,
    marked,
    row_of,
    today,
    touring_kinds,
    trouble,
)

SIZE = (80, 24)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))


async def shown(pilot: Pilot[int], screen: type[object]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, screen))


# -- the first start and tonight's show ----------------------------------------------------------------------


async def test_the_first_start_offers_venue_example_and_playbooks(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await shown(pilot, TonightScreen)
        rows = listed(app)
        assert "no venue entered" in head(app)
        assert "No rig is read" not in head(app)
        assert "x Enter tonight's venue" in rows
        assert any("example act" in row for row in rows)
        assert any(row.startswith("1 ") and "Load-in" in row and "not begun, on arrival" in row for row in rows)


async def test_without_a_rig_it_is_said_that_no_line_is_asked(clock: FakeClock) -> None:
    desk = a_desk(clock)
    desk.rig_source = None
    app = ShowdayApp(desk)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await shown(pilot, TonightScreen)
        assert "No rig is read, so no line and no pack is asked" in head(app)


async def test_a_new_venue_is_entered_with_time_and_changeover(clock: FakeClock) -> None:
    desk = a_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "x")
        await shown(pilot, VenueModal)
        await press(pilot, "O l d enter")
        await shown(pilot, FieldModal)
        await press(pilot, "2 1 3 0 enter")
        await press(pilot, "2 0 enter")
        await shown(pilot, TonightScreen)
        show = desk.tonight()
        assert show is not None
        assert (show.date, show.slot, show.changeover) == (today(desk), "21:30", 20)
        assert head(app).startswith("Old | ")
        assert "slot 21:30" in head(app)


async def test_what_cannot_be_a_time_is_said_and_kept_in_the_field(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "x 3")
        await shown(pilot, FieldModal)
        await press(pilot, "x enter")
        assert "HH:MM" in trouble(app)[0].text
        await press(pilot, "escape")
        await shown(pilot, TonightScreen)
        show = desk.tonight()
        assert show is not None and show.slot == "21:30"


async def test_a_known_venue_is_found_while_typing_and_not_made_again(clock: FakeClock) -> None:
    desk = a_desk(clock)
    known = desk.add_venue("Übersee Kantine", "Aldford")
    desk.add_venue("Other Place")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "x u b e r s")
        await until(pilot, lambda: marked(app).startswith("Übersee"))
        assert any(row.startswith("new venue: ubers") for row in listed(app))
        await press(pilot, "enter")
        await shown(pilot, FieldModal)
        show = desk.tonight()
        assert show is not None and show.venue == known
        assert touring_kinds(desk).count("VenueAdded") == 2


async def test_a_name_that_is_only_a_little_like_a_venue_is_a_new_one(clock: FakeClock) -> None:
    desk = a_desk(clock)
    desk.add_venue("Old Mill", "Aldford")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "x")
        await shown(pilot, VenueModal)
        await press(pilot, "O l d space B a r n")
        await until(pilot, lambda: marked(app) == "new venue: Old Barn")
        await press(pilot, "enter")
        await shown(pilot, FieldModal)
        assert [venue.name for venue in desk.book().places()] == ["Old Barn", "Old Mill"]


async def test_facts_go_from_not_said_to_yes_to_no(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "x 5")
        await shown(pilot, FactsModal)
        await press(pilot, "1 4 4 5 5 5 enter")
        await shown(pilot, TonightScreen)
        assert desk.show_facts() == {"festival": True, "indoors": False}
        assert "festival, not indoors" in head(app)


@pytest.mark.parametrize(("key", "names"), [("1", ["Old Kiln Quay"]), ("n", ["Old Kiln Quay", "old kilm quai"])])
async def test_a_new_name_that_is_like_a_known_venue_is_asked_about(
    clock: FakeClock, key: str, names: list[str]
) -> None:
    desk = a_desk(clock)
    desk.add_venue("Old Kiln Quay")
    app = ShowdayApp(desk)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await shown(pilot, TonightScreen)
        await press(pilot, "x o l d space k i l m space q u a i enter")
        await shown(pilot, ChoiceModal)
        assert "yes: Old Kiln Quay" in screen_text(app)
        await press(pilot, key)
        await shown(pilot, FieldModal)
        assert sorted(venue.name for venue in desk.book().places()) == sorted(names)
        venue = desk.tonight()
        assert venue is not None and desk.book().venues[venue.venue].name == names[-1]


async def test_another_venue_for_tonight_changes_the_one_show(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    other = desk.add_venue("Harbour Hall")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "x 1")
        await shown(pilot, VenueModal)
        await press(pilot, "h a r b enter")
        await shown(pilot, TonightScreen)
        show = desk.tonight()
        assert show is not None and (show.venue, show.slot) == (other, "21:30")
        assert len(desk.book().shows) == 1


async def test_a_date_that_has_a_show_at_that_place_goes_on_with_that_show(clock: FakeClock) -> None:
    desk = a_desk(clock)
    venue = a_show(desk, day="2026-05-09")
    planned = desk.show
    desk.plan_show(venue, today(desk))
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "x 2")
        await shown(pilot, FieldModal)
        await press(pilot, " ".join(["backspace"] * 10))
        await press(pilot, "2 0 2 6 - 0 5 - 0 9 enter")
        await shown(pilot, TonightScreen)
        assert desk.show == planned
        assert "This show is not today" in head(app)
        assert not any(isinstance(e.event, ShowChanged) for e in desk.keeper.touring())


async def test_of_two_shows_today_one_is_chosen(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk, "Old Mill")
    a_show(desk, "Harbour Hall")
    desk.show = ""
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await until(pilot, lambda: "Which show is tonight's?" in listed(app))
        await mark(pilot, "Harbour Hall")
        await press(pilot, "enter")
        await until(pilot, lambda: head(app).startswith("Harbour Hall"))


async def test_who_is_away_is_kept_with_the_show(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "a")
        await shown(pilot, AwayModal)
        await press(pilot, "2 enter")
        await shown(pilot, TonightScreen)
        assert desk.away() == ("Ben",)
        assert "away: Ben" in head(app)


async def test_the_brief_of_tonights_venue_is_one_key_away(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "v")
        await shown(pilot, BriefScreen)
        await press(pilot, "q")
        await shown(pilot, TonightScreen)


# -- how it looks --------------------------------------------------------------------------------------------


async def test_every_row_can_be_tapped(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await pilot.click(PickList, offset=(10, row_of(app, "Load-in")))
        await shown(pilot, RunScreen)


@pytest.mark.parametrize("theme", THEMES)
async def test_the_marked_row_can_be_read_in_every_theme(clock: FakeClock, theme: str) -> None:
    app = ShowdayApp(a_desk(clock), theme_name=theme)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await mark(pilot, "Load-in")
        pick = app.screen.query_one(PickList)
        line = pick.render_line(row_of(app, "Load-in"))
        ours = THEMES[theme].variables
        colours = {
            (s.style.color.get_truecolor().hex, s.style.bgcolor.get_truecolor().hex)
            for s in line
            if s.text.strip() and s.style and s.style.color and s.style.bgcolor
        }
        assert colours == {(ours["on-marked"], ours["marked"])}


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("no_color", ["", "1"])
async def test_foreign_text_is_shown_as_it_is(
    clock: FakeClock, size: tuple[int, int], no_color: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", no_color)
    desk = a_desk(clock)
    venue = desk.add_venue(HOSTILE, HOSTILE, HOSTILE)
    desk.plan_show(venue, today(desk), HOSTILE, facts=(HOSTILE,))
    desk.set_away([HOSTILE])
    session = desk.start_run("line-check")
    session.answer(ev.FAULT, reason=HOSTILE)
    session.finish(ev.STOPPED)
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await shown(pilot, TonightScreen)
        harmless(app)
        await press(pilot, "x")
        await shown(pilot, ChoiceModal)
        harmless(app)
        await press(pilot, "1")
        await shown(pilot, VenueModal)
        harmless(app)
        await press(pilot, "escape")
        await mark(pilot, "Start the clock")
        await press(pilot, "enter")
        await shown(pilot, ChoiceModal)
        harmless(app)


# -- moving the mark, and the example -----------------------------------------------------------------------


async def test_the_mark_moves_by_plain_keys_and_passes_over_headings(clock: FakeClock) -> None:
    app = ShowdayApp(a_desk(clock))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        assert marked(app) == "Enter tonight's venue"
        await press(pilot, "j down j")
        assert "Load-in" in marked(app)
        await press(pilot, "k up")
        assert "example act" in marked(app)
        await press(pilot, "space")
        assert marked(app) == "Runs of the past"


async def test_the_mark_stays_when_a_question_is_left(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    answer_all(desk.start_run("load-in"), clock, ev.FAULT)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await mark(pilot, "Plug in the rack: fault")
        await press(pilot, "enter")
        await shown(pilot, ChoiceModal)
        await press(pilot, "escape")
        await shown(pilot, TonightScreen)
        assert "Plug in the rack: fault" in marked(app)


async def test_leaving_the_brief_while_it_is_read_does_no_harm(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk)
    for _ in range(5):
        answer_all(desk.start_run("line-check"), clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await pilot.pause()
        app.simulate_key("v")
        app.simulate_key("q")
        await shown(pilot, TonightScreen)
        await press(pilot, "v")
        await shown(pilot, BriefScreen)


async def test_the_example_act_is_offered_and_says_that_nothing_is_kept(clock: FakeClock) -> None:
    desk = a_desk(clock)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await mark(pilot, "example act")
        await press(pilot, "enter")
        await until(pilot, lambda: "nothing of it is kept" in head(app))
        assert any("Line check, alone" in row for row in listed(app))
        await press(pilot, "1")
        await shown(pilot, RunScreen)
        assert desk.keeper.runs() == []

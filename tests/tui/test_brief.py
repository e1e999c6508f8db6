"""The brief's screen: what is known of a venue, what is added to it, names and merging."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from showday.desk import Desk
from showday.memory import venue_brief
from showday.review import telling
from showday.run import events as ev
from showday.run.touring import TOPICS, VenueNoted
from showday.tui import brief_view as view
from showday.tui.app import ShowdayApp
from showday.tui.screens.brief import BriefScreen
from showday.tui.screens.entry import FieldModal, VenueModal
from showday.tui.screens.modals import ChoiceModal, TextModal
from showday.tui.screens.past import PastScreen
from showday.tui.screens.past_run import PastRunScreen
from tests.tui.evening import FakeClock, press, until
from tests.tui.nights import HOSTILE, SIZES, a_desk, a_show, answer_all, harmless, head, listed, mark, today

SIZE = (80, 24)
READING = "Reading the log …"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWDAY_HOME", str(tmp_path))


@pytest.fixture
def desk(clock: FakeClock) -> Desk:
    """A show at the Old Mill with two runs: one good, one with faults."""
    desk = a_desk(clock)
    a_show(desk)
    answer_all(desk.start_run("load-in"), clock)
    session = desk.start_run("line-check")
    session.show_current()
    session.answer(ev.FAULT, reason="no clock")
    session.record(ev.NoteAdded("cold hall"))
    session.go_to("signal@1")
    session.read(-3.0)
    session.answer(ev.GOOD)
    session.finish(ev.STOPPED)
    return desk


async def opened(pilot: Pilot[int], app: ShowdayApp, desk: Desk, venue: str = "") -> None:
    """The brief of tonight's venue, read to its end."""
    show = desk.tonight()
    await pilot.pause()
    app.open_brief(venue or (show.venue if show else ""))
    await until(pilot, lambda: isinstance(app.screen, BriefScreen) and listed(app) not in ([], [READING]))


async def shown(pilot: Pilot[int], screen: type[object]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, screen))


async def test_every_section_of_the_brief_is_listed(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk)
        text = "\n".join(listed(app))
        for words in ("To fix, from here", "left as a fault: no clock", "-3 OUTSIDE", "cold hall", "Usual time here"):
            assert words in text
        assert head(app).startswith("Old Mill (Aldford)\none show | last run ")


def test_every_line_that_leads_somewhere_has_its_lead(desk: Desk) -> None:
    """The leads are kept beside the core's lines, so both must have the same headings and length."""
    book = desk.book()
    brief = venue_brief(desk.keeper, book, book.places()[0], desk.plan_of)
    sections = dict(telling.sections(brief))
    leads = view.leads_of(brief)
    assert {title for title, to in leads.items() if to} == {"To fix, from here", "What failed here, and how it ended"}
    assert all(len(to) == len(sections.get(title, [])) for title, to in leads.items())
    assert "Shows" in sections


async def test_what_failed_leads_to_its_run(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk)
        await mark(pilot, "left as a fault")
        await press(pilot, "enter")
        await shown(pilot, PastRunScreen)
        assert "Line check" in head(app)


async def test_a_long_section_is_folded_and_says_what_is_outside(clock: FakeClock, desk: Desk) -> None:
    for _ in range(view.MOST_OPEN + 1):
        session = desk.start_run("line-check")
        session.record(ev.NoteAdded("a note"))
        session.finish(ev.STOPPED)
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk)
        folded = f"+ Noted during runs: {view.MOST_OPEN + 2} lines"
        assert folded in listed(app)
        await mark(pilot, "Noted during runs")
        await press(pilot, "enter")
        assert sum(row.endswith(": a note") for row in listed(app)) == view.MOST_OPEN + 1


async def test_a_run_of_the_list_is_looked_at_and_back(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk)
        await mark(pilot, "Load-in, complete")
        await press(pilot, "enter")
        await shown(pilot, PastRunScreen)
        await press(pilot, "q")
        await shown(pilot, BriefScreen)
        await press(pilot, "b")
        await shown(pilot, PastScreen)
        assert "Old Mill" in head(app)


@pytest.mark.parametrize("topic", TOPICS)
async def test_a_note_is_added_by_topic(desk: Desk, topic: str) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk)
        await press(pilot, "n")
        await shown(pilot, ChoiceModal)
        await press(pilot, str(TOPICS.index(topic) + 1))
        await shown(pilot, TextModal)
        await press(pilot, "b a c k enter")
        await until(pilot, lambda: any(row.startswith("back (") for row in listed(app)))
        assert VenueNoted(topic, "back") in [entry.event for entry in desk.keeper.touring()]


async def test_an_item_is_closed_and_opened_again(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk)
        await mark(pilot, "Start the clock: fault")
        await press(pilot, "enter 1 enter 1")
        await until(pilot, lambda: "To fix, from here" not in listed(app))
        await press(pilot, "u")
        await until(pilot, lambda: "To fix, from here" in listed(app))


async def test_a_venue_is_renamed_and_its_old_name_stays(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk)
        await press(pilot, "x 1")
        await shown(pilot, FieldModal)
        await press(pilot, "end exclamation_mark enter")
        await until(pilot, lambda: head(app).startswith("Old Mill! (Aldford), formerly Old Mill"))


async def test_a_town_is_entered(clock: FakeClock) -> None:
    desk = a_desk(clock)
    a_show(desk, "Old Mill", "")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk)
        await press(pilot, "x 2")
        await shown(pilot, FieldModal)
        await press(pilot, "A l d enter")
        await until(pilot, lambda: head(app).startswith("Old Mill (Ald)"))


async def test_two_names_of_one_place_are_merged_after_a_second_key(desk: Desk) -> None:
    other = desk.add_venue("The Mill", "Aldford")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk, other)
        await press(pilot, "x 4")
        await shown(pilot, VenueModal)
        assert listed(app) == ["Old Mill (Aldford)"]
        await press(pilot, "enter")
        await shown(pilot, ChoiceModal)
        await press(pilot, "escape x 4 enter y")
        await until(pilot, lambda: head(app).startswith("Old Mill (Aldford), formerly The Mill"))
        assert [venue.name for venue in desk.book().places()] == ["Old Mill"]


async def test_a_merge_that_is_not_confirmed_changes_nothing(desk: Desk) -> None:
    other = desk.add_venue("The Mill")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk, other)
        await press(pilot, "x 4 enter n escape")
        await shown(pilot, BriefScreen)
        assert len(desk.book().places()) == 2


async def test_a_venue_without_anything_says_how_to_begin(clock: FakeClock) -> None:
    desk = a_desk(clock)
    venue = desk.add_venue("Old Mill")
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk, venue)
        assert listed(app) == ["Nothing is noted about this venue yet. n notes something."]


async def test_a_venue_that_is_not_in_the_log_says_so(desk: Desk) -> None:
    app = ShowdayApp(desk)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await opened(pilot, app, desk, "nowhere")
        assert listed(app) == ["This venue is not in the log."]
        await press(pilot, "x n q")
        await until(pilot, lambda: not isinstance(app.screen, BriefScreen))


def test_every_topic_has_its_words() -> None:
    assert set(view.TOPIC_WORDS) == set(TOPICS)


@pytest.mark.parametrize("size", SIZES)
async def test_foreign_text_is_shown_as_it_is(clock: FakeClock, size: tuple[int, int]) -> None:
    desk = a_desk(clock)
    venue = desk.add_venue(HOSTILE, HOSTILE)
    desk.plan_show(venue, today(desk))
    for topic in TOPICS:
        desk.record(venue, VenueNoted(topic, HOSTILE))
    session = desk.start_run("line-check")
    session.record(ev.NoteAdded(HOSTILE))
    session.answer(ev.FAULT, reason=HOSTILE)
    session.finish(ev.STOPPED)
    app = ShowdayApp(desk)
    async with app.run_test(size=size, notifications=True) as pilot:
        await opened(pilot, app, desk)
        harmless(app)
        for keys in ("pagedown", "end"):
            await press(pilot, keys)
            harmless(app)
        await press(pilot, "x")
        await shown(pilot, ChoiceModal)
        harmless(app)

"""Reading the log back: runs go with their show, and venues are found by whatever they were called."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import pytest

from showday.clockwork import SystemClock
from showday.desk import Desk
from showday.errors import ProblemsFound
from showday.library import Library
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.memory import find_venues, last_time, runs_at, venue_brief
from showday.opening import one_venue
from showday.review.before import HereBefore, differs
from showday.rig.model import EMPTY
from showday.run import events as ev
from showday.run.session import World
from showday.run.touring import ShowChanged, VenueMerged, VenueRenamed, VenueUnmerged
from showday.text.folded import bare
from tests.tui.evening import FakeClock
from tests.tui.nights import a_desk, a_show


@pytest.fixture
def desk() -> Desk:
    keeper, numbers = Keeper(Log.in_memory), count(1)
    return Desk(Library(), EMPTY, None, keeper, World(keeper, SystemClock(), lambda: f"id-{next(numbers):04d}"))


def test_a_show_whose_venue_is_corrected_takes_its_runs_along(desk: Desk) -> None:
    wrong, right = desk.add_venue("Old Mill"), desk.add_venue("New Mill")
    show = desk.plan_show(wrong, "2026-05-01", "20:00")
    run = desk.start_bare().state.run
    held = desk.book().shows[show]
    desk.record(show, ShowChanged(right, held.date, held.slot))
    book = desk.book()
    assert [r.id for r in runs_at(desk.keeper, book, book.venues[right])] == [run]
    assert runs_at(desk.keeper, book, book.venues[wrong]) == []
    brief = venue_brief(desk.keeper, book, book.venues[right], desk.plan_of)
    assert [line.date for line in brief.shows] == ["2026-05-01"]


@pytest.mark.parametrize("typed", ["Café Öresund", "cafe oresund", "CAFE  ÖRESUND", "oresund", "cafe oresnd"])
def test_a_venue_is_found_in_spite_of_accents_case_and_slips(desk: Desk, typed: str) -> None:
    wanted = desk.add_venue("Café Öresund", "Landby")
    desk.add_venue("Stone Barn", "Landby")
    assert find_venues(desk.book(), typed)[0][0].id == wanted


def test_a_name_typed_whole_means_that_venue_though_others_are_like_it(desk: Desk) -> None:
    hall, other = desk.add_venue("Kulturhaus Brücke", "Königsau"), desk.add_venue("Brücke Kulturhaus", "Königsau")
    desk.add_venue("Kulturhaus Bruecke", "Koenigsau")
    for typed, meant in (("kulturhaus brucke", hall), ("Brücke Kulturhaus konigsau", other)):
        assert one_venue(desk.book(), typed).id == meant
    with pytest.raises(ProblemsFound, match="Several venues"):
        one_venue(desk.book(), "kulturhaus")


def test_a_venue_is_found_by_its_town_misspelt(desk: Desk) -> None:
    wanted = desk.add_venue("The Anvil", "Koenigsau")
    assert [venue.id for venue, _ in find_venues(desk.book(), "konigsau")] == [wanted]


def test_a_venue_is_found_by_its_old_name_and_by_one_merged_into_it(desk: Desk) -> None:
    one, two = desk.add_venue("Stone Barn"), desk.add_venue("Riverside Tent")
    desk.record(one, VenueRenamed("Granite Hall"))
    desk.record(two, VenueMerged(one))
    assert [v.id for v, _ in find_venues(desk.book(), "stone barn")] == [one]
    assert [v.id for v, _ in find_venues(desk.book(), "riverside tent")] == [one]


def test_a_venue_taken_out_of_a_merge_has_its_runs_again(desk: Desk) -> None:
    one, two = desk.add_venue("Stone Barn"), desk.add_venue("Riverside Tent")
    desk.plan_show(two, "2026-05-01")
    run = desk.start_bare().state.run
    desk.record(two, VenueMerged(one))
    assert [r.id for r in runs_at(desk.keeper, desk.book(), desk.book().venues[one])] == [run]
    desk.record(two, VenueUnmerged())
    assert [r.id for r in runs_at(desk.keeper, desk.book(), desk.book().venues[two])] == [run]
    assert runs_at(desk.keeper, desk.book(), desk.book().venues[one]) == []


def test_the_book_is_read_once_until_something_is_written(desk: Desk) -> None:
    desk.add_venue("Stone Barn")
    book = desk.book()
    desk.start_bare()
    assert desk.book() is book
    desk.add_venue("Riverside Tent")
    assert len(desk.book().venues) == 2 and len(book.venues) == 1


def desk_on(path: Path, name: str) -> Desk:
    """A desk over a log on disk."""
    keeper, numbers = Keeper(lambda: Log.open(path)), count(1)
    return Desk(Library(), EMPTY, None, keeper, World(keeper, SystemClock(), lambda: f"{name}-{next(numbers):04d}"))


def test_another_program_that_writes_is_seen(tmp_path: Path) -> None:
    desks = [desk_on(tmp_path / "log.sqlite", name) for name in "ab"]
    mine, other = desks
    assert mine.book().venues == {}
    other.add_venue("Stone Barn")
    assert [venue.name for venue in mine.book().places()] == ["Stone Barn"]
    for each in desks:
        each.keeper.close()


class TestLastTime:
    """A line check at one place, twice; in between at another."""

    @pytest.fixture
    def desk(self) -> Desk:
        return a_desk(FakeClock())

    @staticmethod
    def check(desk: Desk, result: str, value: float) -> None:
        session = desk.start_run("line-check")
        session.go_to("signal@1")
        session.read(value)
        session.answer(result)
        session.finish(ev.STOPPED)
        desk.world.clock.advance(60)  # type: ignore[attr-defined]

    def test_only_earlier_runs_at_this_place_count(self, desk: Desk) -> None:
        here = a_show(desk, day="2026-04-01")
        self.check(desk, ev.GOOD, -18.0)
        a_show(desk, "Elsewhere", day="2026-04-02")
        self.check(desk, ev.FAULT, -3.0)
        desk.plan_show(here, "2026-05-02")
        session = desk.start_run("line-check")
        session.go_to("signal@1")
        session.read(-3.0)
        before = last_time(desk, session)
        assert before.steps["signal@1"].readings == (-18.0,)
        step = session.state.planned("signal@1")
        assert differs(before, session.state, step).startswith(
            "-3 dBFS is outside; it was -18 last time (2026-04-01)"
        )

    def test_without_a_show_there_is_no_last_time(self, desk: Desk) -> None:
        self.check(desk, ev.GOOD, -18.0)
        assert last_time(desk, desk.start_run("line-check")) == HereBefore()

    def test_the_brief_holds_this_place_against_the_others(self, desk: Desk) -> None:
        for number in range(5):
            a_show(desk, f"Elsewhere {number}", day=f"2026-04-{number + 1:02d}")
            self.check(desk, ev.GOOD, -18.0 - number % 2)
        here = a_show(desk, day="2026-05-01")
        self.check(desk, ev.GOOD, -13.0)
        book = desk.book()
        brief = venue_brief(desk.keeper, book, book.venues[here], desk.plan_of)
        assert [one.text for one in brief.unusual] == [
            "peak, input 1, Bass [dBFS]: -13 here, HIGHER than elsewhere, -19 to -18, mostly -18 (5 readings)"
        ]


@pytest.mark.parametrize(
    ("name", "known"),
    [("The  Old-Mill!", "the old mill"), ("Café Öresund", "cafe oresund"), ("R2D2_x", "r2d2 x"), ("\x00\x1b[", "")],
)
def test_names_are_compared_without_case_accents_and_signs(name: str, known: str) -> None:
    assert bare(name) == known

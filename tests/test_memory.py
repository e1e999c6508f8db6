"""Reading the log back: runs go with their show, and venues are found by whatever they were called."""

from __future__ import annotations

from itertools import count

import pytest

from showday.clockwork import SystemClock
from showday.desk import Desk
from showday.library import Library
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.memory import find_venues, runs_at, venue_brief
from showday.rig.model import EMPTY
from showday.run.session import World
from showday.run.touring import ShowChanged, VenueMerged, VenueRenamed


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


def test_a_venue_is_found_by_its_old_name_and_by_one_merged_into_it(desk: Desk) -> None:
    one, two = desk.add_venue("Stone Barn"), desk.add_venue("Riverside Tent")
    desk.record(one, VenueRenamed("Granite Hall"))
    desk.record(two, VenueMerged(one))
    assert [v.id for v, _ in find_venues(desk.book(), "stone barn")] == [one]
    assert [v.id for v, _ in find_venues(desk.book(), "riverside tent")] == [one]

"""Tonight's show, made of what is typed and what the log knows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count

import pytest

from showday.desk import Desk
from showday.errors import ProblemsFound, ShowdayError
from showday.library import Library
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.opening import (
    Asked,
    conditions,
    moment,
    one_venue,
    people_named,
    run_to_go_on_with,
    settle_show,
    show_day,
)
from showday.playbook.reader import read_playbook
from showday.rig.model import EMPTY, Input, Mix, Pack, Person, Rig
from showday.run.session import World
from showday.run.touring import VenueRenamed

NOON = datetime(2031, 7, 5, 12, 0, tzinfo=UTC)


@dataclass
class Clock:
    """Stands until it is told to go on."""

    at: datetime = NOON

    def now(self) -> datetime:
        return self.at

    def ticks(self) -> float:
        return self.at.timestamp()


@dataclass
class Tonight:
    """A desk, and what was told beside the work."""

    desk: Desk
    clock: Clock
    told: list[str] = field(default_factory=list)

    def settle(self, **asked: object) -> None:
        """Settle the show."""
        settle_show(self.desk, Asked(**asked), self.told.append)  # type: ignore[arg-type]

    def written(self) -> int:
        """Entries of venues, shows and items in the log."""
        return len(self.desk.keeper.touring())


@pytest.fixture
def tonight(monkeypatch: pytest.MonkeyPatch) -> Tonight:
    """An empty log at noon, UTC."""
    keeper = Keeper(Log.in_memory)
    numbers = count(1)
    clock = Clock()
    book, _ = read_playbook(
        "playbook: mine\ntitle: M\nsections: [{title: A, steps: [{id: a, do: B}]}]\n", "mine.yaml"
    )
    assert book is not None
    world = World(keeper, clock, lambda: f"00000000-0000-4000-8000-{next(numbers):012d}")
    return Tonight(Desk(Library({"mine": book}), EMPTY, None, keeper, world), clock)


def test_nothing_typed_and_nothing_known_is_no_show(tonight: Tonight) -> None:
    tonight.settle()
    assert tonight.desk.tonight() is None
    assert tonight.written() == 0


def test_a_new_venue_is_entered_and_told(tonight: Tonight) -> None:
    tonight.settle(venue=" The Old Hall ", slot="21.00".replace(".", ":"), changeover="20")
    show = tonight.desk.tonight()
    assert show is not None
    assert tonight.told == ["New venue: The Old Hall."]
    assert (show.date, show.slot, show.changeover) == ("2031-07-05", "21:00", 20.0)


def test_what_is_not_typed_again_stays_and_is_not_written_again(tonight: Tonight) -> None:
    tonight.settle(venue="The Old Hall", slot="21:00", changeover="20min", facts=("festival",), away=("Ada",))
    written = tonight.written()
    tonight.desk.show = ""
    tonight.settle(venue="the old HALL")
    tonight.desk.show = ""
    tonight.settle()
    show = tonight.desk.tonight()
    assert show is not None
    assert (show.slot, show.changeover, show.facts, show.away) == ("21:00", 20.0, ("festival",), ("Ada",))
    assert tonight.written() == written


def test_one_thing_may_be_changed_without_naming_the_venue(tonight: Tonight) -> None:
    tonight.settle(venue="The Old Hall", slot="21:00", changeover="20")
    tonight.settle(slot="21:30")
    show = tonight.desk.tonight()
    assert show is not None
    assert (show.slot, show.changeover) == ("21:30", 20.0)
    assert len(tonight.desk.book().shows) == 1


def test_a_slot_without_a_show_asks_for_the_venue(tonight: Tonight) -> None:
    with pytest.raises(ShowdayError, match=r"No show is entered for 2031-07-05\. Name its place with --venue\."):
        tonight.settle(slot="21:00")


def test_two_shows_of_one_day_are_not_guessed_between(tonight: Tonight) -> None:
    tonight.settle(venue="The Old Hall")
    tonight.settle(venue="Quay")
    tonight.settle()
    assert tonight.desk.tonight() is None


def test_a_name_like_another_is_neither_taken_nor_entered(tonight: Tonight) -> None:
    tonight.settle(venue="The Old Hall")
    with pytest.raises(ProblemsFound, match=r"There is no venue called 'The Old Hal' yet\. Like it: The Old Hall"):
        tonight.settle(venue="The Old Hal")
    assert len(tonight.desk.book().venues) == 1
    tonight.settle(venue="The Old Hal", new_venue=True)
    assert len(tonight.desk.book().venues) == 2


def test_a_name_that_only_shares_a_word_is_a_new_venue(tonight: Tonight) -> None:
    tonight.settle(venue="Café Süd")
    tonight.settle(venue="Café Nord")
    assert tonight.told == ["New venue: Café Süd.", "New venue: Café Nord."]


def test_a_former_name_is_the_same_place(tonight: Tonight) -> None:
    tonight.settle(venue="The Old Hall")
    [venue] = tonight.desk.book().venues
    tonight.desk.record(venue, VenueRenamed("Kraftwerk Süd"))
    tonight.settle(venue="the old hall")
    tonight.settle(venue="KRAFTWERK SUD")
    assert len(tonight.desk.book().venues) == len(tonight.desk.book().shows) == 1


@pytest.mark.parametrize(
    "asked",
    [
        {"date": "5.7.2031"},
        {"date": "2031-02-30"},
        {"slot": "25:00"},
        {"slot": "nine"},
        {"changeover": "0"},
        {"changeover": "-5"},
        {"changeover": "9999"},
        {"changeover": "soon"},
        {"facts": ("foggy",)},
        {"facts": ("not",)},
    ],
    ids=str,
)
def test_what_cannot_be_read_is_one_sentence_and_nothing_is_written(
    tonight: Tonight, asked: dict[str, object]
) -> None:
    with pytest.raises(ShowdayError):
        tonight.settle(venue="The Old Hall", **asked)
    assert not tonight.desk.book().shows


@pytest.mark.parametrize(
    ("typed", "made"),
    [
        (("festival",), ("festival",)),
        (("not", "indoors", "generator"), ("not indoors", "generator")),
        (("not indoors",), ("not indoors",)),
        (("Festival,outdoors",), ("festival", "outdoors")),
        (("uk", "uk"), ("uk",)),
    ],
)
def test_facts(typed: tuple[str, ...], made: tuple[str, ...]) -> None:
    assert conditions(typed) == made


def test_people_are_found_wherever_the_rig_names_them() -> None:
    rig = Rig(
        "r",
        people=(Person("Åsa"),),
        inputs=(Input("A", person="Ben"),),
        packs=(Pack("P", person="Cy"),),
        mixes=(Mix("M", people=("Dee",)),),
    )
    assert people_named(["asa", "BEN,cy", "dee"], rig) == ("Åsa", "Ben", "Cy", "Dee")
    with pytest.raises(ShowdayError, match="It names: Åsa, Ben, Cy, Dee"):
        people_named(["Zoltan"], rig)
    assert people_named(["Zoltan"], Rig("r")) == ("Zoltan",)


# -- days and nights -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hour", "day"),
    [(12, "2031-07-05"), (23, "2031-07-05"), (24, "2031-07-05"), (29, "2031-07-05"), (31, "2031-07-06")],
)
def test_a_night_that_runs_late_is_still_the_day_before(hour: int, day: str) -> None:
    midnight = datetime(2031, 7, 5).astimezone()  # local, as the clock on the wall
    assert show_day(midnight + timedelta(hours=hour)).isoformat() == day


def test_the_time_of_an_entry_that_cannot_be_read_is_long_ago() -> None:
    assert moment("2031-07-05T12:00:00.000Z") == NOON
    assert moment("2031-07-05T12:00:00") == NOON
    assert moment("rubbish").year == 1970


# -- what to go on with ----------------------------------------------------------------------------------------------


def test_without_a_show_the_last_24_hours_count(tonight: Tonight) -> None:
    run = tonight.desk.start_run("mine").state.run
    tonight.clock.at += timedelta(hours=23)
    found = run_to_go_on_with(tonight.desk, "mine")
    assert found is not None
    assert found.id == run
    tonight.clock.at += timedelta(hours=2)
    assert run_to_go_on_with(tonight.desk, "mine") is None
    assert run_to_go_on_with(tonight.desk, "other") is None


def test_with_a_show_its_own_run_counts_however_old(tonight: Tonight) -> None:
    tonight.settle(venue="The Old Hall", date="2031-07-05")
    run = tonight.desk.start_run("mine").state.run
    tonight.clock.at += timedelta(days=3)
    tonight.settle(venue="Quay")
    assert run_to_go_on_with(tonight.desk, "mine") is None
    tonight.settle(venue="The Old Hall", date="2031-07-05")
    found = run_to_go_on_with(tonight.desk, "mine")
    assert found is not None
    assert found.id == run


# -- which venue is meant ------------------------------------------------------------------------------------------


@pytest.fixture
def places(tonight: Tonight) -> Callable[[str], str]:
    """Finds a venue's name by a few words, among four."""
    for name, town in (("Café Ærlig", "Ålesund"), ("The Old Hall", "Lund"), ("Old Mill", "Lund"), ("Quay", "")):
        tonight.desk.add_venue(name, town)
    book = tonight.desk.book()
    quay = next(v.id for v in book.places() if v.name == "Quay")
    tonight.desk.record(quay, VenueRenamed("Harbour Shed"))
    return lambda words: one_venue(tonight.desk.book(), words).name


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("cafe ærlig", "Café Ærlig"),
        ("CAFE", "Café Ærlig"),
        ("the old hall", "The Old Hall"),
        ("hall", "The Old Hall"),
        ("quay", "Harbour Shed"),
        ("harbor shed", "Harbour Shed"),
        ("old mill", "Old Mill"),
    ],
)
def test_a_venue_by_part_of_its_name_or_an_older_one(places: Callable[[str], str], words: str, name: str) -> None:
    assert places(words) == name


def test_several_that_are_close_are_listed(places: Callable[[str], str]) -> None:
    with pytest.raises(ProblemsFound, match="Several venues are like 'lund'") as found:
        places("lund")
    assert "The Old Hall (Lund)" in str(found.value)
    assert "Old Mill (Lund)" in str(found.value)


def test_none_that_is_close_lists_what_there_is(places: Callable[[str], str], tonight: Tonight) -> None:
    with pytest.raises(ProblemsFound, match=r"No venue is called anything like 'qqqqqq'\. The log knows: Café Ærlig"):
        places("qqqqqq")

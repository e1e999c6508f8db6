"""Shows out to a calendar and dates back from one, after RFC 5545; a damaged or hostile file changes nothing."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from showday.calendar_file import MOST_BYTES, MOST_COMPONENTS, Dated, Found, calendar_of, dates_in
from showday.calendar_taking import taking
from showday.errors import FileTrouble
from showday.run import touring as tour
from showday.run.events import Entry, Event
from showday.run.touring import Book, fold_book

OSLO = ZoneInfo("Europe/Oslo")
_NUMBERS = count()


def at(stream: str, event: Event) -> Entry:
    number = next(_NUMBERS)
    return Entry(f"t{number}", stream, number, "2026-01-01T12:00:00.000Z", 0.0, event)


def a_book(*events: tuple[str, Event]) -> Book:
    mill = ("v1", tour.VenueAdded("The Old Mill, upper floor; north", "Aldford"))
    return fold_book(at(stream, event) for stream, event in (mill, *events))


def shows(**plans: tour.ShowPlanned) -> Book:
    return a_book(*plans.items())


def ics(*lines: str, uid: str = "1@fest", place: str = "The Barn\\, Landby") -> bytes:
    """A calendar of one entry."""
    event = ["BEGIN:VEVENT", f"UID:{uid}", "SUMMARY:The Late Bus", f"LOCATION:{place}", *lines, "END:VEVENT"]
    return wrapped(*event)


def wrapped(*lines: str) -> bytes:
    return "\r\n".join(["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//x//EN", *lines, "END:VCALENDAR", ""]).encode()


def written(book: Book, zone: tzinfo) -> list[Any]:
    """The entries of the calendar made of a book, as the library reads them."""
    return list(Calendar.from_ical(calendar_of(book, book.shows.values(), zone)).walk("VEVENT"))


def only(found: Found) -> Dated:
    (date,) = found.dates
    return date


# -- out ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("date", "slot", "zone", "start"),
    [
        ("2026-07-04", "21:30", OSLO, datetime(2026, 7, 4, 19, 30, tzinfo=UTC)),
        ("2026-01-04", "21:30", OSLO, datetime(2026, 1, 4, 20, 30, tzinfo=UTC)),
        ("2026-07-04", "00:30", OSLO, datetime(2026, 7, 4, 22, 30, tzinfo=UTC)),
        ("2026-07-04", "21:30", UTC, datetime(2026, 7, 4, 21, 30, tzinfo=UTC)),
    ],
    ids=["summer time", "winter time", "past midnight is the night before", "UTC"],
)
def test_stage_time_is_the_right_moment(date: str, slot: str, zone: tzinfo, start: datetime) -> None:
    book = shows(s1=tour.ShowPlanned("v1", date, slot, 20.0))
    (event,) = written(book, zone)
    assert event["DTSTART"].dt == start
    assert event["UID"] == "s1@showday"
    assert event["LOCATION"] == "The Old Mill, upper floor; north, Aldford"
    assert "Changeover: 20 min" in event["DESCRIPTION"]


def test_a_show_without_stage_time_takes_the_day_and_one_without_a_date_is_left_out() -> None:
    book = shows(s1=tour.ShowPlanned("v1", "2026-07-04"), s2=tour.ShowPlanned("v1", "some day", "20:00"))
    (event,) = written(book, UTC)
    assert event["DTSTART"].dt.isoformat() == "2026-07-04"


def test_the_same_log_gives_the_same_file_and_a_change_a_higher_sequence() -> None:
    planned = ("s1", tour.ShowPlanned("v1", "2026-07-04", "21:30"))
    before = a_book(planned)
    assert calendar_of(before, before.shows.values(), UTC) == calendar_of(before, before.shows.values(), UTC)
    after = a_book(planned, ("s1", tour.ShowChanged("v1", "2026-07-04", "22:00")))
    sequences = [written(book, UTC)[0]["SEQUENCE"] for book in (before, after)]
    assert sequences == [0, 1]


@given(st.text(max_size=60), st.text(max_size=60))
def test_no_name_breaks_the_file(name: str, town: str) -> None:
    book = fold_book([at("v", tour.VenueAdded(name, town)), at("s", tour.ShowPlanned("v", "2026-07-04", "21:30"))])
    raw = calendar_of(book, book.shows.values(), UTC)
    (event,) = written(book, UTC)
    assert event["DTSTART"].dt == datetime(2026, 7, 4, 21, 30, tzinfo=UTC)
    allowed = {9, 10, 13}
    assert not [byte for byte in raw if byte < 32 and byte not in allowed]
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))  # RFC 5545, section 3.1


# -- in ----------------------------------------------------------------------------------------------------------

WHEN = [
    ("with a zone, told in it", "DTSTART;TZID=Europe/Oslo:20260704T213000", OSLO, "2026-07-04", "21:30"),
    ("with a zone, told in UTC", "DTSTART;TZID=Europe/Oslo:20260704T213000", UTC, "2026-07-04", "19:30"),
    ("in UTC, summer", "DTSTART:20260704T193000Z", OSLO, "2026-07-04", "21:30"),
    ("in UTC, winter", "DTSTART:20260104T203000Z", OSLO, "2026-01-04", "21:30"),
    ("without any zone", "DTSTART:20260704T213000", OSLO, "2026-07-04", "21:30"),
    ("past midnight", "DTSTART;TZID=Europe/Oslo:20260705T003000", OSLO, "2026-07-04", "00:30"),
    ("UTC before, local past midnight", "DTSTART:20260704T223000Z", OSLO, "2026-07-04", "00:30"),
    ("the whole day", "DTSTART;VALUE=DATE:20260704", OSLO, "2026-07-04", ""),
]


@pytest.mark.parametrize(("line", "zone", "day", "slot"), [row[1:] for row in WHEN], ids=[row[0] for row in WHEN])
def test_a_date_comes_back_as_the_same_moment(line: str, zone: tzinfo, day: str, slot: str) -> None:
    found = only(dates_in(ics(line), "x.ics", zone))
    assert (found.date, found.slot, found.place, found.town) == (day, slot, "The Barn", "Landby")


@pytest.mark.parametrize(
    ("lines", "minutes"),
    [
        (["X-SHOWDAY-CHANGEOVER:PT20M"], 20),
        (["X-SHOWDAY-CHANGEOVER:PT1H30M"], 90),
        (["DESCRIPTION:Load in 16:00\\nChangeover: 15 min\\nbe quiet"], 15),
        (["DESCRIPTION:change-over 12\\,5 min"], 12.5),
        (["DESCRIPTION:doors 19:00"], None),
        (["X-SHOWDAY-CHANGEOVER:PT0M"], None),
        (["X-SHOWDAY-CHANGEOVER:P9999D"], None),
        ([], None),
    ],
)
def test_the_changeover_is_read_where_it_is_told(lines: list[str], minutes: float | None) -> None:
    assert only(dates_in(ics("DTSTART:20260704T213000", *lines), "x.ics", UTC)).changeover == minutes


REFUSED = {
    "repeats": ["DTSTART:20260704T213000", "RRULE:FREQ=WEEKLY"],
    "repeats by dates": ["DTSTART:20260704T213000", "RDATE:20260711T213000"],
    "one of a series": ["DTSTART:20260704T213000", "RECURRENCE-ID:20260704T213000"],
    "called off": ["DTSTART:20260704T213000", "STATUS:CANCELLED"],
    "no time": [],
    "two times": ["DTSTART:20260704T213000", "DTSTART:20260705T213000"],
    "a damaged time": ["DTSTART:not a time"],
    "an unknown zone": ["DTSTART;TZID=Middle/Earth:20260704T213000"],
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_show_is_refused_with_a_sentence(name: str) -> None:
    found = dates_in(ics(*REFUSED[name]), "x.ics", UTC)
    assert found.dates == ()
    (sentence,) = found.refused
    assert "The Late Bus" in sentence and sentence.endswith(".")


def test_an_entry_without_a_place_is_no_show() -> None:
    found = dates_in(ics("DTSTART:20260704T213000", place=""), "x.ics", UTC)
    assert found.dates == () and "no place" in found.refused[0]


DAMAGED = {
    "nothing": b"",
    "a picture": b"\x89PNG\r\n\x1a\n\x00\xff",
    "words": b"hello",
    "cut in the middle": ics("DTSTART:20260704T213000")[:-40],
    "without entries": wrapped(),
    "another sort of file": b"BEGIN:VCARD\r\nFN:x\r\nEND:VCARD\r\n",
    "too large": b"BEGIN:VCALENDAR\r\n" + b"X" * MOST_BYTES,
    "too many": wrapped(*["BEGIN:VEVENT", "END:VEVENT"] * (MOST_COMPONENTS + 1)),
    "too deep": wrapped(*["BEGIN:VEVENT"] * 5000, *["END:VEVENT"] * 5000),
    "never closed": wrapped(*["BEGIN:VEVENT"] * 5),
}


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_file_is_refused_with_one_sentence(name: str) -> None:
    with pytest.raises(FileTrouble) as trouble:
        dates_in(DAMAGED[name], "x.ics", UTC)
    assert "x.ics" in trouble.value.message and "\n" not in str(trouble.value)


def test_a_zone_that_is_a_trap_is_not_computed() -> None:
    """A rule that repeats every second since 1970 would keep a time zone library busy for minutes."""
    zone = ["BEGIN:VTIMEZONE", "TZID:Europe/Oslo", "BEGIN:STANDARD", "DTSTART:19700101T000000",
            "RRULE:FREQ=SECONDLY", "TZOFFSETFROM:+0900", "TZOFFSETTO:+0900", "END:STANDARD", "END:VTIMEZONE"]  # fmt: skip
    event = ["BEGIN:VEVENT", "UID:1", "LOCATION:Barn", "DTSTART;TZID=Europe/Oslo:20260704T213000", "END:VEVENT"]
    assert only(dates_in(wrapped(*zone, *event), "x.ics", UTC)).slot == "19:30"


def test_a_folded_line_that_looks_like_a_beginning_is_text() -> None:
    found = only(dates_in(ics("DTSTART:20260704T213000", "DESCRIPTION:see", " BEGIN:VTIMEZONE"), "x.ics", UTC))
    assert found.slot == "21:30"


@given(st.data())
def test_mutated_files_are_read_or_refused(data: st.DataObject) -> None:
    raw = bytearray(ics("DTSTART;TZID=Europe/Oslo:20260704T213000", "DESCRIPTION:Changeover: 15 min"))
    for _ in range(data.draw(st.integers(1, 6))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = dates_in(bytes(raw), "x.ics", UTC)
    except FileTrouble:
        return
    assert all(date.uid and date.place and len(date.place) <= 120 for date in found.dates)


# -- taking ------------------------------------------------------------------------------------------------------


def after(book_events: list[Entry], *dates: Dated) -> list[Entry]:
    """The log after these dates were taken."""
    made = taking(fold_book(book_events), dates)
    return [*book_events, *(at(stream, event) for stream, event in made.changes)]


GIG = Dated("1@fest", "The Late Bus", "Old Mill", "Aldford", "2026-07-04", "21:30", changeover=20)


def test_taking_twice_changes_nothing_the_second_time() -> None:
    log = after([], GIG)
    assert after(log, GIG) == log
    (show,) = fold_book(log).shows.values()
    assert (show.date, show.slot, show.changeover, show.uids) == ("2026-07-04", "21:30", 20, ("1@fest",))


def test_two_laptops_that_take_the_same_calendar_have_one_show_and_one_venue() -> None:
    joined = fold_book([*after([], GIG), *after([], GIG)])
    assert len(joined.shows) == len(joined.places()) == 1


@pytest.mark.parametrize(
    ("name", "town"),
    [("Old Mill", "Aldford"), ("old mill", ""), ("Öld Mill", "Aldford, Norway"), ("Mill of old", "")],
)
def test_a_known_venue_is_found_by_its_names(name: str, town: str) -> None:
    known = [at("v1", tour.VenueAdded("Mill of old")), at("v1", tour.VenueRenamed("Old Mill", "Aldford"))]
    book = fold_book(after(known, Dated("1", "x", name, town, "2026-07-04", "21:30")))
    assert [venue.id for venue in book.places()] == ["v1"]


def test_the_same_name_in_another_town_is_another_venue() -> None:
    known = [at("v1", tour.VenueAdded("Old Mill", "Aldford"))]
    book = fold_book(after(known, Dated("1", "x", "Old Mill", "Farhaven", "2026-07-04", "21:30")))
    assert len(book.places()) == 2


def test_a_show_entered_by_hand_is_the_one_in_the_calendar_and_moves_with_it() -> None:
    hand = [
        at("v1", tour.VenueAdded("Old Mill", "Aldford")),
        at("s1", tour.ShowPlanned("v1", "2026-07-04", "21:00", None, ("festival",))),
    ]
    moved = Dated("1@fest", "x", "Old Mill", "Aldford", "2026-07-05", "22:00")
    shows = fold_book(after(after(hand, GIG), moved)).shows
    assert list(shows) == ["s1"]
    assert (shows["s1"].date, shows["s1"].slot, shows["s1"].changeover) == ("2026-07-05", "22:00", 20)
    assert shows["s1"].facts == ("festival",)


def test_what_the_calendar_does_not_say_stays() -> None:
    whole_day = Dated("1@fest", "x", "Old Mill", "Aldford", "2026-07-04", "")
    (show,) = fold_book(after(after([], GIG), whole_day)).shows.values()
    assert (show.slot, show.changeover) == ("21:30", 20)


def test_two_shows_of_one_day_at_one_place_stay_two() -> None:
    early = Dated("2@fest", "x", "Old Mill", "Aldford", "2026-07-04", "16:00")
    book = fold_book(after([], GIG, early))
    assert sorted(show.slot for show in book.shows.values()) == ["16:00", "21:30"]


@pytest.mark.parametrize("slot", ["21:30", "00:15", ""])
def test_out_and_in_again_changes_nothing(slot: str) -> None:
    log = [at("v1", tour.VenueAdded("Old Mill", "Aldford")), at("s1", tour.ShowPlanned("v1", "2026-07-04", slot, 25))]
    book = fold_book(log)
    back = dates_in(calendar_of(book, book.shows.values(), OSLO), "x.ics", OSLO)
    assert taking(book, back.dates).changes == []

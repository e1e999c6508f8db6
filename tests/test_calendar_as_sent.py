"""Calendars as other programs send them: zones of their own, moved and cancelled entries, folds inside of a letter."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from showday.calendar_file import Found, dates_in
from showday.calendar_zones import zones_of

OSLO = ZoneInfo("Europe/Oslo")
HEAD = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//x//EN"]
END = ["END:VCALENDAR"]


def event(*lines: str, uid: str = "1@fest") -> list[str]:
    return ["BEGIN:VEVENT", f"UID:{uid}", "SUMMARY:The Late Bus", "LOCATION:The Barn\\, Landby", *lines, "END:VEVENT"]


def read(*lines: str, newline: str = "\r\n", before: bytes = b"") -> Found:
    raw = before + newline.join([*HEAD, *lines, *END, ""]).encode()
    return dates_in(raw, "x.ics", OSLO)


def zone_lines(name: str, summer: tuple[str, str, str], winter: tuple[str, str, str]) -> list[str]:
    """A definition of offset, month with day, and local time at which each part begins."""
    made = ["BEGIN:VTIMEZONE", f"TZID:{name}"]
    for kind, (to, rule, begins), (of, _, _) in (("DAYLIGHT", summer, winter), ("STANDARD", winter, summer)):
        made += [f"BEGIN:{kind}", f"DTSTART:16010101T{begins}", f"RRULE:FREQ=YEARLY;{rule}"]
        made += [f"TZOFFSETFROM:{of}", f"TZOFFSETTO:{to}", f"END:{kind}"]
    return [*made, "END:VTIMEZONE"]


CENTRAL = zone_lines(
    "Customized Time Zone",
    ("+0200", "BYDAY=-1SU;BYMONTH=3", "020000"),
    ("+0100", "BYDAY=-1SU;BYMONTH=10", "030000"),
)
SOUTH = zone_lines("S", ("+1100", "BYMONTH=10;BYDAY=1SU", "020000"), ("+1000", "BYMONTH=4;BYDAY=1SU", "030000"))
EAST = zone_lines("E", ("-0400", "BYMONTH=3;BYDAY=2SU", "020000"), ("-0500", "BYMONTH=11;BYDAY=1SU", "020000"))


@pytest.mark.parametrize(
    ("lines", "zone"),
    [(CENTRAL, "Europe/Berlin"), (SOUTH, "Australia/Sydney"), (EAST, "America/New_York")],
    ids=["central Europe", "the south", "the east of America"],
)
def test_a_plain_definition_says_what_the_zone_database_says(lines: list[str], zone: str) -> None:
    """Every third hour of four years, against the IANA data; hours that do not exist or come twice apart."""
    (made,) = zones_of(lines).values()
    kept = ZoneInfo(zone)
    when = datetime(2025, 1, 1)
    for _ in range(4 * 365 * 8):
        first, second = when.replace(tzinfo=kept, fold=0), when.replace(tzinfo=kept, fold=1)
        if first.utcoffset() == second.utcoffset():
            assert made.offset(when) == first.utcoffset(), when
        when += timedelta(hours=3)


@pytest.mark.parametrize(("lines", "night"), [(CENTRAL, (2026, 3, 29)), (SOUTH, (2026, 10, 4)), (EAST, (2026, 3, 8))])
def test_a_time_that_the_clock_skips_is_told_by_the_offset_before(
    lines: list[str], night: tuple[int, int, int]
) -> None:
    """RFC 5545, section 3.3.5."""
    (made,) = zones_of(lines).values()
    day = datetime(*night)
    assert made.offset(day + timedelta(hours=2, minutes=30)) == made.offset(day)
    assert made.offset(day + timedelta(hours=3)) != made.offset(day)


@pytest.mark.parametrize(
    "change",
    [
        ("FREQ=YEARLY", "FREQ=SECONDLY"),
        ("FREQ=YEARLY", "FREQ=YEARLY;INTERVAL=2"),
        ("FREQ=YEARLY", "FREQ=YEARLY;COUNT=9"),
        ("BYMONTH=3", "BYMONTH=13"),
        ("BYDAY=-1SU;BYMONTH=3", "BYDAY=SU;BYMONTH=3"),
        ("TZOFFSETTO:+0200", "TZOFFSETTO:soon"),
        ("DTSTART:16010101", "DTSTART:yesterday"),
    ],
    ids=lambda change: change[1],
)
def test_any_other_definition_is_not_followed(change: tuple[str, str]) -> None:
    lines = [line.replace(*change) for line in CENTRAL]
    found = read(*lines, *event('DTSTART;TZID="Customized Time Zone":20260704T213000'))
    assert found.dates == ()
    assert "which nobody here knows" in found.refused[0]


SLOTS = {
    "a zone that only the file knows": (
        [*CENTRAL, *event('DTSTART;TZID="Customized Time Zone":20260704T203000')],
        "20:30",
    ),
    "a zone by the name that one system has for it": (
        event('DTSTART;TZID="W. Europe Standard Time":20260704T203000'),
        "20:30",
    ),
    "load-in, stage time in the description": (
        event("DTSTART;TZID=Europe/Oslo:20260704T160000", "DESCRIPTION:Load-in 16:00\\nStage time: 21.30"),
        "21:30",
    ),
    "the whole day, slot in the description": (
        event("DTSTART;VALUE=DATE:20260704", "DESCRIPTION:slot 21:30"),
        "21:30",
    ),
    "UTC, slot in the description": (event("DTSTART:20260704T140000Z", "DESCRIPTION:On stage 9.30 pm"), "21:30"),
    "UTC by its name, slot in the description": (
        event("DTSTART;TZID=UTC:20260704T140000", "DESCRIPTION:On stage 21:30"),
        "21:30",
    ),
    "a date is no stage time": (event("DTSTART:20260704T193000Z", "DESCRIPTION:On stage 04.07.2026"), "21:30"),
    "another zone, slot in its time": (
        event("DTSTART;TZID=Europe/London:20260704T160000", "DESCRIPTION:Stage time 20:30"),
        "21:30",
    ),
    "past midnight": (event("DTSTART;VALUE=DATE:20260704", "DESCRIPTION:Slot 00:30"), "00:30"),
    "no time in the words": (event("DTSTART:20260704T193000Z", "DESCRIPTION:slot to be told\\, 45 min"), "21:30"),
    "no such time": (event("DTSTART:20260704T193000Z", "DESCRIPTION:Slot 29:30"), "21:30"),
}


@pytest.mark.parametrize("name", SLOTS)
def test_the_slot_of_the_evening(name: str) -> None:
    lines, slot = SLOTS[name]
    found = read(*lines)
    assert found.refused == ()
    assert [(date.date, date.slot) for date in found.dates] == [("2026-07-04", slot)]


MOVED = event("DTSTART:20260711T193000Z", "SEQUENCE:3")
FIRST = event("DTSTART:20260704T193000Z", "SEQUENCE:1")
OFF = event("DTSTART:20260711T193000Z", "SEQUENCE:4", "STATUS:CANCELLED")


@pytest.mark.parametrize("lines", [FIRST + MOVED, MOVED + FIRST], ids=["in order", "the other way round"])
def test_of_a_moved_entry_the_highest_sequence_counts(lines: list[str]) -> None:
    assert [date.date for date in read(*lines).dates] == ["2026-07-11"]


@pytest.mark.parametrize(
    "lines",
    [OFF, MOVED + OFF, OFF + MOVED, ["METHOD:CANCEL", *FIRST]],
    ids=["called off", "later", "told first", "the whole message"],
)
def test_what_is_called_off_is_told_and_not_taken(lines: list[str]) -> None:
    found = read(*lines)
    assert found.dates == ()
    (sentence,) = found.refused
    assert "is called off there" in sentence


def test_two_calendars_in_one_file_are_both_read() -> None:
    found = read(*FIRST, *END, *HEAD, *event("DTSTART:20260712T193000Z", uid="2@fest"))
    assert [date.date for date in found.dates] == ["2026-07-04", "2026-07-12"]


@pytest.mark.parametrize("newline", ["\r\n", "\n", "\r"], ids=["CRLF", "LF", "CR"])
@pytest.mark.parametrize("before", [b"", b"\xef\xbb\xbf"], ids=["plain", "with a byte order mark"])
def test_line_ends_and_byte_order_mark(newline: str, before: bytes) -> None:
    assert [date.slot for date in read(*FIRST, newline=newline, before=before).dates] == ["21:30"]


def test_a_fold_may_stand_inside_of_a_letter() -> None:
    """RFC 5545, section 3.1: lines are put together again before their bytes are read as letters."""
    raw = "\r\n".join([*HEAD, *FIRST, *END, ""]).encode().replace(b"The Barn", b"Caf\xc3\r\n \xa9")
    assert [date.place for date in dates_in(raw, "x.ics", UTC).dates] == ["Café"]


@pytest.mark.parametrize(
    ("local", "utc"),
    [
        ("20260329T013000", "2026-03-29T00:30"),
        ("20260329T033000", "2026-03-29T01:30"),
        ("20261025T033000", "2026-10-25T02:30"),
    ],
    ids=["before the clock goes forward", "after it", "after it went back"],
)
def test_the_nights_when_the_clock_changes(local: str, utc: str) -> None:
    """Moments of Europe/Oslo in UTC; a night that runs past midnight is still the day before."""
    found = dates_in("\r\n".join([*HEAD, *event(f"DTSTART;TZID=Europe/Oslo:{local}"), *END, ""]).encode(), "x", UTC)
    (date,) = found.dates
    day = datetime.fromisoformat(utc)
    assert date.slot == f"{day:%H:%M}"
    assert date.date == f"{day - timedelta(days=1):%Y-%m-%d}"

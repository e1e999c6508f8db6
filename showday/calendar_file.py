"""Shows as an iCalendar file (RFC 5545), and dates out of such a file.

The library is imported when a calendar is read or written: it takes longer to load than most commands to run.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import TYPE_CHECKING, Any

from showday import __version__
from showday.calendar_zones import Zone, zones_of
from showday.errors import FileTrouble
from showday.run.slot import AFTER_MIDNIGHT, slot_time
from showday.run.touring import Book, Show
from showday.text.safe import one_line
from showday.text.values import number

if TYPE_CHECKING:
    from icalendar import Event

MOST_BYTES = 4_000_000
MOST_COMPONENTS = 20_000
"""A file with more is no tour plan; both are choices of this program, against files that would fill the memory."""
DEEPEST = 8
"""Components inside of each other; RFC 5545 has none deeper than an alarm in an event in a calendar."""
LONGEST = 120
"""Characters of a name that are taken (a choice of this program)."""

HOME = "@showday"
"""Ends the UID of a show that was entered here."""
CHANGEOVER = "X-SHOWDAY-CHANGEOVER"
"""Our own property (RFC 5545, section 3.8.8.2): minutes before the slot, as a duration."""
_LINE_END = re.compile(r"\r\n|\r|\n")
_FOLD = re.compile(rb"(?:\r\n|\r|\n)[ \t]")
_DURATION = re.compile(r"PT(?:(\d{1,2})H)?(?:(\d{1,4})M)?")
_SAID = re.compile(r"change-?over\W{0,3}(\d{1,3}(?:[.,]\d)?)\s*min", re.IGNORECASE)
_STAGE = re.compile(
    r"\b(?:slot|stage time|on stage|set time)\W{0,4}(\d{1,2})[:.h](\d\d)(?!\d|\.\d)(?:\s*([ap])\.?m\b)?",
    re.IGNORECASE,
)
_UTC = ("UTC", "Etc/UTC")
_REPEATS = ("RRULE", "RDATE", "EXRULE", "RECURRENCE-ID")


@dataclass(frozen=True, slots=True)
class Dated:
    """One entry of a calendar that can be a show. Texts are foreign: show them as plain text."""

    uid: str
    title: str
    place: str
    town: str
    date: str
    """YYYY-MM-DD, the day of the show: a night that runs past midnight is still the day before."""
    slot: str
    """HH:MM by this laptop's clock, or in the zone asked for; empty for an entry that takes the whole day."""
    told: str = ""
    """HH:MM as the entry tells it in a time zone of its own; empty when that is the same."""
    zone: str = ""
    """The name of that zone."""
    changeover: float | None = None
    """Minutes; None when it does not say."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a calendar holds."""

    dates: tuple[Dated, ...]
    refused: tuple[str, ...]
    """Why some of its entries are no shows, as sentences."""


# -- out ---------------------------------------------------------------------------------------------------------


def calendar_of(book: Book, shows: Iterable[Show], zone: tzinfo | None = None) -> bytes:
    """The shows as an iCalendar file: the same log gives the same bytes.

    Times are UTC, from the slot in `zone` (None: this laptop's), so that no calendar has to know our zone. A show
    without a slot takes the whole day. UIDs stay, so that a calendar that takes the file again updates its entries.
    """
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", f"-//showday//{__version__}//EN")
    made.add("version", "2.0")
    for show in sorted(shows, key=lambda s: (s.date, s.slot, s.id)):
        event = _event_of(book, show, zone)
        if event is not None:
            made.add_component(event)
    return bytes(made.to_ical())


def uid_of(show: Show) -> str:
    """The UID of a show: that of the entry it came from, else one made of its id."""
    return show.uids[0] if show.uids else f"{show.id}{HOME}"


def _event_of(book: Book, show: Show, zone: tzinfo | None) -> Event | None:
    from icalendar import Event

    begins = slot_time(show, zone)
    try:
        day = date.fromisoformat(show.date)
    except ValueError:
        return None
    venue = book.venue(show.venue)
    name = one_line(venue.name, LONGEST) if venue else "a venue that is not in the log"
    event = Event()
    event.add("uid", one_line(uid_of(show), 250))
    event.add("dtstamp", _moment(show.changed))
    event.add("sequence", show.changes)
    event.add("summary", f"Show: {name}")
    if venue:
        event.add("location", ", ".join(one_line(part, LONGEST) for part in (venue.name, venue.town) if part))
    if begins is None:
        event.add("dtstart", day)
    else:
        event.add("dtstart", begins)
        event.add("duration", timedelta(hours=1))  # nobody knows how long the set is; an entry of no length is hidden
    if show.changeover:
        event.add("description", f"Changeover: {show.changeover:g} min before stage time.")
        event.add(CHANGEOVER, f"PT{round(show.changeover)}M")
    return event


def _moment(stamp: str) -> datetime:
    try:
        return datetime.fromisoformat(stamp.replace("Z", "+00:00")).astimezone(UTC).replace(microsecond=0)
    except (ValueError, OverflowError):
        return datetime(1970, 1, 1, tzinfo=UTC)


# -- in ----------------------------------------------------------------------------------------------------------


def dates_in(raw: bytes, file: str, zone: tzinfo | None = None) -> Found:
    """The dates of an iCalendar file; `file` is its name as shown.

    A time in UTC or in a zone of its own becomes the same moment in `zone` (None: this laptop's). A time without any
    zone is local already. A stage time in the description goes before that of the entry, which may be the load-in.
    FileTrouble when the file is no calendar, or too large.
    """
    from icalendar import Calendar

    text, zones = _without_zones(raw, file)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            calendars = Calendar.from_ical(text, multiple=True)
            entries = [_Entry(event, _called_off(event, c)) for c in calendars for event in c.walk("VEVENT")]
    except (ValueError, KeyError, TypeError, IndexError, AttributeError, OverflowError, RecursionError) as error:
        raise _no_calendar(file, one_line(str(error), 120)) from None
    if not calendars:
        raise _no_calendar(file, "there is none in it")
    dates: list[Dated] = []
    refused: list[str] = []
    for entry in _newest(entries):
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                dates.append(_dated(entry, zone, zones))
        except _Refused as why:
            refused.append(str(why))
        except (ValueError, KeyError, TypeError, IndexError, AttributeError, OverflowError):
            refused.append(f"'{_title(entry.event)}' is damaged.")
    if not entries:
        raise FileTrouble(f"{file} holds no dates.", "Export the shows from your calendar as an .ics file.")
    return Found(tuple(dates), tuple(refused))


@dataclass(frozen=True, slots=True)
class _Entry:
    event: Any
    called_off: bool


def _called_off(event: Any, calendar: Any) -> bool:
    """A calendar that is a message of cancelling need not say it again in each entry (RFC 5546, section 3.2.5)."""
    return "CANCEL" in (_text(calendar, "METHOD").upper(), _text(event, "STATUS").upper()[:6])


def _newest(entries: Iterable[_Entry]) -> list[_Entry]:
    """Of the versions of one entry the one of the highest SEQUENCE (RFC 5545, section 3.8.7.4); of equals the last."""
    best: dict[tuple[str, str], _Entry] = {}
    for place, entry in enumerate(entries):
        uid = _text(entry.event, "UID", 250)
        key = (uid, _text(entry.event, "RECURRENCE-ID")) if uid else ("", str(place))
        if key not in best or _sequence(entry.event) >= _sequence(best[key].event):
            best[key] = entry
    return list(best.values())


def _sequence(event: Any) -> int:
    said = _text(event, "SEQUENCE", 9)
    return int(said) if said.isdecimal() and said.isascii() else 0


class _Refused(Exception):
    """Why an entry is no show, in one sentence."""


def _no_calendar(file: str, why: str) -> FileTrouble:
    return FileTrouble(f"{file} is no calendar that can be read ({why}).", "Nothing was changed.")


def _without_zones(raw: bytes, file: str) -> tuple[str, dict[str, Zone]]:
    """The file's text without its own definitions of time zones, and those of them that are plain.

    FileTrouble when it is too large, too deep, or no text.
    """
    if len(raw) > MOST_BYTES:
        raise FileTrouble(f"{file} is larger than {MOST_BYTES // 1_000_000} MB.", "Export fewer dates.")
    try:
        # Lines are put together again as bytes: a fold may stand inside of a letter (RFC 5545, section 3.1).
        lines = _LINE_END.split(_FOLD.sub(b"", raw).decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise _no_calendar(file, "it is not UTF-8 text") from None
    kept: list[str] = []
    zones: list[str] = []
    depth = count = inside = 0
    for line in lines:
        word = line.strip().upper()
        if word.startswith("BEGIN:"):
            depth, count = depth + 1, count + 1
            inside += word == "BEGIN:VTIMEZONE" or inside > 0
        (zones if inside else kept).append(line)
        if word.startswith("END:"):
            depth -= 1
            inside -= inside > 0
        if depth > DEEPEST or count > MOST_COMPONENTS:
            raise _no_calendar(file, "it is nested too deep or holds too much")
    return "\r\n".join(kept), zones_of(zones)


def _dated(entry: _Entry, zone: tzinfo | None, zones: Mapping[str, Zone]) -> Dated:
    event = entry.event
    title = _title(event)
    if entry.called_off:
        raise _Refused(f"'{title}' is called off there; a show that is entered here stays.")
    if any(name in event for name in _REPEATS):
        raise _Refused(f"'{title}' repeats; enter each of its dates as an entry of its own.")
    place, town = _place(event)
    if not place:
        raise _Refused(f"'{title}' has no place.")
    start = event.get("DTSTART")
    if start is None or isinstance(start, list):
        raise _Refused(f"'{title}' has no time.")
    uid = _text(event, "UID", 250)
    if not uid:
        raise _Refused(f"'{title}' has no UID, so it could not be found again.")
    named = one_line(str(start.params.get("TZID", "")), 60)
    when = _in_its_zone(start.dt, named, zones, title)
    described = _stage_time(event)
    if described is not None:
        when = _at_stage_time(when, described, zone)
    return Dated(uid, title, place, town, *_when(when, named, zone), _changeover(event))


def _in_its_zone(when: date, named: str, zones: Mapping[str, Zone], title: str) -> date:
    """The time with the zone that it names, also where only the file itself says what that is."""
    if not isinstance(when, datetime) or when.tzinfo is not None or not named:
        return when
    offset = zones[named].offset(when) if named in zones else None
    if offset is None:
        raise _Refused(f"'{title}' is told in the time zone '{named}', which nobody here knows.")
    return when.replace(tzinfo=timezone(offset))


def _at_stage_time(when: date, slot: time, zone: tzinfo | None) -> datetime:
    """That day at the stage time of the description; an entry may begin with the load-in, or take the whole day."""
    if isinstance(when, datetime):
        if when.tzinfo is UTC or str(when.tzinfo) in _UTC:
            # The description is written in local time, whichever side of a change of the clock it lies on.
            when = when.astimezone(zone).replace(tzinfo=None)
        of, begins = when.tzinfo, when.time()
    else:
        of, begins = None, time(AFTER_MIDNIGHT)
    day = when.date() if isinstance(when, datetime) else when
    next_day = slot < time(AFTER_MIDNIGHT) <= begins
    return datetime.combine(day + timedelta(days=next_day), slot, of)


def _when(when: date, named: str, zone: tzinfo | None) -> tuple[str, str, str, str]:
    """Day and slot; and where the entry tells them in a zone that is not ours, its time and the zone's name."""
    if not isinstance(when, datetime):
        return when.isoformat(), "", "", ""
    local = when.astimezone(zone).replace(tzinfo=None) if when.tzinfo is not None else when
    other = bool(named) and local != when.replace(tzinfo=None)
    day = local.date() - timedelta(days=1) if local.time() < time(AFTER_MIDNIGHT) else local.date()
    return day.isoformat(), f"{local:%H:%M}", f"{when:%H:%M}" if other else "", named if other else ""


def _stage_time(event: Any) -> time | None:
    """The stage time that the description tells, such as `slot 21:30` or `Stage time: 9.30 pm`."""
    words = _STAGE.search(_text(event, "DESCRIPTION", 4000))
    if words is None:
        return None
    hour, minute, half = int(words[1]), int(words[2]), (words[3] or "").lower()
    if half and not 1 <= hour <= 12:
        return None
    hour = hour % 12 + 12 * (half == "p") if half else hour
    return time(hour, minute) if hour < 24 and minute < 60 else None


def _place(event: Any) -> tuple[str, str]:
    """The place's name and town: what stands before and behind the first comma."""
    name, _, rest = _text(event, "LOCATION", 400).partition(",")
    return one_line(name, LONGEST), one_line(rest, LONGEST)


def _title(event: Any) -> str:
    return _text(event, "SUMMARY", 80) or "an entry without a title"


def _text(event: Any, name: str, limit: int = 200) -> str:
    value = event.get(name)
    if isinstance(value, list):
        value = value[0] if value else ""
    return one_line(str(value), limit) if value is not None else ""


def _changeover(event: Any) -> float | None:
    """Minutes: our own property, else words such as `changeover 20 min` in the description."""
    ours = _DURATION.fullmatch(_text(event, CHANGEOVER))
    if ours and any(ours.groups()):
        found = 60.0 * int(ours[1] or 0) + int(ours[2] or 0)
    else:
        words = _SAID.search(_text(event, "DESCRIPTION", 4000))
        found = number(words[1]) if words else 0.0
    return found if 0 < found <= 24 * 60 else None


def shows_from(book: Book, day: str) -> Iterator[Show]:
    """Shows of that day and later; all with an empty day."""
    return (show for show in book.shows.values() if show.date >= day)

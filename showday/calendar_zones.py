"""Time zones that a calendar file defines itself (RFC 5545, section 3.6.5), as far as they are plain.

A definition is a program of a kind, so that only the usual one is followed: an offset, and one more for the summer, each
beginning on the same weekday of a month every year. Of any other nothing is said, and nothing loops.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

_NTH = re.compile(r"(-1|[+]?[1-5])([A-Z]{2})")
_OFFSET = re.compile(r"([+-])(\d\d)(\d\d)(?:\d\d)?")
_NO_GAP = timedelta()
_START = "%Y%m%dT%H%M%S"
_USUAL = {"FREQ", "BYMONTH", "BYDAY", "INTERVAL", "WKST"}


@dataclass(frozen=True, slots=True)
class Observance:
    """One part of a definition: from when on which offset holds."""

    summer: bool
    start: datetime
    """Local time at which it began for the first time."""
    offset: timedelta
    rule: tuple[int, int, int] | None = None
    """Month, which one in it (1 to 5, or -1 for the last), and weekday (0: Monday); None when it begins only once."""

    def begins(self, year: int) -> datetime | None:
        """When it begins in a year; None when it does not."""
        if self.rule is None:
            return self.start if self.start.year == year else None
        month, which, weekday = self.rule
        first, days = monthrange(year, month)
        day = 1 + (weekday - first) % 7 + 7 * (which - 1) if which > 0 else days - (first + days - 1 - weekday) % 7
        return datetime.combine(datetime(year, month, day), self.start.time()) if day <= days else None


@dataclass(frozen=True, slots=True)
class Zone:
    """A whole definition."""

    parts: tuple[Observance, ...]

    def offset(self, when: datetime) -> timedelta | None:
        """How far local time is ahead of UTC at a local time; None when the definition does not plainly say."""
        known = sorted((part for part in self.parts if part.start <= when), key=lambda part: part.start)
        winter = next((part for part in reversed(known) if not part.summer), None)
        summer = next((part for part in reversed(known) if part.summer), None)
        if winter is None or summer is None:
            only = winter or summer
            return only.offset if only is not None and len(self.parts) == 1 else None
        to_summer, to_winter = summer.begins(when.year), winter.begins(when.year)
        if to_summer is None or to_winter is None:
            return None
        # A time that the clock skips is told by the offset before the gap (RFC 5545, section 3.3.5).
        gap = summer.offset - winter.offset
        to_summer, to_winter = to_summer + max(gap, _NO_GAP), to_winter + max(-gap, _NO_GAP)
        between = min(to_summer, to_winter) <= when < max(to_summer, to_winter)
        return summer.offset if between == (to_summer < to_winter) else winter.offset


def zones_of(lines: Iterable[str]) -> dict[str, Zone]:
    """The definitions among a calendar's unfolded lines, by name; those that are not plain are left out."""
    found: dict[str, Zone] = {}
    name, parts, plain = "", list[Observance](), True
    values: dict[str, str] = {}
    for line in lines:
        word, _, value = line.partition(":")
        word, value = word.partition(";")[0].strip().upper(), value.strip()
        kind = value.upper()
        if word == "BEGIN" and kind == "VTIMEZONE":
            name, parts, plain = "", [], True
        elif word == "BEGIN":
            values = {}
        elif word == "END" and kind in ("STANDARD", "DAYLIGHT"):
            part = _observance(kind == "DAYLIGHT", values)
            plain = plain and part is not None
            parts += [part] if part else []
        elif word == "END" and kind == "VTIMEZONE":
            if name and parts and plain:
                found[name] = Zone(tuple(parts))
        elif word == "TZID":
            name = value
        else:
            values[word] = value
    return found


def _observance(summer: bool, values: dict[str, str]) -> Observance | None:
    offset = _OFFSET.fullmatch(values.get("TZOFFSETTO", ""))
    if offset is None or "RDATE" in values:
        return None
    try:
        start = datetime.strptime(values.get("DTSTART", ""), _START)
        rule = _rule(values["RRULE"]) if "RRULE" in values else None
    except ValueError:
        return None
    ahead = timedelta(hours=int(offset[2]), minutes=int(offset[3]))
    return Observance(summer, start, -ahead if offset[1] == "-" else ahead, rule)


def _rule(text: str) -> tuple[int, int, int]:
    """The yearly rule; ValueError when it is another one."""
    from icalendar.prop import vWeekday

    parts = dict(part.upper().partition("=")[::2] for part in text.split(";") if part)
    nth = _NTH.fullmatch(parts.get("BYDAY", ""))
    month = int(parts.get("BYMONTH", "0"))
    if parts.get("FREQ") != "YEARLY" or parts.get("INTERVAL", "1") != "1" or not parts.keys() <= _USUAL:
        raise ValueError(text)
    if nth is None or nth[2] not in vWeekday.week_days or not 1 <= month <= 12:
        raise ValueError(text)
    return month, int(nth[1]), (vWeekday.week_days[nth[2]] - 1) % 7  # theirs begin on Sunday

"""The brief as plain text and as plain data."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from showday.review.brief import Brief, Failure, ReadingLine, SectionTime
from showday.review.compare import trend
from showday.review.frequencies import frequency_lines
from showday.review.left_out import left_out_lines
from showday.run.attached import MISSING
from showday.run.to_fix import item_words
from showday.text.safe import one_line
from showday.text.values import duration

HEADINGS = {
    "contact": "Contacts",
    "supply": "Supply",
    "access": "Access",
    "distance": "Distances",
    "frequency": "Frequencies noted",
    "note": "Notes",
}
Section = tuple[str, list[str]]
"""A heading and its lines."""


def sections(brief: Brief) -> list[Section]:
    """The brief as headings with lines, most needed first; empty ones are left out."""
    made: list[Section] = [
        ("To fix, from here", [item_words(i) for i in brief.to_fix_here]),
        ("Again and again here", [r.text for r in brief.recurring]),
        ("Other here than elsewhere", [u.text for u in brief.unusual]),
        ("What failed here, and how it ended", [_failure(f) for f in brief.failures]),
        *((HEADINGS[t], [f"{n.text} ({n.at[:10]})" for n in brief.notes(t)]) for t in _TOPIC_ORDER),
        ("Frequencies kept here, newest first", frequency_lines(brief.frequencies)),
        ("What was tried here against faults", [h.text for h in brief.helped]),
        ("Readings that were outside", [_reading(r) for r in brief.readings if _was_outside(r)]),
        ("Noted during runs", [f"{n.date}  {n.about}: {n.text}" for n in brief.run_notes]),
        ("Left out, and what it cost", left_out_lines(brief.left_out)),
        ("Photos and files", _files(brief)),
        ("To fix, from elsewhere", [item_words(i) for i in brief.to_fix_elsewhere]),
        ("Usual time here (median)", _times(brief)),
        ("Shows", _shows(brief)),
        ("Other readings, newest first", [_reading(r) for r in brief.readings if not _was_outside(r)]),
    ]
    return [(heading, lines) for heading, lines in made if lines]


_TOPIC_ORDER = ("contact", "supply", "access", "distance", "frequency", "note")


def title(brief: Brief) -> str:
    """The venue's name, place and former names in one line."""
    venue = brief.venue
    place = ", ".join(part for part in (venue.town, venue.country) if part)
    former = f", formerly {', '.join(venue.former)}" if venue.former else ""
    return f"{venue.name}{f' ({place})' if place else ''}{former}"


def brief_text(brief: Brief) -> str:
    """The whole brief as plain text lines."""
    out = [one_line(title(brief), 200), "=" * min(60, len(one_line(title(brief), 200)))]
    found = sections(brief)
    if not found:
        out += ["", "Nothing is noted about this venue yet."]
    for heading, lines in found:
        out += ["", heading]
        out += [f"  {one_line(line, 500)}" for line in lines]
    return "\n".join(out) + "\n"


def brief_data(brief: Brief) -> dict[str, Any]:
    """The brief as plain data for JSON: the fields of `Brief`."""
    return asdict(brief)


def _failure(failure: Failure) -> str:
    cause = f"; cause: {failure.cause}" if failure.cause else ""
    return f"{failure.date}  {failure.what}: {failure.ended}{cause}"


def _reading(reading: ReadingLine) -> str:
    values = [f"{value:g}{' OUTSIDE' if inside is False else ''} ({date})" for date, value, inside in reading.values]
    moved = trend([value for _, value, _ in reversed(reading.values)])
    return f"{reading.what} [{reading.unit}]: {', '.join(values)}{f'; {moved}' if moved else ''}"


def _files(brief: Brief) -> list[str]:
    lines = []
    for day, file in brief.files:
        about = f": {file.about}" if file.about else ""
        gone = f" ({MISSING})" if file.path in brief.missing else ""
        lines.append(f"{f'{day}  ' if day else ''}{file.path}{about}{gone}")
    return lines


def _was_outside(reading: ReadingLine) -> bool:
    return any(inside is False for _, _, inside in reading.values)


def _times(brief: Brief) -> list[str]:
    """One line a playbook: its sum, then its sections."""
    books: dict[str, list[SectionTime]] = {}
    for time in brief.times:
        books.setdefault(time.playbook, []).append(time)
    lines = []
    for title, times in books.items():
        parts = ", ".join(f"{t.section} {duration(t.median_s)}" for t in times)
        lines.append(f"{title}: {duration(sum(t.median_s for t in times))} ({parts})")
    return lines


def _shows(brief: Brief) -> list[str]:
    lines: list[str] = []
    for show in brief.shows:
        slot = f", stage {show.slot}" if show.slot else ""
        runs: Iterable[str] = (f"{r.title} {r.outcome} ({r.counts})" for r in show.runs)
        lines.append(f"{show.date}{slot}: {'; '.join(runs) or 'no runs'}")
    return lines

"""What tonight's screen says, from the evening as the core tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from showday.evening import Evening, PlaybookGlance, RunGlance, ago
from showday.opening import moment, place
from showday.run import events as ev
from showday.run.to_fix import ToFix, item_words
from showday.run.touring import Book, Show
from showday.text.safe import one_line
from showday.tui.lines import Line, say
from showday.tui.standing import TimeLeft, minutes_words
from showday.tui.widgets.pick_list import Row, heading, lead

WIDEST_TITLE = 22
"""Columns of a playbook's title; a longer one pushes its status to the right (a choice of this program)."""

RUN, PLAYBOOK, FIX, SHOW, OWED = "run", "playbook", "fix", "show", "owed"
CHANGE, DEMO, VENUE, PAST = "change", "demo", "venue", "past"
"""What a row leads to."""


@dataclass(frozen=True, slots=True)
class To:
    """Where a row leads."""

    kind: str
    id: str = ""


def head_lines(show: Show | None, book: Book, away: Sequence[str], now: datetime, today: str) -> list[Line]:
    """Venue and day, then time, facts and who is away."""
    if show is None:
        return [Line("title", "Tonight: no venue entered"), Line("count", f"{day_words(today)} | x enters the venue")]
    venue = book.venue(show.venue)
    name = place(venue) if venue else "a venue that is not in the log"
    parts = TimeLeft.of(show).parts(None, now)
    if show.changeover and not any(part.startswith("changeover") for part in parts):
        parts.insert(0, f"changeover {minutes_words(show.changeover * 60)}")
    lines = [Line("title", f"{name} | {day_words(show.date)}")]
    lines += say("count", " | ".join(parts) or "x enters stage time and changeover")
    about = [", ".join(show.facts)] if show.facts else []
    about += [f"away: {', '.join(away)}"] if away else []
    lines += say("about", " | ".join(about))
    if show.date != today:
        lines.append(Line("warning", f"! This show is not today, {day_words(today)}"))
    return lines


def coming_lines() -> list[Line]:
    """What stands on top while the example act is put together."""
    return [
        Line("title", "The example act: nothing of it is kept"),
        Line("warning", "! Its shows and runs are being written into a log: a moment"),
    ]


def title_rows(playbooks: Sequence[PlaybookGlance]) -> list[Row]:
    """The playbooks by their titles alone."""
    width = _width(playbooks)
    return [
        *heading("The day"),
        *(
            Row(
                f"  {one_line(p.title, 120):<{width}}  {one_line(p.phase, 40)}",
                "row",
                lead(str(n) if n < 10 else ""),
                To(PLAYBOOK, p.id),
            )
            for n, p in enumerate(playbooks, 1)
        ),
    ]


def _width(playbooks: Sequence[PlaybookGlance]) -> int:
    return min(WIDEST_TITLE, max((len(p.title) for p in playbooks), default=0))


def day_words(day: str) -> str:
    """`Sat 2 May 2026` of YYYY-MM-DD; the text itself when it is no date."""
    try:
        found = date.fromisoformat(day)
    except ValueError:
        return one_line(day, 40)
    return f"{found:%a} {found.day} {found:%b %Y}"


def rows(
    evening: Evening, book: Book, show: Show | None, today: Sequence[Show], first: bool, now: datetime
) -> list[Row]:
    """The whole list, what matters now on top."""
    made: list[Row] = []
    if first:
        made += _first_rows()
    elif show is None and today:
        made += heading("Which show is tonight's?")
        made += [Row(_show_words(s, book), "strong", value=To(SHOW, s.id)) for s in today]
    if evening.go_on:
        made += heading("Go on with")
        made += [_run_row(glance, book, now, tonight=True) for glance in evening.go_on]
    made += heading("The day")
    width = _width(evening.playbooks)
    made += [_playbook_row(n, p, width) for n, p in enumerate(evening.playbooks, 1)]
    if not evening.playbooks:
        made.append(Row("No playbook can be used; p says why.", "warning"))
    if evening.to_fix:
        today_is = show.date if show else ""
        made += heading(f"To fix: {len(evening.to_fix)}")
        made += [item_row(item, book, today_is) for item in evening.to_fix]
    if evening.owed:
        made += heading("Musts owed tonight")
        made += [
            Row(f"{title}: {text}", "warning", lead("!"), To(OWED, f"{run} {n}"))
            for n, (run, title, text) in enumerate(evening.owed)
        ]
    if evening.left_open:
        made += heading("Left open at other shows")
        made += [_run_row(glance, book, now) for glance in evening.left_open]
        if evening.more_open:
            made.append(Row(f"and {evening.more_open} more among the runs of the past", "dim", value=To(PAST)))
    return [*made, *_last_rows(show, book)]


def next_of(evening: Evening) -> To | None:
    """Where the mark stands first: the run to go on with, else the playbook behind the last one that was begun."""
    if evening.go_on:
        return To(RUN, evening.go_on[0].record.id)
    begun = [n for n, p in enumerate(evening.playbooks) if p.run]
    rest = [p for p in evening.playbooks[begun[-1] + 1 if begun else 0 :] if not p.unfit]
    return To(PLAYBOOK, rest[0].id) if rest else None


def _first_rows() -> list[Row]:
    return [
        *heading("First time here"),
        Row("Enter tonight's venue", "strong", lead("x"), To(CHANGE)),
        Row("Look at the example act first; nothing of it is kept", value=To(DEMO)),
        Row("Or take a playbook below: it works without a venue too", "dim"),
    ]


def _last_rows(show: Show | None, book: Book) -> list[Row]:
    made = heading("Look back")
    venue = book.venue(show.venue) if show else None
    if venue is not None and show is not None:
        here = book.same_place(venue.id)
        before = sum(1 for s in book.shows.values() if s.venue in here and s.date < show.date)
        visits = f"{before} shows before" if before > 1 else "one show before" if before else "no show before"
        made.append(Row(f"What is known of {one_line(venue.name, 60)} ({visits})", lead=lead("v"), value=To(VENUE)))
    return [*made, Row("Runs of the past", lead=lead("b"), value=To(PAST))]


def _show_words(show: Show, book: Book) -> str:
    venue = book.venue(show.venue)
    return " | ".join(filter(None, (place(venue) if venue else "unknown venue", show.slot)))


def mark_of(glance: RunGlance | None) -> str:
    """One character for how a run stands; the word stands beside it."""
    if glance is None:
        return " "
    if glance.unfinished:
        return ">"
    if glance.owed:
        return "!"
    return "x" if glance.record.outcome == ev.COMPLETE else "-"


def _playbook_row(number: int, glance: PlaybookGlance, width: int) -> Row:
    status = glance.run.status if glance.run else f"not for tonight ({glance.unfit})" if glance.unfit else "not begun"
    phase = f", {one_line(glance.phase, 40)}" if glance.phase and glance.run is None else ""
    title = one_line(glance.title, 120)
    key = lead(str(number) if number < 10 else "")
    kind = "dim" if glance.unfit and glance.run is None else "row"
    return Row(f"{mark_of(glance.run)} {title:<{width}}  {status}{phase}", kind, key, To(PLAYBOOK, glance.id))


def _run_row(glance: RunGlance, book: Book, now: datetime, *, tonight: bool = False) -> Row:
    venue = book.venue(glance.record.venue) if glance.record.venue and not tonight else None
    parts = [f"{one_line(glance.record.title, 120)}, {glance.status}", place(venue) if venue else ""]
    parts.append(ago(moment(glance.record.last), now))
    if glance.next and tonight:
        parts.append(f"next: {one_line(glance.next, 160)}")
    text = " | ".join(part for part in parts if part)
    return Row(text, "strong" if tonight else "row", lead(">"), To(RUN, glance.record.id))


def item_row(item: ToFix, book: Book, today: str = "") -> Row:
    """A to-fix item as a row; what is overdue stands out."""
    kind = "warning" if item.overdue(today) else "dim" if item.closed else "row"
    mark = "x" if item.closed else "*"
    words = one_line(item_words(item, today, len(book.files_of(item.id))), 400)
    return Row(words, kind, lead(mark), To(FIX, item.id))

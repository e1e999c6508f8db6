"""What the brief's screen lists: the core's sections, long ones folded, each row with where it leads."""

from __future__ import annotations

from collections.abc import Collection

from showday.review import telling
from showday.review.brief import Brief
from showday.run.touring import TOPICS
from showday.text.cautions import RADIO_LAW
from showday.tui.tonight_view import To
from showday.tui.widgets.pick_list import Row, heading, lead

MOST_OPEN = 8
"""Lines of a section that are shown without unfolding it (a choice of this program)."""

FIX, RUN, FOLD = "fix", "run", "fold"
"""What a row leads to."""

TOPIC_WORDS = {
    "note": "anything else",
    "contact": "a contact: who, and how to reach them",
    "supply": "the supply: sockets, breakers, what shares them",
    "frequency": "frequencies: what is in use here",
    "access": "access: doors, stairs, times, where to park",
    "distance": "distances: stage to socket, to the desk, to the van",
}
"""What a note can be about; every topic of `TOPICS` has its words."""


def rows(brief: Brief, unfolded: Collection[str]) -> list[Row]:
    """Every section, most needed first; `unfolded` are headings of long sections that are shown whole."""
    leads = leads_of(brief)
    made: list[Row] = []
    for title, lines in telling.sections(brief):
        if title == "Shows":
            made += _shows(brief)
            continue
        folds = len(lines) > MOST_OPEN
        if folds:
            sign = "-" if title in unfolded else "+"
            outside = sum("OUTSIDE" in line for line in lines)
            more = f", {outside} OUTSIDE" if outside else ""
            made += [Row("", "gap"), Row(f"{title}: {len(lines)} lines{more}", "strong", lead(sign), To(FOLD, title))]
        else:
            made += heading(title)
        if not folds or title in unfolded:
            made += [_row(line, leads.get(title, ()), n) for n, line in enumerate(lines)]
    return made or [Row("Nothing is noted about this venue yet. n notes something.", "dim")]


def leads_of(brief: Brief) -> dict[str, list[To]]:
    """Where the lines of a section lead, in their order."""
    return {
        "To fix, from here": [To(FIX, item.id) for item in brief.to_fix_here],
        "To fix, from elsewhere": [To(FIX, item.id) for item in brief.to_fix_elsewhere],
        "What failed here, and how it ended": [To(RUN, failure.run) for failure in brief.failures],
    }


def _row(line: str, leads: Collection[To], index: int) -> Row:
    to = list(leads)[index] if index < len(leads) else None
    if to is None:
        kind = "warning" if "OUTSIDE" in line or "TROUBLE: " in line else "row"
        return Row(line, "dim" if line == RADIO_LAW else kind)
    return Row(line, lead=lead("*" if to.kind == FIX else ">"), value=to)


def _shows(brief: Brief) -> list[Row]:
    made = heading("Shows")
    for show in brief.shows:
        slot = f", stage {show.slot}" if show.slot else ""
        made.append(Row(f"{show.date}{slot}" + ("" if show.runs else ": no runs"), "dim"))
        made += [
            Row(f"{run.title}, {run.outcome}: {run.counts}", lead=lead(">"), value=To(RUN, run.run))
            for run in show.runs
        ]
    return made


def topic_choices() -> list[tuple[str, str]]:
    """Keys and words of what a note can be about."""
    return [(str(n), TOPIC_WORDS.get(topic, topic)) for n, topic in enumerate(TOPICS, 1)]

"""The brief of a venue, whom to call, and what is still to be fixed."""

from __future__ import annotations

from collections.abc import Sequence

from showday.paper.model import CAUTION, DENSE, PLAIN, SMALL, Blank, Block, Column, Part, Sheet, Table, Tick, Words
from showday.review.brief import Brief
from showday.review.telling import sections, title
from showday.rig.model import Rig
from showday.run.to_fix import ToFix
from showday.run.touring import Venue

TO_ASK = (
    "Local emergency number (ask on arrival)",
    "First aid, where",
    "Address for an ambulance, which gate",
    "House engineer",
    "Stage manager",
    "Electrician",
    "Who decides on frequencies here",
)
"""What to ask for on arrival: common practice."""
SHOCK = (
    "Somebody hangs on a live case: do not touch them. Switch off at the source, then call the emergency number.",
    "Anything tingles: stop, touch nothing, have the electrician switch off. Never lift the protective earth.",
)
"""First aid at an electric shock begins with switching off: common practice."""


def brief_sheet(brief: Brief) -> Sheet:
    """The brief, heading by heading; what is to be fixed can be ticked."""
    parts = []
    for heading, lines in sections(brief):
        ticked = heading.startswith("To fix")
        blocks = tuple(Tick(line) if ticked else Words(line, PLAIN) for line in lines)
        parts.append(Part(heading, blocks))
    if not parts:
        parts.append(Part("", (Words("Nothing is noted about this venue yet."),)))
    return Sheet(f"Brief: {title(brief)}", tuple(parts), kind=DENSE)


def contact_sheet(rig: Rig, venue: Venue | None) -> Sheet:
    """Emergency contacts: blanks for what only the place knows, what was noted there, and the act's own people."""
    here: list[Block] = [Words(text, CAUTION) for text in SHOCK]
    here += [Blank(label) for label in TO_ASK]
    parts = [Part("Here", tuple(here))]
    notes = [note for note in venue.notes if note.topic == "contact"] if venue else []
    if notes:
        parts.append(Part("Noted here before", tuple(Words(f"{note.text} ({note.at[:10]})") for note in notes)))
    if rig.people:
        columns = (Column("Name", 8), Column("Plays", 10), Column("Phone", 12))
        rows = tuple((person.name, person.plays, "") for person in rig.people)
        parts.append(Part("The act", (Table(columns, rows, ticked=False),)))
    else:
        parts.append(Part("The act", tuple(Blank("Name and phone") for _ in range(4))))
    return Sheet("Emergency contacts", tuple(parts))


def to_fix_sheet(items: Sequence[ToFix], today: str = "") -> Sheet:
    """The open list in the order given, with room for what is found today; `today` as YYYY-MM-DD tells what is overdue."""
    blocks: list[Block] = [
        Tick(
            f"{item.text} ({item.about})" if item.about and item.about not in item.text else item.text,
            until=_who_and_when(item, today),
            note="; ".join(text for text in (f"since {item.opened[:10]}", item.likely(), *item.notes) if text),
        )
        for item in items
    ]
    if not blocks:
        blocks.append(Words("Nothing is open."))
    blocks.append(Words("New today, to be entered when the laptop is back:", SMALL))
    blocks += [Blank("") for _ in range(5)]
    return Sheet("To fix", (Part("", tuple(blocks)),))


def _who_and_when(item: ToFix, today: str) -> str:
    due = f"OVERDUE since {item.due}" if item.overdue(today) else f"due {item.due}" if item.due else ""
    used = f"used up: {item.uses}" if item.uses else ""
    return ", ".join(text for text in (item.owner, due, used) if text)

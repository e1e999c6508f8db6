"""Which sheets a word asks for, made of library, rig and log. Nothing is written: printing changes no log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from showday.counsel import walks_of
from showday.desk import Desk
from showday.errors import FileTrouble, ShowdayError
from showday.evening import shows_of
from showday.fault.authored import authored_strategy
from showday.fault.compile import compile_tree
from showday.fault.learn import learn
from showday.fault.strategy import computed_strategy
from showday.memory import find_venues, venue_brief
from showday.opening import ALIKE, faults_like, one_venue, place, playbook_named, show_day
from showday.paper.checklist import checklist_sheet
from showday.paper.frequencies import frequency_sheet
from showday.paper.labels import label_sheet
from showday.paper.model import LETTER_REGIONS, Paper, Sheet
from showday.paper.patch import input_sheet, output_sheet
from showday.paper.rounds import Tables
from showday.paper.tree import tree_sheet
from showday.paper.venue import brief_sheet, contact_sheet, to_fix_sheet
from showday.playbook.conditions import holds
from showday.radio_desk import tonight_plan
from showday.rig.model import KINDS
from showday.rig.words import named_things, thing_fields
from showday.run.past_walks import lessons
from showday.run.touring import Show, Venue
from showday.spares import planned_fields
from showday.text.safe import one_line

ROUGH = 0.1
"""Turns less likely than this follow the p/c rule on paper. A choice of this program: the shipped trees then cost at
most 5 % more than with `pricing.ROUGH`, and take far fewer pages."""

ALL, TREE, BRIEF = "all", "tree", "brief"
REST = (
    "Not in here: what is done at home (`showday print packing`, `print bench-check`), reasons and large type (a list by "
    "its name), the author's order of the fault trees (`--author`), all readings of the place (`print brief`)."
)
AT_HOME = "at home"
"""The phase of playbooks that are done before the van leaves: they are not in the packet."""
TO_LOOK_UP = ("Usual time here (median)", "Shows", "Other readings, newest first")
"""Headings of the brief that are not in the packet: nothing of them is needed when something fails."""


@dataclass(frozen=True, slots=True)
class Tonight:
    """Where and when the paper is for."""

    desk: Desk
    venue: Venue | None
    """None when none is entered, or when the log does not know it."""
    named: str
    """The venue as it is printed."""
    date: str
    author: bool = False
    """Fault trees in the author's order."""


def settle(desk: Desk, typed: str, *, author: bool = False) -> Tonight:
    """Today's show, else the next one, at the venue typed if one is; the desk then stands at it.

    ProblemsFound when several venues of the log are meant.
    """
    day = show_day(desk.world.clock.now()).isoformat()
    book = desk.book()
    venue = _venue(desk, typed) if typed else None
    here = book.same_place(venue.id) if venue else set()
    show = None if typed and venue is None else _next_show(desk, day, here)
    desk.show = show.id if show else ""
    if show and venue is None:
        venue = book.venue(show.venue)
    return Tonight(desk, venue, place(venue) if venue else one_line(typed, 100), show.date if show else day, author)


def _venue(desk: Desk, typed: str) -> Venue | None:
    """The venue of the log that is meant; None when the name is a new one, which is then printed as it was typed."""
    known = [likeness for _, likeness in find_venues(desk.book(), typed)]
    return one_venue(desk.book(), typed) if known and known[0] >= ALIKE else None


def _next_show(desk: Desk, day: str, here: set[str]) -> Show | None:
    coming = sorted((s for s in desk.book().shows.values() if s.date >= day), key=lambda s: (s.date, s.slot, s.id))
    fitting = [show for show in coming if not here or show.venue in here]
    if not fitting:
        return None
    same_day = [show for show in shows_of(desk, fitting[0].date) if show in fitting]
    if len(same_day) > 1:
        raise ShowdayError(f"There are {len(same_day)} shows on {same_day[0].date}.", "Say which with --venue.")
    return fitting[0]


def paper_of(tonight: Tonight, what: str, sheets: list[Sheet]) -> Paper:
    """The sheets with act, venue and date on each page."""
    rig = tonight.desk.rig
    printed = tonight.desk.world.clock.now().astimezone().strftime("%Y-%m-%d %H:%M")
    return Paper(
        tuple(sheets),
        rig.act,
        tonight.named,
        tonight.date,
        printed,
        rig.region in LETTER_REGIONS,
        REST * (what == ALL),
    )


def sheets_for(tonight: Tonight, what: str, words: str) -> list[Sheet]:
    """The sheets that a word asks for, with the words behind it; the word is a playbook's when it is none of ours."""
    if what == TREE:
        return _trees_named(tonight, words)
    if what == BRIEF:
        return [_brief(tonight, words)]
    made = MADE.get(what)
    if made is None:
        return [_checklist(tonight.desk, f"{what} {words}".strip(), short=False)]
    if words:
        raise ShowdayError(f"Nothing can stand behind '{what}': '{one_line(words, 60)}'.", "Leave it out.")
    return made(tonight)


# -- one kind of sheet each ----------------------------------------------------------------------------------------


def _checklist(desk: Desk, named: str, *, short: bool) -> Sheet:
    id = playbook_named(desk.library, named)
    plan = desk.plan_for(id)
    steps = [desk.shown(step) for step in plan.steps]
    tables = Tables(desk.library.playbooks[id], _fields_of_things(desk), desk.sentence_fields())
    return checklist_sheet(plan, steps, away=desk.away(), short=short, tables=tables)


def _fields_of_things(desk: Desk) -> dict[tuple[str, str], dict[str, str]]:
    """What is known of everything in the rig, with tonight's frequencies, by kind and id."""
    return {
        (kind, id): thing_fields(kind, thing) | planned_fields(desk, kind, id)
        for kind in KINDS
        for id, thing in named_things(kind, desk.rig)
    }


def _patch(tonight: Tonight) -> list[Sheet]:
    rig = tonight.desk.rig
    if not (rig.inputs or rig.mixes or rig.loads):
        raise FileTrouble(
            "There is no rig to print a patch sheet of.", "`showday where` says where its file belongs."
        )
    made = [input_sheet(rig, tonight.desk.away())] if rig.inputs else []
    made.append(output_sheet(rig))
    return made + _labels(tonight)


def _labels(tonight: Tonight) -> list[Sheet]:
    rig = tonight.desk.rig
    return [label_sheet(rig)] if rig.inputs or rig.mixes or rig.packs else []


def _frequencies(tonight: Tonight) -> list[Sheet]:
    return [frequency_sheet(tonight.desk.rig, tonight_plan(tonight.desk))]


def _contacts(tonight: Tonight) -> list[Sheet]:
    return [contact_sheet(tonight.desk.rig, tonight.venue)]


def _to_fix(tonight: Tonight) -> list[Sheet]:
    return [to_fix_sheet(tonight.desk.book().open_items(), tonight.date)]


def _brief(tonight: Tonight, words: str) -> Sheet:
    desk = tonight.desk
    wanted = words or ("" if tonight.venue else tonight.named)
    venue = one_venue(desk.book(), wanted) if wanted else tonight.venue
    if venue is None:
        raise ShowdayError("Which venue's brief is wanted is not said.", "Write `showday print brief VENUE`.")
    return brief_sheet(venue_brief(desk.keeper, desk.book(), venue, desk.plan_of))


def _trees_named(tonight: Tonight, words: str) -> list[Sheet]:
    desk = tonight.desk
    if not words:
        return _trees(tonight)
    found = faults_like(desk, words)
    if not found:
        listed = ", ".join(desk.library.trees)
        raise FileTrouble(f"No fault tree is like '{one_line(words, 60)}'.", f"There are: {one_line(listed, 400)}.")
    if len(found) > 1:
        raise ShowdayError(f"Several fault trees are like '{one_line(words, 60)}': {', '.join(found)}.", "Name one.")
    return [_tree(tonight, found[0])]


def _trees(tonight: Tonight) -> list[Sheet]:
    trees = tonight.desk.library.trees
    return [_tree(tonight, id) for id in sorted(trees, key=lambda id: str(trees[id].title).lower())]


def _tree(tonight: Tonight, id: str) -> Sheet:
    """A tree in the order that the log's lessons and tonight's conditions give, or in its author's."""
    desk = tonight.desk
    tree = desk.library.trees[id]
    facts = desk.conditions()
    show = desk.tonight()
    venues = desk.book().same_place(show.venue) if show else set()
    walks = walks_of(desk, str(tree.fault))
    now = desk.world.clock.now()
    past = lessons(walks, str(tree.fault), venues=venues, rig=str(desk.rig.rig), now=now)
    numbers = learn(tree, past, placed=bool(venues)).numbers
    model = compile_tree(tree, facts=facts, numbers=numbers)
    if tonight.author:
        order, strategy = "The author's order", authored_strategy(tree, model, facts=facts)
    else:
        order, strategy = "The computed order", computed_strategy(model, advised=ROUGH, least_mass=ROUGH)
    return tree_sheet(tree, strategy, order=order, known=desk.sentence_fields())


def _packet(tonight: Tonight) -> list[Sheet]:
    """What is taken along to a show, what is needed first in front; what is done at home is printed by its own name."""
    desk = tonight.desk
    made = [*_to_fix(tonight), *_contacts(tonight)]
    if tonight.venue:
        brief = _brief(tonight, "")
        made.append(replace(brief, parts=tuple(part for part in brief.parts if part.title not in TO_LOOK_UP)))
    if desk.rig.inputs or desk.rig.mixes or desk.rig.loads:
        made += _patch(tonight)
    made += _frequencies(tonight)
    conditions = desk.conditions()
    fitting = [book for book in desk.library.in_order() if holds(book.when, conditions)]
    made += [_checklist(desk, str(b.playbook), short=True) for b in fitting if str(b.phase) != AT_HOME]
    return made + _trees(tonight)


MADE: dict[str, Callable[[Tonight], list[Sheet]]] = {
    "patch": _patch,
    "labels": _labels,
    "plan": _frequencies,
    "contacts": _contacts,
    "to-fix": _to_fix,
    ALL: _packet,
}
"""What can be printed beside playbooks, trees and briefs."""

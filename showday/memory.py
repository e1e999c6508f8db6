"""Reading the log back for people: past runs, the words of old fault trees, the brief of a venue."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from showday.attachments import is_there
from showday.errors import ShowdayError
from showday.log.keeper import Keeper
from showday.log.records import RunRecord
from showday.review.past import PastRun
from showday.run import events as ev
from showday.run.air import fold_air
from showday.run.plan import Plan
from showday.run.state import WalkState, replay
from showday.run.touring import Book, Venue
from showday.text.folded import bare

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.fault.model import Tree
    from showday.review.before import HereBefore
    from showday.review.brief import Brief
    from showday.review.measured import Measured
    from showday.run.session import Session


PlanOf = Callable[[Sequence[ev.Entry]], Plan]
"""Gives the plan of a run's entries, or raises ShowdayError."""

MOST_ELSEWHERE = 8
"""Runs of each playbook at other places that this place is held against: the act's latest habits (our choice)."""
CALLED_SO = 101.0
"""The likeness of a venue whose name was asked for letter by letter: above all that are only like it."""
LEAST = 60.0
"""Likeness in percent from which on a venue is found (a choice of this program)."""
MOST_BEFORE = 5
"""Earlier visits that a run is held against while it goes on (a choice of this program)."""


class TreeWords:
    """The sentences that a walk's tree had for its nodes and causes, read from the snapshots."""

    def __init__(self, keeper: Keeper) -> None:
        self._keeper = keeper
        self._trees: dict[str, Tree | None] = {}

    def __call__(self, walk: WalkState, name: str) -> str:
        """The sentence of a node or cause id; the id itself when the tree cannot be read."""
        from showday.fault.walk import ask_for

        tree = self._tree(walk)
        if tree is None:
            return name
        cause = tree.cause(name)
        if cause is not None:
            return str(cause.what)
        ask = ask_for(tree, name)
        return ask.do if ask else name

    def _tree(self, walk: WalkState) -> Tree | None:
        from showday.fault.reader import read_tree

        if walk.tree not in self._trees:
            text = self._keeper.text_of(walk.tree)
            self._trees[walk.tree] = read_tree(text, walk.fault)[0] if text is not None else None
        return self._trees[walk.tree]


def past_run(keeper: Keeper, record: RunRecord, plan_of: PlanOf) -> PastRun | None:
    """One run of the log, replayed; None when it cannot be read (`showday log check` says why)."""
    entries = keeper.entries(record.id)
    try:
        state = replay(record.id, plan_of(entries), entries)
    except ShowdayError:
        return None
    return PastRun(record, state, tuple(entries))


def venue_brief(keeper: Keeper, book: Book, venue: Venue, plan_of: PlanOf) -> Brief:
    """The brief of a venue from everything in the log."""
    records = runs_at(keeper, book, venue)
    runs = [run for record in records if (run := past_run(keeper, record, plan_of))]
    return brief_of(keeper, book, venue, runs, plan_of)


def brief_of(keeper: Keeper, book: Book, venue: Venue, runs: Sequence[PastRun], plan_of: PlanOf) -> Brief:
    """The brief of a venue from its runs, which were read already, and the rest of the log."""
    from showday.review.brief import make_brief

    air = fold_air(keeper.touring())
    brief = make_brief(book, venue, runs, TreeWords(keeper), air, _elsewhere(keeper, book, venue, runs, plan_of))
    return replace(brief, missing=tuple(file.path for _, file in brief.files if not is_there(file.path)))


def _elsewhere(keeper: Keeper, book: Book, venue: Venue, runs: Sequence[PastRun], plan_of: PlanOf) -> list[Measured]:
    """What the newest runs at other places measured, of every playbook that was run here."""
    from showday.review.measured import measured

    here = book.same_place(venue.id)
    ours = Counter(run.record.playbook for run in runs if run.record.playbook)
    found = []
    for playbook, times in ours.items():
        records = keeper.runs(playbook=playbook, limit=MOST_ELSEWHERE + times)
        others = [record for record in records if _place(book, record) not in here]
        for record in others[:MOST_ELSEWHERE]:
            entries = keeper.entries(record.id)
            with suppress(ShowdayError):  # what cannot be read teaches nothing; `showday log check` says why
                found.append(measured(plan_of(entries), entries))
    return found


def last_time(desk: Desk, session: Session) -> HereBefore:
    """What earlier runs of a session's playbook at tonight's place say of its steps; `differs` compares with it."""
    from showday.review.before import HereBefore, here_before
    from showday.review.brief import day_of, ended

    plan, show, book = session.state.plan, desk.tonight(), desk.book()
    venue = book.venue(show.venue) if show else None
    if venue is None or not plan.playbook:
        return HereBefore()
    records = runs_at(desk.keeper, book, venue, playbook=plan.playbook)
    before = [record for record in records if record.id != session.state.run][:MOST_BEFORE]
    runs = [run for record in before if (run := past_run(desk.keeper, record, desk.plan_of))]
    words = TreeWords(desk.keeper)
    return here_before([(day_of(book, run), run.state) for run in runs], lambda walk: ended(book, walk, words))


def _place(book: Book, record: RunRecord) -> str:
    """The venue's id: a run goes with its show, also when the show's venue was corrected later."""
    show = book.shows.get(record.show)
    return show.venue if show else record.venue


def runs_at(keeper: Keeper, book: Book, venue: Venue, playbook: str = "") -> list[RunRecord]:
    """Every run at a place, of one playbook when it is named, newest first."""
    here = book.same_place(venue.id)
    shows = [show.id for show in book.shows.values() if show.venue in here]
    records = keeper.runs(venue_ids=here, shows=shows, playbook=playbook)
    return [record for record in records if _place(book, record) in here]


def find_venues(book: Book, query: str) -> list[tuple[Venue, float]]:
    """Venues like the query, best first, with the likeness in percent; accents and case do not matter.

    Names, former names and towns are looked at. Who is called just that has `CALLED_SO`. All venues, unweighted, when
    the query is empty.
    """
    asked = bare(query)
    if not asked:
        return [(venue, 0.0) for venue in book.places()]
    found = [(venue, _likeness(asked, venue)) for venue in book.places()]
    return sorted((pair for pair in found if pair[1] >= LEAST), key=lambda pair: (-pair[1], pair[0].name, pair[0].id))


def _likeness(asked: str, venue: Venue) -> float:
    from rapidfuzz import fuzz

    town = bare(venue.town)
    names = [bare(name) for name in (venue.name, *venue.former)]
    if any(asked in (name, f"{name} {town}") for name in names):
        return CALLED_SO
    of_names = (max(fuzz.WRatio(asked, name), fuzz.token_set_ratio(asked, f"{name} {town}")) for name in names)
    return max(fuzz.ratio(asked, town), *of_names)

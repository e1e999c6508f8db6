"""Reading the log back for people: past runs, the words of old fault trees, the brief of a venue."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from showday.errors import ShowdayError
from showday.fault.model import Tree
from showday.fault.reader import read_tree
from showday.fault.walk import ask_for
from showday.log.keeper import Keeper
from showday.log.records import RunRecord
from showday.review.brief import Brief, PastRun, make_brief
from showday.run import events as ev
from showday.run.plan import Plan
from showday.run.state import WalkState, replay
from showday.run.touring import Book, Venue


class TreeWords:
    """The sentences that a walk's tree had for its nodes and causes, read from the snapshots."""

    def __init__(self, keeper: Keeper) -> None:
        self._keeper = keeper
        self._trees: dict[str, Tree | None] = {}

    def __call__(self, walk: WalkState, name: str) -> str:
        """The sentence of a node or cause id; the id itself when the tree cannot be read."""
        tree = self._tree(walk)
        if tree is None:
            return name
        cause = tree.cause(name)
        if cause is not None:
            return str(cause.what)
        ask = ask_for(tree, name)
        return ask.do if ask else name

    def _tree(self, walk: WalkState) -> Tree | None:
        if walk.tree not in self._trees:
            text = self._keeper.text_of(walk.tree)
            self._trees[walk.tree] = read_tree(text, walk.fault)[0] if text is not None else None
        return self._trees[walk.tree]


def past_run(keeper: Keeper, record: RunRecord, plan_of: Callable[[Sequence[ev.Entry]], Plan]) -> PastRun | None:
    """One run of the log, replayed; None when it cannot be read (`showday log check` says why)."""
    entries = keeper.entries(record.id)
    try:
        state = replay(record.id, plan_of(entries), entries)
    except ShowdayError:
        return None
    return PastRun(record, state, tuple(entries))


def venue_brief(keeper: Keeper, book: Book, venue: Venue, plan_of: Callable[[Sequence[ev.Entry]], Plan]) -> Brief:
    """The brief of a venue from everything in the log."""
    records = runs_at(keeper, book, venue)
    runs = [run for record in records if (run := past_run(keeper, record, plan_of))]
    return make_brief(book, venue, runs, TreeWords(keeper))


def runs_at(keeper: Keeper, book: Book, venue: Venue) -> list[RunRecord]:
    """Every run at a place, newest first. A run goes with its show, also when the show's venue was corrected later."""
    here = book.same_place(venue.id)

    def place(record: RunRecord) -> str:
        show = book.shows.get(record.show)
        return show.venue if show else record.venue

    return [record for record in keeper.runs() if place(record) in here]


def find_venues(book: Book, query: str) -> list[tuple[Venue, float]]:
    """Venues like the query, best first, with the likeness in percent; accents and case do not matter.

    Names, former names and towns are looked at. All venues, unweighted, when the query is empty.
    """
    from rapidfuzz import fuzz

    asked = bare(query)
    if not asked:
        return [(venue, 0.0) for venue in book.places()]
    found = []
    for venue in book.places():
        names = [bare(name) for name in (venue.name, *venue.former)]
        best = max(
            max(fuzz.WRatio(asked, name), fuzz.token_set_ratio(asked, f"{name} {bare(venue.town)}")) for name in names
        )
        if asked in names:
            best = 101.0
        if best >= 60:
            found.append((venue, best))
    return sorted(found, key=lambda pair: (-pair[1], pair[0].name))


def bare(text: str) -> str:
    """Lower case without accents and punctuation, for comparing names."""
    import unicodedata

    apart = unicodedata.normalize("NFKD", text.casefold())
    kept = (c if c.isalnum() else " " for c in apart if not unicodedata.combining(c))
    return " ".join("".join(kept).split())

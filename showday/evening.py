"""Tonight at a glance: every playbook with its run, what is owed, and what to go on with. For every front end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from showday.desk import Desk
from showday.log.records import RunRecord
from showday.memory import past_run
from showday.opening import GO_ON_WITHIN, moment
from showday.playbook.conditions import holds
from showday.playbook.model import Playbook
from showday.review.past import PastRun
from showday.run import events as ev
from showday.run.progress import current, progress
from showday.run.state import RunState
from showday.run.touring import Show, ShowChanged, ToFix

MOST_UNFINISHED = 6
"""Unfinished runs of other days that are listed: more would push tonight off the screen (our choice)."""
MOST_RECENT = 60
"""Newest runs of the place that are looked at for tonight's (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class RunGlance:
    """One run in short. Texts are foreign: show them as plain text."""

    record: RunRecord
    status: str
    """`at 12 of 40: 1 later`, `complete: 40 good`, `stopped: 38 good, 2 open`."""
    next: str = ""
    """What stands before the person when the run goes on."""
    owed: tuple[str, ...] = ()
    """Musts that are owed, in words."""

    @property
    def unfinished(self) -> bool:
        """Whether the run can be gone on with."""
        return not self.record.outcome


@dataclass(frozen=True, slots=True)
class PlaybookGlance:
    """A playbook of the day and its newest run of tonight."""

    id: str
    title: str
    phase: str
    run: RunGlance | None = None
    unfit: str = ""
    """The conditions that tonight does not meet; empty when the playbook is for tonight."""


@dataclass(frozen=True, slots=True)
class Evening:
    """All of it."""

    playbooks: tuple[PlaybookGlance, ...]
    go_on: tuple[RunGlance, ...] = ()
    """Unfinished runs of tonight, newest first."""
    left_open: tuple[RunGlance, ...] = ()
    """Unfinished runs of other shows, newest first, not more than `MOST_UNFINISHED`."""
    more_open: int = 0
    """How many more of those there are."""
    owed: tuple[tuple[str, str, str], ...] = ()
    """Musts owed by tonight's runs: id and title of the run, the step."""
    to_fix: tuple[ToFix, ...] = ()
    """Open to-fix items, oldest first."""


def evening(desk: Desk) -> Evening:
    """What tonight's screen says."""
    now = desk.world.clock.now()
    tonight = [_glance(desk, record) for record in tonights_runs(desk, now)]
    ours = {glance.record.id for glance in tonight}
    others = [record for record in desk.unfinished() if record.id not in ours]
    newest: dict[str, RunGlance] = {}
    for glance in tonight:
        newest.setdefault(glance.record.playbook, glance)
    return Evening(
        playbooks=_playbooks(desk, newest),
        go_on=tuple(glance for glance in tonight if glance.unfinished),
        left_open=tuple(_glance(desk, record) for record in others[:MOST_UNFINISHED]),
        more_open=max(0, len(others) - MOST_UNFINISHED),
        owed=tuple((g.record.id, g.record.title, text) for g in newest.values() for text in g.owed),
        to_fix=tuple(desk.book().open_items()),
    )


def tonights_runs(desk: Desk, now: datetime) -> list[RunRecord]:
    """Runs of tonight's show, newest first, with those of no show that were touched in the last 24 hours: they were
    begun before the venue was entered."""
    show = desk.tonight()
    places = {"", *desk.book().same_place(show.venue)} if show else {""}
    recent = [record for place in places for record in desk.keeper.runs(venue_ids=[place], limit=MOST_RECENT)]
    recent.sort(key=lambda record: (record.started, record.id), reverse=True)
    ours = desk.show if show else ""
    return [r for r in recent if (r.show == ours if r.show else now - moment(r.last) < GO_ON_WITHIN)]


def _playbooks(desk: Desk, newest: dict[str, RunGlance]) -> tuple[PlaybookGlance, ...]:
    conditions = desk.conditions()
    books = desk.library.heads()
    unfit = {id: "" if holds(book.when, conditions) else ", ".join(book.when) for id, book in books.items()}
    return tuple(replace(each, run=newest.get(each.id), unfit=unfit[each.id]) for each in glances(books))


def glances(books: Mapping[str, Playbook]) -> tuple[PlaybookGlance, ...]:
    """The playbooks in the order of the day, before anything is known of their runs."""
    ordered = sorted(books.items(), key=lambda pair: (pair[1].order, pair[1].title))
    return tuple(PlaybookGlance(id, str(book.title), str(book.phase)) for id, book in ordered)


def _glance(desk: Desk, record: RunRecord) -> RunGlance:
    run = past_run(desk.keeper, record, desk.plan_of)
    if run is None:
        return RunGlance(record, "cannot be read; `showday log check` says why")
    return RunGlance(record, status_of(run), "" if record.outcome else _next(run.state), _owed(run.state))


def _next(state: RunState) -> str:
    """What stands before the person when the run is gone on with: the open fault walk, else the step."""
    if state.walk is not None:
        about = f" ({state.walk.about})" if state.walk.about else ""
        return f"the fault walk {state.walk.title}{about}"
    step = current(state)
    return step.do if step else ""


def status_of(run: PastRun) -> str:
    """How far a run has come, in a few words."""
    state = run.state
    if not state.plan.steps:
        walk = state.walk or (state.walks[-1] if state.walks else None)
        words = run.record.outcome or "open"
        return f"{walk.title}: {walk.outcome or words}" if walk else words
    done = progress(state)
    if run.record.outcome:
        return f"{run.record.outcome}: {done.counts()}"
    rest = ", ".join(f"{n} {word}" for n, word in ((done.fault, "fault"), (done.later, "later")) if n)
    return f"at {min(done.done + 1, done.total)} of {done.total}" + (f": {rest}" if rest else "")


def _owed(state: RunState) -> tuple[str, ...]:
    """Musts put off; of a run that was stopped also those never answered."""
    over = bool(state.outcome)
    musts = [state.planned(key) for key in progress(state).musts_owed]
    due = [step for step in musts if over or state.step(step.key).result == ev.LATER]
    return tuple(f"{step.do} ({step.about})" if step.about and step.about not in step.do else step.do for step in due)


def change_show(desk: Desk, wanted: Show) -> None:
    """Write tonight's show as it is now. Another show of that place and day becomes tonight's instead."""
    book = desk.book()
    here = book.same_place(wanted.venue) | {wanted.venue}
    other = next(
        (s for s in book.shows.values() if s.id != wanted.id and s.venue in here and s.date == wanted.date), None
    )
    if other is not None:
        desk.show = other.id
        return
    made = ShowChanged(wanted.venue, wanted.date, wanted.slot, wanted.changeover, wanted.facts)
    desk.record(wanted.id, made)


def shows_of(desk: Desk, day: str) -> list[Show]:
    """Every show of a day, by stage time."""
    return sorted((s for s in desk.book().shows.values() if s.date == day), key=lambda s: (s.slot, s.id))


def ago(then: datetime, now: datetime) -> str:
    """`just now`, `20 min ago`, `3 h ago`, `yesterday`, `12 days ago`, `7 months ago`."""
    gone = now - then
    if gone < timedelta(minutes=1):
        return "just now"
    if gone < timedelta(hours=1):
        return f"{gone // timedelta(minutes=1)} min ago"
    if gone < timedelta(hours=24):
        return f"{gone // timedelta(hours=1)} h ago"
    days = gone // timedelta(days=1)
    if days < 2:
        return "yesterday"
    if days < 60:
        return f"{days} days ago"
    return f"{days // 30} months ago" if days < 730 else f"{days // 365} years ago"

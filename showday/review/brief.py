"""The brief: everything the log knows about one venue, put together before going back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from showday.log.records import RunRecord
from showday.run import events as ev
from showday.run.progress import progress, section_seconds
from showday.run.state import RunState, WalkState
from showday.run.touring import Book, ToFix, Venue, VenueNote


@dataclass(frozen=True, slots=True)
class PastRun:
    """One run of the log with everything needed to read it."""

    record: RunRecord
    state: RunState
    entries: tuple[ev.Entry, ...]


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run in short."""

    run: str
    title: str
    started: str
    outcome: str
    """`complete`, `stopped`, or `open` while it was never ended."""
    counts: str


@dataclass(frozen=True, slots=True)
class ShowLine:
    """One past date with its runs."""

    date: str
    slot: str
    runs: tuple[RunLine, ...]


@dataclass(frozen=True, slots=True)
class Failure:
    """Something that was wrong here, and how it ended."""

    date: str
    run: str
    what: str
    ended: str
    cause: str = ""


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One number over the visits, newest first."""

    what: str
    unit: str
    values: tuple[tuple[str, float, bool | None], ...]
    """Date, value, and whether it was in the wanted range (None: no range)."""


@dataclass(frozen=True, slots=True)
class SectionTime:
    """How long a section took here."""

    playbook: str
    section: str
    median_s: float
    times: int


@dataclass(frozen=True, slots=True)
class RunNote:
    """Words noted during a run."""

    date: str
    about: str
    text: str


@dataclass(frozen=True, slots=True)
class Brief:
    """What to know about a venue."""

    venue: Venue
    shows: tuple[ShowLine, ...] = ()
    failures: tuple[Failure, ...] = ()
    readings: tuple[ReadingLine, ...] = ()
    times: tuple[SectionTime, ...] = ()
    left_out: tuple[RunNote, ...] = ()
    run_notes: tuple[RunNote, ...] = ()
    to_fix_here: tuple[ToFix, ...] = ()
    """Open items that were opened at this venue."""
    to_fix_elsewhere: tuple[ToFix, ...] = ()
    """Open items from other venues: the rig carries them along."""

    def notes(self, topic: str) -> tuple[VenueNote, ...]:
        """The venue's notes on one topic (`contact`, `supply`, `frequency`, `access`, `note`), newest first."""
        return tuple(sorted((n for n in self.venue.notes if n.topic == topic), key=lambda n: n.at, reverse=True))


Words = Callable[[WalkState, str], str]
"""Gives the words of a node or cause id of a walk's tree."""


def make_brief(book: Book, venue: Venue, runs: Sequence[PastRun], words: Words) -> Brief:
    """The brief of a venue from its runs, in any order.

    `words` turns a node or cause id of a walk into the sentence its tree had for it.
    """
    newest = sorted(runs, key=lambda r: (r.record.started, r.record.id), reverse=True)
    here = book.same_place(venue.id)
    items = book.open_items()
    return Brief(
        venue=venue,
        shows=_shows(book, newest, here, words),
        failures=tuple(f for run in newest for f in _failures(book, run, words)),
        readings=_readings(book, newest),
        times=_times(newest),
        left_out=tuple(n for run in newest for n in _left_out(book, run)),
        run_notes=tuple(n for run in newest for n in _run_notes(book, run)),
        to_fix_here=tuple(i for i in items if i.venue in here),
        to_fix_elsewhere=tuple(i for i in items if i.venue not in here),
    )


def day_of(book: Book, run: PastRun) -> str:
    """The show's date, else the day the run was started (UTC)."""
    show = book.shows.get(run.record.show)
    return show.date if show else run.record.started[:10]


def _shows(book: Book, runs: Sequence[PastRun], here: set[str], words: Words) -> tuple[ShowLine, ...]:
    """Dates with their runs, newest first; a date without any run has nothing to tell."""
    days: dict[str, list[RunLine]] = {}
    slots = {s.date: s.slot for s in book.shows.values() if s.venue in here}
    for run in runs:
        record = run.record
        counts = progress(run.state).counts() if run.state.plan.steps else _walk_counts(book, run.state, words)
        line = RunLine(record.id, record.title, record.started, run.state.outcome or "open", counts)
        days.setdefault(day_of(book, run), []).append(line)
    in_order = {date: tuple(sorted(lines, key=lambda r: r.started)) for date, lines in days.items()}
    return tuple(ShowLine(date, slots.get(date, ""), in_order[date]) for date in sorted(days, reverse=True))


def _walk_counts(book: Book, state: RunState, words: Words) -> str:
    walks = [*state.walks, *([state.walk] if state.walk else [])]
    return "; ".join(f"{w.title}: {_ended(book, w, words)}" for w in walks) or "nothing was walked"


def _failures(book: Book, run: PastRun, words: Words) -> list[Failure]:
    date = day_of(book, run)
    out = []
    walked = set()
    for walk in run.state.walks:
        if not walk.answers and not walk.restored:
            continue
        walked.add(walk.step)
        what = f"{walk.title} ({walk.about})" if walk.about else walk.title
        cause = words(walk, walk.cause) if walk.cause else ""
        out.append(Failure(date, run.record.id, what, _ended(book, walk, words), cause))
    for step in run.state.plan.steps:
        said = run.state.step(step.key)
        if said.result == ev.FAULT and step.key not in walked:
            ended = f"left as a fault: {said.reason}" if said.reason else "left as a fault"
            out.append(Failure(date, run.record.id, step.do, ended))
    return out


def _ended(book: Book, walk: WalkState, words: Words) -> str:
    if walk.restored:
        how = f"restored: {words(walk, walk.by)}" if walk.by else "came back by itself"
        if walk.workaround:
            cured = any(item.walk == walk.walk and item.closed for item in book.items.values())
            how += " (a workaround, cured since)" if cured else " (a workaround, not cured)"
        return how + (", but it came back" if walk.came_back else "")
    ends = {
        ev.UNSOLVED: "not solved, help was called",
        ev.LEFT: "left without an end",
        ev.MOVED_ON: "looked for in another tree",
    }
    return ends.get(walk.outcome, "still open")


def _readings(book: Book, runs: Sequence[PastRun]) -> tuple[ReadingLine, ...]:
    found: dict[tuple[str, str], list[tuple[str, float, bool | None]]] = {}
    for run in runs:
        date = day_of(book, run)
        for step in run.state.plan.steps:
            said = run.state.step(step.key)
            if step.reading is not None and said.reading is not None:
                what = step.reading.name or step.do
                if step.about:
                    what = f"{what}, {step.about}"
                found.setdefault((what, step.reading.unit), []).append((date, said.reading, said.inside))
    return tuple(ReadingLine(what, unit, tuple(values)) for (what, unit), values in found.items())


def _times(runs: Sequence[PastRun]) -> tuple[SectionTime, ...]:
    found: dict[tuple[str, str], list[float]] = {}
    for run in reversed(runs):
        plan = run.state.plan
        sections = {step.key: step.section for step in plan.steps}
        for index, seconds in section_seconds(run.entries, sections).items():
            found.setdefault((plan.title, plan.sections[index].title), []).append(seconds)
    return tuple(SectionTime(book, title, median(values), len(values)) for (book, title), values in found.items())


def _left_out(book: Book, run: PastRun) -> list[RunNote]:
    steps = [s for s in run.state.plan.steps if run.state.step(s.key).result == ev.LEFT_OUT]
    return [RunNote(day_of(book, run), s.do, run.state.step(s.key).reason) for s in steps]


def _run_notes(book: Book, run: PastRun) -> list[RunNote]:
    date = day_of(book, run)
    title = run.state.plan.title
    notes = [RunNote(date, title, text) for text in run.state.notes]
    for step in run.state.plan.steps:
        notes += [RunNote(date, step.about or step.do, text) for text in run.state.step(step.key).notes]
    return notes

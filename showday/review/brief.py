"""The brief: everything the log knows about one venue, put together before going back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from statistics import median

from showday.review.compare import Unusual, unusual
from showday.review.frequencies import Frequencies, Night, make_frequencies
from showday.review.left_out import Evening, LeftOut, left_out, what_is_done
from showday.review.measured import Measured, measured
from showday.review.past import PastRun
from showday.review.recurring import Helped, Recurring, Words, helped, recurring
from showday.review.wrong import how_it_went, wrong_steps
from showday.run import events as ev
from showday.run.air import PLAN_KEPT, SWEEP_KEPT, AirBook
from showday.run.attached import Attached
from showday.run.progress import progress
from showday.run.state import RunState, WalkState
from showday.run.touring import Book, ToFix, Venue, VenueNote
from showday.text.folded import bare


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
    unusual: tuple[Unusual, ...] = ()
    """What is other here than elsewhere."""
    recurring: tuple[Recurring, ...] = ()
    """What was wrong here more than once."""
    helped: tuple[Helped, ...] = ()
    """Fixes that were tried here."""
    left_out: tuple[LeftOut, ...] = ()
    files: tuple[tuple[str, Attached], ...] = ()
    """Photos and other files of the place (with an empty text) and of its shows (with their day), newest first."""
    missing: tuple[str, ...] = ()
    """Paths of those that are not there now; filled in by whoever can look."""
    run_notes: tuple[RunNote, ...] = ()
    to_fix_here: tuple[ToFix, ...] = ()
    """Open items that were opened at this venue."""
    to_fix_elsewhere: tuple[ToFix, ...] = ()
    """Open items from other venues: the rig carries them along."""
    frequencies: Frequencies = field(default_factory=Frequencies)
    """Plans that were kept here and how they did, and what was occupied."""

    def notes(self, topic: str) -> tuple[VenueNote, ...]:
        """The venue's notes on one topic (`contact`, `supply`, `distance`, …), newest first; what was noted again in the
        same words stands once."""
        found = sorted((n for n in self.venue.notes if n.topic == topic), key=lambda n: n.at, reverse=True)
        once: dict[str, VenueNote] = {}
        for note in found:
            once.setdefault(bare(note.text), note)
        return tuple(once.values())


DROPOUTS = "rf-dropouts"
"""The fault tree whose walks say that a plan had trouble."""


def make_brief(
    book: Book,
    venue: Venue,
    runs: Sequence[PastRun],
    words: Words,
    air: AirBook | None = None,
    elsewhere: Sequence[Measured] = (),
) -> Brief:
    """The brief of a venue from its runs, in any order, from what was kept of the air, and from runs at other places.

    `words` turns a node or cause id of a walk into the sentence its tree had for it.
    """
    newest = sorted(runs, key=lambda r: (r.record.started, r.record.id), reverse=True)
    here = book.same_place(venue.id)
    items = book.open_items()
    numbers = [(run, measured(run.state.plan, run.entries)) for run in newest]
    return Brief(
        venue=venue,
        shows=_shows(book, newest, here, words),
        failures=tuple(f for run in newest for f in _failures(book, run, words)),
        readings=_readings(book, numbers),
        times=_times(found for _, found in reversed(numbers)),
        unusual=unusual([found for _, found in numbers], elsewhere),
        recurring=recurring([(day_of(book, run), run.state) for run in newest], words),
        helped=helped([run.state for run in newest], words),
        left_out=left_out([_evening(book, run) for run in newest], lambda walk: ended(book, walk, words)),
        files=_files(book, venue, here),
        run_notes=tuple(n for run in newest for n in _run_notes(book, run)),
        to_fix_here=tuple(i for i in items if book.venue_of(i) in here),
        to_fix_elsewhere=tuple(i for i in items if book.venue_of(i) not in here),
        frequencies=make_frequencies(book, here, air, _nights(book, newest, words)) if air else Frequencies(),
    )


def day_of(book: Book, run: PastRun) -> str:
    """The show's date, else the day the run was started (UTC)."""
    show = book.shows.get(run.record.show)
    return show.date if show else run.record.started[:10]


def _nights(book: Book, runs: Sequence[PastRun], words: Words) -> list[Night]:
    """Every run's begin, and every walk about drop-outs, with its time."""
    made = []
    for run in runs:
        show, date = run.record.show, day_of(book, run)
        made.append(Night(show, date, run.record.started))
        walks = [*run.state.walks, *([run.state.walk] if run.state.walk else [])]
        for walk in walks:
            if walk.fault == DROPOUTS and not walk.item and (walk.answers or walk.restored):
                begun = (
                    e.at for e in run.entries if isinstance(e.event, ev.WalkOpened) and e.event.walk == walk.walk
                )
                at = next(begun, run.record.started)
                made.append(Night(show, date, at, walk.walk, walk.about, ended(book, walk, words)))
    return made


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
    return "; ".join(f"{w.title}: {ended(book, w, words)}" for w in walks) or "nothing was walked"


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
        out.append(Failure(date, run.record.id, what, ended(book, walk, words), cause))
    wrong = wrong_steps(run.state)
    for step in run.state.plan.steps:
        if step.key in wrong and step.key not in walked:
            how = how_it_went(run.state, step, wrong[step.key])
            out.append(Failure(date, run.record.id, what_is_done(step), how))
    return out


def ended(book: Book, walk: WalkState, words: Words) -> str:
    """How a fault walk ended, and whether what it left was cured since."""
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


def _readings(book: Book, runs: Iterable[tuple[PastRun, Measured]]) -> tuple[ReadingLine, ...]:
    found: dict[tuple[str, str], list[tuple[str, float, bool | None]]] = {}
    for run, numbers in runs:
        for name, (value, inside) in numbers.readings.items():
            found.setdefault(name, []).append((day_of(book, run), value, inside))
    return tuple(ReadingLine(what, unit, tuple(values)) for (what, unit), values in found.items())


def _times(runs: Iterable[Measured]) -> tuple[SectionTime, ...]:
    found: dict[tuple[str, str], list[float]] = {}
    for numbers in runs:
        for name, seconds in numbers.seconds.items():
            found.setdefault(name, []).append(seconds)
    return tuple(SectionTime(book, title, median(values), len(values)) for (book, title), values in found.items())


def _evening(book: Book, run: PastRun) -> Evening:
    day = day_of(book, run)
    return Evening(run.record.show or day, day, run.state, run.entries)


def _files(book: Book, venue: Venue, here: set[str]) -> tuple[tuple[str, Attached], ...]:
    found = [("", file) for file in book.files_of(venue.id)]
    shows = sorted((s for s in book.shows.values() if s.venue in here), key=lambda s: (s.date, s.id), reverse=True)
    return (*found, *((show.date, file) for show in shows for file in book.files_of(show.id)))


def _run_notes(book: Book, run: PastRun) -> list[RunNote]:
    date = day_of(book, run)
    title = run.state.plan.title
    notes = [RunNote(date, title, text) for text in run.state.notes]
    for step in run.state.plan.steps:
        notes += [RunNote(date, step.about or step.do, text) for text in run.state.step(step.key).notes]
    # What was kept of the air has a part of its own.
    return [note for note in notes if not note.text.startswith((SWEEP_KEPT, PLAN_KEPT))]

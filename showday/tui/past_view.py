"""What the screens of past runs say: the list of runs, and one run step by step or entry by entry."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from showday.log.records import RunRecord
from showday.opening import moment, place
from showday.review.past import PastRun
from showday.review.story import Told, of_step, of_walk, time_of_day
from showday.run.plan import PlannedStep
from showday.run.progress import progress
from showday.run.state import RunState, WalkState
from showday.run.touring import Book
from showday.tui.lines import Line
from showday.tui.run_view import MARKS
from showday.tui.tonight_view import To, day_words
from showday.tui.widgets.pick_list import Row, heading, lead

RUN, STEP, WALK, OLDER, GO_ON = "run", "step", "walk", "older", "go on"
"""What a row leads to."""


def run_rows(records: Sequence[RunRecord], book: Book, more: bool = False) -> list[Row]:
    """Runs under the day and place they belong to, newest first; with `more` there are older ones."""
    made: list[Row] = []
    under = ""
    for record in records:
        over = _over(record, book)
        if over != under:
            made += heading(over)
            under = over
        made.append(Row(_run_words(record), lead=lead(">" if not record.outcome else ""), value=To(RUN, record.id)))
    if more:
        made += [Row("", "gap"), Row("Older runs: Enter lists more", "dim", value=To(OLDER))]
    return made or [Row("No run is in the log yet.", "dim")]


def _over(record: RunRecord, book: Book) -> str:
    show = book.shows.get(record.show)
    day = show.date if show else moment(record.started).astimezone().date().isoformat()
    venue = book.venue(record.venue) if record.venue else None
    return f"{day_words(day)} | {place(venue) if venue else 'no venue'}"


def _run_words(record: RunRecord) -> str:
    parts = [f"{record.answers} answers"] if record.answers else []
    parts += [f"{record.walks} fault walk{'s' if record.walks != 1 else ''}"] if record.walks else []
    parts += [f"{record.notes} note{'s' if record.notes != 1 else ''}"] if record.notes else []
    rest = f" | {', '.join(parts)}" if parts else ""
    return f"{time_of_day(record.started)[:5]}  {record.title}, {record.outcome or 'unfinished'}{rest}"


def head_lines(record: RunRecord, run: PastRun | None, book: Book) -> list[Line]:
    """Which run it is, and what it came to."""
    begun, ended = (moment(at).astimezone() for at in (record.started, record.last))
    day = f"{ended:%a} " if ended.date() != begun.date() else ""
    counts = f" | {progress(run.state).counts()}" if run and run.state.plan.steps else ""
    lines = [
        Line("title", f"{record.title} | {_over(record, book)}"),
        Line("count", f"{record.outcome or 'unfinished'}, {begun:%H:%M} to {day}{ended:%H:%M}{counts}"),
    ]
    if run is None:
        lines.append(Line("warning", "! This run cannot be replayed; `showday log check` says why. Its entries:"))
    return lines


def entry_rows(told: Sequence[Told]) -> list[Row]:
    """Every entry with its time."""
    return [_entry_row(line, f"entry {n}") for n, line in enumerate(told)]


def _entry_row(line: Told, value: str = "") -> Row:
    back = " (taken back)" if line.taken_back else ""
    return Row(f"{line.text}{back}", "dim" if line.taken_back else "row", time_of_day(line.at), value or None)


def step_rows(
    run: PastRun, told: Sequence[Told], open_steps: Collection[str], walk_words: dict[str, str]
) -> list[Row]:
    """Fault walks with their answers, then every section with its steps; `open_steps` show their entries.

    `walk_words` says of each walk how it ended.
    """
    state = run.state
    made: list[Row] = []
    if not run.record.outcome:
        made.append(Row("Go on with this run", "strong", lead(">"), To(GO_ON)))
    walks = [*state.walks, *([state.walk] if state.walk else [])]
    for walk in walks:
        made += [Row("", "gap"), _walk_row(walk, walk_words.get(walk.walk, ""))]
        made += [_entry_row(line) for line in of_walk(told, walk.walk)]
    if state.notes:
        made += heading("Notes about the whole run")
        made += [Row(note) for note in state.notes]
    for index, section in enumerate(state.plan.sections):
        made += heading(section.title)
        for step in (s for s in state.plan.steps if s.section == index):
            made += _step_rows(state, step)
            if step.key in open_steps:
                made += [_entry_row(line) for line in of_step(told, step.key) if not line.walk]
    return made or entry_rows(told)


def _walk_row(walk: WalkState, ended: str) -> Row:
    about = f" ({walk.about})" if walk.about else ""
    return Row(
        f"Fault walk: {walk.title}{about}{f', {ended}' if ended else ''}", "strong", lead("!"), To(WALK, walk.walk)
    )


def _step_rows(state: RunState, step: PlannedStep) -> list[Row]:
    said, result = state.step(step.key), state.result_of(step)
    about = f" ({step.about})" if step.about and step.about.split(", ")[-1] not in step.do else ""
    parts = [f"{step.do}{about}", result or "open"]
    parts += [said.reason] if said.reason else []
    if said.reading is not None and step.reading is not None:
        outside = " OUTSIDE" if said.inside is False else ""
        parts.append(f"{said.reading:g} {step.reading.unit}{outside}")
    kind = "warning" if result == "fault" or said.inside is False else "row"
    row = Row(" | ".join(parts), kind, lead(MARKS.get(result, " ")), To(STEP, step.key))
    return [row, *(Row(f"note: {note}", "dim", "     ") for note in said.notes)]

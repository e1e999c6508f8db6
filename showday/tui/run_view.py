"""What the run screen says, from the run's state alone."""

from __future__ import annotations

from collections.abc import Collection

from showday.run import events as ev
from showday.run.phases import FINISHED
from showday.run.plan import PlannedReading, PlannedSection, PlannedStep
from showday.run.progress import completion_call, last_done, pause_reached, progress, returning
from showday.run.state import RunState
from showday.tui.lines import GAP, Card, Line, say
from showday.tui.standing import minutes_words

MARKS = {ev.GOOD: "x", ev.FAULT: "!", ev.LATER: "~", ev.LEFT_OUT: "-", ev.NOT_HERE: "/", "": "."}
"""One character for each result in lists; the word stands beside it."""

OPENS = {
    "radio": "F6 opens the frequencies",
    "listen": "F7 listens to the lines",
    "clock": "F8 shows the time",
    "to-fix": "Enter opens the to-fix list",
}
"""What is said of the tool that belongs to a step; the key is the one of the table of commands."""


OPENS_ITEM = "Enter opens it: cured, who sees to it, a note"
"""What is said at a step about one thing of the to-fix list."""


def section_of(state: RunState, step: PlannedStep) -> PlannedSection:
    """The section a step belongs to."""
    return state.plan.sections[step.section]


def title_of(state: RunState, step: PlannedStep | None) -> str:
    """`5 of 16 | Every input | Line check`: the place first, so that a narrow screen cannot cut it."""
    if step is None:
        return state.plan.title
    mates = [s for s in state.plan.steps if s.section == step.section]
    return f"{mates.index(step) + 1} of {len(mates)} | {section_of(state, step).title} | {state.plan.title}"


def cautions_before(state: RunState, step: PlannedStep, seen: Collection[int]) -> tuple[str, ...]:
    """Cautions of the playbook and the section that must be read before this step; `seen` are section indexes, -1
    for the playbook. A section that was begun is not held up again."""
    texts: list[str] = []
    if -1 not in seen and not any(isinstance(e.event, ev.StepAnswered) for e in state.history):
        texts += state.plan.caution
    begun = any(state.step(s.key).result for s in state.plan.steps if s.section == step.section)
    if step.section not in seen and not begun:
        texts += section_of(state, step).caution
    return tuple(texts)


def caution_card(step: PlannedStep, texts: tuple[str, ...]) -> Card:
    """The card that stands before the first step of a dangerous section."""
    lines = [Line("title", "Before you begin")]
    for text in texts:
        lines += [GAP, Line("caution", f"! {text}")]
    return Card(tuple(lines), (), (GAP, Line("why", f"then: {step.do}")))


def absence_lines(state: RunState, idle: float = 0.0, last: str | None = None) -> list[Line]:
    """How long nobody was here, what was done last, and the words left behind; nothing when nobody was away.

    `last` says what was done last in other words than those of the list's last step; empty says nothing of it.
    """
    gap = _gap(state)
    if gap is None and not idle:
        return []
    said = f"AWAY {minutes_words(gap)}" if gap is not None else f"NO KEY FOR {minutes_words(idle)}"
    last = _last_words(state) if last is None else last
    lines = [Line("banner", f"{said}: {last}" if last else said)]
    return [*lines, *(Line("note", f"you noted: {note}") for note in _cue(state))]


def banner_lines(state: RunState, step: PlannedStep | None, idle: float = 0.0) -> list[Line]:
    """What happened before this moment: an absence, a pause point, a step that came back."""
    lines = absence_lines(state, idle)
    pause = pause_reached(state)
    if pause and step is not None:
        owed = progress(state).later
        lines += say("banner", f"PAUSE POINT: {pause}" + (f" | {owed} owed" if owed else " | nothing owed"))
    if step is not None and returning(state, step):
        lines += say("banner", "CAME BACK: you put this off")
    if step is not None and state.step(step.key).recheck:
        lines += say("banner", "SOUND IS BACK: look at this step again")
    return lines


def _gap(state: RunState) -> float | None:
    """Seconds of an absence that ended just now: nothing was answered since."""
    for entry in reversed(state.history):
        if isinstance(entry.event, ev.RunResumed):
            return entry.event.gap
        if not isinstance(entry.event, (ev.StepBegun, ev.NoteAdded, ev.AwayChanged)):
            return None
    return None


def _cue(state: RunState) -> list[str]:
    """Words left behind for oneself in the interruption that ended last."""
    cues: list[str] = []
    away = False
    for entry in state.history:
        if isinstance(entry.event, ev.RunInterrupted):
            cues, away = ([entry.event.cue] if entry.event.cue else []), True
        elif away and isinstance(entry.event, ev.NoteAdded):
            cues.append(entry.event.text)
        elif away and isinstance(entry.event, ev.RunResumed):
            away = False
        elif isinstance(entry.event, (ev.StepAnswered, ev.WalkAnswered)):
            cues = []
    return cues


def _last_words(state: RunState) -> str:
    last = last_done(state)
    if last is None:
        return ""
    about = f" ({last.about})" if last.about else ""
    return f"last done was '{last.do}'{about}, b looks at it again"


def step_card(state: RunState, step: PlannedStep, *, ready: bool = False) -> Card:
    """The step, ready to do: danger first, then what to do, the state wanted, the reason.

    `ready` is True when the second key of an irreversible step was pressed. In a `do-confirm` section the whole
    section is one list, with the step to confirm opened in its place.
    """
    before, after = [*_head(state, step), *_danger(step, ready)], _after(state, step)
    core = (Line("do", step.do), GAP, Line("until", f"until {step.until}")) if step.until else (Line("do", step.do),)
    if section_of(state, step).mode == "do-confirm":
        above, below = _mates(state, step)
        before = [Line("about", "Do them all from memory, then confirm each:"), *above, *before]
        after = [*after, *([GAP, *below] if after and below else below)]
    return Card(tuple(before), core, tuple(after))


def _head(state: RunState, step: PlannedStep) -> list[Line]:
    said = state.result_of(step)
    parts = [step.about] if step.about else []
    if said and said != ev.LATER:
        reason = state.step(step.key).reason
        parts.append(f"answered: {said}" + (f" ({reason})" if reason else ""))
    about = " | ".join(parts)
    if step.must:
        return [Line("must", "! MUST" + (f" | {about}" if about else ""))]
    return [Line("about", about)]  # a line even without words, so that what to do stands at the same place


def _danger(step: PlannedStep, ready: bool) -> list[Line]:
    lines = say("caution", f"! {step.caution}" if step.caution else "")
    if step.irreversible:
        lines += say("danger", f"! EVERYONE NOTICES: {step.irreversible}")
        lines += say("danger", "Go ahead now." if ready else "Wait for the right moment, then y.")
    return lines


def _after(state: RunState, step: PlannedStep) -> list[Line]:
    opens = OPENS_ITEM if step.kind == "item" else OPENS.get(step.opens, "")
    lines = [*say("opens", opens), *_reading(state, step)]
    if step.why:
        lines += [*([GAP] if lines else []), Line("why", f"{step.why} ({step.basis})" if step.basis else step.why)]
    return [*lines, *(Line("note", f"note: {note}") for note in state.step(step.key).notes[-2:])]


def reading_words(reading: PlannedReading) -> str:
    """`peak, wanted -24 to -12 dBFS`."""
    bounded = reading.low is not None or reading.high is not None
    wanted = f"wanted {reading.wanted} {reading.unit}" if bounded else f"in {reading.unit}"
    return f"{reading.name or 'reading'}, {wanted}"


def _reading(state: RunState, step: PlannedStep) -> list[Line]:
    if step.reading is None:
        return []
    held = state.step(step.key)
    words = reading_words(step.reading)
    if held.reading is None:
        return [Line("reading", f"read {words}: type the number")]
    noted = f"{held.reading:g} {step.reading.unit}"
    if held.inside is False:
        return [Line("outside", f"! {noted} is OUTSIDE | {words}")]
    return [Line("reading", f"read {noted}{' is inside' if held.inside else ''} | {words}")]


def row_words(state: RunState, step: PlannedStep, at: str = "") -> str:
    """One row of a list: mark, what to do, what it is about, the result in words."""
    said = state.result_of(step)
    mark = ">" if step.key == at else MARKS[said]
    about = f" | {step.about}" if step.about and step.about.split(", ")[-1] not in step.do else ""
    return f"{mark} {'! ' if step.must else ''}{step.do}{about}{f' | {said}' if said else ''}"


def _mates(state: RunState, step: PlannedStep) -> tuple[list[Line], list[Line]]:
    """The rows of the step's section above and below it."""
    mates = [mate for mate in state.plan.steps if mate.section == step.section]
    at = [mate.key for mate in mates].index(step.key)
    rows = [Line("done" if state.result_of(mate) else "open", row_words(state, mate)) for mate in mates]
    return rows[:at], rows[at + 1 :]


def end_card(state: RunState) -> Card:
    """The last card: what the run came to, and what is missing."""
    done = progress(state)
    if state.phase == FINISHED:
        what = Line("text", "Written down. q goes back, u takes the end back.")
    elif done.can_complete:
        what = Line("text", "Say it aloud, then Enter calls it complete.")
    else:
        what = Line("warning", "! Not complete: a must is owed. t shows the list, e stops the run as it is.")
    owed = tuple(Line("open", row_words(state, state.planned(key))) for key in done.owed)
    return Card((), (Line("big", completion_call(state)),), (what, GAP, *owed) if owed else (what,))


def stop_lines(state: RunState) -> list[Line]:
    """What is owed when a run is stopped before its end."""
    done = progress(state)
    lines = [Line("title", "Stop here?"), Line("text", done.counts())]
    lines += [Line("must", f"! MUST owed: {state.planned(key).do}") for key in done.musts_owed[:5]]
    more = len(done.musts_owed) - 5
    return [*lines, Line("must", f"… and {more} more")] if more > 0 else lines

"""The state of a run and the table of what is allowed in it.

`apply` gives a new state or raises `NotAllowed`; the state it was given never changes. Replaying the same entries
over the same plan gives an equal state.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from showday.errors import NotAllowed
from showday.fault.walk import CANT_NOW, DONT_KNOW
from showday.run import events as ev
from showday.run.known import StepState, WalkState
from showday.run.phases import ALLOWED, FAULT_WALK, FINISHED, INTERRUPTED, READY, REFUSED, WALKING
from showday.run.plan import Plan, PlannedStep

_KNOWN = frozenset(ev.RUN_EVENTS)
FIRST_UNDOABLE = (ev.StepAnswered, ev.StepsLeftOut, ev.ReadingTaken, ev.NoteAdded, ev.RunFinished)
"""What undo took back before it reached the ends of fault walks: logs of then must replay."""
UNDOABLE = (*FIRST_UNDOABLE, ev.StepsTakenBack, ev.WalkEnded)
UNDOABLE_IN_WALK = (ev.WalkAnswered, ev.SoundRestored, ev.CauseConfirmed, ev.NoteAdded)


_UNTOUCHED = StepState()
"""One for all steps that nothing was said about: they are asked for often and never change."""


@dataclass(frozen=True, slots=True)
class RunState:
    """A run at one moment."""

    run: str
    plan: Plan
    phase: str = READY
    started: ev.RunStarted | None = None
    steps: Mapping[str, StepState] = field(default_factory=dict)
    """Only steps that something was said about."""
    at: str = ""
    """Key of the step that stands before the person; empty before the first."""
    front: tuple[int, int, int] = (-1, 0, 0)
    """Place of the last answer: section, 1 for a step that came back, index in the plan."""
    away: frozenset[str] = frozenset()
    walk: WalkState | None = None
    walks: tuple[WalkState, ...] = ()
    notes: tuple[str, ...] = ()
    outcome: str = ""
    resumed_to: str = WALKING
    """The phase that an interruption left."""
    history: tuple[ev.Entry, ...] = ()
    """The entries that count, in order: undone ones are gone from it."""

    def step(self, key: str) -> StepState:
        """What is known of a step."""
        return self.steps.get(key, _UNTOUCHED)

    def planned(self, key: str) -> PlannedStep:
        """The plan's step of a key; NotAllowed when there is none."""
        for step in self.plan.steps:
            if step.key == key:
                return step
        raise NotAllowed(f"There is no step '{key}' in this run.")

    def result_of(self, step: PlannedStep) -> str:
        """The step's result; `not here` when all of its people are away and nobody answered."""
        said = self.step(step.key).result
        if not said and step.people and self.away.issuperset(step.people):
            return ev.NOT_HERE
        return said


def begin(run: str, plan: Plan) -> RunState:
    """The state before the first event."""
    return RunState(run=run, plan=plan)


def replay(run: str, plan: Plan, entries: Iterable[ev.Entry]) -> RunState:
    """The state after all entries; NotAllowed when they do not fit.

    Events of a newer program are passed over: what this one understands is read, and nothing is lost from the log.
    """
    state = begin(run, plan)
    for entry in entries:
        if type(entry.event) in _KNOWN:
            state = apply(state, entry)
    return state


def waiting(state: RunState) -> list[tuple[tuple[int, int, int], PlannedStep]]:
    """Every step still to be asked with its place, in order: open ones, those put off, those to look at again."""
    out: list[tuple[tuple[int, int, int], PlannedStep]] = []
    for index, step in enumerate(state.plan.steps):
        said = state.step(step.key)
        if said.recheck or not state.result_of(step):
            out.append(((step.section, 0, index), step))
        elif said.result == ev.LATER and said.due is not None:
            out.append(((said.due, 1, index), step))
    return sorted(out, key=lambda item: item[0])


def apply(state: RunState, entry: ev.Entry) -> RunState:
    """The state after one more entry; NotAllowed when the phase or the event's content does not fit."""
    event = entry.event
    if type(event) not in ALLOWED[state.phase]:
        raise NotAllowed(*REFUSED[state.phase])
    if isinstance(event, ev.Undone):
        return _undo(state, event.target)
    return replace(_HANDLERS[type(event)](state, event), history=(*state.history, entry))


def undo_target(state: RunState) -> ev.Entry | None:
    """The entry that undo would take back now, or None."""
    return _last_of(state, UNDOABLE_IN_WALK if state.phase == FAULT_WALK else UNDOABLE)


def _last_of(state: RunState, kinds: tuple[type[ev.Event], ...]) -> ev.Entry | None:
    for entry in reversed(state.history):
        if state.phase == FAULT_WALK and isinstance(entry.event, ev.WalkOpened):
            return None
        if isinstance(entry.event, ev.CameBack):  # an open walk cannot come back: no end before it can be taken back
            kinds = tuple(kind for kind in kinds if kind is not ev.WalkEnded)
        if isinstance(entry.event, kinds):
            return entry
    return None


def _undo(state: RunState, target: str) -> RunState:
    last = undo_target(state)
    if last is not None and last.id != target and state.phase != FAULT_WALK:
        last = _last_of(state, FIRST_UNDOABLE) or last
    if last is None or last.id != target:
        raise NotAllowed("There is nothing to undo here." if last is None else "Only the last answer can be undone.")
    if not isinstance(last.event, (ev.StepAnswered, ev.ReadingTaken, ev.WalkEnded)):
        return replay(state.run, state.plan, [e for e in state.history if e.id != target])
    # Steps shown since then count no longer: the one that is undone stands before the person again.
    at = state.history.index(last)
    later = [e for e in state.history[at + 1 :] if not isinstance(e.event, ev.StepBegun)]
    before = replay(state.run, state.plan, [*state.history[:at], *later])
    return before if isinstance(last.event, ev.WalkEnded) else replace(before, at=last.event.step)


def _started(state: RunState, event: ev.RunStarted) -> RunState:
    return replace(state, phase=WALKING, started=event, away=frozenset(event.away))


def _begun(state: RunState, event: ev.StepBegun) -> RunState:
    state.planned(event.step)
    return replace(state, at=event.step)


def _answered(state: RunState, event: ev.StepAnswered) -> RunState:
    step = state.planned(event.step)
    if event.result not in ev.RESULTS:
        raise NotAllowed(f"'{event.result}' is not a result.", f"Results are: {', '.join(ev.RESULTS)}.")
    if step.must and event.result == ev.GOOD and not event.confirmed:
        raise NotAllowed("This step is a must.", "Confirm it with its own key.")
    if step.must and event.result in (ev.LEFT_OUT, ev.NOT_HERE) and not event.reason.strip():
        raise NotAllowed("This step is a must.", "To do without it, give the reason in words.")
    held = state.step(step.key)
    due = _due(state, step, held) if event.result == ev.LATER else None
    now = replace(
        held,
        result=event.result,
        reason=event.reason,
        confirmed=event.confirmed,
        source=event.source,
        due=due,
        recheck=False,
    )
    front = _front(state, step, held)
    return replace(state, steps={**state.steps, step.key: now}, front=front, at=step.key)


def _left_out(state: RunState, event: ev.StepsLeftOut) -> RunState:
    steps = dict(state.steps)
    asked = {step.key for _, step in waiting(state)}
    for key in event.steps:
        step, held = state.planned(key), state.step(key)
        if step.must:
            raise NotAllowed(f"'{step.do}' is a must.", "Leave it out by itself, with the reason.")
        if key not in asked:
            raise NotAllowed(f"'{step.do}' is not to be asked any more.")
        steps[key] = replace(held, result=ev.LEFT_OUT, reason=event.reason, source=ev.TOGETHER, recheck=False)
    return replace(state, steps=steps)


def _taken_back(state: RunState, event: ev.StepsTakenBack) -> RunState:
    """What was put off before it was left out is owed again; all else is open."""
    steps = dict(state.steps)
    for key in event.steps:
        state.planned(key)
        held = state.step(key)
        if held.result == ev.LEFT_OUT and held.source == ev.TOGETHER:
            result = ev.LATER if held.due is not None else ""
            steps[key] = replace(held, result=result, reason="", source="")
    return replace(state, steps=steps)


def _index(plan: Plan, step: PlannedStep) -> int:
    """The place of one of the plan's own steps. To compare them by all they say would be half the time of a replay."""
    return next(index for index, each in enumerate(plan.steps) if each is step)


def _front(state: RunState, step: PlannedStep, held: StepState) -> tuple[int, int, int]:
    """Where the run stands after an answer; a step put off that is done before its time does not move it on."""
    index = _index(state.plan, step)
    if held.result != ev.LATER or held.due is None:
        return (step.section, 0, index)
    return (held.due, 1, index) if _has_returned(state, step, held) else state.front


def _has_returned(state: RunState, step: PlannedStep, held: StepState) -> bool:
    """Whether a step put off has come back by itself: nothing waits between the last answer and it."""
    if held.due is None:
        return False
    back = (held.due, 1, _index(state.plan, step))
    return not any(state.front < place < back for place, _ in waiting(state))


def _due(state: RunState, step: PlannedStep, held: StepState) -> int | None:
    """Behind which section a step put off comes back: a must at every section's end, others at pause points."""
    sections = state.plan.sections
    if held.due is not None:
        base = held.due + _has_returned(state, step, held)
    elif any(s.section == step.section and s is not step and not state.result_of(s) for s in state.plan.steps):
        base = step.section
    else:  # its section is over: it comes back where the run has got to
        base = max([step.section, *(s.section for s in state.plan.steps if state.step(s.key).result)])
    for index in range(base, len(sections)):
        if step.must or sections[index].pause or index == len(sections) - 1:
            return index
    return None


def _reading(state: RunState, event: ev.ReadingTaken) -> RunState:
    step = state.planned(event.step)
    if step.reading is None:
        raise NotAllowed("This step takes no reading.", "Note it as a note instead.")
    if not math.isfinite(event.value):
        raise NotAllowed("A reading is a plain number.")
    held = replace(state.step(step.key), reading=event.value, inside=event.inside)
    return replace(state, steps={**state.steps, step.key: held})


def _noted(state: RunState, event: ev.NoteAdded) -> RunState:
    if not event.text.strip():
        raise NotAllowed("An empty note says nothing.")
    if not event.step:
        return replace(state, notes=(*state.notes, event.text))
    step = state.planned(event.step)
    held = state.step(step.key)
    now = replace(held, notes=(*held.notes, event.text))
    return replace(state, steps={**state.steps, step.key: now})


def _away(state: RunState, event: ev.AwayChanged) -> RunState:
    return replace(state, away=frozenset(event.away))


def _interrupted(state: RunState, event: ev.RunInterrupted) -> RunState:
    return replace(state, phase=INTERRUPTED, resumed_to=state.phase)


def _resumed(state: RunState, event: ev.RunResumed) -> RunState:
    phase = state.resumed_to if state.phase == INTERRUPTED else state.phase
    return replace(state, phase=phase)


def _opened(state: RunState, event: ev.WalkOpened) -> RunState:
    if event.step:
        state.planned(event.step)
    if any(walk.walk == event.walk for walk in state.walks):
        raise NotAllowed("This fault walk was opened before.")
    return replace(state, phase=FAULT_WALK, walk=WalkState.opened(event))


def _open_walk(state: RunState, walk: str) -> WalkState:
    if state.walk is None or state.walk.walk != walk:
        raise NotAllowed("This fault walk is not open.")
    return state.walk


def _walk_answered(state: RunState, event: ev.WalkAnswered) -> RunState:
    walk = _open_walk(state, event.walk)
    choices = dict(walk.outline).get(event.node)
    if choices is None:
        raise NotAllowed(f"'{event.node}' is not a step of this fault tree.")
    if event.answer not in (*choices, CANT_NOW, DONT_KNOW):
        raise NotAllowed(f"'{event.answer}' is not an answer here.", f"Answers are: {', '.join(choices)}.")
    return replace(state, walk=replace(walk, answers=(*walk.answers, (event.node, event.answer))))


def _restored(state: RunState, event: ev.SoundRestored) -> RunState:
    walk = _open_walk(state, event.walk)
    now = replace(walk, restored=True, by=event.node, workaround=event.workaround, uses=event.uses)
    return replace(state, walk=now)


def _cause(state: RunState, event: ev.CauseConfirmed) -> RunState:
    if state.walk is not None and state.walk.walk == event.walk:
        return replace(state, walk=replace(state.walk, cause=event.cause))
    if not any(walk.walk == event.walk for walk in state.walks):
        raise NotAllowed("There was no such fault walk in this run.")
    walks = tuple(replace(w, cause=event.cause) if w.walk == event.walk else w for w in state.walks)
    return replace(state, walks=walks)


def _ended(state: RunState, event: ev.WalkEnded) -> RunState:
    walk = _open_walk(state, event.walk)
    if event.outcome not in ev.WALK_ENDS:
        raise NotAllowed(f"'{event.outcome}' is not an end of a fault walk.")
    if event.outcome == ev.RESTORED and not walk.restored:
        raise NotAllowed("Sound was not restored in this fault walk.")
    steps = dict(state.steps)
    if walk.step and event.outcome == ev.RESTORED:
        steps[walk.step] = replace(state.step(walk.step), recheck=True)
    ended = replace(walk, outcome=event.outcome)
    at = walk.step if walk.step else state.at
    return replace(state, phase=WALKING, walk=None, walks=(*state.walks, ended), steps=steps, at=at)


def _came_back(state: RunState, event: ev.CameBack) -> RunState:
    if not any(walk.walk == event.walk and walk.restored for walk in state.walks):
        raise NotAllowed("No fault walk of this run had restored that.")
    walks = tuple(replace(w, came_back=True) if w.walk == event.walk else w for w in state.walks)
    return replace(state, walks=walks)


def _finished(state: RunState, event: ev.RunFinished) -> RunState:
    if event.outcome not in (ev.COMPLETE, ev.STOPPED):
        raise NotAllowed(f"'{event.outcome}' is not an end of a run.")
    if event.outcome == ev.COMPLETE:
        owed = [s for s in state.plan.steps if not state.result_of(s)]
        musts = [s for s in state.plan.steps if s.must and state.result_of(s) == ev.LATER]
        if musts or owed:
            first = (musts or owed)[0]
            what = "a must is owed" if musts else "steps are still open"
            raise NotAllowed(f"Not complete: {what}, first {first.key}.", "Answer it, or stop the run.")
    return replace(state, phase=FINISHED, outcome=event.outcome)


_HANDLERS: dict[type[ev.Event], Callable[[RunState, Any], RunState]] = {
    ev.RunStarted: _started,
    ev.StepBegun: _begun,
    ev.StepAnswered: _answered,
    ev.StepsLeftOut: _left_out,
    ev.StepsTakenBack: _taken_back,
    ev.ReadingTaken: _reading,
    ev.NoteAdded: _noted,
    ev.AwayChanged: _away,
    ev.RunInterrupted: _interrupted,
    ev.RunResumed: _resumed,
    ev.WalkOpened: _opened,
    ev.WalkAnswered: _walk_answered,
    ev.SoundRestored: _restored,
    ev.CauseConfirmed: _cause,
    ev.WalkEnded: _ended,
    ev.CameBack: _came_back,
    ev.RunFinished: _finished,
}

__all__ = ["RunState", "StepState", "WalkState", "apply", "begin", "replay", "undo_target", "waiting"]

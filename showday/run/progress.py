"""What comes next in a run, and how far it has come: decided here once, shown by every front end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from showday.run import events as ev
from showday.run.plan import PlannedStep
from showday.run.state import RunState, waiting


def current(state: RunState) -> PlannedStep | None:
    """The step that stands before the person; None when nothing is left to ask.

    A step that was begun stays until it is answered. Then comes the next open one behind the last answer; steps
    put off come back behind the section they are due at; what was jumped over comes last.
    """
    if state.at and _begun_and_open(state):
        return state.planned(state.at)
    left = waiting(state)
    ahead = [item for item in left if item[0] > state.front]
    chosen = ahead or left
    return chosen[0][1] if chosen else None


def _begun_and_open(state: RunState) -> bool:
    if state.step(state.at).recheck:
        return True
    kinds = (ev.StepBegun, ev.StepAnswered, ev.StepsLeftOut, ev.AwayChanged)
    last = next((e.event for e in reversed(state.history) if isinstance(e.event, kinds)), None)
    if isinstance(last, ev.StepBegun):
        return last.step == state.at
    return not state.result_of(state.planned(state.at))


def pause_reached(state: RunState) -> str:
    """The pause point between the last answer and the current step (or the end); empty when there is none."""
    if state.front[0] < 0:
        return ""
    step = current(state)
    here = _place(state, step) if step else (len(state.plan.sections), 0, 0)
    sections = enumerate(state.plan.sections)
    passed = [s.pause for index, s in sections if s.pause and state.front < (index, 1, -1) <= here]
    return passed[-1] if passed else ""


def _place(state: RunState, step: PlannedStep) -> tuple[int, int, int]:
    """Where a step stands in the order: behind its section when it has come back."""
    held = state.step(step.key)
    index = state.plan.steps.index(step)
    put_off = held.result == ev.LATER and held.due is not None
    return (held.due, 1, index) if put_off and held.due is not None else (step.section, 0, index)


def returning(state: RunState, step: PlannedStep) -> bool:
    """Whether this step was put off and has come back."""
    return state.step(step.key).result == ev.LATER


def last_done(state: RunState) -> PlannedStep | None:
    """The step answered last: offered for a second look after an interruption."""
    for entry in reversed(state.history):
        if isinstance(entry.event, ev.StepAnswered) and entry.event.result != ev.LATER:
            return state.planned(entry.event.step)
    return None


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run has come."""

    good: int = 0
    fault: int = 0
    later: int = 0
    left_out: int = 0
    not_here: int = 0
    open: int = 0
    musts_owed: tuple[str, ...] = ()
    """Keys of musts that are open or put off."""
    owed: tuple[str, ...] = ()
    """Keys of everything that is put off."""
    usual_left: float = 0.0
    """Usual seconds of what is open or put off and waits for no moment, as far as the playbook says."""

    @property
    def total(self) -> int:
        """Steps of the plan."""
        return self.good + self.fault + self.later + self.left_out + self.not_here + self.open

    @property
    def done(self) -> int:
        """Steps with an answer that is not `later`."""
        return self.total - self.open - self.later

    @property
    def can_complete(self) -> bool:
        """Whether the run may be called complete: nothing open, no must owed."""
        return not self.open and not self.musts_owed

    def counts(self) -> str:
        """`8 good, 1 fault, 2 later`: only what is not zero."""
        named = [
            (self.good, "good"),
            (self.fault, "fault"),
            (self.later, "later"),
            (self.left_out, "left out"),
            (self.not_here, "not here"),
            (self.open, "open"),
        ]
        return ", ".join(f"{n} {name}" for n, name in named if n) or "no steps"


def progress(state: RunState) -> Progress:
    """Counts over the whole plan."""
    count = dict.fromkeys(("", *ev.RESULTS), 0)
    owed, musts, left = [], [], 0.0
    for step in state.plan.steps:
        result = state.result_of(step)
        count[result] += 1
        if result == ev.LATER:
            owed.append(step.key)
        if result in ("", ev.LATER):
            left += 0.0 if state.plan.sections[step.section].waits else step.takes or 0.0
            if step.must:
                musts.append(step.key)
    return Progress(
        good=count[ev.GOOD],
        fault=count[ev.FAULT],
        later=count[ev.LATER],
        left_out=count[ev.LEFT_OUT],
        not_here=count[ev.NOT_HERE],
        open=count[""],
        musts_owed=tuple(musts),
        owed=tuple(owed),
        usual_left=left,
    )


def completion_call(state: RunState) -> str:
    """The line that ends a run: `LINE CHECK COMPLETE: 20 good, 1 later (spare mic)`."""
    done = progress(state)
    title = state.plan.title.upper()
    named = [state.planned(key).about or state.planned(key).do for key in done.owed[:3]]
    more = f" ({'; '.join(named)}{' …' if len(done.owed) > 3 else ''})" if named else ""
    word = "STOPPED" if state.outcome == ev.STOPPED or not done.can_complete else "COMPLETE"
    return f"{title} {word}: {done.counts()}{more}"


def section_seconds(entries: Sequence[ev.Entry], plan_sections: dict[str, int]) -> dict[int, float]:
    """Seconds worked in each section: from a step being shown (or the entry before) to its answer.

    `plan_sections` maps step keys to section indexes. Interruptions and fault walks are not counted.
    """
    totals: dict[int, float] = {}
    since: float | None = None
    for entry in entries:
        event = entry.event
        if isinstance(event, ev.StepAnswered):
            section = plan_sections.get(event.step)
            if since is not None and section is not None:
                totals[section] = totals.get(section, 0.0) + max(0.0, entry.elapsed - since)
            since = entry.elapsed
        elif isinstance(event, (ev.RunInterrupted, ev.WalkOpened)):
            since = None
        elif isinstance(event, (ev.StepBegun, ev.RunResumed, ev.WalkEnded, ev.RunStarted)):
            since = entry.elapsed
    return totals

"""Which steps of a run something was wrong at, also when it was put right later that night."""

from __future__ import annotations

from showday.run import events as ev
from showday.run.plan import PlannedStep
from showday.run.state import RunState, WalkState


def wrong_steps(state: RunState) -> dict[str, str]:
    """Keys of the steps that were answered as a fault or led to a fault walk, with the last reason that was given."""
    return {walk.step: "" for walk in walks_of(state) if walk.step} | answered_as_fault(state)


def answered_as_fault(state: RunState) -> dict[str, str]:
    """Keys of the steps that were answered as a fault, with the last reason; a later answer does not undo that."""
    answers = [entry.event for entry in state.history if isinstance(entry.event, ev.StepAnswered)]
    return {answer.step: answer.reason for answer in answers if answer.result == ev.FAULT}


def walks_of(state: RunState) -> list[WalkState]:
    """Fault walks that came to something; one that was opened by mistake did not, nor one that seeks an old cause."""
    return [w for w in state.walks if (w.answers or w.restored) and not w.item]


def how_it_went(state: RunState, step: PlannedStep, reason: str) -> str:
    """How a fault went that was answered at its step and not walked; what was noted there tells what helped."""
    said = state.step(step.key)
    if said.result == ev.FAULT:
        return f"left as a fault: {reason}" if reason else "left as a fault"
    how = f"{f'{reason}; ' if reason else ''}{said.result or 'open'} later"
    return f"{how}: {said.notes[-1]}" if said.notes else how

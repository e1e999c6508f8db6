"""What differs from last time, while a run goes on: each step against the same step at earlier visits."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from showday.review.wrong import answered_as_fault, how_it_went
from showday.run import events as ev
from showday.run.plan import PlannedStep
from showday.run.state import RunState, StepState, WalkState


@dataclass(frozen=True, slots=True)
class Before:
    """One step at earlier visits."""

    about: str
    """What it was about then; another input on the same number is not the same step."""
    date: str
    """The day of the last visit at which it had a result."""
    result: str
    """That result; `fault` also where it was put right that night, by a fault walk or by hand."""
    ended: str = ""
    """How the fault of that day ended, in words."""
    readings: tuple[float, ...] = ()
    """Every reading here, newest first."""


@dataclass(frozen=True, slots=True)
class HereBefore:
    """Earlier runs of one playbook at one place."""

    steps: Mapping[str, Before] = field(default_factory=dict)
    """By step key; only steps that had a result or a reading."""


def here_before(runs: Sequence[tuple[str, RunState]], ended: Callable[[WalkState], str]) -> HereBefore:
    """What is known of each step from runs of the same playbook at the same place, with their days, newest first.

    `ended` says in words how a walk ended.
    """
    made: dict[str, Before] = {}
    readings: dict[tuple[str, str], list[float]] = {}
    for day, state in runs:
        walked = {walk.step: walk for walk in state.walks if walk.step and (walk.answers or walk.restored)}
        wrong = answered_as_fault(state)
        for step in state.plan.steps:
            said = state.step(step.key)
            if said.reading is not None:
                readings.setdefault((step.key, step.about), []).append(said.reading)
            walk = walked.get(step.key)
            result = ev.FAULT if walk is not None or step.key in wrong else said.result
            if step.key not in made and result in (ev.GOOD, ev.FAULT):
                how = how_it_went(state, step, wrong[step.key]) if step.key in wrong else ""
                made[step.key] = Before(step.about, day, result, ended(walk) if walk is not None else how)
    return HereBefore(
        {
            key: Before(b.about, b.date, b.result, b.ended, tuple(readings.get((key, b.about), ())))
            for key, b in made.items()
        }
    )


def differs(before: HereBefore, state: RunState, step: PlannedStep) -> str:
    """One line on what is other than last time at this step, or what to look out for; empty when there is nothing.

    A reading out of the usual here, a line that was good last time and is a fault now, a line that was a fault last
    time and is not answered yet.
    """
    known = before.steps.get(step.key)
    if known is None or known.about != step.about:
        return ""
    said = state.step(step.key)
    reading = _reading(known, said, step)
    if reading:
        return reading
    if said.result == ev.FAULT and known.result == ev.GOOD:
        return f"New here: it was good last time ({known.date})."
    if not said.result and known.result == ev.FAULT:
        ended = f", {known.ended.rstrip('.')}" if known.ended else ""
        return f"Last time here it was a fault ({known.date}){ended}."
    return ""


def _reading(known: Before, said: StepState, step: PlannedStep) -> str:
    """A reading outside of what was read here before; of one earlier reading only its side of the range counts."""
    if said.reading is None or step.reading is None or not known.readings:
        return ""
    unit = step.reading.unit
    low, high = min(known.readings), max(known.readings)
    if len(known.readings) > 1 and not low <= said.reading <= high:
        word = "higher" if said.reading > high else "lower"
        span = f"{low:g} to {high:g}" if low < high else f"always {low:g}"
        return f"{said.reading:g} {unit} is {word} than ever here: {span} on {len(known.readings)} visits."
    if said.inside is False and _was_inside(known.readings[0], step):
        return f"{said.reading:g} {unit} is outside; it was {known.readings[0]:g} last time ({known.date})."
    return ""


def _was_inside(value: float, step: PlannedStep) -> bool:
    reading = step.reading
    if reading is None:
        return False
    return (reading.low is None or value >= reading.low) and (reading.high is None or value <= reading.high)

"""What a run measured, whether by hand or by the clock: its readings, and the seconds of its sections."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from showday.log.records import undone
from showday.run import events as ev
from showday.run.plan import Plan, PlannedStep
from showday.run.progress import section_seconds

Name = tuple[str, str]
"""What a reading is of, and its unit; or a playbook and a section."""


@dataclass(frozen=True, slots=True)
class Measured:
    """The numbers of one run."""

    readings: dict[Name, tuple[float, bool | None]]
    """The last reading at each step, and whether it was in the wanted range (None: no range)."""
    seconds: dict[Name, float]
    """Seconds worked in each section; interruptions and fault walks are not counted."""


def measured(plan: Plan, entries: Sequence[ev.Entry]) -> Measured:
    """The numbers of a run from its plan and its entries, without replaying it: this is asked of many runs."""
    gone = undone(entries)
    last = {
        entry.event.step: entry.event
        for entry in entries
        if isinstance(entry.event, ev.ReadingTaken) and entry.id not in gone
    }
    steps = {step.key: step for step in plan.steps}
    readings = {}
    for key, taken in last.items():
        step = steps.get(key)
        if step is not None and step.reading is not None:
            readings[reading_name(step)] = (taken.value, taken.inside)
    sections = {step.key: step.section for step in plan.steps}
    seconds = {
        (plan.title, plan.sections[index].title): took for index, took in section_seconds(entries, sections).items()
    }
    return Measured(readings, seconds)


def reading_name(step: PlannedStep) -> Name:
    """`peak, input 3, Kick` and its unit; the step must have a reading."""
    what = (step.reading.name if step.reading else "") or step.do
    return (f"{what}, {step.about}" if step.about else what, step.reading.unit if step.reading else "")

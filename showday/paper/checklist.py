"""A playbook laid over the rig, as boxes to tick."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from showday.paper.model import CAUTION, SMALL, Block, Part, Reading, Sheet, Tick, Words
from showday.run.plan import Plan, PlannedReading, PlannedSection, PlannedStep
from showday.text.values import Span, duration

HOW = {
    "read-do": "Read one, do it, tick it.",
    "do-confirm": "Do them from memory, then read and tick each.",
}
OWED = "Not good now? Write 'later' beside it and come back at the next pause. MUST: it cannot be left out."


def checklist_sheet(
    plan: Plan, steps: Sequence[PlannedStep] | None = None, *, away: Collection[str] = (), apart: bool = True
) -> Sheet:
    """The plan's sections as parts, its steps as ticks.

    `steps` replaces the plan's own where their sentences were filled in for tonight; `away` names who is not here.
    """
    shown = plan.steps if steps is None else tuple(steps)
    parts = []
    for index, section in enumerate(plan.sections):
        mine = [step for step in shown if step.section == index]
        parts.append(Part(section.title, tuple(_blocks(plan, section, mine, frozenset(away), first=not index))))
    return Sheet(plan.title, tuple(parts), plan.about, apart=apart)


def _blocks(
    plan: Plan, section: PlannedSection, steps: Sequence[PlannedStep], away: frozenset[str], *, first: bool
) -> list[Block]:
    made: list[Block] = []
    if first:
        made += [Words(text, CAUTION) for text in plan.caution]
        made.append(Words(OWED, SMALL))
    made.append(Words(HOW.get(section.mode, ""), SMALL))
    made += [Words(text, CAUTION) for text in section.caution]
    said: set[str] = set()
    thing = ""
    for step in steps:
        made.append(_tick(step, away, reason=step.id not in said, opens=bool(step.thing) and step.thing != thing))
        said.add(step.id)
        thing = step.thing
    if section.pause:
        made.append(Words(f"Pause, {section.pause}: come back here to everything marked 'later'.", CAUTION))
    return [block for block in made if not (isinstance(block, Words) and not block.text)]


def _tick(step: PlannedStep, away: frozenset[str], *, reason: bool, opens: bool) -> Tick:
    name = step.about.rpartition(", ")[2]
    do = f"{step.do} ({step.about})" if name and name.removeprefix(f"{step.kind} ") not in step.do else step.do
    gone = bool(step.people) and away.issuperset(step.people)
    return Tick(
        do=do,
        until=step.until,
        note=step.why if reason else "",
        cautions=tuple(text for text in (step.caution, step.irreversible) if text),
        must=step.must,
        takes=duration(step.takes) if step.takes is not None else "",
        reading=_reading(step.reading) if step.reading else None,
        absent=f"not here: {', '.join(step.people)}" if gone else "",
        opens=opens,
    )


def _reading(reading: PlannedReading) -> Reading:
    wanted = "" if reading.wanted == Span() else f"wanted {reading.wanted}"
    return Reading(reading.name or "reading", reading.unit, wanted)

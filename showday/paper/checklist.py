"""A playbook laid over the rig, as boxes to tick."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from showday.paper.model import CAUTION, LONG, SHORT, SMALL, Block, Part, Reading, Sheet, Tick, Words
from showday.paper.rounds import Round, Tables, rounds
from showday.playbook.model import MODES
from showday.run.plan import Plan, PlannedReading, PlannedSection, PlannedStep
from showday.text.values import Span, duration

READ_DO, DO_CONFIRM = MODES
HOW = {
    READ_DO: "Read one, do it, tick it.",
    DO_CONFIRM: "Do them from memory, then read and tick each.",
}
OWED = "Not good now? Write 'later' beside it and come back at the next pause. MUST: it cannot be left out."


def checklist_sheet(
    plan: Plan,
    steps: Sequence[PlannedStep] | None = None,
    *,
    away: Collection[str] = (),
    short: bool = False,
    tables: Tables | None = None,
) -> Sheet:
    """The plan's sections as parts, its steps as ticks.

    `steps` replaces the plan's own where their sentences were filled in for tonight; `away` names who is not here. With
    `tables` what is repeated for many things is a table, one thing a row. A `short` one saves paper: no reasons, and its
    sections follow each other on a page.
    """
    shown = plan.steps if steps is None else tuple(steps)
    writer = _Writer(frozenset(away), short, tables)
    parts = []
    for index, section in enumerate(plan.sections):
        mine = [step for step in shown if step.section == index]
        blocks = [*(writer.opening(plan) if not index else ()), *writer.section(section, mine)]
        parts.append(Part(section.title, tuple(block for block in blocks if block != Words("", SMALL))))
    return Sheet(plan.title, tuple(parts), plan.about, apart=not short, kind=SHORT if short else "")


@dataclass(frozen=True, slots=True)
class _Writer:
    away: frozenset[str]
    short: bool
    tables: Tables | None

    def opening(self, plan: Plan) -> list[Block]:
        """What holds for the whole list."""
        how = f"{HOW[READ_DO]} " if self.short else ""
        return [*(Words(text, CAUTION) for text in plan.caution), Words(how + OWED, SMALL)]

    def section(self, section: PlannedSection, steps: Sequence[PlannedStep]) -> Iterator[Block]:
        """A section's words, steps and pause point."""
        if not self.short or section.mode == DO_CONFIRM:
            yield Words(HOW.get(section.mode, ""), SMALL)
        yield from (Words(text, CAUTION) for text in section.caution)
        said: set[str] = set()
        thing = ""
        for step in rounds(self.tables, steps) if self.tables else steps:
            if isinstance(step, Round):
                yield from step.blocks(self.away, reasons=not self.short)
                continue
            reason = not self.short and step.id not in said
            tick = _tick(step, self.away, reason=reason, opens=bool(step.thing) and step.thing != thing)
            yield replace(tick, takes="") if self.short and (step.takes or 0.0) < LONG else tick
            said.add(step.id)
            thing = step.thing
        if section.pause:
            yield Words(f"Pause, {section.pause}: come back here to everything marked 'later'.", CAUTION)


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

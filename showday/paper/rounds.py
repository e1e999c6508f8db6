"""What is done again for every input, mix or pack, as a table: the steps are said once, each thing is one row to tick.

A word in round brackets stands for the column of that name, so that a sentence that names the thing is said once for all.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from string import ascii_uppercase

from showday.paper.model import Block, Column, Reading, Table, Tick
from showday.playbook.model import Playbook, Step
from showday.rig.words import UNKNOWN
from showday.run.plan import PlannedStep
from showday.text.sentence import fields_in, fill
from showday.text.values import Span, duration

LEAST_ROWS = 3
"""Things from which a table is shorter than the sentences (a choice of this program)."""
HEADS = {"input.number": "ch", "input.box": "box, socket"}
"""Heads of columns that are not the field's own word."""
SHARES = {"number": 3, "name": 10, "box": 9, "mix": 9}
"""How wide a column of that field is; `OTHERS` for the rest."""
OTHERS, BOXES, BLANK = 7, 5, 8
NOT_FOR = "\N{EM DASH}"
"""In the place of a box where the step is not for that thing."""


@dataclass(frozen=True, slots=True)
class Tables:
    """What is needed beside the plan to say a step once for many things."""

    book: Playbook
    """The playbook that the plan was made of."""
    fields: Mapping[tuple[str, str], Mapping[str, str]]
    """What is known of each thing, as `kind.field`, by kind and id; what is not in it gets no table."""
    known: Mapping[str, str]
    """The sentence fields that are no thing's own."""


@dataclass(frozen=True, slots=True)
class Round:
    """Steps that are repeated together for the things of one kind."""

    kind: str
    steps: tuple[Step, ...]
    planned: Mapping[tuple[str, str], PlannedStep]
    """By thing and step."""
    known: Mapping[str, Mapping[str, str]]
    """By thing, in their order: every field that is known where it is spoken of."""

    def blocks(self, away: Collection[str] = (), *, reasons: bool = True) -> list[Block]:
        """The steps in words with letters, then the table."""
        told = self._told()
        general = self._general(told)
        ticks: list[Block] = []
        columns = [
            Column(_head(field), SHARES.get(field.partition(".")[2], OTHERS)) for field in (*self._own(), *told)
        ]
        rows = {
            thing: [known.get(field, "") for field in (*self._own(), *told)] for thing, known in self.known.items()
        }
        gone = {thing for thing in rows if self._gone(thing, away)}
        for letter, step in zip(_letters(), self.steps, strict=False):
            wanted = {thing: self._wanted(thing, step) for thing in rows}
            asked = {wanted[thing] for thing, id in self.planned if id == step.id}
            same = len(asked) == 1
            tick = _tick(letter, step, general, asked.pop() if same else "")
            ticks.append(tick if reasons else replace(tick, note=""))
            columns.append(Column(f"{letter} {step.id.replace('-', ' ')}", BOXES, boxed=True))
            if step.reading:
                columns.append(Column(f"{step.reading.name or 'reading'}, {step.reading.unit}", BLANK))
            for thing, row in rows.items():
                due = thing not in gone and (thing, str(step.id)) in self.planned
                row.append("" if due else NOT_FOR)
                if step.reading:
                    row.append(NOT_FOR if not due else "" if same else wanted[thing])
        return [*ticks, Table(tuple(columns), tuple(map(tuple, rows.values())), ticked=False)]

    def _own(self) -> tuple[str, ...]:
        """The fields that name a thing."""
        number = (f"{self.kind}.number",) if self.kind == "input" else ()
        return (*number, f"{self.kind}.name")

    def _asked(self) -> list[str]:
        """The fields that what is to be done names, each once."""
        texts = (text for step in self.steps for text in (step.do, step.until, step.caution, step.irreversible))
        return list(dict.fromkeys(field for text in texts for field in fields_in(str(text))))

    def _told(self) -> list[str]:
        """The fields that are not alike for all things: each is a column."""
        return [field for field in self._asked() if field not in self._own() and not self._alike(field)]

    def _alike(self, field: str) -> bool:
        return len({known.get(field, "") for known in self.known.values()}) == 1

    def _general(self, told: Sequence[str]) -> dict[str, str]:
        """What the sentences say that hold for all rows: a column's name in brackets for what is not alike."""
        shared = {field: text for field, text in next(iter(self.known.values())).items() if self._alike(field)}
        return shared | {field: f"({_head(field)})" for field in (*self._own(), *told)}

    def _wanted(self, thing: str, step: Step) -> str:
        planned = self.planned.get((thing, str(step.id)))
        if planned is None or planned.reading is None or planned.reading.wanted == Span():
            return ""
        return f"wanted {planned.reading.wanted}"

    def _gone(self, thing: str, away: Collection[str]) -> bool:
        people = {person for (of, _), step in self.planned.items() if of == thing for person in step.people}
        return bool(people) and people <= set(away)


def rounds(tables: Tables, steps: Sequence[PlannedStep]) -> Iterator[PlannedStep | Round]:
    """A section's steps in order; where several in a row are for at least `LEAST_ROWS` things, all of them as one."""
    written = {str(step.id): step for section in tables.book.sections for step in section.steps}
    for kind, run in groupby(steps, key=lambda step: step.kind):
        for together in _together(written, list(run)) if kind else [list(run)]:
            things = list(dict.fromkeys(step.thing for step in together))
            if len(things) < LEAST_ROWS or any((kind, thing) not in tables.fields for thing in things):
                yield from together
                continue
            # In the order of the file: the first thing may lack a step that comes before another.
            asked = {step.id for step in together}
            named = tuple(step for id, step in written.items() if id in asked)
            known = {thing: {**tables.known, **tables.fields[kind, thing]} for thing in things}
            yield Round(kind, named, {(step.thing, step.id): step for step in together}, known)


def _together(written: Mapping[str, Step], run: list[PlannedStep]) -> Iterator[list[PlannedStep]]:
    """What one table can hold: all that a section repeats, or steps that repeat by themselves for the same things."""
    if not written[run[0].id].for_each:
        yield run
        return
    held: list[PlannedStep] = []
    for _, same in groupby(run, key=lambda step: step.id):
        more = list(same)
        if held and [step.thing for step in more] != list(dict.fromkeys(step.thing for step in held)):
            yield held
            held = []
        held = [*held, *more]
    yield held


def _tick(letter: str, step: Step, general: Mapping[str, str], wanted: str) -> Tick:
    def say(text: str) -> str:
        return fill(text, general, UNKNOWN).replace("((", "(").replace("))", ")")

    reading = Reading(step.reading.name or "reading", step.reading.unit, wanted) if step.reading else None
    return Tick(
        do=say(step.do),
        until=say(step.until),
        note=say(step.why),
        cautions=tuple(say(text) for text in (step.caution, step.irreversible) if text),
        must=step.must,
        takes=f"{duration(step.takes)} each" if step.takes is not None else "",
        reading=reading,
        letter=letter,
    )


def _letters() -> Iterator[str]:
    yield from ascii_uppercase
    yield from (first + second for first in ascii_uppercase for second in ascii_uppercase)


def _head(field: str) -> str:
    kind, _, name = field.partition(".")
    return HEADS.get(field, kind if name == "name" else name.replace("_", " "))

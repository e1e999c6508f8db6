"""The plan of a run: a playbook laid over a rig, every step repeated, every sentence filled in.

The plan is kept with the run as JSON, so that an old log still reads right after files and program have changed.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from typing import Any

from showday.playbook import model
from showday.playbook.conditions import fits, holds
from showday.rig.model import Input, Item, Rig, Thing
from showday.rig.words import OF_THE_PLAN, UNKNOWN, facts, named_things, people_of, rig_fields, thing_fields
from showday.text.sentence import fields_in, fill
from showday.text.values import Span, span

FORMAT = 1
SENTENCES = ("do", "until", "why", "caution")
"""What of a step the frequency plan may complete."""


TO_FIX_ITEM = "to-fix item"
"""What a step about something on the to-fix list is about when that is about nothing else."""


@dataclass(frozen=True, slots=True)
class PlannedReading:
    """A number to note, with its range in figures (None: open on that side)."""

    unit: str
    name: str = ""
    low: float | None = None
    high: float | None = None

    @property
    def wanted(self) -> Span:
        """The range as a span."""
        return Span(self.low, self.high)


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One step for one thing, ready to show. Texts are foreign: show them as plain text."""

    key: str
    """Unique in the run: `signal@3`, or the step's id when it does not repeat."""
    id: str
    section: int
    do: str
    until: str = ""
    why: str = ""
    basis: str = ""
    caution: str = ""
    takes: float | None = None
    must: bool = False
    reading: PlannedReading | None = None
    if_wrong: tuple[str, ...] = ()
    opens: str = ""
    irreversible: str = ""
    about: str = ""
    """What it is about, in words: `input 3, Kick`."""
    kind: str = ""
    """Kind of the thing it repeats for, and the thing's part of the key."""
    thing: str = ""
    people: tuple[str, ...] = ()
    """Whose line it is: when all of them are away, the step is `not here`."""
    templates: tuple[tuple[str, str], ...] = ()
    """Sentences (name, text) that a frequency plan completes when they are shown, their fields not filled in."""
    fields: tuple[tuple[str, str], ...] = ()
    """What is known of those sentences' other fields."""
    risk: str = ""
    harm: str = ""
    """How often something is wrong here and how bad that is, in the author's words; empty: not said."""
    after: tuple[str, ...] = ()
    """Ids of the steps that it needs."""


@dataclass(frozen=True, slots=True)
class PlannedSection:
    """A section of the plan."""

    title: str
    mode: str = "read-do"
    pause: str = ""
    caution: tuple[str, ...] = ()
    waits: str = ""
    """What its steps wait for, such as a song; empty when they are done one after the other."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole playbook for one rig."""

    playbook: str
    title: str
    sections: tuple[PlannedSection, ...] = ()
    steps: tuple[PlannedStep, ...] = ()
    about: str = ""
    pause: str = ""
    caution: tuple[str, ...] = ()
    by: str = ""
    """`slot` or `changeover` when the run must be over by then; empty: no hurry."""


NO_PLAN = Plan(playbook="", title="Fault walk")
"""The plan of a fault walk outside of any playbook."""


def make_plan(
    book: model.Playbook,
    rig: Rig,
    *,
    show_facts: Mapping[str, bool] | None = None,
    fields: Mapping[str, str] | None = None,
) -> Plan:
    """The playbook laid over the rig.

    `show_facts` are conditions known of the show (`festival: True`); `fields` are known sentence fields of the
    venue and the show (`venue.name`, `show.slot` …).
    """
    known = {**rig_fields(rig), **(fields or {})}
    conditions = {**facts(rig), **(show_facts or {})}
    maker = _Maker(rig, known, conditions)
    for section in book.sections:
        maker.section(book, section)
    return Plan(
        playbook=str(book.playbook),
        title=str(book.title),
        sections=tuple(maker.sections),
        steps=tuple(maker.steps),
        about=str(book.about),
        pause=str(book.pause),
        caution=tuple(fill(text, known, UNKNOWN) for text in book.caution),
        by=str(book.by),
    )


class _Maker:
    def __init__(self, rig: Rig, known: Mapping[str, str], conditions: Mapping[str, bool]) -> None:
        self.rig = rig
        self.known = known
        self.conditions = conditions
        self.sections: list[PlannedSection] = []
        self.steps: list[PlannedStep] = []

    def section(self, book: model.Playbook, section: model.Section) -> None:
        before = len(self.steps)
        if holds(section.when, self.conditions):
            self._steps(section)
        if len(self.steps) > before:
            caution = tuple(fill(text, self.known, UNKNOWN) for text in section.caution)
            mode = str(section.mode or book.mode)
            self.sections.append(
                PlannedSection(str(section.title), mode, str(section.pause), caution, str(section.waits))
            )
        elif section.pause and self.sections:
            # A section with nothing to do tonight must not take its pause point with it.
            last = self.sections[-1]
            if not last.pause:
                self.sections[-1] = replace(last, pause=str(section.pause))

    def _steps(self, section: model.Section) -> None:
        if section.for_each:
            for part, thing in self._things(section.for_each, section.where):
                for step in section.steps:
                    if fits(step.where, thing):
                        self._step(step, section.for_each, part, thing)
            return
        for step in section.steps:
            if not step.for_each:
                self._step(step)
                continue
            for part, thing in self._things(step.for_each, step.where):
                self._step(step, step.for_each, part, thing)

    def _things(self, kind: str, where: tuple[str, ...]) -> list[tuple[str, Thing]]:
        return [(part, thing) for part, thing in named_things(kind, self.rig) if fits(where, thing)]

    def _step(self, step: model.Step, kind: str = "", part: str = "", thing: Thing | None = None) -> None:
        if not holds(step.when, self.conditions):
            return
        known = dict(self.known)
        about = ""
        people: tuple[str, ...] = ()
        if thing is not None:
            known |= thing_fields(kind, thing)
            about = about_words(kind, thing)
            people = tuple(sorted(people_of(kind, thing, self.rig)))

        def say(text: str) -> str:
            return fill(text, known, UNKNOWN)

        named = {name: str(getattr(step, name)) for name in SENTENCES}
        templates = tuple((name, text) for name, text in named.items() if OF_THE_PLAN.intersection(fields_in(text)))
        wanted = sorted({field for _, text in templates for field in fields_in(text)} & known.keys())
        self.steps.append(
            PlannedStep(
                key=f"{step.id}@{part}" if part else str(step.id),
                id=str(step.id),
                section=len(self.sections),
                do=say(step.do),
                until=say(step.until),
                why=say(step.why),
                basis=str(step.basis),
                caution=say(step.caution),
                takes=step.takes,
                must=step.must,
                reading=_reading(step.reading, known),
                if_wrong=tuple(str(target) for target in step.if_wrong),
                opens=str(step.opens),
                irreversible=say(step.irreversible),
                about=about,
                kind=kind,
                thing=part,
                people=people,
                templates=templates,
                fields=tuple((field, known[field]) for field in wanted),
                risk=str(step.risk),
                harm=str(step.harm),
                after=tuple(str(id) for id in step.after),
            )
        )


def about_words(kind: str, thing: Thing) -> str:
    """`input 3, Kick`, `mix Front`, `Pack 1`: the kind is not said twice."""
    if isinstance(thing, Input):
        return f"{kind} {thing.number}, {thing.name}"
    if isinstance(thing, Item):
        return thing.about or TO_FIX_ITEM
    return str(thing.name) if kind in thing.name.lower().split() else f"{kind} {thing.name}"


def _reading(reading: model.Reading | None, known: Mapping[str, str]) -> PlannedReading | None:
    if reading is None:
        return None
    wanted = Span()
    text = fill(reading.wanted, known, dict.fromkeys(UNKNOWN, "")) if reading.wanted else ""
    if text.strip(" ."):
        try:
            wanted = span(text)
        except ValueError:
            wanted = Span()  # the rig does not say the figure, so any reading is noted without a verdict
    return PlannedReading(str(reading.unit), str(reading.name), wanted.low, wanted.high)


_PAIRS = ("templates", "fields")
_SELDOM = (*_PAIRS, "risk", "harm", "after")
"""What most steps do not have."""


def plan_to_json(plan: Plan) -> str:
    """The plan as JSON text, the same text for the same plan."""
    data = {"format": FORMAT, **asdict(plan)}
    for step in data["steps"]:
        for name in _SELDOM:
            if not step[name]:
                del step[name]
    for section in data["sections"]:
        if not section["waits"]:
            del section["waits"]
    return json.dumps(data, ensure_ascii=False, sort_keys=True)


@lru_cache(maxsize=32)  # a brief and a forecast read many runs that were walked by one plan
def plan_from_json(text: str) -> Plan:
    """The plan of such a text; ValueError when it is none. Keys of a newer program are passed over."""
    try:
        plan = _plan_of(json.loads(text))
    except (TypeError, KeyError, AttributeError, RecursionError) as error:
        raise ValueError(f"not a plan: {error}") from None
    if len({step.key for step in plan.steps}) < len(plan.steps):
        raise ValueError("not a plan: two steps have one key")
    if any(not 0 <= step.section < len(plan.sections) for step in plan.steps):
        raise ValueError("not a plan: a step is in no section")
    return plan


def _plan_of(data: Any) -> Plan:
    steps = []
    for raw in data["steps"]:
        reading = raw.pop("reading", None)
        made = PlannedReading(**_only(PlannedReading, reading)) if reading else None
        raw |= {name: tuple((key, text) for key, text in raw[name]) for name in _PAIRS if name in raw}
        steps.append(PlannedStep(**_only(PlannedStep, raw), reading=made))
    sections = tuple(PlannedSection(**_only(PlannedSection, raw)) for raw in data["sections"])
    top = _only(Plan, data)
    return Plan(**{**top, "sections": sections, "steps": tuple(steps)})


def _only(model_type: Any, raw: Mapping[str, Any]) -> dict[str, Any]:
    names = model_type.__dataclass_fields__
    return {k: tuple(v) if isinstance(v, list) else v for k, v in raw.items() if k in names}

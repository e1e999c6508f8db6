"""Steps that tick themselves: which input a step wants to hear, and what is written when it was heard.

A line that is good is ticked; a must that is good is put off with what was heard, because a must wants a human key. Pure:
what was heard is handed in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from showday.playbook.model import LISTEN
from showday.rig.model import Rig
from showday.rig.words import named_things
from showday.run import events as ev
from showday.run.plan import PlannedStep
from showday.run.progress import current
from showday.run.session import Session
from showday.run.state import RunState, waiting

if TYPE_CHECKING:
    from showday.sound.verdict import Heard

INPUT = "input"
PEAK_UNIT = "dbfs"
"""Unit of the readings that listening gives, in small letters."""


def awaited(state: RunState, rig: Rig) -> str:
    """The name of the input that the current step wants to hear; empty when it wants none.

    A must that was heard already waits for its key and is not listened to again.
    """
    step = current(state)
    if step is None or step.opens != LISTEN:
        return ""
    said = state.step(step.key)
    if said.source == ev.HEARD and said.result == ev.LATER:
        return ""
    return _input_of(step, rig)


def tick(session: Session, rig: Rig, heard: Heard) -> str:
    """Answer the current step by what was heard, in one stroke with its reading; what was done, in a sentence.

    Nothing is written, and nothing said, unless the input that the step wants was heard and is good. A level outside of
    the step's own range is never ticked.
    """
    step = current(session.state)
    wanted = awaited(session.state, rig)
    if step is None or not wanted or heard.input != wanted or heard.verdict != ev.GOOD:
        return ""
    reading = _reading(step, heard.level_dbfs)
    if step.reading is not None and (reading is None or reading.inside is False):
        return ""
    result = ev.LATER if step.must else ev.GOOD
    answer = ev.StepAnswered(step.key, result, f"heard good: {heard.reason}", source=ev.HEARD)
    session.record(*([reading] if reading else []), answer)
    if step.must:
        return f"{wanted} heard good; it is a must and waits for your key. {heard.reason}"
    return f"{wanted} ticked by ear. {heard.reason}"


def tick_input(session: Session, rig: Rig, heard: Heard) -> list[str]:
    """Answer every step still to be asked that wants this input, in the plan's order; what was done, in sentences.

    For whoever walks the stage by the inputs' order and not by the run's.
    """
    said: list[str] = []
    if heard.verdict != ev.GOOD or not heard.input:
        return said
    for _, step in waiting(session.state):
        if step.opens == LISTEN and _input_of(step, rig) == heard.input:
            before = current(session.state)
            if before is None or before.key != step.key:
                session.go_to(step.key)
            told = tick(session, rig, heard)
            said += [told] if told else []
    return said


def _input_of(step: PlannedStep, rig: Rig) -> str:
    if step.kind != INPUT:
        return ""
    return next((str(line.name) for id, line in named_things(INPUT, rig) if id == step.thing), "")


def _reading(step: PlannedStep, level: float | None) -> ev.ReadingTaken | None:
    wanted = step.reading
    if wanted is None or level is None or wanted.unit.casefold() != PEAK_UNIT:
        return None
    span = wanted.wanted
    bounded = span.low is not None or span.high is not None
    value = round(level, 1)
    return ev.ReadingTaken(step.key, value, wanted.unit, span.holds(value) if bounded else None)

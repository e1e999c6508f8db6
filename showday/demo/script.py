"""A scripted evening: a small YAML file that says how one night went, read as strictly as any other file.

Only what differs from "good, in the usual time" is written down; the player makes the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

from showday.demo.air import PLANNED, SWEPT, Planned, Swept
from showday.playbook.reader import TEXTS, check_conditions, place_of
from showday.run.events import RESULTS
from showday.run.touring import TOPICS
from showday.text import fields, values
from showday.text.fields import Choice, Field, Id, ListOf, MapOf, Parsed, Table, Text
from showday.text.problem import Place, Problems, nearest
from showday.text.reader import read_yaml

LONGEST_BEFORE = 3_660
"""Days before tonight that a script may lie back: ten years, a bound against slips of the pen."""


@dataclass(frozen=True, slots=True)
class Break:
    """The person had to leave for `takes` seconds; with `laptop`, the laptop went off and was started again."""

    takes: float
    cue: str = ""
    laptop: bool = False
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Walk:
    """A fault walk: what was answered at each node, in the order it was asked there."""

    tree: str
    answers: tuple[tuple[str, tuple[str, ...]], ...]
    cause: str = ""
    extra: float = 0.0
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Turn:
    """One answer to a step; `extra` seconds come on top of the usual time."""

    result: str = ""
    reason: str = ""
    reading: float | None = None
    note: str = ""
    extra: float = 0.0
    walk: Walk | None = None
    leave: Break | None = None
    """A break before the answer."""
    sweep: Swept | None = None
    plan: Planned | None = None
    """What was kept at this step before it was answered."""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class ToFix:
    """Words about an open item of the to-fix list; `how` closes it."""

    item: str
    note: str = ""
    how: str = ""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Run:
    """One run of the evening: a playbook, or a fault walk on its own."""

    began: str
    playbook: str = ""
    day: int = 0
    """0 on the day of the show, -1 on the day before, 1 on the day after."""
    pace: float = 1.0
    """Factor on every usual time."""
    steps: tuple[tuple[str, tuple[Turn, ...]], ...] = ()
    """By step key (`signal@3`), or by step id for all of its things."""
    walk: Walk | None = None
    stopped_at: str = ""
    """Key of the step before which the run was stopped; empty when it was completed."""
    note: str = ""
    to_fix: tuple[ToFix, ...] = ()
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Where:
    """The venue, and what was noted about it that night."""

    name: str
    town: str = ""
    country: str = ""
    notes: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Topic and texts."""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Evening:
    """One show and its runs."""

    evening: str
    days_before: int
    venue: Where
    about: str = ""
    slot: str = ""
    changeover: float | None = None
    """Seconds."""
    facts: tuple[str, ...] = ()
    away: tuple[str, ...] = ()
    readings: tuple[tuple[str, tuple[float, ...]], ...] = ()
    """Usual values by name of the reading, taken in turn."""
    runs: tuple[Run, ...] = ()
    place: Place = Place()


_NUMBER = fields.number(-1e6, 1e6)
_TIME = Parsed(values.clock_time, "a time of day such as 19:30", {"type": "string"})
_EXTRA = Field("extra", fields.seconds(), "time on top of the usual")
_NOTE = Field("note", Text(), "words of the person")

BREAK = Table(
    "break",
    (
        Field("takes", fields.seconds(), "how long it lasted", needed=True),
        Field("cue", Text(), "one word about it"),
        Field("laptop", fields.yes_no(), "yes: the laptop went off and the run was opened again"),
    ),
    Break,
    bare="takes",
    what="a break",
)
WALK = Table(
    "walk",
    (
        Field("tree", Id(), "id of the fault tree", needed=True),
        Field("answers", MapOf(TEXTS, what="node and answer"), "node → answer, or answers in turn", needed=True),
        Field("cause", Id(), "the cause that was confirmed"),
        _EXTRA,
    ),
    Walk,
    what="a walk",
)
TURN = Table(
    "turn",
    (
        Field("result", Choice(RESULTS), "the result; good when not given"),
        Field("reason", Text(), "the reason that was given"),
        Field("reading", _NUMBER, "the number that was noted"),
        _NOTE,
        _EXTRA,
        Field("walk", WALK, "the fault walk that was opened at this step"),
        Field("break", BREAK, "a break before the answer", attr="leave"),
        Field("sweep", SWEPT, "a sweep that was kept at this step"),
        Field("plan", PLANNED, "a frequency plan that was kept at this step"),
    ),
    Turn,
    bare="result",
    what="an answer",
)
TO_FIX = Table(
    "to-fix",
    (
        Field("item", Text(), "words that only this open item has", needed=True),
        _NOTE,
        Field("how", Text(), "how it was cured; closes the item"),
    ),
    ToFix,
    what="a to-fix item",
)
RUN = Table(
    "run",
    (
        Field("began", _TIME, "time of day", needed=True),
        Field("playbook", Id(), "id of the playbook"),
        Field("day", fields.whole(-30, 30), "days from the show: -1 is the day before"),
        Field("pace", fields.number(0.2, 5), "factor on every usual time"),
        Field("steps", MapOf(ListOf(TURN, single=True), what="step"), "step key or id → what was different"),
        Field("walk", WALK, "a fault walk without a playbook"),
        Field("stopped_at", Text(), "the step before which the run was stopped"),
        _NOTE,
        Field("to_fix", ListOf(TO_FIX), "to-fix items that were dealt with after the run"),
    ),
    Run,
    what="a run",
)
VENUE = Table(
    "venue",
    (
        Field("name", Text("a name"), "the venue's name", needed=True),
        Field("town", Text(), "its town"),
        Field("country", Text(), "its country"),
        Field("notes", MapOf(TEXTS, what="topic"), "topic → what was noted"),
    ),
    Where,
    bare="name",
    what="the venue",
)
EVENING = Table(
    "evening",
    (
        Field("evening", Id(), "id, the same as the file name", needed=True),
        Field("about", Text(), "one sentence"),
        Field("days_before", fields.whole(0, LONGEST_BEFORE), "days before tonight; 0 is tonight", needed=True),
        Field("venue", VENUE, "where", needed=True),
        Field("slot", _TIME, "stage time"),
        Field("changeover", fields.seconds(), "time available for it"),
        Field("facts", TEXTS, "conditions that held: `festival`, `not indoors`"),
        Field("away", TEXTS, "who was not there"),
        Field("readings", MapOf(ListOf(_NUMBER, single=True), what="reading"), "name → values, taken in turn"),
        Field("runs", ListOf(RUN), "the runs in their order"),
    ),
    Evening,
    what="an evening",
)


def read_evening(source: bytes | str, file: str) -> tuple[Evening | None, Problems]:
    """The evening and every problem of its file; None when it cannot be used.

    Whether steps, trees and answers exist is known only when the evening is played.
    """
    node, problems = read_yaml(source, file)
    evening: Evening | None = fields.read_file(EVENING, node, problems)
    if evening is None:
        return None, problems
    check_conditions(evening.facts, problems)
    for topic, _ in evening.venue.notes:
        if topic not in TOPICS:
            problems.add(place_of(topic, evening.place), f"'{topic}' is not a topic", nearest(topic, TOPICS))
    for run in evening.runs:
        if bool(run.playbook) == bool(run.walk):
            problems.add(run.place, "a run has either a playbook or a walk of its own")
        elif run.walk and (run.steps or run.stopped_at):
            problems.add(run.place, "a walk without a playbook has no steps")
    return (None if problems.errors else evening), problems


__all__ = ["EVENING", "Break", "Evening", "Run", "ToFix", "Turn", "Walk", "Where", "read_evening"]

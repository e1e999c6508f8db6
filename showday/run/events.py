"""Everything that can happen in a run, as frozen events. A later event supersedes; none is ever changed."""

from __future__ import annotations

from dataclasses import dataclass

GOOD, FAULT, LATER, LEFT_OUT, NOT_HERE = "good", "fault", "later", "left out", "not here"
RESULTS = (GOOD, FAULT, LATER, LEFT_OUT, NOT_HERE)
"""Results of a step: as wanted; not so; still owed; a decision, with a reason; does not apply."""

COMPLETE, STOPPED = "complete", "stopped"
RESTORED, UNSOLVED, LEFT, MOVED_ON = "restored", "unsolved", "left", "moved on"
WALK_ENDS = (RESTORED, UNSOLVED, LEFT, MOVED_ON)
"""Ends of a fault walk: sound is back; help was called; the person went back without an end;
the fault is looked for in another tree."""

BY_HAND = "hand"
"""Source of an answer that a person gave by a key."""
TOGETHER = "together"
"""Source of a result that several steps were given at once."""
CARRIED = "carried"
"""Source of an answer that was given in an earlier walk."""

HEARD = "heard"
"""Source of an answer that listening gave; whoever answers again overrules it."""


@dataclass(frozen=True, slots=True)
class Event:
    """Base of all events."""


@dataclass(frozen=True, slots=True)
class RunStarted(Event):
    """A run begins. Hashes name snapshots kept in the log: the plan (JSON), and the files it was made of."""

    playbook: str
    """Id of the playbook; empty for a fault walk outside of any playbook."""
    title: str
    plan: str
    sources: tuple[str, ...] = ()
    venue: str = ""
    show: str = ""
    away: tuple[str, ...] = ()
    """Names of the people who are not here."""
    rig: str = ""
    """Id of the rig."""


@dataclass(frozen=True, slots=True)
class StepBegun(Event):
    """A step is put before the person; the run stands there now."""

    step: str


@dataclass(frozen=True, slots=True)
class StepAnswered(Event):
    """The person's answer to a step."""

    step: str
    result: str
    reason: str = ""
    confirmed: bool = False
    """True when the must step's own key was used."""
    source: str = BY_HAND


@dataclass(frozen=True, slots=True)
class StepsLeftOut(Event):
    """The person left several steps out at once, for want of time; one key takes them back."""

    steps: tuple[str, ...]
    reason: str = ""


@dataclass(frozen=True, slots=True)
class StepsTakenBack(Event):
    """Of what was left out at once, what nobody has answered since is asked again."""

    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReadingTaken(Event):
    """A number noted at a step; `inside` says whether it was in the wanted range, None when there is none."""

    step: str
    value: float
    unit: str
    inside: bool | None = None


@dataclass(frozen=True, slots=True)
class NoteAdded(Event):
    """Words of the person; `step` may be empty."""

    text: str
    step: str = ""


@dataclass(frozen=True, slots=True)
class Undone(Event):
    """The entry of this id no longer counts."""

    target: str


@dataclass(frozen=True, slots=True)
class AwayChanged(Event):
    """Who is not here, from now on."""

    away: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RunInterrupted(Event):
    """The person had to leave; the cue is one word or none."""

    cue: str = ""


@dataclass(frozen=True, slots=True)
class RunResumed(Event):
    """The person is back, after an interruption or a crash; `gap` seconds since the last entry."""

    gap: float = 0.0


@dataclass(frozen=True, slots=True)
class WalkOpened(Event):
    """A fault walk begins; `tree` is the snapshot's hash, `outline` its checks and fixes with their answers."""

    walk: str
    fault: str
    title: str
    tree: str
    outline: tuple[tuple[str, tuple[str, ...]], ...]
    step: str = ""
    about: str = ""
    """What it is about, in words: `Input 3, Kick`."""
    thing: tuple[str, str] = ("", "")
    """What it is about, as kind and id of the rig: `("input", "3")`."""
    item: str = ""
    """The to-fix item whose cause is sought; empty for a walk that begins with what was heard."""


@dataclass(frozen=True, slots=True)
class WalkAnswered(Event):
    """The outcome of one check or fix."""

    walk: str
    node: str
    answer: str
    source: str = BY_HAND
    """`hand`, `heard`, or `carried` when it was given in the earlier walk that left the to-fix item."""


@dataclass(frozen=True, slots=True)
class SoundRestored(Event):
    """Service is back after `node`; by a workaround when nothing was cured, which may use up a spare."""

    walk: str
    node: str
    workaround: bool = False
    uses: str = ""


@dataclass(frozen=True, slots=True)
class CauseConfirmed(Event):
    """The cause is known; a fact apart from sound being back."""

    walk: str
    cause: str


@dataclass(frozen=True, slots=True)
class WalkEnded(Event):
    """The fault walk is over."""

    walk: str
    outcome: str
    odds: tuple[tuple[str, float], ...] = ()
    """What was still likely then, cause in words and chance: kept for whoever looks for the cause later."""


@dataclass(frozen=True, slots=True)
class CameBack(Event):
    """What an ended walk had restored has failed again."""

    walk: str


@dataclass(frozen=True, slots=True)
class RunFinished(Event):
    """The run is over: complete, or stopped with steps still owed."""

    outcome: str


RUN_EVENTS: tuple[type[Event], ...] = (
    RunStarted,
    StepBegun,
    StepAnswered,
    StepsLeftOut,
    StepsTakenBack,
    ReadingTaken,
    NoteAdded,
    Undone,
    AwayChanged,
    RunInterrupted,
    RunResumed,
    WalkOpened,
    WalkAnswered,
    SoundRestored,
    CauseConfirmed,
    WalkEnded,
    CameBack,
    RunFinished,
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One event as it stands in the log."""

    id: str
    """UUID of the entry."""
    stream: str
    """UUID of what it belongs to: a run, a venue, a show, a to-fix item."""
    seq: int
    """Place in the stream on the laptop that wrote it, from 0."""
    at: str
    """UTC time, ISO 8601 with milliseconds and Z; for reading, not for durations."""
    elapsed: float
    """Seconds since the stream was opened in this process, from a clock that never jumps."""
    event: Event

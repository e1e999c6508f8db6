"""The phases of a run and the table of what each of them takes."""

from __future__ import annotations

from collections.abc import Mapping

from showday.run import events as ev

READY, WALKING, FAULT_WALK, INTERRUPTED, FINISHED = (
    "ready",
    "walking",
    "fault walk",
    "interrupted",
    "finished",
)

ALLOWED: Mapping[str, frozenset[type[ev.Event]]] = {
    READY: frozenset({ev.RunStarted}),
    WALKING: frozenset(
        {
            ev.StepBegun,
            ev.StepAnswered,
            ev.StepsLeftOut,
            ev.StepsTakenBack,
            ev.ReadingTaken,
            ev.NoteAdded,
            ev.Undone,
            ev.AwayChanged,
            ev.RunInterrupted,
            ev.RunResumed,
            ev.WalkOpened,
            ev.CameBack,
            ev.CauseConfirmed,
            ev.RunFinished,
        }
    ),
    FAULT_WALK: frozenset(
        {
            ev.WalkAnswered,
            ev.SoundRestored,
            ev.CauseConfirmed,
            ev.WalkEnded,
            ev.NoteAdded,
            ev.Undone,
            ev.AwayChanged,
            ev.RunInterrupted,
            ev.RunResumed,
        }
    ),
    INTERRUPTED: frozenset({ev.RunResumed, ev.NoteAdded}),
    FINISHED: frozenset({ev.NoteAdded, ev.Undone, ev.CauseConfirmed}),
}
"""Which events each phase takes; every other is refused."""
REFUSED = {
    READY: ("This run has not begun.", ""),
    WALKING: ("No fault walk is open.", "Open one first."),
    FAULT_WALK: ("A fault walk is open.", "End it first."),
    INTERRUPTED: ("The run is interrupted.", "Go on first."),
    FINISHED: ("The run is over.", "Undo its end to go on."),
}
"""What to tell a person whose event the phase does not take, and what to do."""

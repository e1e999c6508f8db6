"""The table of what may happen when, and the content each event must have; a refused event changes nothing."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from showday.errors import NotAllowed
from showday.fault.walk import CANT_NOW, DONT_KNOW, NO_CHANGE, WORKED
from showday.run import events as ev
from showday.run.phases import ALLOWED, FAULT_WALK, FINISHED, INTERRUPTED, READY, WALKING
from showday.run.plan import NO_PLAN
from showday.run.state import RunState, apply, begin, replay
from tests.support.world import plan_of

PLAN = plan_of("""
playbook: p
title: Plan
sections:
  - title: S
    steps:
      - {id: a, do: Do it}
      - {id: m, do: Do it, must: yes}
      - {id: r, do: Read it, reading: {unit: V, wanted: 1..2}}
""")
STARTED = ev.RunStarted("p", "Plan", "hash")
OPENED = ev.WalkOpened("w", "hum", "Hum", "hash", (("look", ("yes", "no")), ("press", (WORKED, NO_CHANGE))), step="a")


def after(*events: ev.Event, state: RunState | None = None) -> RunState:
    """The state after events."""
    state = state or begin("run", PLAN)
    for event in events:
        state = apply(state, entry(state, event))
    return state


def entry(state: RunState, event: ev.Event) -> ev.Entry:
    """The event as the next entry of the run."""
    number = len(state.history)
    return ev.Entry(f"e{number}", state.run, number, "2026-05-02T18:00:00.000Z", float(number), event)


WALKED = (OPENED, ev.WalkAnswered("w", "press", WORKED), ev.SoundRestored("w", "press"))
ANSWERS = (
    ev.StepAnswered("a", ev.GOOD),
    ev.StepAnswered("m", ev.GOOD, confirmed=True),
    ev.StepAnswered("r", ev.LATER),
)
PHASES = {
    READY: after(),
    WALKING: after(STARTED, *WALKED, ev.WalkEnded("w", ev.RESTORED), *ANSWERS),
    FAULT_WALK: after(STARTED, *ANSWERS, *WALKED),
    INTERRUPTED: after(STARTED, *ANSWERS, ev.RunInterrupted()),
    FINISHED: after(STARTED, *WALKED, ev.WalkEnded("w", ev.RESTORED), *ANSWERS, ev.RunFinished(ev.COMPLETE)),
}


def example(kind: type[ev.Event], state: RunState) -> ev.Event:
    """An event of a kind whose content fits the state."""
    last = {WALKING: 7, FAULT_WALK: 6, FINISHED: 8}.get(state.phase, 0)
    made: dict[type[ev.Event], ev.Event] = {
        ev.RunStarted: STARTED,
        ev.StepBegun: ev.StepBegun("a"),
        ev.StepAnswered: ev.StepAnswered("a", ev.GOOD),
        ev.StepsLeftOut: ev.StepsLeftOut(("r",), "no time"),
        ev.StepsTakenBack: ev.StepsTakenBack(("r",)),
        ev.ReadingTaken: ev.ReadingTaken("r", 1.5, "V", True),
        ev.NoteAdded: ev.NoteAdded("hello"),
        ev.Undone: ev.Undone(f"e{last}"),
        ev.AwayChanged: ev.AwayChanged(("Ada",)),
        ev.RunInterrupted: ev.RunInterrupted("door"),
        ev.RunResumed: ev.RunResumed(3.0),
        ev.WalkOpened: replace(OPENED, walk="w2"),
        ev.WalkAnswered: ev.WalkAnswered("w", "look", "yes"),
        ev.SoundRestored: ev.SoundRestored("w", ""),
        ev.CauseConfirmed: ev.CauseConfirmed("w", "loop"),
        ev.WalkEnded: ev.WalkEnded("w", ev.RESTORED),
        ev.CameBack: ev.CameBack("w"),
        ev.RunFinished: ev.RunFinished(ev.COMPLETE),
    }
    return made[kind]


TABLE = """
                 ready  walking  fault walk  interrupted  finished
RunStarted       yes    -        -           -            -
StepBegun        -      yes      -           -            -
StepAnswered     -      yes      -           -            -
StepsLeftOut     -      yes      -           -            -
StepsTakenBack   -      yes      -           -            -
ReadingTaken     -      yes      -           -            -
NoteAdded        -      yes      yes         yes          yes
Undone           -      yes      yes         -            yes
AwayChanged      -      yes      yes         -            -
RunInterrupted   -      yes      yes         -            -
RunResumed       -      yes      yes         yes          -
WalkOpened       -      yes      -           -            -
WalkAnswered     -      -        yes         -            -
SoundRestored    -      -        yes         -            -
CauseConfirmed   -      yes      yes         -            yes
WalkEnded        -      -        yes         -            -
CameBack         -      yes      -           -            -
RunFinished      -      yes      -           -            -
"""
TAKES = {line.split()[0]: [word == "yes" for word in line.split()[1:]] for line in TABLE.strip().splitlines()[1:]}


def takes(phase: str, kind: type[ev.Event]) -> bool:
    """Whether the table above says yes."""
    return TAKES[kind.__name__][list(PHASES).index(phase)]


def test_the_table_of_the_program_is_this_one() -> None:
    assert {phase: {kind for kind in ev.RUN_EVENTS if takes(phase, kind)} for phase in PHASES} == ALLOWED


def test_the_examples_are_in_their_phases() -> None:
    assert {phase: state.phase for phase, state in PHASES.items()} == {phase: phase for phase in PHASES}


CELLS = [
    pytest.param(phase, kind, id=f"{phase}, {kind.__name__}, {'yes' if takes(phase, kind) else 'no'}")
    for phase in PHASES
    for kind in ev.RUN_EVENTS
]


@pytest.mark.parametrize(("phase", "kind"), CELLS)
def test_each_event_in_each_phase(phase: str, kind: type[ev.Event]) -> None:
    state = PHASES[phase]
    same = replace(state)
    made = entry(state, example(kind, state))
    if takes(phase, kind):
        assert apply(state, made) != state
    else:
        with pytest.raises(NotAllowed) as refused:
            apply(state, made)
        assert refused.value.message.endswith(".") and kind.__name__ not in str(refused.value)
    assert state == same


def test_what_is_no_event_of_a_run_is_refused() -> None:
    from showday.run.touring import VenueAdded

    for state in PHASES.values():
        with pytest.raises(NotAllowed):
            apply(state, entry(state, VenueAdded("Here")))


W, F = WALKING, FAULT_WALK
NOT_SO = [
    pytest.param(W, ev.StepBegun("x"), "There is no step 'x' in this run.", id="begin no step"),
    pytest.param(W, ev.StepAnswered("x", ev.GOOD), "There is no step 'x' in this run.", id="answer no step"),
    pytest.param(W, ev.StepAnswered("a", "fine"), "'fine' is not a result.", id="no result"),
    pytest.param(W, ev.StepAnswered("m", ev.GOOD), "This step is a must.", id="must without its key"),
    pytest.param(W, ev.StepAnswered("m", ev.LEFT_OUT), "This step is a must.", id="must left out in silence"),
    pytest.param(W, ev.StepAnswered("m", ev.LEFT_OUT, "  "), "This step is a must.", id="must left out with a blank"),
    pytest.param(
        W, ev.StepAnswered("m", ev.LEFT_OUT, "", True), "This step is a must.", id="must left out by its key"
    ),
    pytest.param(W, ev.StepAnswered("m", ev.NOT_HERE), "This step is a must.", id="must not here in silence"),
    pytest.param(W, ev.ReadingTaken("a", 1.0, "V"), "This step takes no reading.", id="no reading here"),
    pytest.param(W, ev.ReadingTaken("r", math.nan, "V"), "A reading is a plain number.", id="reading of nan"),
    pytest.param(W, ev.ReadingTaken("r", math.inf, "V"), "A reading is a plain number.", id="reading of infinity"),
    pytest.param(W, ev.NoteAdded(" \n"), "An empty note says nothing.", id="empty note"),
    pytest.param(W, ev.NoteAdded("x", "x"), "There is no step 'x' in this run.", id="note at no step"),
    pytest.param(W, ev.Undone("e1"), "Only the last answer can be undone.", id="undo something else"),
    pytest.param(W, replace(OPENED, step="x", walk="v"), "There is no step 'x' in this run.", id="walk at no step"),
    pytest.param(W, OPENED, "This fault walk was opened before.", id="walk twice"),
    pytest.param(W, ev.CameBack("v"), "No fault walk of this run had restored that.", id="no walk came back"),
    pytest.param(W, ev.CauseConfirmed("v", "x"), "There was no such fault walk in this run.", id="cause of no walk"),
    pytest.param(W, ev.RunFinished("done"), "'done' is not an end of a run.", id="no end of a run"),
    pytest.param(F, ev.WalkAnswered("v", "look", "yes"), "This fault walk is not open.", id="another walk"),
    pytest.param(F, ev.WalkAnswered("w", "x", "yes"), "'x' is not a step of this fault tree.", id="no node"),
    pytest.param(F, ev.WalkAnswered("w", "look", "perhaps"), "'perhaps' is not an answer here.", id="no answer"),
    pytest.param(F, ev.SoundRestored("v", ""), "This fault walk is not open.", id="restored elsewhere"),
    pytest.param(F, ev.WalkEnded("v", ev.LEFT), "This fault walk is not open.", id="end another walk"),
    pytest.param(F, ev.WalkEnded("w", "done"), "'done' is not an end of a fault walk.", id="no end of a walk"),
    pytest.param(F, ev.Undone("e2"), "Only the last answer can be undone.", id="undo outside of the walk"),
]


@pytest.mark.parametrize(("phase", "event", "said"), NOT_SO)
def test_content_that_does_not_fit_is_refused(phase: str, event: ev.Event, said: str) -> None:
    state = PHASES[phase]
    same = replace(state)
    with pytest.raises(NotAllowed) as refused:
        apply(state, entry(state, event))
    assert refused.value.message == said
    assert state == same


def test_restored_needs_sound() -> None:
    with pytest.raises(NotAllowed, match="Sound was not restored in this fault walk"):
        after(STARTED, OPENED, ev.WalkEnded("w", ev.RESTORED))


@pytest.mark.parametrize(
    "event",
    [
        ev.StepAnswered("m", ev.GOOD, confirmed=True),
        ev.StepAnswered("m", ev.FAULT),
        ev.StepAnswered("m", ev.LATER),
        ev.StepAnswered("m", ev.LEFT_OUT, "no time"),
        ev.StepAnswered("m", ev.NOT_HERE, "no generator"),
    ],
    ids=lambda event: event.result,
)
def test_what_a_must_takes(event: ev.StepAnswered) -> None:
    assert after(STARTED, event).step("m").result == event.result


@pytest.mark.parametrize("answer", ["yes", "no", DONT_KNOW, CANT_NOW])
def test_what_a_check_takes(answer: str) -> None:
    walk = after(STARTED, OPENED, ev.WalkAnswered("w", "look", answer)).walk
    assert walk is not None and walk.answers == (("look", answer),)


OWED = [
    pytest.param([], "Not complete: steps are still open, first a.", id="all open"),
    pytest.param(ANSWERS[1:], "Not complete: steps are still open, first a.", id="one open"),
    pytest.param(
        [ANSWERS[0], ev.StepAnswered("m", ev.LATER), ANSWERS[2]],
        "Not complete: a must is owed, first m.",
        id="must put off",
    ),
    pytest.param(
        [ev.StepAnswered("m", ev.LATER)], "Not complete: a must is owed, first m.", id="the must is told first"
    ),
]


@pytest.mark.parametrize(("events", "said"), OWED)
def test_a_run_is_not_complete_while_steps_are_open_or_a_must_is_owed(events: list[ev.Event], said: str) -> None:
    state = after(STARTED, *events)
    with pytest.raises(NotAllowed) as refused:
        apply(state, entry(state, ev.RunFinished(ev.COMPLETE)))
    assert refused.value.message == said
    assert after(ev.RunFinished(ev.STOPPED), state=state).outcome == ev.STOPPED


def test_a_run_is_complete_with_other_steps_put_off() -> None:
    assert PHASES[FINISHED].outcome == ev.COMPLETE


def test_a_run_without_a_plan_holds_a_walk() -> None:
    state = after(STARTED, replace(OPENED, step=""), ev.WalkEnded("w", ev.LEFT), state=begin("run", NO_PLAN))
    assert after(ev.RunFinished(ev.COMPLETE), state=state).phase == FINISHED


@pytest.mark.parametrize("phase", PHASES)
def test_the_same_entries_give_the_same_state(phase: str) -> None:
    state = PHASES[phase]
    assert replay("run", PLAN, state.history) == state

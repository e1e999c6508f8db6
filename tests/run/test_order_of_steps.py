"""What stands before the person next: the order, what was put off, what was jumped over, and the pause points."""

from __future__ import annotations

import pytest

from showday.run import events as ev
from showday.run.plan import Plan
from showday.run.progress import (
    completion_call,
    current,
    last_done,
    pause_reached,
    progress,
    returning,
    section_seconds,
)
from showday.run.state import RunState
from tests.support.world import Evening, plan_of, rig_of

PLAN = plan_of("""
playbook: p
title: Line check
sections:
  - {title: One, steps: [{id: a1, do: Do a1}, {id: a2, do: Do a2, must: yes}, {id: a3, do: Do a3}]}
  - {title: Two, pause: before doors, steps: [{id: b1, do: Do b1}, {id: b2, do: Do b2}]}
  - {title: Three, steps: [{id: c1, do: Do c1}, {id: c2, do: Do c2}]}
  - {title: Four, pause: before the set, steps: [{id: d1, do: Do d1}]}
""")


def told(script: str, plan: Plan = PLAN) -> tuple[list[str], RunState]:
    """Play a script of answers to the current step; the keys that stood before the person, and the state.

    `g` good, `l` later, `f` fault, `o` left out, `>key` go to a step, `s` show the current step, `u` undo,
    `p` note the pause point as `(…)`.
    """
    session = Evening().start(plan)
    seen = []
    for word in script.split():
        if word.startswith(">"):
            session.go_to(word[1:])
            continue
        if word in "us":
            session.undo() if word == "u" else session.show_current()
            continue
        if word == "p":
            seen.append(f"({pause_reached(session.state)})")
            continue
        step = current(session.state)
        assert step is not None
        seen.append(step.key)
        session.show_current()
        result = {"g": ev.GOOD, "l": ev.LATER, "f": ev.FAULT, "o": ev.LEFT_OUT}[word]
        session.answer(result, confirmed=step.must, reason="x" if word == "o" else "")
    last = current(session.state)
    return [*seen, last.key if last else "-"], session.state


ORDERS = [
    pytest.param("g g g g g g g g", "a1 a2 a3 b1 b2 c1 c2 d1 -", id="in order"),
    pytest.param("l g g g g g g", "a1 a2 a3 b1 b2 a1 c1 c2", id="put off until the next pause point"),
    pytest.param("g g g g g l g g g", "a1 a2 a3 b1 b2 c1 c2 d1 c1 -", id="until the last pause point"),
    pytest.param("g l g g", "a1 a2 a3 a2 b1", id="a must until the end of its section"),
    pytest.param("g l g l g g g", "a1 a2 a3 a2 b1 b2 a2 c1", id="a must, again, until the end of the next section"),
    pytest.param("g g l g g g g", "a1 a2 a3 b1 b2 a3 c1 c2", id="the last of a section"),
    pytest.param("g l g l g g l g g l g l", "a1 a2 a3 a2 b1 b2 a2 c1 c2 a2 d1 a2 -", id="a must, to the end"),
    pytest.param("l l g l g g g g g g", "a1 a2 a3 a2 b1 b2 a1 a2 c1 c2 d1", id="two put off, each in its turn"),
    pytest.param("l g g g g l g g l", "a1 a2 a3 b1 b2 a1 c1 c2 d1 a1", id="put off twice"),
    pytest.param("f o g", "a1 a2 a3 b1", id="a fault and a reason are answers"),
    pytest.param(">b1 g", "b1 b2", id="jump ahead"),
    pytest.param(">b1 g g g g g", "b1 b2 c1 c2 d1 a1", id="what was jumped over comes last"),
    pytest.param("g g g >a1 f", "a1 a2 a3 a1 b1", id="answer again, and back"),
    pytest.param("g >b1 g >a2 l g g g", "a1 b1 a2 a3 a2 b2 c1", id="jumped ahead and back, a must keeps its section"),
    pytest.param("l g g >a1 g", "a1 a2 a3 a1 b1", id="done before its time, and on where it was"),
    pytest.param("l g g >a1 l g g", "a1 a2 a3 a1 b1 b2 a1", id="put off before its time keeps its time"),
    pytest.param("l g g g g g g g g", "a1 a2 a3 b1 b2 a1 c1 c2 d1 -", id="all of it"),
    pytest.param("g u", "a1 a1", id="undo"),
    pytest.param("g g >d1 g >a3 g u", "a1 a2 d1 a3 a3", id="undo after a jump stands where it was undone"),
    pytest.param("g g >d1 g >b1 g s u", "a1 a2 d1 b1 b1", id="undo when the next step is shown already"),
    pytest.param("g g g u u u", "a1 a2 a3 a1", id="undo all"),
    pytest.param("g u f u l", "a1 a1 a1 a2", id="undo and answer, again"),
]


@pytest.mark.parametrize(("script", "wanted"), ORDERS)
def test_the_step_that_comes_next(script: str, wanted: str) -> None:
    assert told(script)[0] == wanted.split()


PAUSES = [
    pytest.param("p g p g g p g p g p", ["()", "()", "()", "()", "(before doors)"], id="between two sections"),
    pytest.param("l g g g g p g p", ["(before doors)", "()"], id="once, with what comes back at it"),
    pytest.param("g g g g g g g g p", ["(before the set)"], id="at the end"),
    pytest.param("g g g g g g g l p g p", ["(before the set)", "()"], id="at the end, with what comes back"),
    pytest.param("g l g p g p", ["()", "()"], id="none at the end of a section without one"),
]


@pytest.mark.parametrize(("script", "wanted"), PAUSES)
def test_the_pause_point_that_is_reached(script: str, wanted: list[str]) -> None:
    assert [word for word in told(script)[0] if word.startswith("(")] == wanted


def test_a_step_that_came_back_says_so() -> None:
    state = told("l g g g g")[1]
    assert [returning(state, step) for step in PLAN.steps] == [True] + [False] * 7


def test_the_step_done_last_is_offered_again() -> None:
    assert last_done(told("")[1]) is None
    done = last_done(told("g g u >b1")[1])
    assert done is not None and done.key == "a1"


@pytest.mark.parametrize(
    ("script", "counts", "musts", "owed", "complete"),
    [
        ("", "8 open", ("a2",), (), False),
        ("g", "1 good, 7 open", ("a2",), (), False),
        ("g l", "1 good, 1 later, 6 open", ("a2",), ("a2",), False),
        ("l g g g g f o g g", "6 good, 1 fault, 1 left out", (), (), True),
        ("g g g g g g g l", "7 good, 1 later", (), ("d1",), True),
        ("g l g l g g l g g l g l", "7 good, 1 later", ("a2",), ("a2",), False),
    ],
)
def test_how_far_it_has_come(
    script: str, counts: str, musts: tuple[str, ...], owed: tuple[str, ...], complete: bool
) -> None:
    done = progress(told(script)[1])
    assert (done.counts(), done.musts_owed, done.owed, done.can_complete) == (counts, musts, owed, complete)
    assert done.total == 8 and done.done == 8 - done.open - done.later


@pytest.mark.parametrize(
    ("script", "call"),
    [
        ("g g g g g g g g", "LINE CHECK COMPLETE: 8 good"),
        ("g g g g g g g l", "LINE CHECK COMPLETE: 7 good, 1 later (Do d1)"),
        ("g", "LINE CHECK STOPPED: 1 good, 7 open"),
        ("l l l l l", "LINE CHECK STOPPED: 4 later, 4 open (Do a1; Do a2; Do a3 …)"),
    ],
)
def test_the_call_at_the_end(script: str, call: str) -> None:
    assert completion_call(told(script)[1]) == call


def test_a_stopped_run_is_called_stopped() -> None:
    session = Evening().start(PLAN)
    session.finish(ev.STOPPED)
    assert completion_call(session.state) == "LINE CHECK STOPPED: 8 open"


RIG = rig_of("rig: r\npeople: [Ada, Ben]\npacks: [{name: P, person: Ada}, {name: Q, person: Ben}, R]")
PACKS = plan_of(
    "playbook: p\ntitle: T\nsections: [{title: S, steps: [{id: on, do: Switch it on, for_each: pack, must: yes}]}]",
    RIG,
)


def test_what_is_somebodys_who_is_away_is_not_here() -> None:
    session = Evening().start(PACKS, away=("Ada",))
    assert [session.state.result_of(step) for step in PACKS.steps] == [ev.NOT_HERE, "", ""]
    step = current(session.state)
    assert step is not None and step.key == "on@q"
    assert progress(session.state).counts() == "1 not here, 2 open"
    assert progress(session.state).musts_owed == ("on@q", "on@r")


def test_who_comes_late_is_asked_after_all_and_who_leaves_is_not_waited_for() -> None:
    session = Evening().start(PACKS, away=("Ada",))
    session.show_current()
    session.record(ev.AwayChanged(("Ben",)))
    step = current(session.state)
    assert step is not None and step.key == "on@p"
    session.answer(ev.GOOD, confirmed=True)
    session.record(ev.AwayChanged(("Ada", "Ben")))
    assert [session.state.result_of(step) for step in PACKS.steps] == [ev.GOOD, ev.NOT_HERE, ""]


def test_a_step_of_somebody_away_can_still_be_gone_to() -> None:
    session = Evening().start(PACKS, away=("Ada",))
    session.go_to("on@p")
    step = current(session.state)
    assert step is not None and step.key == "on@p"


def test_seconds_of_a_section_leave_out_interruptions_and_fault_walks() -> None:
    evening = Evening()
    session = evening.start(PLAN)

    def at(seconds: float, event: ev.Event) -> None:
        evening.clock.advance(seconds)
        session.record(event)

    at(5, ev.StepBegun("a1"))
    at(10, ev.StepAnswered("a1", ev.GOOD))
    at(7, ev.StepAnswered("a2", ev.GOOD, confirmed=True))
    at(1, ev.RunInterrupted())
    at(500, ev.RunResumed(500))
    at(4, ev.StepAnswered("a3", ev.FAULT))
    at(1, ev.WalkOpened("w", "hum", "Hum", "h", (), "a3"))
    at(300, ev.WalkEnded("w", ev.LEFT))
    at(6, ev.StepAnswered("b1", ev.GOOD))
    at(9, ev.NoteAdded("x"))
    at(3, ev.StepAnswered("b2", ev.GOOD))
    where = {step.key: step.section for step in PLAN.steps}
    assert section_seconds(evening.sink.lines, where) == {0: 10 + 7 + 4, 1: 6 + 12}
    assert section_seconds([], where) == {}
    assert section_seconds(evening.sink.lines, {}) == {}

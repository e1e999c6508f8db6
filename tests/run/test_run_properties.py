"""Whatever a person does in whatever order: nothing is lost or half done, and the log tells the same story."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showday.errors import NotAllowed
from showday.fault.walk import CANT_NOW, NO_CHANGE, WORKED
from showday.run import events as ev
from showday.run.phases import ALLOWED, FINISHED, WALKING
from showday.run.progress import completion_call, current, last_done, pause_reached, progress
from showday.run.session import Session
from showday.run.state import RunState, apply, replay, undo_target, waiting
from tests.support.world import Evening, plan_of, rig_of

RIG = rig_of("rig: r\npeople: [Ada, Ben]\ninputs: [{name: A, person: Ada}, {name: B, person: Ben}]")
PLAN = plan_of(
    """
playbook: p
title: Plan
sections:
  - {title: One, steps: [{id: a, do: Do it}, {id: m, do: Do it, must: yes}]}
  - {title: Two, pause: here, for_each: input, steps: [{id: i, do: Do it, reading: {unit: dB, wanted: -3..3}}]}
  - {title: Three, steps: [{id: n, do: Do it, must: yes}, {id: z, do: Do it}]}
  - {title: Four, pause: there, steps: [{id: y, do: Do it}]}
""",
    RIG,
)
KEYS = st.sampled_from([step.key for step in PLAN.steps] + ["gone"])
WALKS = st.sampled_from(["w1", "w2", "w3"])
OUTLINE = (("look", ("yes", "no")), ("press", (WORKED, NO_CHANGE)), ("help", (WORKED, NO_CHANGE)))
RESULTS = st.sampled_from([*ev.RESULTS, "fine"])
PEOPLE = st.sets(st.sampled_from(["Ada", "Ben"])).map(tuple)

EVENTS: st.SearchStrategy[ev.Event] = st.one_of(
    st.builds(ev.StepAnswered, KEYS, RESULTS, st.sampled_from(["", "why"]), st.booleans()),
    st.builds(ev.StepAnswered, KEYS, RESULTS, st.just("why"), st.just(True)),
    st.builds(ev.StepBegun, KEYS),
    st.builds(ev.ReadingTaken, KEYS, st.sampled_from([0.0, 9.5, float("nan")]), st.just("dB"), st.none()),
    st.builds(ev.NoteAdded, st.sampled_from(["", "hello"]), st.one_of(st.just(""), KEYS)),
    st.builds(ev.AwayChanged, PEOPLE),
    st.builds(ev.RunInterrupted, st.just("door")),
    st.builds(ev.RunResumed, st.just(2.0)),
    st.builds(
        ev.WalkOpened,
        WALKS,
        st.just("hum"),
        st.just("Hum"),
        st.just("h"),
        st.just(OUTLINE),
        st.one_of(st.just(""), KEYS),
    ),
    st.builds(
        ev.WalkAnswered, WALKS, st.sampled_from(["look", "press", "x"]), st.sampled_from(["yes", WORKED, CANT_NOW])
    ),
    st.builds(ev.SoundRestored, WALKS, st.sampled_from(["press", ""]), st.booleans()),
    st.builds(ev.CauseConfirmed, WALKS, st.just("loop")),
    st.builds(ev.WalkEnded, WALKS, st.sampled_from([*ev.WALK_ENDS, "x"])),
    st.builds(ev.CameBack, WALKS),
    st.builds(ev.RunFinished, st.sampled_from([ev.COMPLETE, ev.STOPPED])),
    st.just(ev.Undone("last")),
    st.builds(ev.Undone, st.sampled_from(["id-1", "id-3"])),
)

Act = Callable[[Session], object]
ACTS: st.SearchStrategy[Act] = st.sampled_from(
    [
        lambda s: s.answer(ev.GOOD, confirmed=True),
        lambda s: s.answer(ev.GOOD),
        lambda s: s.answer(ev.LATER),
        lambda s: s.answer(ev.LEFT_OUT),
        lambda s: s.read(1.0),
        lambda s: s.show_current(),
        lambda s: s.undo(),
        lambda s: s.interrupt(),
        lambda s: s.resume_here(),
        lambda s: s.end_walk("loop"),
        lambda s: s.restored_by_itself(),
        lambda s: s.finish(),
        lambda s: s.go_to("z"),
    ]
)


def do(session: Session, act: ev.Event | Act) -> None:
    """Record an event, or do what a screen does."""
    if not isinstance(act, ev.Event):
        act(session)
        return
    target = undo_target(session.state)
    session.record(ev.Undone(target.id) if act == ev.Undone("last") and target else act)


def same_but_for_the_place(a: RunState, b: RunState) -> bool:
    """Whether two states are equal in all but the step that stands before the person."""
    return replace(a, at="", history=()) == replace(b, at="", history=())


def check_state(state: RunState) -> None:
    """What must hold in any state."""
    done = progress(state)
    assert done.total == len(PLAN.steps) and sum(1 for _ in done.musts_owed) <= 2
    assert completion_call(state) and isinstance(pause_reached(state), str)
    assert (current(state) is None) == (not waiting(state) and (not state.at or not shown(state)))
    if current(state) is None:
        assert done.open == 0
    answered = last_done(state)
    assert answered is None or state.step(answered.key).result
    if state.phase == WALKING:
        assert allowed(state, ev.RunFinished(ev.COMPLETE)) == done.can_complete


def shown(state: RunState) -> bool:
    """Whether the last thing said about a place is that a step was shown."""
    kinds = (ev.StepBegun, ev.StepAnswered, ev.AwayChanged)
    last = next((e.event for e in reversed(state.history) if isinstance(e.event, kinds)), None)
    return isinstance(last, ev.StepBegun) and last.step == state.at


def allowed(state: RunState, event: ev.Event) -> bool:
    """Whether the state takes the event."""
    try:
        apply(state, ev.Entry("x", state.run, 0, "", 0.0, event))
    except NotAllowed:
        return False
    return True


def check_undo(before: RunState, after: RunState) -> None:
    """Taking the last answer back gives the state before it."""
    if len(after.history) != len(before.history) + 1 or ev.Undone not in ALLOWED[after.phase]:
        return
    added = after.history[-1]
    target = undo_target(after)
    answers = (ev.StepAnswered, ev.ReadingTaken, ev.NoteAdded, ev.RunFinished, ev.WalkAnswered, ev.SoundRestored)
    if isinstance(added.event, answers):
        assert target is not None and target.id == added.id
    if target is not None and target.id == added.id:
        undone = apply(after, ev.Entry("u", after.run, 0, "", 0.0, ev.Undone(added.id)))
        assert same_but_for_the_place(undone, before)
        assert undone.history == before.history


@settings(max_examples=150)
@given(st.lists(st.one_of(EVENTS, ACTS), max_size=40))
def test_any_story_replays_and_what_is_refused_leaves_no_trace(acts: list[ev.Event | Act]) -> None:
    evening = Evening()
    session = evening.start(PLAN)
    for act in acts:
        evening.clock.advance(1.0)
        before, written = session.state, list(evening.sink.lines)
        try:
            do(session, act)
        except NotAllowed:
            assert session.state is before
            assert evening.sink.lines == written
            continue
        check_undo(before, session.state)
        check_state(session.state)
    entries = evening.sink.of("run")
    assert replay("run", PLAN, entries) == session.state
    assert [entry.seq for entry in entries] == list(range(len(entries)))
    again = evening.again(PLAN)
    if session.state.phase != FINISHED:
        assert isinstance(again.state.history[-1].event, ev.RunResumed)
        assert again.state.steps == session.state.steps and again.state.walks == session.state.walks
    else:
        assert again.state == session.state


@given(st.lists(st.sampled_from([ev.GOOD, ev.LATER, ev.FAULT, "read", "note", "jump"]), max_size=30))
def test_undo_goes_all_the_way_back(answers: list[str]) -> None:
    session = Evening().start(PLAN)
    begun = session.state
    for answer in answers:
        step = current(session.state)
        if step is None:
            break
        session.show_current()
        if answer == "read" and step.reading:
            session.read(1.0)
        elif answer == "note":
            session.record(ev.NoteAdded("x", step.key))
        elif answer == "jump":
            session.go_to("z")
        else:
            session.answer(answer if answer in ev.RESULTS else ev.GOOD, confirmed=True)
    while undo_target(session.state):
        session.undo()
    assert same_but_for_the_place(session.state, begun)
    with pytest.raises(NotAllowed, match="nothing to undo"):
        session.undo()


@given(st.lists(st.sampled_from([ev.GOOD, ev.LATER]), max_size=60))
def test_answering_whatever_comes_ends_with_everything_answered(answers: list[str]) -> None:
    session = Evening().start(PLAN)
    given = iter(answers)
    for _ in range(6 * len(PLAN.steps)):
        if current(session.state) is None:
            break
        session.answer(next(given, ev.GOOD), confirmed=True)
    assert current(session.state) is None
    assert progress(session.state).open == 0

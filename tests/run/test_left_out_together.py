"""Several steps left out at once for want of time, and asked again."""

from __future__ import annotations

import pytest

from showday.errors import NotAllowed
from showday.run import events as ev
from showday.run.progress import current, progress
from showday.run.session import Session
from showday.timekeeping import together
from tests.support.world import Evening, plan_of, rig_of

BOOK = plan_of(
    """
playbook: p
title: P
sections:
  - title: One
    pause: before the doors
    steps:
      - {id: a, do: Do a}
      - {id: b, do: Do b}
      - {id: c, do: Do c, must: yes}
      - {id: d, do: Do d}
""",
    rig_of("rig: r"),
)


@pytest.fixture
def session() -> Session:
    made = Evening().start(BOOK)
    made.show_current()
    return made


def at(session: Session) -> str:
    step = current(session.state)
    return step.key if step else ""


def test_what_is_left_out_is_not_asked_and_the_step_before_the_person_moves_on(session: Session) -> None:
    session.record(ev.StepsLeftOut(("a", "d"), "no time"))
    assert at(session) == "b"
    assert progress(session.state).left_out == 2
    assert session.state.step("a").reason == "no time"
    assert together(session.state) == ("a", "d")


def test_one_event_asks_them_again_but_not_what_was_answered_since(session: Session) -> None:
    session.record(ev.StepsLeftOut(("a", "d"), "no time"))
    session.go_to("d")
    session.answer(ev.GOOD)
    session.record(ev.StepsTakenBack(together(session.state)))
    assert [session.state.step(key).result for key in "abcd"] == ["", "", "", ev.GOOD]
    assert together(session.state) == ()


def test_what_was_owed_before_is_owed_again(session: Session) -> None:
    session.answer(ev.LATER)
    session.record(ev.StepsLeftOut(("a",), "no time"))
    session.record(ev.StepsTakenBack(("a",)))
    assert session.state.step("a").result == ev.LATER
    assert progress(session.state).owed == ("a",)


def test_one_undo_takes_all_of_it_back(session: Session) -> None:
    before = session.state.steps
    session.record(ev.StepsLeftOut(("a", "b"), "no time"))
    session.undo()
    assert session.state.steps == before
    assert at(session) == "a"


@pytest.mark.parametrize(
    ("keys", "why"), [(("c",), "must"), (("a", "a1"), "no step 'a1'"), (("b", "c"), "must"), (("x",), "no step")]
)
def test_a_must_is_never_among_them_and_nothing_is_half_done(
    session: Session, keys: tuple[str, ...], why: str
) -> None:
    before = session.state
    with pytest.raises(NotAllowed, match=why):
        session.record(ev.StepsLeftOut(keys))
    assert session.state == before


def test_what_is_done_cannot_be_left_out_with_others(session: Session) -> None:
    session.answer(ev.GOOD)
    with pytest.raises(NotAllowed, match="not to be asked"):
        session.record(ev.StepsLeftOut(("a",)))


def test_a_run_with_them_can_be_complete(session: Session) -> None:
    session.record(ev.StepsLeftOut(("a", "b", "d"), "no time"))
    session.answer(ev.GOOD, confirmed=True)
    assert current(session.state) is None
    assert session.finish().outcome == ev.COMPLETE

"""What the log says of times: each step's own seconds, what came between, how often something was wrong."""

from __future__ import annotations

import pytest

from showday.past_times import FAR_OUT_SECONDS, Lived, lived, past_of
from showday.run import events as ev
from showday.run.session import Session
from tests.support.world import Evening
from tests.test_pacing import BOOK, KEYS, walked

BY_ID = {step.id for step in BOOK.steps}


@pytest.fixture
def evening() -> Evening:
    return Evening()


@pytest.fixture
def session(evening: Evening) -> Session:
    made = evening.start(BOOK)
    made.show_current()
    return made


def had(session: Session) -> Lived:
    return lived(session.state.history, session.elapsed)


def open_walk(session: Session) -> None:
    session.record(ev.WalkOpened("w", "hum", "Hum", "hash", (("look", ("yes", "no")),), step="scene"))


def test_a_step_has_the_seconds_from_being_shown_to_its_answer(evening: Evening) -> None:
    state = walked(evening, "a", {"scene": 20, "packs": 7, "signal@2": 33})
    seconds = lived(state.history)
    assert seconds.steps["scene"] == pytest.approx(20)
    assert seconds.steps["packs"] == pytest.approx(7)
    assert seconds.steps["signal@2"] == pytest.approx(33)
    assert seconds.worked == pytest.approx(20 + 7 + 33 + 10 * (len(KEYS) - 3))
    assert (seconds.interruptions, seconds.walks) == ((), ())


def test_an_interruption_is_counted_apart(evening: Evening, session: Session) -> None:
    evening.clock.advance(15)
    session.interrupt()
    evening.clock.advance(100)
    session.resume_here()
    evening.clock.advance(5)
    assert had(session).at == "scene"
    assert had(session).spent == pytest.approx(20)
    session.answer(ev.GOOD)
    assert had(session).steps == {"scene": pytest.approx(20)}
    assert had(session).interruptions == pytest.approx((100,))
    assert had(session).worked == pytest.approx(20)


def test_a_note_made_while_away_does_not_shorten_the_interruption(evening: Evening, session: Session) -> None:
    session.interrupt()
    evening.clock.advance(40)
    session.record(ev.NoteAdded("the promoter"))
    evening.clock.advance(60)
    session.resume_here()
    assert had(session).interruptions == pytest.approx((100,))


def test_an_answer_to_a_step_that_was_not_shown_teaches_no_time(evening: Evening, session: Session) -> None:
    evening.clock.advance(30)
    session.record(ev.StepAnswered("house", ev.GOOD))
    assert had(session).steps == {}


def test_nothing_counts_while_one_is_away(evening: Evening, session: Session) -> None:
    evening.clock.advance(15)
    session.interrupt()
    evening.clock.advance(500)
    assert had(session).spent == pytest.approx(15)


def test_a_fault_walk_is_counted_apart_and_so_is_an_interruption_in_it(evening: Evening, session: Session) -> None:
    evening.clock.advance(8)
    open_walk(session)
    evening.clock.advance(30)
    session.interrupt()
    evening.clock.advance(60)
    session.resume_here()
    evening.clock.advance(12)
    session.end_walk()
    evening.clock.advance(4)
    session.answer(ev.GOOD)
    seconds = had(session)
    assert seconds.walks == pytest.approx((42,))
    assert seconds.interruptions == pytest.approx((60,))
    assert seconds.steps["scene"] == pytest.approx(12)


def test_after_the_program_died_the_step_teaches_no_time(evening: Evening, session: Session) -> None:
    evening.clock.advance(300)
    again = evening.again(BOOK)
    evening.clock.advance(9)
    again.answer(ev.GOOD)
    again.show_current()
    evening.clock.advance(7)
    again.answer(ev.GOOD, confirmed=True)
    assert had(again).steps == {"packs": pytest.approx(7)}
    assert had(again).interruptions == pytest.approx((300,))


def test_what_was_put_aside_over_night_is_no_interruption(evening: Evening, session: Session) -> None:
    evening.clock.advance(12 * 3600)
    assert had(evening.again(BOOK)).interruptions == ()


@pytest.mark.parametrize("result", [ev.LATER, ev.LEFT_OUT, ev.NOT_HERE])
def test_what_was_not_done_teaches_no_time(evening: Evening, session: Session, result: str) -> None:
    evening.clock.advance(5)
    session.answer(result, reason="no time")
    assert had(session).steps == {}


def test_a_step_done_later_has_its_own_seconds(evening: Evening, session: Session) -> None:
    evening.clock.advance(5)
    session.answer(ev.LATER)
    session.go_to("scene")
    evening.clock.advance(14)
    session.answer(ev.GOOD)
    assert had(session).steps == {"scene": pytest.approx(14)}


def test_an_undone_answer_does_not_count(evening: Evening, session: Session) -> None:
    evening.clock.advance(5)
    session.answer(ev.GOOD)
    session.undo()
    evening.clock.advance(5)
    assert had(session).steps == {}
    session.answer(ev.GOOD)
    assert had(session).steps == {"scene": pytest.approx(10)}


def test_looking_at_another_step_counts_for_none(evening: Evening, session: Session) -> None:
    evening.clock.advance(5)
    session.go_to("house")
    evening.clock.advance(3)
    session.go_to("scene")
    evening.clock.advance(6)
    session.answer(ev.GOOD)
    assert had(session).steps == {"scene": pytest.approx(6)}


def test_the_past_is_kept_by_step_and_pooled_over_things(evening: Evening) -> None:
    runs = [
        walked(evening, f"r{i}", {"scene": 20 + i, "signal@1": 9, "signal@2": 11, "signal@3": 13}) for i in range(2)
    ]
    past = past_of("p", runs)
    assert past.runs == 2
    assert sorted(past.times["scene"]) == pytest.approx([20, 21])
    assert sorted(past.times["signal"]) == pytest.approx([9, 9, 11, 11, 13, 13])
    assert past.interruptions.worked == pytest.approx(sum(sum(times) for times in past.times.values()))


def test_the_order_of_runs_changes_nothing(evening: Evening) -> None:
    runs = [walked(evening, f"r{i}", {"scene": 15 + 4 * i, "signal": 8 + i}) for i in range(5)]
    assert past_of("p", runs) == past_of("p", reversed(runs))


def test_other_playbooks_teach_only_what_comes_between(evening: Evening, session: Session) -> None:
    evening.clock.advance(20)
    session.interrupt()
    evening.clock.advance(50)
    session.resume_here()
    session.answer(ev.GOOD)
    past = past_of("another", [session.state])
    assert (past.runs, past.times, past.interruptions.seen) == (0, {}, 1)


def test_a_step_left_standing_was_an_interruption_that_nobody_noted(evening: Evening) -> None:
    runs = [walked(evening, f"r{i}", {"scene": 20}) for i in range(3)]
    runs.append(walked(evening, "left", {"scene": 1500}))
    past = past_of("p", runs)
    assert past.times["scene"] == pytest.approx((20, 20, 20))
    assert past.interruptions.seen == 1


def test_a_step_that_always_takes_long_is_believed(evening: Evening) -> None:
    long = 2 * FAR_OUT_SECONDS
    past = past_of("p", [walked(evening, f"r{i}", {"scene": long}) for i in range(3)])
    assert past.times["scene"] == pytest.approx((long,) * 3)


def test_steps_ticked_in_one_breath_share_the_time_they_were_done_in(evening: Evening) -> None:
    """Scene (20 s) and packs (10 s) were done together in 27 s, then ticked one after the other."""
    past = past_of("p", [walked(evening, "a", {"scene": 26, "packs": 1})])
    assert past.times["scene"] == pytest.approx((18,))
    assert past.times["packs"] == pytest.approx((9,))


def test_a_list_that_was_only_clicked_through_teaches_no_time(evening: Evening) -> None:
    past = past_of("p", [walked(evening, "a", dict.fromkeys(BY_ID, 0.5))])
    assert (past.times, past.runs) == ({}, 1)


def test_a_line_that_ticked_itself_by_ear_is_believed_however_quick(evening: Evening, session: Session) -> None:
    evening.clock.advance(1)
    session.answer(ev.GOOD, source=ev.HEARD)
    assert past_of("p", [session.state]).times == {"scene": pytest.approx((1,))}


def test_faults_are_counted_where_they_were_found(evening: Evening) -> None:
    runs = [walked(evening, f"r{i}", {}, faults=frozenset({"signal@2"} if i else {"scene"})) for i in range(4)]
    past = past_of("p", runs)
    assert past.faults["signal"] == (3, 12)
    assert past.faults["scene"] == (1, 4)
    assert past.faults["house"] == (0, 4)


def test_a_fault_walk_that_found_something_counts_as_a_fault(evening: Evening, session: Session) -> None:
    open_walk(session)
    session.restored_by_itself()
    session.end_walk()
    session.answer(ev.GOOD)
    assert past_of("p", [session.state]).faults == {"scene": (1, 1)}

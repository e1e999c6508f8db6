"""A run with a clock and a place to write: it is written first, and only then so."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone

import pytest

from showday.errors import LogTrouble, NotAllowed
from showday.fault.walk import CANT_NOW, NO_CHANGE, WORKED, next_ask, outline
from showday.run import events as ev
from showday.run.phases import FAULT_WALK, FINISHED, INTERRUPTED, WALKING
from showday.run.progress import current
from showday.run.session import Session, gap_seconds, stamp, touring_entry
from showday.run.state import apply
from showday.run.touring import ToFixOpened, VenueAdded
from tests.support.world import Evening, plan_of, tree_of

PLAN = plan_of("""
playbook: p
title: Plan
sections:
  - title: S
    steps:
      - {id: a, do: Do it}
      - {id: v, do: Read it, reading: {unit: V, wanted: 207..253}}
      - {id: w, do: Read it, reading: {unit: m}}
      - {id: z, do: Do it}
""")
TREE = tree_of("""
fault: hum
title: Hum
heard_as: hum
walk:
  - {check: Look, id: look, answers: {yes: {fix: Press, id: press, cures: c}, no: {cause: d}}}
  - {fix: Take the spare, id: spare, cures: c, workaround: yes, uses: spare DI}
causes: {c: {what: C, cure: Cure c}, d: {what: D, cure: Cure d}}
help: Ask
""")


@pytest.fixture
def evening() -> Evening:
    return Evening()


@pytest.fixture
def session(evening: Evening) -> Session:
    return evening.start(PLAN)


def kinds(evening: Evening) -> list[str]:
    """What was written, by kind, in order."""
    return [type(entry.event).__name__ for entry in evening.sink.lines]


def open_walk(session: Session, walk: str = "w", step: str = "a") -> None:
    """Open a walk of the small tree."""
    session.record(ev.WalkOpened(walk, "hum", "Hum", "hash", outline(TREE), step))


def answer_walk(session: Session, *answers: str) -> None:
    """Answer what the walk asks, in turn."""
    for answer in answers:
        assert session.state.walk is not None
        session.answer_walk(next_ask(TREE, session.state.walk.answers), answer)


def test_every_entry_says_when_and_where_in_its_stream(evening: Evening) -> None:
    session = evening.start(PLAN)
    evening.clock.advance(12.5)
    session.answer(ev.GOOD)
    first, second = evening.sink.lines
    assert (first.id, first.stream, first.seq, first.elapsed) == ("id-1", "run", 0, 0.0)
    assert (second.seq, second.at, second.elapsed) == (1, "2026-05-02T18:00:12.500Z", 12.5)


def test_a_sink_that_cannot_write_changes_nothing(evening: Evening, session: Session) -> None:
    before = session.state
    evening.sink.fail = LogTrouble("The log is locked.")
    for event in (ev.StepAnswered("a", ev.GOOD), ev.RunInterrupted(), ev.RunFinished(ev.STOPPED)):
        with pytest.raises(LogTrouble):
            session.record(event)
    assert session.state is before
    evening.sink.fail = None
    session.answer(ev.GOOD)
    assert [entry.seq for entry in evening.sink.lines] == [0, 1]


def test_a_run_that_cannot_be_written_does_not_begin(evening: Evening) -> None:
    evening.sink.fail = LogTrouble("The disk is full.")
    with pytest.raises(LogTrouble):
        evening.start(PLAN)


def test_of_several_events_all_or_none_are_written(evening: Evening, session: Session) -> None:
    with pytest.raises(NotAllowed):
        session.record(ev.StepAnswered("a", ev.GOOD), ev.StepAnswered("gone", ev.GOOD))
    assert kinds(evening) == ["RunStarted"]
    assert not session.state.steps


@pytest.mark.parametrize(("value", "inside"), [(230.0, True), (207.0, True), (200.0, False), (260.0, False)])
def test_a_reading_is_judged_by_its_range(session: Session, value: float, inside: bool) -> None:
    session.go_to("v")
    session.read(value)
    held = session.state.step("v")
    assert (held.reading, held.inside, held.result) == (value, inside, "")


def test_a_reading_without_a_range_is_not_judged(session: Session) -> None:
    session.go_to("w")
    session.read(3.0)
    assert session.state.step("w").inside is None


def test_a_step_without_a_reading_takes_none(session: Session) -> None:
    with pytest.raises(NotAllowed, match="takes no reading"):
        session.read(1.0)


def test_when_nothing_is_left_there_is_nothing_to_answer(session: Session) -> None:
    for _ in range(4):
        session.answer(ev.GOOD)
    with pytest.raises(NotAllowed, match="No step is open"):
        session.answer(ev.GOOD)
    with pytest.raises(NotAllowed, match="takes no reading"):
        session.read(1.0)


def test_showing_a_step_is_written_once(evening: Evening, session: Session) -> None:
    for _ in range(3):
        session.show_current()
    session.answer(ev.GOOD)
    session.show_current()
    assert kinds(evening)[1:] == ["StepBegun", "StepAnswered", "StepBegun"]


@pytest.mark.parametrize("answers", [1, 3, 4])
def test_an_answer_and_what_it_brings_up_are_one_stroke_and_the_same_entries_as_two(answers: int) -> None:
    apart, together = Evening(), Evening()
    one, other = apart.start(PLAN), together.start(PLAN)
    writes: list[int] = []
    append = together.sink.append

    def counted(entries: Sequence[ev.Entry]) -> None:
        writes.append(len(entries))
        append(entries)

    together.sink.append = counted  # type: ignore[method-assign]
    for _ in range(answers):
        one.answer(ev.GOOD)
        one.show_current()
        other.answer(ev.GOOD, show_next=True)
    assert together.sink.lines == apart.sink.lines and other.state == one.state
    assert writes == [2, 2, 2, 1][:answers]  # nothing comes behind the last step


@pytest.mark.parametrize(
    ("phase", "event"),
    [
        (FAULT_WALK, ev.WalkOpened("w", "hum", "Hum", "hash", outline(TREE), "a")),
        (INTERRUPTED, ev.RunInterrupted()),
        (FINISHED, ev.RunFinished(ev.STOPPED)),
    ],
)
def test_no_step_is_shown_while_something_else_stands_there(session: Session, phase: str, event: ev.Event) -> None:
    before = session.record(event)
    assert before.phase == phase
    assert session.show_current() is before


class TestFaultWalks:
    def test_a_fix_that_worked_restores_sound_in_one_stroke(self, evening: Evening, session: Session) -> None:
        open_walk(session)
        answer_walk(session, "yes", WORKED)
        assert kinds(evening)[-2:] == ["WalkAnswered", "SoundRestored"]
        session.end_walk()
        walk = session.state.walks[-1]
        assert (walk.restored, walk.by, walk.workaround, walk.outcome, walk.cause) == (
            True,
            "press",
            False,
            ev.RESTORED,
            "",
        )

    def test_one_undo_takes_that_stroke_back(self, session: Session) -> None:
        open_walk(session)
        answer_walk(session, "yes")
        before = session.state
        answer_walk(session, WORKED)
        session.undo()
        assert session.state == before
        session.undo()
        assert session.state.walk is not None and session.state.walk.answers == ()

    def test_sound_that_came_back_by_itself_is_undone_alone(self, session: Session) -> None:
        open_walk(session)
        answer_walk(session, "yes")
        before = session.state
        session.restored_by_itself()
        session.undo()
        assert session.state == before

    def test_a_workaround_says_what_it_used_up(self, session: Session) -> None:
        open_walk(session)
        answer_walk(session, "yes", NO_CHANGE, WORKED)
        walk = session.state.walk
        assert walk is not None and (walk.by, walk.workaround, walk.uses) == ("spare", True, "spare DI")

    @pytest.mark.parametrize(
        ("answers", "outcome"),
        [
            pytest.param([], ev.LEFT, id="went back at once"),
            pytest.param(["yes", NO_CHANGE], ev.LEFT, id="went back on the way"),
            pytest.param(["yes", WORKED], ev.RESTORED, id="sound is back"),
            pytest.param(["no", NO_CHANGE, NO_CHANGE, WORKED], ev.RESTORED, id="help brought it back"),
            pytest.param(["no", NO_CHANGE, NO_CHANGE, NO_CHANGE], ev.UNSOLVED, id="help was called"),
            pytest.param(["no", CANT_NOW], ev.LEFT, id="could not do it"),
        ],
    )
    def test_how_a_walk_ends(self, session: Session, answers: list[str], outcome: str) -> None:
        open_walk(session)
        answer_walk(session, *answers)
        assert session.end_walk().walks[-1].outcome == outcome

    def test_restored_and_confirmed_are_two_facts(self, evening: Evening, session: Session) -> None:
        open_walk(session)
        answer_walk(session, "yes", WORKED)
        session.end_walk("c")
        assert kinds(evening)[-2:] == ["CauseConfirmed", "WalkEnded"]
        session.record(ev.CauseConfirmed("w", "d"))
        assert session.state.walks[-1].cause == "d"

    def test_after_a_walk_the_step_is_looked_at_again(self, session: Session) -> None:
        session.answer(ev.FAULT)
        open_walk(session)
        answer_walk(session, "yes", WORKED)
        session.end_walk()
        step = current(session.state)
        assert step is not None and step.key == "a" and session.state.step("a").recheck
        session.answer(ev.GOOD)
        assert not session.state.step("a").recheck and session.state.step("a").result == ev.GOOD
        step = current(session.state)
        assert step is not None and step.key == "v"

    def test_a_step_to_look_at_again_is_not_forgotten_over_another(self, session: Session) -> None:
        session.answer(ev.FAULT)
        open_walk(session)
        answer_walk(session, "yes", WORKED)
        session.end_walk()
        session.go_to("v")
        for _ in range(3):
            session.answer(ev.GOOD)
        step = current(session.state)
        assert step is not None and step.key == "a"

    def test_a_walk_left_without_an_end_returns_to_the_same_step(self, session: Session) -> None:
        session.go_to("v")
        open_walk(session, step="v")
        session.end_walk()
        step = current(session.state)
        assert step is not None and step.key == "v" and not session.state.step("v").recheck

    def test_a_walk_outside_of_a_step_returns_to_where_the_run_stood(self, session: Session) -> None:
        session.go_to("v")
        open_walk(session, step="")
        answer_walk(session, "yes", WORKED)
        session.end_walk()
        step = current(session.state)
        assert step is not None and step.key == "v"

    def test_what_came_back_is_marked(self, session: Session) -> None:
        open_walk(session)
        answer_walk(session, "yes", WORKED)
        session.end_walk()
        session.record(ev.CameBack("w"))
        assert session.state.walks[-1].came_back

    @pytest.mark.parametrize("act", ["end_walk", "restored_by_itself"])
    def test_without_a_walk_there_is_none_to_end(self, session: Session, act: str) -> None:
        with pytest.raises(NotAllowed, match="No fault walk is open"):
            getattr(session, act)()
        with pytest.raises(NotAllowed, match="No fault walk is open"):
            session.answer_walk(next_ask(TREE, ()), "yes")


class TestEnds:
    def test_an_open_walk_is_ended_with_the_run(self, evening: Evening, session: Session) -> None:
        open_walk(session)
        session.finish(ev.STOPPED)
        assert kinds(evening)[-2:] == ["WalkEnded", "RunFinished"]
        assert session.state.phase == FINISHED

    def test_a_run_that_cannot_end_keeps_its_walk_open(self, evening: Evening, session: Session) -> None:
        open_walk(session)
        before, written = session.state, list(evening.sink.lines)
        with pytest.raises(NotAllowed, match="Not complete"):
            session.finish(ev.COMPLETE)
        assert session.state is before and evening.sink.lines == written

    def test_the_end_can_be_undone(self, session: Session) -> None:
        session.finish(ev.STOPPED)
        session.undo()
        assert session.state.phase == WALKING and session.state.outcome == ""


class TestInterruptions:
    def test_leaving_asks_for_nothing_and_keeps_the_place(self, evening: Evening, session: Session) -> None:
        session.answer(ev.GOOD)
        session.interrupt("door")
        evening.clock.advance(240)
        session.resume_here()
        step = current(session.state)
        assert step is not None and step.key == "v"
        assert evening.sink.lines[-1].event == ev.RunResumed(gap=240.0)

    def test_an_interruption_of_a_walk_returns_to_the_walk(self, session: Session) -> None:
        open_walk(session)
        session.interrupt()
        session.resume_here()
        assert session.state.phase == FAULT_WALK and session.state.walk is not None

    def test_a_dead_battery_costs_nothing(self, evening: Evening, session: Session) -> None:
        session.answer(ev.GOOD)
        evening.clock.advance(30)
        session.show_current()
        evening.clock.advance(600)
        evening.clock.seconds = 3.0  # another sitting counts from somewhere else
        again = evening.again(PLAN)
        assert evening.sink.lines[-1].event == ev.RunResumed(gap=600.0)
        step = current(again.state)
        assert step is not None and step.key == "v"
        assert again.elapsed == 30.0
        evening.clock.advance(5)
        again.answer(ev.GOOD)
        assert [entry.seq for entry in evening.sink.lines] == [0, 1, 2, 3, 4]
        assert evening.sink.lines[-1].elapsed == 35.0

    def test_a_finished_run_is_only_read(self, evening: Evening, session: Session) -> None:
        session.finish(ev.STOPPED)
        written = len(evening.sink.lines)
        assert evening.again(PLAN).state == session.state
        assert len(evening.sink.lines) == written

    def test_a_clock_set_back_gives_no_negative_gap(self, evening: Evening, session: Session) -> None:
        evening.clock.when -= timedelta(hours=2)
        assert gap_seconds(session.state.history, evening.clock.now()) == 0.0
        assert gap_seconds([], evening.clock.now()) == 0.0
        evening.clock.seconds += 5
        session.answer(ev.GOOD)
        assert evening.sink.lines[-1].elapsed == 5.0


def test_to_fix_items_are_written_with_the_event_that_opens_them(evening: Evening, session: Session) -> None:
    open_walk(session)
    answer_walk(session, "yes", NO_CHANGE, WORKED)
    session.end_walk()
    item = evening.sink.lines[-1]
    assert isinstance(item.event, ToFixOpened) and item.stream != "run"
    assert item.event.text == "Hum: restored by a workaround, cause not cured"


@pytest.mark.parametrize(
    ("when", "text"),
    [
        (datetime(2026, 5, 2, 18, 0, tzinfo=UTC), "2026-05-02T18:00:00.000Z"),
        (datetime(2026, 5, 2, 20, 0, 0, 1500, tzinfo=timezone(timedelta(hours=2))), "2026-05-02T18:00:00.001Z"),
    ],
)
def test_times_are_utc_with_milliseconds(when: datetime, text: str) -> None:
    assert stamp(when) == text


def test_entries_outside_of_a_run_are_in_the_order_of_the_clock(evening: Evening) -> None:
    first = touring_entry(evening.world, "v", VenueAdded("Here"))
    evening.clock.advance(0.001)
    second = touring_entry(evening.world, "v", VenueAdded("There"))
    assert second.seq == first.seq + 1 and first.stream == "v" and first.elapsed == 0.0


def test_a_touring_event_is_no_event_of_a_run(session: Session) -> None:
    with pytest.raises(NotAllowed):
        apply(session.state, touring_entry(session.world, "run", VenueAdded("Here")))

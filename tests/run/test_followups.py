"""What goes on the to-fix list: everything restored but not cured, and every open fault, each once."""

from __future__ import annotations

import pytest

from showday.fault.walk import CANT_NOW, NO_CHANGE, WORKED
from showday.log.records import in_order
from showday.run import events as ev
from showday.run.followups import item_id
from showday.run.phases import FAULT_WALK
from showday.run.session import Session
from showday.run.state import replay
from showday.run.touring import ToFixClosed, ToFixNoted, ToFixOpened, fold_book
from tests.support.world import Evening, plan_of

STEPS = "[{id: a, do: Sound it}, {id: b, do: Do it}, {id: m, do: Do, must: yes}]"
PLAN = plan_of(f"playbook: p\ntitle: T\nsections: [{{title: S, steps: {STEPS}}}]")
OUTLINE = tuple((node, (WORKED, NO_CHANGE)) for node in ("fix", "spare", "help"))


@pytest.fixture
def evening() -> Evening:
    return Evening()


@pytest.fixture
def session(evening: Evening) -> Session:
    return evening.start(PLAN, venue="hall", show="tonight")


def items(evening: Evening) -> list[ToFixOpened]:
    """What was put on the list."""
    return [entry.event for entry in evening.sink.lines if isinstance(entry.event, ToFixOpened)]


def opened(session: Session, step: str = "a", walk: str = "w") -> None:
    session.record(ev.WalkOpened(walk, "hum", "Hum", "h", OUTLINE, step, "input 1, Kick"))


ENDS: list[object] = [
    pytest.param([], ev.LEFT, "", id="went back at once"),
    pytest.param([ev.WalkAnswered("w", "fix", NO_CHANGE)], ev.LEFT, "Hum: not solved", id="left on the way"),
    pytest.param([ev.WalkAnswered("w", "help", NO_CHANGE)], ev.UNSOLVED, "Hum: not solved", id="help was called"),
    pytest.param([ev.SoundRestored("w", "fix")], ev.RESTORED, "", id="cured"),
    pytest.param([ev.SoundRestored("w", "help")], ev.RESTORED, "", id="cured by help"),
    pytest.param(
        [ev.SoundRestored("w", "spare", True, "spare DI")],
        ev.RESTORED,
        "Hum: restored by a workaround, cause not cured",
        id="by a workaround",
    ),
    pytest.param(
        [ev.SoundRestored("w", "spare", True), ev.CauseConfirmed("w", "cable")],
        ev.RESTORED,
        "Hum: restored by a workaround, cause not cured",
        id="by a workaround, cause known",
    ),
    pytest.param(
        [ev.SoundRestored("w", "")], ev.RESTORED, "Hum: sound came back by itself, cause not known", id="by itself"
    ),
    pytest.param(
        [ev.SoundRestored("w", ""), ev.CauseConfirmed("w", "cable")], ev.RESTORED, "", id="by itself, cause known"
    ),
]


@pytest.mark.parametrize(("events", "outcome", "text"), ENDS)
def test_the_end_of_a_walk(
    evening: Evening, session: Session, events: list[ev.Event], outcome: str, text: str
) -> None:
    opened(session)
    for event in events:
        session.record(event)
    session.record(ev.WalkEnded("w", outcome))
    assert [item.text for item in items(evening)] == ([text] if text else [])


def test_an_item_says_where_it_comes_from(evening: Evening, session: Session) -> None:
    opened(session)
    session.record(ev.SoundRestored("w", "spare", True, "spare DI"))
    session.record(ev.WalkEnded("w", ev.RESTORED))
    assert items(evening) == [
        ToFixOpened(
            "Hum: restored by a workaround, cause not cured",
            venue="hall",
            show="tonight",
            run="run",
            walk="w",
            about="input 1, Kick",
            uses="spare DI",
            fault="hum",
        )
    ]


def test_what_came_back_is_an_item_of_its_own(evening: Evening, session: Session) -> None:
    opened(session)
    session.record(ev.SoundRestored("w", "fix"))
    session.record(ev.WalkEnded("w", ev.RESTORED))
    session.record(ev.CameBack("w"))
    session.record(ev.CameBack("w"))
    assert [item.text for item in fold_book(evening.sink.lines).open_items()] == ["Hum: fixed, but it came back"]


def test_open_faults_are_listed_when_the_run_ends(evening: Evening, session: Session) -> None:
    session.record(ev.StepAnswered("a", ev.FAULT, "buzzes"))
    session.record(ev.StepAnswered("b", ev.FAULT))
    assert items(evening) == []
    session.finish(ev.STOPPED)
    assert [item.text for item in items(evening)] == ["Sound it: fault (buzzes)", "Do it: fault"]


@pytest.mark.parametrize("result", [ev.GOOD, ev.LATER, ev.LEFT_OUT, ev.NOT_HERE])
def test_other_results_are_no_fault(evening: Evening, session: Session, result: str) -> None:
    session.record(ev.StepAnswered("a", ev.FAULT))
    session.record(ev.StepAnswered("a", result))
    session.finish(ev.STOPPED)
    assert items(evening) == []


def test_a_fault_whose_walk_is_listed_is_not_listed_twice(evening: Evening, session: Session) -> None:
    session.record(ev.StepAnswered("a", ev.FAULT))
    opened(session)
    session.record(ev.WalkAnswered("w", "fix", CANT_NOW))
    session.end_walk()
    session.finish(ev.STOPPED)
    assert [item.text for item in items(evening)] == ["Hum: not solved"]


def test_a_fault_that_was_restored_but_never_looked_at_again_is_listed(evening: Evening, session: Session) -> None:
    session.record(ev.StepAnswered("a", ev.FAULT))
    opened(session)
    session.record(ev.SoundRestored("w", "fix"))
    session.end_walk()
    session.finish(ev.STOPPED)
    assert [item.text for item in items(evening)] == ["Sound it: fault"]


def test_ending_a_run_again_opens_nothing_again(evening: Evening, session: Session) -> None:
    session.record(ev.StepAnswered("a", ev.FAULT))
    session.finish(ev.STOPPED)
    item = item_id("run", "a")
    evening.sink.lines.append(ev.Entry("c", item, 99, "2026-05-02T19:00:00.000Z", 0.0, ToFixClosed("soldered")))
    session.undo()
    session.finish(ev.STOPPED)
    book = fold_book(evening.sink.lines)
    assert list(book.items) == [item] and book.open_items() == []


def test_the_end_of_a_run_that_is_taken_back_takes_its_items_off_the_list(evening: Evening, session: Session) -> None:
    session.record(ev.StepAnswered("a", ev.FAULT))
    session.finish(ev.STOPPED)
    assert len(fold_book(evening.sink.lines).open_items()) == 1
    session.undo()
    assert fold_book(evening.sink.lines).items == {}
    session.undo()
    session.record(ev.StepAnswered("a", ev.GOOD))
    session.finish(ev.STOPPED)
    assert fold_book(evening.sink.lines).items == {}


def test_the_end_of_a_walk_that_is_taken_back_opens_it_again_with_its_item_off_the_list(
    evening: Evening, session: Session
) -> None:
    session.record(ev.StepAnswered("a", ev.FAULT))
    opened(session)
    session.record(ev.SoundRestored("w", "spare", True, "spare DI"))
    session.end_walk("cable")
    session.show_current()
    assert len(fold_book(evening.sink.lines).open_items()) == 1
    session.undo()
    walk = session.state.walk
    assert walk is not None
    assert (session.state.phase, walk.restored, walk.cause) == (FAULT_WALK, True, "")
    assert fold_book(evening.sink.lines).items == {}
    session.end_walk("plug")
    assert [w.cause for w in session.state.walks] == ["plug"]
    assert len(fold_book(evening.sink.lines).open_items()) == 1
    assert replay("run", PLAN, [e for e in evening.sink.lines if e.stream == "run"]) == session.state


def test_a_walk_that_ends_in_another_way_the_second_time_says_so_on_the_list(
    evening: Evening, session: Session
) -> None:
    opened(session)
    session.record(ev.WalkAnswered("w", "fix", NO_CHANGE))
    session.record(ev.WalkEnded("w", ev.LEFT))
    item = item_id("run", "w")
    evening.sink.lines.append(ev.Entry("n", item, 1, "2026-05-02T19:00:00.000Z", 0.0, ToFixNoted("only at night")))
    session.undo()
    session.record(ev.SoundRestored("w", "spare", True, "spare DI"))
    session.record(ev.WalkEnded("w", ev.RESTORED))
    (told,) = fold_book(evening.sink.lines).open_items()
    assert (told.id, told.text, told.uses) == (item, "Hum: restored by a workaround, cause not cured", "spare DI")
    assert told.notes == ("only at night",)


@pytest.mark.parametrize("again", [False, True], ids=["the same sitting", "another laptop"])
def test_a_clock_that_was_set_back_does_not_put_the_item_on_the_list_again(evening: Evening, again: bool) -> None:
    session = evening.start(PLAN)
    opened(session)
    session.record(ev.SoundRestored("w", ""))
    session.record(ev.WalkEnded("w", ev.RESTORED))
    evening.clock.advance(-600)
    session = evening.again(PLAN) if again else session
    session.undo()
    assert fold_book(in_order(evening.sink.lines)).items == {}
    session.record(ev.WalkEnded("w", ev.RESTORED))
    assert len(fold_book(in_order(evening.sink.lines)).open_items()) == 1


def test_a_cause_that_was_found_later_does_not_keep_the_item_on_the_list(evening: Evening, session: Session) -> None:
    opened(session)
    session.record(ev.SoundRestored("w", ""))
    session.record(ev.WalkEnded("w", ev.RESTORED))
    session.record(ev.CauseConfirmed("w", "cable"))
    assert len(fold_book(evening.sink.lines).open_items()) == 1
    session.undo()
    assert session.state.phase == FAULT_WALK
    assert fold_book(evening.sink.lines).items == {}


def test_behind_what_came_back_undo_takes_back_the_last_answer(session: Session) -> None:
    session.answer(ev.GOOD)
    opened(session, "b")
    session.record(ev.SoundRestored("w", "fix"))
    session.record(ev.WalkEnded("w", ev.RESTORED), ev.CameBack("w"))
    session.undo()
    assert (session.state.step("a").result, [walk.came_back for walk in session.state.walks]) == ("", [True])


def test_a_log_of_a_program_whose_undo_passed_over_walks_still_reads(session: Session) -> None:
    session.record(ev.StepAnswered("a", ev.FAULT))
    answered = session.state.history[-1]
    opened(session)
    session.record(ev.WalkEnded("w", ev.LEFT))
    after = session.record(ev.Undone(answered.id))
    assert (after.step("a").result, len(after.walks)) == ("", 1)


def test_the_same_fault_of_the_same_run_is_the_same_item() -> None:
    assert item_id("run", "a") == item_id("run", "a")
    assert len({item_id("run", "a"), item_id("run", "b"), item_id("other", "a")}) == 3

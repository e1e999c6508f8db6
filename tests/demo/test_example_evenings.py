"""The example act's past: what the log says after the evenings were played."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from showday.demo import load_evenings, make_demo_desk
from showday.desk import Desk
from showday.library import shipped
from showday.memory import venue_brief
from showday.run import events as ev
from showday.run.phases import FINISHED
from showday.run.session import World
from showday.run.slot import slot_time
from showday.run.state import RunState, replay
from showday.run.touring import Show, ToFix, Venue
from tests.demo.conftest import NoSink, counted_ids
from tests.support.world import Clock

EXAMPLES = shipped("examples")
NOON = datetime(2031, 7, 5, 12, 0, tzinfo=UTC)
"""When the demo's clock stands still."""
TONIGHT = NOON.astimezone().date()
SCRIPTED = (742, 735, 7)
"""Days before tonight of the evenings that are scripts and over."""
MakeWorld = Callable[[], World]


def states(desk: Desk) -> list[RunState]:
    """Every run of the log, replayed, oldest first."""
    made = []
    for record in reversed(desk.keeper.runs()):
        entries = desk.keeper.entries(record.id)
        made.append(replay(record.id, desk.plan_of(entries), entries))
    return made


def show_on(desk: Desk, days_before: int) -> Show:
    day = (TONIGHT - timedelta(days=days_before)).isoformat()
    return next(show for show in desk.book().shows.values() if show.date == day)


def run_of(desk: Desk, days_before: int, playbook: str) -> RunState:
    show = show_on(desk, days_before).id
    return next(s for s in states(desk) if s.started and (s.started.show, s.started.playbook) == (show, playbook))


def scripted(desk: Desk, state: RunState) -> bool:
    """Whether a run belongs to one of the scripted evenings."""
    shows = {show_on(desk, days).id for days in SCRIPTED}
    return state.started is not None and state.started.show in shows


def venue_named(desk: Desk, name: str) -> Venue:
    return next(venue for venue in desk.book().places() if venue.name == name)


def item_about(desk: Desk, words: str) -> ToFix:
    return next(item for item in desk.book().items.values() if words in item.text)


def local_day(stamp: str) -> date:
    """The day of a UTC stamp where this computer is, as the evenings count their days."""
    return datetime.fromisoformat(stamp).astimezone().date()


def test_every_script_is_read_and_named_as_its_file() -> None:
    evenings = load_evenings(EXAMPLES / "evenings")
    assert [Path(file).stem for file, _ in evenings] == [evening.evening for _, evening in evenings]
    assert [evening.days_before for _, evening in evenings] == [742, 735, 7, 0]


def test_nothing_is_wrong_with_what_the_demo_is_made_of(demo: Desk) -> None:
    assert [str(problem) for problem in demo.library.problems] == []
    assert demo.keeper.warning == ""


def test_tonight_is_planned_and_selected(demo: Desk) -> None:
    show = demo.tonight()
    assert show is not None
    venue = demo.book().venue(show.venue)
    assert venue is not None
    assert (show.date, show.slot, show.changeover) == (TONIGHT.isoformat(), "20:40", 18)
    assert (venue.name, venue.town) == ("Brickworks Yard", "Ternhaven")
    assert {"festival", "outdoors"} <= set(show.facts)
    assert demo.away() == ()


def test_tonight_goes_to_a_place_that_is_known(demo: Desk) -> None:
    assert show_on(demo, 742).venue == show_on(demo, 0).venue
    assert show_on(demo, 735).venue == show_on(demo, 7).venue


def test_every_run_is_over_and_reads_back_as_it_was_played(demo: Desk) -> None:
    runs = states(demo)
    assert len([state for state in runs if scripted(demo, state)]) == 16
    assert {state.phase for state in runs} == {FINISHED}
    outcomes = sorted(state.outcome for state in runs)
    assert outcomes == [ev.COMPLETE] * (len(runs) - 1) + [ev.STOPPED]
    for state, record in zip(runs, reversed(demo.keeper.runs()), strict=True):
        answers = sum(isinstance(entry.event, ev.StepAnswered) for entry in state.history)
        assert (answers, len(state.walks)) == (record.answers, record.walks)


def test_times_never_go_back(demo: Desk) -> None:
    for record in demo.keeper.runs():
        entries = demo.keeper.entries(record.id)
        assert [e.seq for e in entries] == list(range(len(entries)))
        assert [e.elapsed for e in entries] == sorted(e.elapsed for e in entries)
        assert [e.at for e in entries] == sorted(e.at for e in entries)
        assert entries[-1].at < NOON.isoformat()
    starts = [record.started for record in demo.keeper.runs()]
    assert starts == sorted(starts, reverse=True)


def test_only_what_the_story_tells_was_out_of_range(demo: Desk) -> None:
    outside = [
        (entry.event.step, entry.event.value)
        for state in states(demo)
        for entry in state.history
        if isinstance(entry.event, ev.ReadingTaken) and entry.event.inside is False
    ]
    assert outside == [("volts-again", 203)]


def test_the_low_voltage_of_the_generator(demo: Desk) -> None:
    state = run_of(demo, 742, "load-in")
    (walk,) = state.walks
    assert (walk.fault, walk.cause, walk.workaround) == ("no-power", "voltage-low", False)
    again = state.step("volts-again")
    assert (again.result, again.reading, again.inside) == (ev.GOOD, 224, True)


def test_the_click_was_found_before_the_show(demo: Desk) -> None:
    state = run_of(demo, 742, "line-check")
    results = [
        e.event.result
        for e in state.history
        if isinstance(e.event, ev.StepAnswered) and e.event.step == "click-house"
    ]
    assert results == [ev.FAULT, ev.GOOD]


def test_the_line_check_that_was_stopped(demo: Desk) -> None:
    state = run_of(demo, 742, "line-check")
    assert state.outcome == ev.STOPPED
    assert [step.id for step in state.plan.steps if not state.result_of(step)] == ["talk-off", "line-check-done"]


def test_the_lost_ears_are_explained_a_week_later(demo: Desk) -> None:
    (walk,) = run_of(demo, 742, "during-the-set").walks
    assert (walk.fault, walk.workaround, walk.uses, walk.cause) == ("rf-dropouts", True, "spare frequency", "")
    item = item_about(demo, "drops out")
    assert item.venue == venue_named(demo, "Brickworks Yard").id
    assert local_day(item.closed) == TONIGHT - timedelta(days=735)


def test_the_hum_is_cured_the_same_night(demo: Desk) -> None:
    (walk,) = run_of(demo, 735, "line-check").walks
    assert (walk.fault, walk.cause, walk.workaround) == ("hum", "laptop-supply", True)
    item = item_about(demo, "Hum")
    assert local_day(item.closed) == local_day(item.opened) == TONIGHT - timedelta(days=735)
    assert "DI with transformer" in item.how


def test_pavel_is_away_one_night(demo: Desk) -> None:
    state = run_of(demo, 735, "line-check")
    result = {step.key: state.result_of(step) for step in state.plan.steps}
    assert result["signal@13"] == result["pack-up@pack-6"] == ev.NOT_HERE
    assert result["mix-name@strings-and-brass"] == ev.GOOD, "Sofie still listens to it"
    assert show_on(demo, 735).away == ("Pavel",)
    assert show_on(demo, 7).away == ()


def test_the_swapped_pair_and_the_run_that_went_on(demo: Desk) -> None:
    state = run_of(demo, 7, "line-check")
    assert [(walk.fault, walk.cause) for walk in state.walks] == [
        ("no-signal", "swapped-pair"),
        ("crackle", "earphone-cable"),
    ]
    gaps = [e.event.gap for e in state.history if isinstance(e.event, ev.RunResumed)]
    assert gaps == [120, 300]
    assert sum(isinstance(e.event, ev.RunInterrupted) for e in state.history) == 1
    events = [e.event for e in state.history]
    after_laptop = events[events.index(ev.RunResumed(300.0)) + 1 :]
    assert next(e.step for e in after_laptop if isinstance(e, ev.StepAnswered)) == "signal@15"


def test_one_item_is_open_tonight(demo: Desk) -> None:
    (item,) = demo.book().open_items()
    assert item.about == "Pack 5"
    assert item.uses == "spare earphones"
    assert item.venue == venue_named(demo, "Lower Granary").id


def test_the_brief_of_tonight_has_what_the_story_tells(demo: Desk) -> None:
    show = demo.tonight()
    assert show is not None
    venue = demo.book().venue(show.venue)
    assert venue is not None
    brief = venue_brief(demo.keeper, demo.book(), venue, demo.plan_of)
    assert {note.topic for note in venue.notes} == {"contact", "supply", "frequency", "access"}
    assert any("203 V" in note.text for note in venue.notes if note.topic == "supply")
    assert [item.about for item in brief.to_fix_elsewhere] == ["Pack 5"]
    assert len(brief.failures) >= 2


def test_the_same_evening_every_time(make_world: MakeWorld) -> None:
    first, second = make_demo_desk(make_world()), make_demo_desk(make_world())
    streams = [record.id for record in first.keeper.runs()]
    assert streams == [record.id for record in second.keeper.runs()]
    assert all(first.keeper.entries(s) == second.keeper.entries(s) for s in streams)
    assert first.keeper.touring() == second.keeper.touring()


def test_what_is_done_next_is_written_with_the_given_clock(make_world: MakeWorld) -> None:
    desk = make_demo_desk(make_world())
    session = desk.start_run("line-check")
    (entry,) = desk.keeper.entries(session.state.run)
    assert entry.at == "2031-07-05T12:00:00.000Z"
    assert [record.id for record in desk.unfinished()] == [session.state.run]


@pytest.mark.parametrize(
    ("hour", "minute", "slot"),
    [(12, 0, "20:40"), (20, 20, "20:40"), (20, 31, "21:20"), (23, 52, "00:40"), (3, 5, "03:50"), (5, 40, "05:59")],
)
def test_at_any_hour_the_slot_lies_ahead(hour: int, minute: int, slot: str) -> None:
    day = datetime(2031, 7, 5, hour, minute).astimezone()
    clock = Clock((day + timedelta(days=1) if hour < 6 else day).astimezone(UTC))
    desk = make_demo_desk(World(NoSink(), clock, counted_ids()))
    show = desk.tonight()
    assert show is not None
    assert (show.date, show.slot) == ("2031-07-05", slot)
    starts = slot_time(show, None)
    assert starts is not None and starts > clock.now()

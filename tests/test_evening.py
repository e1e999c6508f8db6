"""Tonight at a glance, without a screen."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from showday.evening import MOST_UNFINISHED, ago, change_show, evening
from showday.run import events as ev
from showday.run.touring import Show
from tests.tui.evening import FakeClock
from tests.tui.nights import a_desk, a_show, answer_all

NOW = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("gone", "text"),
    [
        (timedelta(seconds=-5), "just now"),
        (timedelta(seconds=59), "just now"),
        (timedelta(minutes=1), "1 min ago"),
        (timedelta(minutes=59, seconds=59), "59 min ago"),
        (timedelta(hours=1), "1 h ago"),
        (timedelta(hours=23), "23 h ago"),
        (timedelta(hours=24), "yesterday"),
        (timedelta(days=2), "2 days ago"),
        (timedelta(days=59), "59 days ago"),
        (timedelta(days=60), "2 months ago"),
        (timedelta(days=729), "24 months ago"),
        (timedelta(days=730), "2 years ago"),
    ],
)
def test_how_long_ago(gone: timedelta, text: str) -> None:
    assert ago(NOW - gone, NOW) == text


def test_an_evening_without_anything() -> None:
    found = evening(a_desk(FakeClock()))
    assert [(p.id, p.run) for p in found.playbooks] == [("load-in", None), ("line-check", None)]
    assert not (found.go_on or found.left_open or found.owed or found.to_fix)


def test_the_newest_run_of_each_playbook_counts() -> None:
    clock = FakeClock()
    desk = a_desk(clock)
    a_show(desk)
    first = desk.start_run("load-in")
    first.answer(ev.LATER)
    first.finish(ev.STOPPED)
    assert evening(desk).owed == ((first.state.run, "Load-in", "Meter the socket"),)
    clock.advance(60)
    answer_all(desk.start_run("load-in"), clock)
    found = evening(desk)
    assert found.owed == ()
    run = found.playbooks[0].run
    assert run is not None and run.status == "complete: 2 good"


def test_a_must_that_was_never_reached_is_owed_only_when_the_run_was_stopped() -> None:
    clock = FakeClock()
    desk = a_desk(clock)
    a_show(desk)
    session = desk.start_run("load-in")
    assert evening(desk).owed == ()
    session.finish(ev.STOPPED)
    assert [text for _, _, text in evening(desk).owed] == ["Meter the socket"]


def test_a_fault_walk_of_its_own_is_gone_on_with() -> None:
    desk = a_desk(FakeClock())
    session = desk.start_bare()
    desk.open_walk(session, "hum")
    assert [glance.status for glance in evening(desk).go_on] == ["Hum or buzz: open"]


def test_without_a_show_only_the_last_day_is_tonight() -> None:
    clock = FakeClock()
    desk = a_desk(clock)
    desk.start_run("load-in")
    clock.advance(25 * 3600)
    found = evening(desk)
    assert found.playbooks[0].run is None
    assert [glance.record.playbook for glance in found.left_open] == ["load-in"]


def test_only_the_newest_unfinished_runs_are_listed() -> None:
    clock = FakeClock()
    desk = a_desk(clock)
    for _ in range(MOST_UNFINISHED + 3):
        desk.start_run("load-in")
        clock.advance(60)
    clock.advance(48 * 3600)
    found = evening(desk)
    assert (len(found.left_open), found.more_open) == (MOST_UNFINISHED, 3)


def test_a_run_that_cannot_be_read_says_where_to_look() -> None:
    desk = a_desk(FakeClock())
    session = desk.start_run("load-in")
    odd = ev.Entry("odd", session.state.run, 99, "2026-05-02T18:05:00.000Z", 9.0, ev.StepBegun("gone"))
    desk.keeper.append([odd])
    assert "showday log check" in evening(desk).go_on[0].status


def test_a_show_is_changed_in_place() -> None:
    desk = a_desk(FakeClock())
    venue = a_show(desk)
    id = desk.show
    change_show(desk, Show(id, venue, "2026-05-03", "20:00", 15.0, ("club",)))
    assert desk.tonight() == Show(id, venue, "2026-05-03", "20:00", 15.0, ("club",))


def test_a_show_that_is_planned_already_becomes_tonights() -> None:
    desk = a_desk(FakeClock())
    venue = a_show(desk, day="2026-05-09")
    planned = desk.tonight()
    desk.plan_show(venue, "2026-05-02")
    change_show(desk, Show(desk.show, venue, "2026-05-09"))
    assert desk.tonight() == planned

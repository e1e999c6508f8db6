"""The time of one run from log, plan and slot."""

from __future__ import annotations

from pathlib import Path

import pytest

from showday.desk import Desk
from showday.pacing import Dropped, Proposal
from showday.run import events as ev
from showday.timekeeping import MOST_RUNS, Timekeeper
from tests.plain.small_evening import CountingClock, make_small_desk

BOOK = """
playbook: short
title: Short
by: changeover
sections:
  - title: All
    steps:
      - {id: rest, do: Listen, takes: 4min, risk: rare, harm: harmless}
      - {id: scene, do: Load the scene, takes: 60s, risk: common, harm: bad}
      - {id: packs, do: Turn the packs down, takes: 60s, must: yes}
"""


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return make_small_desk(tmp_path, playbooks=[("short", BOOK)])


def with_changeover(desk: Desk, minutes: float) -> Timekeeper:
    desk.plan_show(desk.add_venue("The Quay"), "2031-07-05", changeover=minutes)
    keeper = Timekeeper(desk, desk.start_run("short"))
    keeper.learn()
    keeper.draw()
    return keeper


def walked(desk: Desk, seconds: float) -> None:
    session = desk.start_run("short")
    clock = desk.world.clock
    assert isinstance(clock, CountingClock)
    for step in session.state.plan.steps:
        session.show_current()
        clock.at = clock.at.fromtimestamp(clock.at.timestamp() + seconds, clock.at.tzinfo)
        session.answer(ev.GOOD, confirmed=step.must)
    session.finish()


def test_what_is_proposed_is_the_cheapest_risk_and_one_event_takes_it(desk: Desk) -> None:
    keeper = with_changeover(desk, 4)
    proposal = keeper.proposal()
    assert proposal is not None
    assert [step.key for step in proposal.dropped] == ["rest"]
    assert proposal.fits
    keeper.take(proposal)
    assert keeper.taken() == ("rest",)
    outlook = keeper.outlook()
    assert outlook is not None and outlook.fits
    assert keeper.give_back() == 1
    assert keeper.taken() == ()
    assert keeper.give_back() == 0


def test_enough_time_proposes_nothing(desk: Desk) -> None:
    proposal = with_changeover(desk, 60).proposal()
    assert proposal is not None
    assert proposal.dropped == ()


def test_without_a_changeover_there_is_a_range_but_no_proposal(desk: Desk) -> None:
    keeper = Timekeeper(desk, desk.start_run("short"))
    assert keeper.outlook() is None
    keeper.learn()
    keeper.draw()
    outlook = keeper.outlook()
    assert outlook is not None
    assert outlook.chance is None
    assert 0 < outlook.p50 < outlook.p80
    assert keeper.proposal() is None


def test_nights_that_took_long_make_the_forecast_longer(desk: Desk) -> None:
    first = Timekeeper(desk, desk.start_run("short"))
    for _ in range(6):
        walked(desk, 600.0)
    later = Timekeeper(desk, desk.start_run("short"))
    later.learn()
    for keeper in (first, later):
        keeper.draw()
    before, after = first.outlook(), later.outlook()
    assert before is not None and after is not None
    assert after.p50 > 2 * before.p50
    assert after.runs == 7  # six that ended and the one that is open


def test_only_the_newest_runs_are_read(desk: Desk) -> None:
    for _ in range(MOST_RUNS + 3):
        walked(desk, 5.0)
    keeper = Timekeeper(desk, desk.start_run("short"))
    keeper.learn()
    keeper.draw()
    outlook = keeper.outlook()
    assert outlook is not None
    assert outlook.runs == MOST_RUNS


def test_a_finished_run_has_no_forecast(desk: Desk) -> None:
    keeper = with_changeover(desk, 4)
    keeper.session.finish(ev.STOPPED)
    assert keeper.outlook() is None
    assert keeper.proposal() is None


def test_nothing_proposed_writes_nothing(desk: Desk) -> None:
    keeper = with_changeover(desk, 60)
    before = len(keeper.session.state.history)
    keeper.take(Proposal((), (), 0.0, 0.0, 0.0, 1.0, True))
    assert len(keeper.session.state.history) == before
    keeper.take(Proposal((Dropped("rest", "Listen", "", 1.0, 1.0),), (), 0.0, 0.0, 0.0, 1.0, True))
    assert len(keeper.session.state.history) == before + 1

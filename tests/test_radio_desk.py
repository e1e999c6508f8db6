"""What is kept of the air: plans and sweeps, tonight's among them, and what stands of it in the run that is open."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from showday.desk import Desk
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.radio.model import CARRIER, Band, Widths
from showday.radio.occupancy import occupancy
from showday.radio.plan import plan
from showday.radio.plan_ask import Ask
from showday.radio.sweep import Sweep
from showday.radio.verify import Air, verify
from showday.radio_desk import (
    MOST_POINTS,
    air,
    as_kept,
    keep_plan,
    keep_read_sweep,
    keep_sweep,
    notice_kept,
    tonight_plan,
    tonight_sweep,
)
from tests.support.air import PLAN, SWEPT, at_step, desk_of
from tests.support.world import Clock


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def desk(clock: Clock) -> Desk:
    return desk_of(clock)


# -- keeping -----------------------------------------------------------------------------------------------------


def test_a_kept_plan_reads_back_as_it_was_given_with_time_and_place(desk: Desk, clock: Clock) -> None:
    show = desk.tonight()
    assert show is not None
    kept = keep_plan(desk, PLAN)
    assert kept == replace(PLAN, id=kept.id, at="2026-05-02T18:00:00.000Z", venue=show.venue, show=show.id)
    assert tonight_plan(desk) == kept
    assert list(air(desk).plans.values()) == [kept]


def test_a_newer_plan_takes_the_older_ones_place_and_both_stay(desk: Desk, clock: Clock) -> None:
    first = keep_plan(desk, PLAN)
    clock.advance(60)
    second = keep_plan(desk, replace(PLAN, reason="the band moved"))
    assert tonight_plan(desk) == second
    assert list(air(desk).plans.values()) == [first, second]


def test_a_kept_sweep_reads_back_with_its_line(desk: Desk) -> None:
    kept = keep_read_sweep(desk, SWEPT)
    assert replace(kept, id="", at="", venue="", show="", snapshot="") == SWEPT
    assert tonight_sweep(desk) == kept


def test_a_sweep_whose_line_is_gone_still_tells_what_was_occupied(desk: Desk) -> None:
    kept = keep_read_sweep(desk, SWEPT)
    entries = [e for e in desk.keeper.touring() if e.stream == kept.id]
    other = Desk(desk.library, desk.rig, None, Keeper(Log.in_memory), desk.world)
    other.keeper.append(entries)
    (read,) = air(other).sweeps.values()
    assert (read.bands, read.trace) == (SWEPT.bands, ())


def test_the_line_keeps_the_strongest_and_not_more_points_than_can_be_drawn(desk: Desk) -> None:
    hz = np.arange(470_000_000, 694_000_000, 25_000, dtype=np.int64)
    level = np.full(len(hz), -100.0) + np.sin(np.arange(len(hz)))
    level[4_321] = -40.04
    level[77] = -np.inf
    found = occupancy(Sweep(hz, level, level, files=("wide.csv",)))
    assert found is not None
    kept = keep_sweep(desk, found)
    assert 1_000 < len(kept.trace) <= MOST_POINTS
    assert max(kept.trace, key=lambda point: point[1]) == (int(hz[4_321]), -40.0)
    assert (kept.low, kept.high, kept.files) == (int(hz[0]), int(hz[-1]), ("wide.csv",))
    assert any(band.kind == CARRIER and band.at == int(hz[4_321]) for band in kept.bands)
    assert kept.bands == found.bands()


def test_the_planners_plan_is_kept_with_the_plain_distance_to_the_nearest_trouble() -> None:
    ask = Ask(2, 1, (Band(558_000_000, 562_000_000),), 25_000, (3,), Widths(spacing=350_000, third=50_000))
    found = plan(ask)
    kept = as_kept(found, ask, reason="so")
    everyone = [c.hz for c in (*kept.carriers, *kept.spares)]
    nearest = [j.clearance for j in verify(everyone, Air(kinds=ask.products)).carriers if j.clearance is not None]
    assert kept.nearest == min(nearest)
    assert kept.clearance == found.clearance != kept.nearest
    assert (kept.proved, kept.reason) == (found.proved, "so")
    assert kept.carriers[0].limited_by
    assert "spacing 350 kHz" in kept.asked and "558.000-562.000 MHz" in kept.asked


# -- tonight -----------------------------------------------------------------------------------------------------


def test_another_nights_plan_is_not_tonights(desk: Desk, clock: Clock) -> None:
    kept = keep_plan(desk, PLAN)
    desk.plan_show(kept.venue, "2026-05-03")
    assert tonight_plan(desk) is None
    assert list(air(desk).plans) == [kept.id]


def test_without_a_show_a_plan_counts_for_a_day(desk: Desk, clock: Clock) -> None:
    desk.show = ""
    keep_plan(desk, PLAN)
    clock.advance(23 * 3_600)
    assert tonight_plan(desk) is not None
    clock.advance(2 * 3_600)
    assert tonight_plan(desk) is None


# -- the run that is open ----------------------------------------------------------------------------------------


def test_sweep_plan_and_reason_stand_in_the_runs_log_at_the_step(desk: Desk) -> None:
    session = at_step(desk, "plan")
    keep_read_sweep(desk, SWEPT, run=session)
    keep_plan(desk, PLAN, run=session)
    swept, planned = session.state.step("plan").notes
    assert swept.startswith("Sweep kept: 526.000-598.000 MHz (yard.csv)") and "30" in swept
    for part in ("In-ear 1 558.300", "565.650", "300 kHz", "proved", "because: the quietest channel"):
        assert part in planned


def test_the_clearance_is_the_reading_where_it_is_asked_for(desk: Desk) -> None:
    session = at_step(desk, "clearance")
    keep_plan(desk, replace(PLAN, nearest=350_000), run=session)
    assert (session.state.step("clearance").reading, session.state.step("clearance").inside) == (350.0, True)
    other = at_step(desk, "plan")
    keep_plan(desk, PLAN, run=other)
    assert other.state.step("plan").reading is None


def test_what_was_kept_in_another_window_is_noted_once_also_when_the_note_is_taken_back(
    desk: Desk, clock: Clock
) -> None:
    keep_plan(desk, replace(PLAN, reason="before the run"))
    clock.advance(5)
    session = at_step(desk, "clearance")
    assert notice_kept(desk, session) == []
    clock.advance(5)
    keep_plan(desk, PLAN)
    (told,) = notice_kept(desk, session)
    assert told in session.state.step("clearance").notes
    assert session.state.step("clearance").reading == 300.0
    assert notice_kept(desk, session) == []
    session.undo()
    session.undo()
    assert session.state.step("clearance").notes == ()
    assert notice_kept(desk, session) == []

"""The next spare, who takes it, and sentences that follow the newest plan and the rig's own band."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from showday.demo import make_demo_desk
from showday.desk import Desk
from showday.errors import NotAllowed
from showday.fault.walk import CANT_NOW, NO_CHANGE, WORKED
from showday.radio_desk import keep_plan, tonight_plan
from showday.run import events as ev
from showday.run.air import KeptCarrier, SpareTaken
from showday.run.plan import plan_from_json, plan_to_json
from showday.run.progress import current
from showday.spares import band_fields, give_back, spares_for, take_spare, transmitter_of
from tests.support.air import PLAN, SPARES, answer, at_step, desk_of, in_walk, sentence
from tests.support.world import Clock, rig_of


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def desk(clock: Clock) -> Desk:
    return desk_of(clock)


# -- sentences ---------------------------------------------------------------------------------------------------


def test_a_sentence_shows_the_newest_plan_and_the_snapshot_stays(desk: Desk, clock: Clock) -> None:
    session = at_step(desk, "set@in-ear-1")
    step = current(session.state)
    assert step is not None
    assert step.do == desk.shown(step).do == "Set In-ear 1 to its frequency"
    keep_plan(desk, PLAN)
    assert desk.shown(step).do == "Set In-ear 1 to its frequency: 558.300 MHz"
    clock.advance(1)
    keep_plan(desk, replace(PLAN, carriers=(KeptCarrier("In-ear 1", 560_000_000),)))
    assert desk.shown(step).do.endswith(": 560.000 MHz")
    again = desk.resume_run(session.state.run).state.planned(step.key)
    assert again == step


def test_a_pack_stands_where_its_transmitter_stands_now(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    step = desk.plan_for("scan")
    pack = next(s for s in step.steps if s.key == "match@pack-1")
    assert desk.shown(pack).do == "Set Pack 1 to 558.300 MHz"
    take_spare(desk, "In-ear 1")
    assert desk.shown(pack).do == "Set Pack 1 to 565.650 MHz"
    spare = next(s for s in step.steps if s.key == "match@spare-pack")
    assert desk.shown(spare).do == "Set Spare pack"


def test_a_step_without_a_number_of_the_plan_is_shown_as_it_is(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    first = desk.plan_for("scan").steps[0]
    assert desk.shown(first) is first


def test_names_with_brackets_and_braces_are_never_read_as_fields(desk: Desk) -> None:
    desk.rig = rig_of('rig: rig\ntransmitters: [{name: "[Left] {spare.frequency}"}]')
    keep_plan(desk, replace(PLAN, carriers=(KeptCarrier("[Left] {spare.frequency}", 558_300_000),)))
    step = next(s for s in desk.plan_for("scan").steps if s.id == "set")
    assert desk.shown(step).do == "Set [Left] {spare.frequency} to its frequency: 558.300 MHz"


def test_the_plan_of_a_run_comes_back_equal_with_its_open_sentences(desk: Desk) -> None:
    made = desk.plan_for("scan")
    assert plan_from_json(plan_to_json(made)) == made
    assert '"templates": []' not in plan_to_json(made)


# -- spares ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "thing", "unit"),
    [
        ("transmitter", "in-ear-2", "In-ear 2"),
        ("pack", "pack-1", "In-ear 1"),
        ("pack", "spare-pack", ""),
        ("mix", "front", "In-ear 1"),
        ("person", "ada", "In-ear 1"),
        ("pack", "gone", ""),
        ("", "", ""),
    ],
)
def test_whose_transmitter_it_is(desk: Desk, kind: str, thing: str, unit: str) -> None:
    assert transmitter_of(desk.rig, kind, thing) == unit


def free(desk: Desk, transmitter: str) -> list[int]:
    """The spares that are ready for a transmitter, in Hz."""
    plan = tonight_plan(desk)
    return [spare.hz for spare in spares_for(plan, desk.rig, transmitter)] if plan else []


def test_the_next_spare_is_one_that_the_transmitter_can_be_set_to(desk: Desk) -> None:
    with pytest.raises(NotAllowed, match="No frequency plan is kept"):
        take_spare(desk, "In-ear 1")
    keep_plan(desk, PLAN)
    taken = []
    for name in ("In-ear 1", "In-ear 2", "In-ear 1"):
        next_one = free(desk, name)[0]
        after = take_spare(desk, name)
        assert [(s.used, s.name) for s in after.spares if s.hz == next_one] == [(True, name)]
        assert after.now(name) == next_one
        taken.append(next_one)
    assert taken == [565_650_000, 610_000_000, 559_900_000]
    with pytest.raises(NotAllowed, match="no spare left for In-ear 1"):
        take_spare(desk, "In-ear 1")


def test_a_spare_that_was_given_back_is_ready_again_and_the_one_before_stands(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    take_spare(desk, "In-ear 1")
    take_spare(desk, "In-ear 1", hz=559_900_000)
    assert give_back(desk, "In-ear 1").now("In-ear 1") == 565_650_000
    assert give_back(desk, "In-ear 1").now("In-ear 1") == 558_300_000
    assert free(desk, "In-ear 1") == [565_650_000, 559_900_000]
    with pytest.raises(NotAllowed, match="In-ear 1 stands on no spare"):
        give_back(desk, "In-ear 1")


def test_what_two_laptops_noted_is_given_back_once(desk: Desk) -> None:
    plan = keep_plan(desk, PLAN)
    took = take_spare(desk, "In-ear 1").taken[0]
    desk.record(plan.id, SpareTaken(took.hz, "In-ear 1"))
    assert give_back(desk, "In-ear 1").now("In-ear 1") == 558_300_000
    assert free(desk, "In-ear 1")[0] == took.hz


def test_a_spare_that_another_took_or_that_is_out_of_reach_is_refused(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    with pytest.raises(NotAllowed):
        take_spare(desk, "In-ear 1", hz=610_000_000)
    assert free(desk, "In-ear 2") == [610_000_000]


def test_where_the_plan_does_not_say_who_reaches_a_spare_the_rig_file_does(desk: Desk) -> None:
    keep_plan(desk, replace(PLAN, spares=tuple(replace(s, fits=()) for s in SPARES)))
    assert free(desk, "In-ear 2")[0] == 610_000_000


def test_when_nobody_knows_which_transmitter_the_spare_that_most_can_use_comes_first(desk: Desk) -> None:
    both = KeptCarrier("", 700_000_000, fits=("In-ear 1", "In-ear 2"))
    keep_plan(desk, replace(PLAN, spares=(*SPARES, both)))
    assert free(desk, "")[0] == both.hz


def test_a_spare_taken_by_hand_is_noted_in_the_run(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    session = at_step(desk, "plan")
    take_spare(desk, "In-ear 2", run=session)
    assert session.state.step("plan").notes == ("Spare 610.000 MHz taken by In-ear 2",)


# -- the drop-out walk -------------------------------------------------------------------------------------------


def test_the_walk_names_the_spare_takes_it_and_undo_gives_it_back(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    session, counsel = in_walk(desk, "match@pack-1")
    assert sentence(desk, session) == "Move to the spare, 565.650 MHz"
    assert counsel.spares_left("spare frequency") == 2
    answer(desk, session, "move", WORKED)
    plan_now = tonight_plan(desk)
    assert plan_now is not None
    assert [(s.hz, s.used, s.name) for s in plan_now.spares] == [
        (565_650_000, True, "In-ear 1"),
        (610_000_000, False, ""),
        (559_900_000, False, ""),
    ]
    assert sentence(desk, session) == "Move to the spare, 565.650 MHz", "as it was read"
    assert counsel.spares_left("spare frequency") == 2, "the number that was said stands as long as the walk does"
    session.undo()
    given_back = tonight_plan(desk)
    assert given_back is not None and not any(s.used for s in given_back.spares)
    assert given_back.now("In-ear 1") == 558_300_000
    answer(desk, session, "move", WORKED)
    taken = tonight_plan(desk)
    assert taken is not None and [t.hz for t in taken.taken] == [565_650_000]


def test_the_spare_is_written_in_the_same_stroke_as_the_sound(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    session, _ = in_walk(desk, "match@pack-1")
    before = len(desk.keeper.touring())
    answer(desk, session, "wiggle", NO_CHANGE)
    answer(desk, session, "move", NO_CHANGE)
    assert len(desk.keeper.touring()) == before
    answer(desk, session, "cure:taken", WORKED)
    added = desk.keeper.touring()
    assert len(added) == before + 1
    kept = tonight_plan(desk)
    assert kept is not None and [(t.hz, t.run) for t in kept.taken] == [(565_650_000, session.state.run)]


def test_a_fix_that_names_no_spare_takes_none(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    session, _ = in_walk(desk, "match@pack-1")
    answer(desk, session, "wiggle", WORKED)
    session.undo()
    session.restored_by_itself()
    kept = tonight_plan(desk)
    assert kept is not None and kept.taken == ()


def test_the_second_walk_gets_the_second_spare_and_the_third_is_told_that_none_is_left(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    said = []
    for _ in range(3):
        session, counsel = in_walk(desk, "set@in-ear-1")
        said.append(sentence(desk, session))
        offered = []
        while (ask := counsel.next(session.state)[0]).kind != "help":
            offered.append(ask.id)
            session.answer_walk(ask, WORKED if ask.id == "move" else NO_CHANGE)
            if session.state.walk is not None and session.state.walk.restored:
                break
        assert ("move" in offered) is (counsel.spares_left("spare frequency") > 0)
        session.end_walk()
        session.finish(ev.STOPPED)
    assert said == [
        "Move to the spare, 565.650 MHz",
        "Move to the spare, 559.900 MHz",
        "Move to the spare (the plan has no spare left for In-ear 1)",
    ]
    session, counsel = in_walk(desk, "set@in-ear-2")
    assert sentence(desk, session) == "Move to the spare, 610.000 MHz"
    assert counsel.spares_left("spare frequency") == 1


def test_a_newer_plan_begins_with_all_of_its_spares(desk: Desk, clock: Clock) -> None:
    keep_plan(desk, PLAN)
    session, _ = in_walk(desk, "match@pack-1")
    answer(desk, session, "move", WORKED)
    session.end_walk()
    clock.advance(60)
    keep_plan(desk, PLAN)
    _, counsel = in_walk(desk, "match@pack-1")
    assert counsel.spares_left("spare frequency") == 2


def test_without_a_plan_the_walk_is_as_it_was(desk: Desk) -> None:
    session, counsel = in_walk(desk, "match@pack-1")
    assert sentence(desk, session) == "Move to the spare"
    assert counsel.spares_left("spare frequency") == 1
    answer(desk, session, "move", WORKED)
    assert tonight_plan(desk) is None


def test_a_walk_that_was_broken_off_keeps_its_spare(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    session, _ = in_walk(desk, "match@pack-1")
    answer(desk, session, "move", WORKED)
    again = desk.resume_run(session.state.run)
    assert sentence(desk, again) == "Move to the spare, 565.650 MHz"
    again.undo()
    kept = tonight_plan(desk)
    assert kept is not None and kept.taken == ()


# -- what ships --------------------------------------------------------------------------------------------------


def test_the_shipped_tree_reads_with_tonights_numbers() -> None:
    desk = make_demo_desk()
    keep_plan(desk, replace(PLAN, spares=(KeptCarrier("", 565_650_000),)))
    session = desk.start_run("rf-scan")
    step = session.state.planned("tx-frequency@in-ear-1")
    assert desk.shown(step).do == "Set In-ear 1 to its planned frequency: 558.300 MHz"
    desk.open_walk(session, "rf-dropouts", session.state.planned("one-off@in-ear-1"))
    assert "planned spare, 565.650 MHz, then" in sentence(desk, session, "spare-frequency")
    assert "565.650 MHz" in sentence(desk, session, "cure:other-act")
    answer(desk, session, "antenna-tight", CANT_NOW)
    answer(desk, session, "spare-frequency", WORKED)
    session.end_walk()
    desk.open_walk(session, "rf-dropouts", session.state.planned("one-off@in-ear-1"))
    assert "no spare left for In-ear 1" in sentence(desk, session, "spare-frequency")


def test_the_steps_about_frequencies_open_the_tool() -> None:
    desk = make_demo_desk()
    scan = {step.id for step in desk.plan_for("rf-scan").steps if step.opens == "radio"}
    assert {"tv-channels", "sweep", "sweep-again", "least-trouble", "clearance", "spares", "tx-frequency"} <= scan


def test_antenna_steps_say_the_numbers_of_the_rigs_own_band() -> None:
    """By hand for 542 to 590 MHz: c = 299.792458 m/us; ITU-R P.525 at 566 MHz, P.526 half way of 30 m at 542 MHz."""
    half_wave = 299.792458 / 542 / 2
    clear = 0.6 * math.sqrt(299.792458 / 542 * 15 * 15 / 30)
    at_1_m = 10 * math.log10(50) - 20 * math.log10(4 * math.pi * 566 / 299.792458)
    steps = {step.id: step for step in make_demo_desk().plan_for("rf-scan").steps}
    assert f"{clear:.1f} m around the line free over 30 m" in steps["rf-antenna-out"].until
    one, three = f"{at_1_m:.0f}", f"{at_1_m - 20 * math.log10(3):.0f}"
    assert f"3 m leave {three} dBm of 50 mW, 1 m {one} dBm" in steps["rf-antenna-apart"].until
    assert "10 m of 5 mm RG-58 takes " in steps["rf-antenna-cable"].until
    assert band_fields(make_demo_desk().rig)["band.halfwave"] == f"{half_wave:.2f} m"


@pytest.mark.parametrize(
    "transmitters",
    ["[T 1]", "[{name: T 1, low: 606}]"],
)
def test_a_rig_that_says_no_band_leaves_the_numbers_out(transmitters: str) -> None:
    assert band_fields(rig_of(f"rig: r\ntransmitters: {transmitters}")) == {}

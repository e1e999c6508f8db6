"""What if: every hand on the table makes another one, judged as `verify` judges it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.errors import RadioTrouble
from showday.radio.model import CARRIER, TELEVISION, Band, Occupied, Tuner, Widths
from showday.radio.plan import plan
from showday.radio.plan_ask import USUAL_STEP, Ask, Plan, Planned
from showday.radio.products import kinds_of
from showday.radio.verify import Air, Judged, Trouble, verify
from showday.radio.what_if import Row, Table, clearance_words, limit_words, planned, table_of

MHZ = 1_000_000
TUNERS = (
    Tuner("In-ear 1", 542 * MHZ, 590 * MHZ, 25_000),
    Tuner("In-ear 2", 542 * MHZ, 590 * MHZ, 25_000),
    Tuner("In-ear 3", 600 * MHZ, 610 * MHZ, 125_000),
)
STATED = (("In-ear 1", 558_300_000), ("In-ear 2", 561_800_000))


def rig(air: Air | None = None) -> Table:
    """Two of three transmitters stand somewhere."""
    return table_of(TUNERS, STATED, air or Air())


def test_the_rig_as_it_stands_has_a_row_for_every_transmitter() -> None:
    table = rig()
    assert [(row.name, row.hz) for row in table.rows] == [*STATED, ("In-ear 3", None)]
    assert [told.fault[:11] for told in table.told] == ["", "", "not set yet"]
    assert not table.clean
    assert table.drop(2).clean


@given(steps=st.integers(-3_000, 3_000))
def test_a_move_is_the_transmitters_own_step_and_never_leaves_its_range(steps: int) -> None:
    moved = rig().move(0, steps).rows[0].hz
    assert moved is not None
    assert TUNERS[0].reaches(moved)
    free = 558_300_000 + steps * 25_000
    assert moved == min(max(free, TUNERS[0].low), TUNERS[0].high)


def test_from_between_two_steps_a_move_ends_on_the_next_one() -> None:
    table = rig().put(0, 558_310_000)
    assert not table.told[0].usable
    assert "between the steps" in table.told[0].fault
    assert table.move(0, 1).rows[0].hz == 558_325_000
    assert table.move(0, -1).rows[0].hz == 558_300_000


def test_what_no_transmitter_reaches_says_so() -> None:
    told = rig().put(0, 606 * MHZ).told[0]
    assert not told.usable
    assert "out of reach" in told.fault and "In-ear 1 reaches from 542.000 to 590.000" in told.fault
    spare = rig().add(700 * MHZ, spare=True).told[-1]
    assert "out of reach of every transmitter" in spare.fault


def test_outside_of_the_wished_ranges_is_a_fault_too() -> None:
    air = Air(ranges=(Band(560 * MHZ, 566 * MHZ),))
    assert [bool(told.fault) for told in rig(air).told[:2]] == [True, False]


@given(steps=st.lists(st.integers(-40, 40), min_size=4, max_size=4))
def test_clearances_are_those_of_verify_after_every_move(steps: list[int]) -> None:
    table = Table((), TUNERS[:2], Air(widths=Widths(spacing=300_000), kinds=kinds_of((3,))))
    for at in (558_300_000, 559_550_000, 561_800_000, 564_700_000):
        table = table.add(at)
    for index, by in enumerate(steps):
        table = table.move(index, by)
    verdict = verify([row.hz or 0 for row in table.rows], table.air)
    assert [told.clearance for told in table.told] == [judged.clearance for judged in verdict.carriers]
    assert table.clearance == min(judged.clearance or 0 for judged in verdict.carriers)
    assert [told.hit for told in table.told] == [j.limit is not None and j.limit.hits for j in verdict.carriers]


def test_a_table_never_changes() -> None:
    table = rig()
    before = table.rows
    table.move(0, 3).hold(1).drop(0).add(565 * MHZ, spare=True)
    assert table.rows == before


def test_spares_stand_at_the_end_and_carriers_before_them() -> None:
    table = rig().drop(2).add(565 * MHZ, spare=True).add(570 * MHZ)
    assert [(row.spare, sign) for row, sign in zip(table.rows, table.signs, strict=True)] == [
        (False, "1"),
        (False, "2"),
        (False, "3"),
        (True, "a"),
    ]
    assert table.told[-1].fits == ("In-ear 1", "In-ear 2")
    assert [mark.sign for mark in table.marks] == ["1", "2", "3", "a"]


def test_what_is_dropped_is_missing_and_can_be_added_with_its_transmitter() -> None:
    table = rig().drop(1)
    assert [tuner.name for tuner in table.missing] == ["In-ear 2"]
    again = table.add(562 * MHZ, name="In-ear 2")
    assert again.missing == ()
    assert again.rows[-1].tuner == TUNERS[1]


def test_holding() -> None:
    table = rig().hold(0)
    assert table.held == (558_300_000,)
    assert table.hold(0).held == ()
    with pytest.raises(RadioTrouble):
        rig().hold(2)
    with pytest.raises(RadioTrouble):
        rig().add(565 * MHZ, spare=True).hold(3)


def test_no_frequency_at_all_is_refused() -> None:
    with pytest.raises(RadioTrouble):
        rig().put(0, 5)


def a_plan(carriers: list[tuple[int, str]], spares: list[int]) -> Plan:
    return Plan(
        tuple(Planned(Judged(at), name) for at, name in carriers), tuple(Planned(Judged(at)) for at in spares)
    )


def test_a_plan_leaves_what_is_held_and_what_is_tuned_already() -> None:
    table = rig().drop(2).hold(1)
    found = a_plan([(558_300_000, "In-ear 2"), (561_800_000, "In-ear 1")], [565 * MHZ])
    after = planned(table, found)
    assert [(row.name, row.hz, row.held, row.spare) for row in after.rows] == [
        ("In-ear 1", 558_300_000, False, False),
        ("In-ear 2", 561_800_000, True, False),
        ("", 565 * MHZ, False, True),
    ]


def test_where_that_leaves_one_without_the_plans_own_assignment_counts() -> None:
    wide, narrow = Tuner("wide", 500 * MHZ, 600 * MHZ, 25_000), Tuner("narrow", 550 * MHZ, 551 * MHZ, 25_000)
    table = Table((Row("wide", 550 * MHZ, tuner=wide), Row("narrow", None, tuner=narrow)), (wide, narrow))
    after = planned(table, a_plan([(520 * MHZ, "wide"), (550 * MHZ, "narrow")], []))
    assert [(row.name, row.hz) for row in after.rows] == [("wide", 520 * MHZ), ("narrow", 550 * MHZ)]


def test_a_plan_for_no_transmitters_is_rows_without_a_name() -> None:
    after = planned(Table(), plan(Ask(3, 1, (Band(606 * MHZ, 614 * MHZ),), USUAL_STEP)))
    assert [(row.name, row.spare) for row in after.rows] == [("", False)] * 3 + [("", True)]
    assert after.clean


def test_the_planners_own_plan_is_as_clear_in_the_table_as_it_said() -> None:
    table = rig().drop(2)
    found = plan(Ask(2, 1, tuners=TUNERS[:2], held=(558_300_000,)))
    after = planned(table.hold(0), found)
    assert after.clearance == found.clearance
    assert after.rows[0] == Row("In-ear 1", 558_300_000, True, False, TUNERS[0])


def test_what_limits_it_in_few_words() -> None:
    signs = {558_300_000: "1", 561_800_000: "2"}
    neighbour = Trouble("spacing", 1, 561_800_000, (561_800_000,), 558_300_000, 3_500_000, 0)
    product = Trouble("2A-B", 3, 554_800_000, (558_300_000, 561_800_000), 555_000_000, 200_000, 0)
    other = Trouble("2A-B", 3, 554_800_000, (558_300_000, 571_000_000), 555_000_000, 200_000, 0)
    tv = Occupied(558 * MHZ, 566 * MHZ, "TV 32", TELEVISION)
    carrier = Occupied(558_200_000, 558_400_000, "", CARRIER, 558_299_558)
    assert limit_words(None, signs) == "nothing"
    assert limit_words(neighbour, signs) == "beside 2"
    assert limit_words(product, signs) == "2A-B of 1, 2"
    assert limit_words(other, signs, (571_000_000,)) == "2A-B of 1, 571.000 (another act)"
    assert limit_words(Trouble("tv", 0, 0, (), 0, 5, 0, tv), signs) == "TV 32"
    assert limit_words(Trouble("carrier", 0, 0, (), 0, 5, 0, carrier), signs) == "others at 558.3"


def test_a_clearance_is_never_said_larger_than_it_is() -> None:
    assert [clearance_words(hz) for hz in (None, 797_512, 275_000, -99_558, 9_999, 0)] == [
        "clear",
        "797 kHz",
        "275 kHz",
        "-100 kHz",
        "9.999 kHz",
        "0 kHz",
    ]

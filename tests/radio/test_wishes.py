"""Wishes as they are typed, and the ask that follows from them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from showday.errors import RadioTrouble
from showday.radio.model import AVOID, Band, Tuner, Widths
from showday.radio.wishes import FIELDS, SELDOM, Wish, Wishes, bands_of, measured_reach

MHZ = 1_000_000
TUNER = Tuner("In-ear 1", 542 * MHZ, 590 * MHZ, 25_000)
OTHER = Tuner("In-ear 2", 600 * MHZ, 620 * MHZ, 25_000)


def field(name: str) -> Wish:
    return next(wish for wish in (*FIELDS, *SELDOM) if wish.name == name)


def put(**typed: str) -> Wishes:
    made = Wishes()
    for name, text in typed.items():
        made = field(name.replace("_", " ")).put(made, text)
    return made


def test_what_is_typed_stands_in_the_form_afterwards() -> None:
    wishes = put(
        carriers="6",
        spares="2",
        ranges="606-614, 630 - 636",
        stay_out_of="610-611 613,5",
        other_acts="607.4 611,9",
        spacing="300",
        third="50",
        fifth="12,5",
        orders="3, 5 7",
    )
    assert [wish.shown(wishes) for wish in FIELDS] == [
        "6",
        "2",
        "606.000-614.000 630.000-636.000",
        "610.000-611.000 613.500",
        "607.400 611.900",
        "300",
        "50",
        "12.5",
        "3 5 7",
    ]
    seldom = put(products_of_the_sweep="30", edge="100", seventh="25")
    assert [wish.shown(seldom) for wish in SELDOM] == ["30", "100", "25"]
    assert (seldom.sources, seldom.widths) == (30, Widths(seventh=25_000, edge=100_000))
    for every in (wishes, seldom):
        assert all(wish.put(every, wish.shown(every)) == every for wish in (*FIELDS, *SELDOM))
    assert wishes.avoid == (Band(610 * MHZ, 611 * MHZ, "", AVOID), Band(613_500_000, 613_500_000, "", AVOID))


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("carriers", "many"),
        ("carriers", "121"),
        ("carriers", "-1"),
        ("carriers", "٣"),
        ("spares", "21"),
        ("ranges", "614-606"),
        ("ranges", "606"),
        ("ranges", "606-614 [/]"),
        ("stay out of", "five"),
        ("other acts", "607,4,5"),
        ("spacing", "wide"),
        ("third", "-5"),
        ("orders", "4"),
        ("orders", ""),
        ("products of the sweep", "61"),
        ("edge", "near"),
    ],
)
def test_what_cannot_be_used_is_refused_with_a_sentence(name: str, typed: str) -> None:
    with pytest.raises(RadioTrouble) as refused:
        field(name).put(Wishes(), typed)
    assert refused.value.message.endswith(".")


def test_nothing_typed_is_nothing_wished() -> None:
    assert put(ranges=" ", stay_out_of="", other_acts="", spacing="", carriers="", spares="0") == replace(
        Wishes(), spares=0
    )
    assert bands_of("") == ()


def test_the_ask_looks_where_it_was_measured_as_far_as_transmitters_reach() -> None:
    measured = Band(550 * MHZ, 610 * MHZ)
    ask = Wishes().ask([TUNER, OTHER], measured=measured)
    assert ask.ranges == (Band(550 * MHZ, 590 * MHZ), Band(600 * MHZ, 610 * MHZ))
    assert (ask.count, ask.spares, ask.tuners) == (2, 1, (TUNER, OTHER))
    assert Wishes().ask([TUNER]).ranges == ()
    assert Wishes().ask([TUNER], measured=Band(700 * MHZ, 710 * MHZ)).ranges == ()
    assert Wishes(count=3).ask([], measured=measured).ranges == (measured,)
    overlapping = Wishes().ask([TUNER, TUNER], measured=measured)
    assert overlapping.ranges == (Band(550 * MHZ, 590 * MHZ),)


def test_ranges_that_are_wished_count_more_than_what_was_measured() -> None:
    assert put(ranges="560-566").ask([TUNER], measured=Band(550 * MHZ, 610 * MHZ)).ranges == (
        Band(560 * MHZ, 566 * MHZ),
    )


def test_what_is_occupied_is_stayed_out_of_beside_what_is_wished() -> None:
    tv = Band(558 * MHZ, 566 * MHZ, "TV 32", "television")
    wishes = put(stay_out_of="570-571", other_acts="575")
    assert wishes.ask([TUNER], occupied=[tv]).avoid == (tv, *wishes.avoid)
    assert wishes.air([tv]).occupied == (tv, *wishes.avoid)
    assert wishes.air().foreign == (575 * MHZ,)


def test_what_a_sweep_shows_is_judged_and_asked_beside_what_is_named() -> None:
    wishes, found = put(other_acts="575"), (572 * MHZ, 573 * MHZ)
    air = wishes.air((), found)
    assert (air.foreign, air.found) == ((575 * MHZ, *found), frozenset(found))
    ask = wishes.ask([TUNER], found=found)
    assert (ask.foreign, ask.found, ask.air.found) == ((575 * MHZ,), found, air.found)
    assert set(ask.air.foreign) == set(air.foreign)


def test_the_wishes_in_one_sentence() -> None:
    words = put(carriers="4", ranges="606-614", spacing="300", stay_out_of="610-611", other_acts="607.4").words
    assert words == (
        "4 carriers; 1 spare; in 606.000-614.000 MHz; spacing 300 kHz; orders 3, 5; "
        "out of 610.000-611.000 MHz; other acts on 607.400 MHz"
    )


@pytest.mark.parametrize(
    ("measured", "wanted"),
    [
        pytest.param((0, 700), [(542, 590), (600, 620)], id="all of both"),
        pytest.param((545, 610), [(545, 590), (600, 610)], id="what was measured"),
        pytest.param((545.0125, 550), [(545.025, 550)], id="from a step on that it can be set to"),
        pytest.param((591, 599), [], id="nowhere"),
    ],
)
def test_it_is_looked_where_was_measured_and_on_steps_that_can_be_set(
    measured: tuple[float, float], wanted: list[tuple[float, float]]
) -> None:
    low, high = (round(end * MHZ) for end in measured)
    found = measured_reach([TUNER, OTHER], Band(low, high))
    assert [(band.low / MHZ, band.high / MHZ) for band in found] == wanted

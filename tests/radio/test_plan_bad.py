"""What cannot be planned gets one sentence, and what cannot be met says which wish to let go."""

from __future__ import annotations

from dataclasses import replace

import pytest

from showday.errors import RadioTrouble
from showday.radio.model import Band, Tuner, Widths
from showday.radio.plan import plan
from showday.radio.plan_ask import MOST_ASKED, Ask
from showday.radio.plan_relax import NONE_FOUND, relaxed, with_advice
from tests.support.sentences import broken

MHZ = 1_000_000
GOOD = Ask(3, 0, (Band(606 * MHZ, 614 * MHZ),), 25_000)
TUNER = Tuner("Ears", 606 * MHZ, 614 * MHZ, 25_000)

BAD = {
    "none": (replace(GOOD, count=0), "0 carriers"),
    "fewer than none": (replace(GOOD, count=-3), "-3 carriers"),
    "spares": (replace(GOOD, spares=-1), "-1 spares"),
    "far too many": (replace(GOOD, count=MOST_ASKED + 1), "too many"),
    "far too many spares": (replace(GOOD, spares=10**9), "too many"),
    "step": (replace(GOOD, step=-25_000), "step of -25"),
    "no range": (replace(GOOD, ranges=()), "No range"),
    "negative range": (replace(GOOD, ranges=(Band(-614 * MHZ, -606 * MHZ),)), "-614.000 MHz is not a frequency"),
    "swapped range": (replace(GOOD, ranges=(Band(614 * MHZ, 606 * MHZ),)), "ends below its start"),
    "absurd range": (replace(GOOD, ranges=(Band(606 * MHZ, 10**15),)), "is not a frequency"),
    "too many places": (replace(GOOD, ranges=(Band(MHZ, 9_000 * MHZ),), step=1_000), "too many places"),
    "foreign": (replace(GOOD, foreign=(0,)), "is not a frequency"),
    "held twice": (replace(GOOD, held=(607 * MHZ, 607 * MHZ)), "held twice"),
    "too many held": (replace(GOOD, count=1, held=(607 * MHZ, 608 * MHZ)), "2 carriers are held"),
    "held in trouble": (replace(GOOD, held=(607 * MHZ, 608 * MHZ, 609 * MHZ)), "not clean by itself"),
    "held out of reach": (replace(GOOD, count=1, held=(500 * MHZ,), tuners=(TUNER,)), "No transmitter that is left"),
    "too few transmitters": (replace(GOOD, tuners=(TUNER,)), "1 transmitters"),
    "transmitter elsewhere": (
        replace(GOOD, count=1, ranges=(Band(500 * MHZ, 510 * MHZ),), tuners=(TUNER,)),
        "no step inside",
    ),
    "width": (replace(GOOD, widths=Widths(third=-1)), "below 0"),
    "order": (replace(GOOD, orders=(4,)), "order 4"),
}


@pytest.mark.parametrize("what", BAD)
def test_what_cannot_be_planned_is_one_sentence(what: str) -> None:
    ask, said = BAD[what]
    with pytest.raises(RadioTrouble) as trouble:
        plan(ask)
    assert said in str(trouble.value)
    assert not list(broken(str(trouble.value)))


def test_ranges_that_overlap_are_one_room() -> None:
    overlapping = replace(GOOD, ranges=(Band(606 * MHZ, 611 * MHZ), Band(610 * MHZ, 614 * MHZ)))
    assert plan(overlapping).carriers == plan(GOOD).carriers


def test_a_range_that_is_all_taken_has_room_for_none() -> None:
    made = plan(replace(GOOD, avoid=(Band(600 * MHZ, 620 * MHZ),)))
    assert (made.carriers, made.spares, made.most, made.fits) == ((), (), 0, False)


TIGHT = Ask(4, 0, (Band(606 * MHZ, 606_600_000),), 100_000)
"""Seven places: third order alone lets four carriers stand on them (0 1 4 6), third and fifth fewer."""
LETTING_GO = {
    "orders": (TIGHT, "third-order products only", replace(TIGHT, orders=(3,))),
    "spacing": (
        replace(TIGHT, orders=(3,), widths=Widths(spacing=150_000)),
        "a spacing of 75 kHz instead of 150",
        replace(TIGHT, orders=(3,), widths=Widths(spacing=75_000)),
    ),
    "third": (
        replace(TIGHT, orders=(3,), widths=Widths(third=100_000)),
        "a third-order width of 50 kHz instead of 100",
        replace(TIGHT, orders=(3,), widths=Widths(third=50_000)),
    ),
    "step": (
        replace(TIGHT, ranges=(Band(606 * MHZ, 606_500_000),), orders=(3,)),
        "steps of 25 kHz instead of 100",
        replace(TIGHT, ranges=(Band(606 * MHZ, 606_500_000),), orders=(3,), step=25_000),
    ),
    "avoid": (
        replace(TIGHT, orders=(3,), avoid=(Band(606_500_000, 606_600_000, kind="avoid"),)),
        "606.500-606.600 MHz free",
        replace(TIGHT, orders=(3,)),
    ),
    "foreign": (
        replace(TIGHT, orders=(3,), foreign=(606_300_000,)),
        "the foreign carrier off",
        replace(TIGHT, orders=(3,)),
    ),
    "range": (
        TIGHT,
        "606.000-607.600 MHz instead of 606.000-606.600 MHz",
        replace(TIGHT, ranges=(Band(606 * MHZ, 607_600_000),)),
    ),
}


@pytest.mark.parametrize("what", LETTING_GO)
def test_the_wish_to_let_go_is_named_and_letting_it_go_is_enough(what: str) -> None:
    ask, said, less = LETTING_GO[what]
    told = with_advice(plan(ask), ask)
    assert not told.fits
    assert told.fewest_proved
    assert f"All would fit with {said}." in told.relax
    assert plan(less).fits
    assert not [sign for sentence in told.relax for sign in broken(sentence)]


def test_several_wishes_together_are_named_when_no_single_one_is_enough() -> None:
    """With a spacing of two steps only 0 2 4 6 fit on seven places, which are evenly apart; with fifth order none do."""
    seven = tuple(Tuner(f"Ears {n}", 606 * MHZ, 606_600_000, 100_000) for n in range(4))
    ask = replace(TIGHT, ranges=(), step=0, tuners=seven, widths=Widths(spacing=200_000))
    (sentence,) = relaxed(ask)
    assert sentence.startswith("No single wish is enough; all would fit with ")
    assert " and " in sentence


def test_when_nothing_helps_that_is_said() -> None:
    one_place = Ask(2, 0, (), 0, tuners=(replace(TUNER, high=TUNER.low), replace(TUNER, high=TUNER.low)))
    assert relaxed(one_place) == (NONE_FOUND,)


def test_a_plan_that_fits_needs_no_advice() -> None:
    made = plan(GOOD)
    assert with_advice(made, GOOD) is made

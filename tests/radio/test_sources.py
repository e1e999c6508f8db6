"""Which carriers of a sweep make products: the strongest, and never one that a person named."""

from __future__ import annotations

import pytest

from showday.radio.model import CARRIER, TELEVISION, Occupied
from showday.radio.propagation import level_at_neighbour
from showday.radio.sources import MOST_SOURCES, STRONG, Sources, sources_in

FLOOR = -100.0


def heard(*rises: float) -> list[Occupied]:
    """Carriers 400 kHz apart from 606 MHz on, so many dB over the floor."""
    centres = [606_000_000 + 400_000 * n for n in range(len(rises))]
    return [
        Occupied(at - 100_000, at + 100_000, "", CARRIER, at, FLOOR + rise)
        for at, rise in zip(centres, rises, strict=True)
    ]


def test_the_threshold_is_what_two_of_ours_at_three_metres_make_of_a_carrier() -> None:
    """A+B-C is P_A + P_B + P_C - 2 IIP3 + 6 dB (textbook; three signals 6 dB over two): 50 mW, 3 m, IIP3 -10 dBm."""
    ours = level_at_neighbour(600_000_000, 16.99, 3)
    assert ours == pytest.approx(-20.6, abs=0.05)
    assert -(2 * ours + 2 * 10 + 6) == pytest.approx(STRONG, abs=0.5)


def test_weak_ones_are_only_kept_off() -> None:
    found = sources_in(heard(STRONG, STRONG - 0.1, 40), FLOOR)
    assert found == Sources((606_000_000, 606_800_000), 2, 3)
    assert "the 2 of 15 dB or more over the floor make third-order products" in found.sentence


def test_of_many_the_strongest_are_taken_and_it_is_said() -> None:
    bands = heard(*range(20, 44))
    found = sources_in(bands, FLOOR)
    assert found.at == tuple(band.at for band in bands[-MOST_SOURCES:])
    assert (found.strong, found.found) == (24, 24)
    assert "24 carriers found in the sweep, all kept off; the 12 strongest make" in found.sentence
    assert sources_in(bands, FLOOR, most=24).at == tuple(band.at for band in bands)


def test_none_are_taken_when_nobody_wants_them() -> None:
    found = sources_in(heard(30), FLOOR, most=0)
    assert (found.at, found.strong) == ((), 1)
    assert found.sentence == "1 carrier found in the sweep: kept off, its products not counted."


def test_television_makes_none_and_a_carrier_that_was_named_counts_once() -> None:
    television = Occupied(614_000_000, 622_000_000, "TV 39", TELEVISION, None, -60.0)
    bands = [*heard(30, 30), television]
    assert sources_in(bands, FLOOR, [606_030_000]).at == (606_400_000,)
    assert sources_in([television], FLOOR).sentence == ""


def test_without_a_floor_every_carrier_is_taken_for_strong() -> None:
    assert len(sources_in(heard(1, 2), None).at) == 2

"""Which transmitter can be set to which frequency."""

from __future__ import annotations

import random
from itertools import permutations

import pytest

from showday.radio.model import Tuner
from showday.radio.tuning import assign, tuning_faults

LOW, HIGH = Tuner("Low", 100, 200, 10), Tuner("High", 150, 300, 25)


def test_steps_begin_at_the_low_end_and_both_ends_belong_to_it() -> None:
    assert [at for at in range(140, 310) if HIGH.reaches(at)] == [150, 175, 200, 225, 250, 275, 300]
    assert Tuner("No step", 10, 20).reaches(17)


def test_a_carrier_that_only_one_can_take_moves_the_others() -> None:
    assert assign([150, 110], [LOW, HIGH]) == [1, 0]
    assert assign([150, 110, 200], [LOW, HIGH]) in ([1, 0, None], [None, 0, 1])


def test_alike_transmitters_are_handed_out_in_the_file_s_order_from_the_lowest_carrier_on() -> None:
    alike = [Tuner(name, 100, 200, 5) for name in "abcd"]
    assert assign([150, 110, 190, 120], alike) == [2, 0, 3, 1]


@pytest.mark.parametrize("seed", range(40))
def test_as_many_carriers_as_can_be_get_one(seed: int) -> None:
    chance = random.Random(seed)
    tuners = [Tuner(str(n), low := chance.randrange(50), low + chance.randrange(5, 30)) for n in range(4)]
    own = [chance.randrange(70) for _ in range(4)]
    places = assign(own, tuners)
    taken = [place for place in places if place is not None]
    assert len(set(taken)) == len(taken)
    assert all(place is None or tuners[place].reaches(at) for at, place in zip(own, places, strict=True))
    most = max(sum(t.reaches(at) for at, t in zip(own, order, strict=True)) for order in permutations(tuners))
    assert len(taken) == most


def test_nothing_is_wrong_without_transmitters_or_with_spares() -> None:
    assert not list(tuning_faults([1, 2, 3], []))
    assert not list(tuning_faults([110, 150, 175], [LOW, HIGH]))


def test_out_of_reach_and_between_steps_are_told_apart() -> None:
    faults = list(tuning_faults([50, 115], [LOW, HIGH]))
    assert [(at, kind) for at, kind, _ in faults] == [(50, "range"), (115, "step")]
    assert "Low reaches" in faults[0][2]
    assert "0.00011 or 0.00012" in faults[1][2]


def test_two_carriers_for_one_transmitter() -> None:
    (fault,) = tuning_faults([110, 120], [LOW, HIGH])
    assert "needed for another carrier" in fault[2]

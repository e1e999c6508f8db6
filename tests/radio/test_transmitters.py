"""A rig's transmitters in the planner's whole hertz."""

from __future__ import annotations

import pytest

from showday.errors import RadioTrouble
from showday.radio.model import Tuner
from showday.rig.model import Rig, Transmitter
from showday.transmitters import carriers_of, own_of, region_of, tuners_of

RIG = Rig(
    "rig",
    region="DE",
    transmitters=(
        Transmitter("Ears 1", 606.1, 613.9, 12.5, 200, frequency=606.7),
        Transmitter("Ears 2", 541.3, 590, 25, frequency=558.3),
        Transmitter("Handed over", frequency=863.1),
        Transmitter("Half said", low=600),
    ),
)


def test_tuners_are_those_that_say_how_far_they_reach_in_the_file_s_order() -> None:
    assert tuners_of(RIG) == (
        Tuner("Ears 1", 606_100_000, 613_900_000, 12_500, 200_000),
        Tuner("Ears 2", 541_300_000, 590_000_000, 25_000, 0),
    )


def test_carriers_are_those_that_state_a_frequency() -> None:
    assert carriers_of(RIG) == (("Ears 1", 606_700_000), ("Ears 2", 558_300_000), ("Handed over", 863_100_000))


@pytest.mark.parametrize("hertz", [*range(470_000_000, 694_000_001, 1_237_500), 473_142_857, 470_309_441])
def test_a_frequency_in_mhz_becomes_these_hertz_exactly(hertz: int) -> None:
    rig = Rig("rig", transmitters=(Transmitter("Ears", frequency=hertz / 1e6),))
    assert carriers_of(rig) == (("Ears", hertz),)


def test_which_were_on_is_what_a_person_says() -> None:
    theirs = carriers_of(RIG)
    assert own_of(None, theirs) == ()
    assert own_of([], theirs) == theirs
    assert own_of(["558,3", "570"], theirs) == (("Ears 2", 558_300_000), ("own 570.000", 570_000_000))
    with pytest.raises(RadioTrouble, match="says no frequency"):
        own_of([], ())


def test_the_region_is_the_rig_s() -> None:
    assert (region_of(RIG), region_of(Rig("rig"))) == ("DE", "")

"""Antenna advice: the numbers in its sentences are those of the band, and nothing in it permits anything."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.errors import RadioTrouble
from showday.radio import propagation as wave
from showday.radio.antennas import (
    DIP,
    NOISE_FIGURE,
    WANTED_OVER_NOISE,
    Setup,
    advice,
    antenna_fields,
    antenna_lines,
    bands_of,
    cable_of,
    link,
)
from showday.radio.model import Band, Tuner
from showday.radio.propagation import CABLES
from showday.text.cautions import RADIO_LAW
from showday.text.sentence import fields_in, fill

MHZ = 1_000_000
OWN = Setup(542 * MHZ, 590 * MHZ)
AT_600 = Setup(600 * MHZ, 600 * MHZ, 30, cable_of("foam10"), 0)
PERMITS = re.compile(r"\b(?:allowed|permitted|legal|free to|may use|you may|licence-free)\b", re.I)


def sentence(title: str, setup: Setup = OWN) -> str:
    """The sentence under this title."""
    return next(each.sentence for each in advice(setup) if each.title == title)


def test_every_piece_of_advice_has_a_title_a_sentence_and_a_basis() -> None:
    for title, text, basis in advice(OWN):
        assert title
        assert text.endswith(".")
        assert basis
        assert not basis.endswith(".")


def test_diversity_antennas_get_half_a_wave_of_both_ends() -> None:
    assert "0.28 m at 542 MHz, 0.25 m at 590 MHz" in sentence("Receive antennas")
    wide = sentence("Receive antennas", Setup(470 * MHZ, 694 * MHZ))
    assert "0.32 m at 470 MHz, 0.22 m at 694 MHz" in wide
    assert "at least half a wave apart: 0.25 m. Further" in sentence("Receive antennas", AT_600)


def test_transmit_antennas_get_the_level_in_the_neighbour() -> None:
    said = sentence("Transmit antennas", AT_600)
    assert "50 mW leave -11 dBm in a neighbour 1 m away, -21 dBm at 3 m" in said
    assert "Each doubling of the distance takes 6 dB off" in said
    assert "Combine" in said


def test_products_fall_threefold_in_a_receiver() -> None:
    said = sentence("Products")
    assert "falls about 1 dB for each dB less from its neighbour: from 1 m to 3 m about 10 dB" in said
    assert "falls 3 dB for each dB taken off both carriers: half the power, 9 dB less" in said


def test_the_free_path_is_that_of_the_lowest_frequency() -> None:
    said = sentence("Free path", AT_600)
    assert "Over 30 m the first Fresnel zone reaches 1.9 m" in said
    assert "60 %, 1.2 m" in said
    assert "Over 100 m the first Fresnel zone reaches 4.0 m" in sentence(
        "Free path", Setup(470 * MHZ, 700 * MHZ, distance=100)
    )


def test_heads_near_the_antenna_stay_below_the_line() -> None:
    expected = 0.6 * wave.fresnel_radius(542 * MHZ, 2, 28)
    assert f"People 2 m from one stay {expected:.1f} m below the line" in sentence("Above heads")
    assert "People" not in sentence("Above heads", replace(OWN, distance=3))


def test_cable_loss_is_that_of_the_upper_end_to_half_a_decibel() -> None:
    assert "10 m of 5 mm RG-58 takes 4 to 4.5 dB at 590 MHz, of 10 mm low-loss foam with foil 1 dB" in sentence(
        "Cable"
    )
    thick = sentence("Cable", replace(OWN, cable=cable_of("foam10"), length=1))
    assert "1 m of 10 mm low-loss foam with foil takes less than 0.5 dB at 590 MHz." in thick


def test_cable_outside_of_its_tables_says_so() -> None:
    found = {each.title: each.basis for each in advice(Setup(1_785 * MHZ, 1_805 * MHZ))}
    assert "outside of the tables" in found["Cable"]
    assert all("outside of the tables" not in each.basis for each in advice(OWN))


def test_body_loss_is_a_range_from_memory() -> None:
    body = next(each for each in advice(OWN) if each.title == "Bodies")
    assert "5 to 20 dB" in body.sentence
    assert "from memory" in body.basis


def test_the_link_is_the_sum_of_its_parts() -> None:
    found = link(AT_600)
    assert found.open == pytest.approx(16.99 - 57.55, abs=0.01)
    assert found.level == pytest.approx((found.open - 20, found.open - 5))
    assert found.needed == pytest.approx(
        [-120.96 + WANTED_OVER_NOISE + figure for figure in NOISE_FIGURE[::-1]], abs=0.01
    )
    assert found.margin == pytest.approx((found.level[0] - found.needed[0], found.level[1] - found.needed[1]))


def test_what_arrives_names_its_margin_as_a_range() -> None:
    low, high = link(OWN).margin
    assert f"a margin of {low:.0f} to {high:.0f} dB" in sentence("What arrives")
    assert "(92 dBuV/m)" in sentence("What arrives")


def test_dips_are_those_of_the_rayleigh_distribution() -> None:
    # 1 - exp(-x) = 0.01 at x = 0.01005, 19.98 dB under the mean.
    assert pytest.approx(19.978, abs=0.001) == DIP


@given(
    st.integers(50 * MHZ, 7_000 * MHZ),
    st.integers(0, 100 * MHZ),
    st.floats(1, 1_000),
    st.floats(0, 200),
    st.floats(0.1, 4_000),
    st.sampled_from(CABLES),
)
def test_worst_never_beats_best(
    low: int, width: int, distance: float, length: float, power: float, cable: wave.Cable
) -> None:
    setup = Setup(low, low + width, distance, cable, length, power)
    found = link(setup)
    assert found.level[0] < found.level[1] < found.open
    assert found.margin[0] < found.margin[1]
    assert len(advice(setup)) == len(advice(OWN))


def test_nothing_permits_and_the_caution_sends_to_manual_and_rules() -> None:
    for each in advice(OWN):
        assert not PERMITS.search(each.sentence), each.title
    caution = next(each for each in advice(OWN) if each.title == "Caution")
    assert "manual" in caution.sentence
    assert "50 mW ERP are 82 mW EIRP" in caution.sentence
    assert "local rules" in caution.basis


def test_ranges_that_meet_are_one_band() -> None:
    tuners = [
        Tuner("c", 863 * MHZ, 865 * MHZ),
        Tuner("a", 542 * MHZ, 590 * MHZ),
        Tuner("b", 590 * MHZ, 606 * MHZ),
        Tuner("d", 550 * MHZ, 560 * MHZ),
    ]
    assert bands_of(tuners) == (Band(542 * MHZ, 606 * MHZ), Band(863 * MHZ, 865 * MHZ))
    assert bands_of([]) == ()


def test_lines_keep_their_columns_and_end_with_who_decides() -> None:
    lines = antenna_lines([Tuner("In-ear 1", 542 * MHZ, 590 * MHZ, 25_000)])
    assert lines[0] == "Antennas for 542 to 590 MHz"
    assert max(map(len, lines)) <= 60
    assert lines[-1] == RADIO_LAW
    assert antenna_lines([Band(606 * MHZ, 606 * MHZ)])[0] == "Antennas for 606 MHz"


def test_a_number_is_never_parted_from_its_unit() -> None:
    for columns in range(40, 61):
        lines = antenna_lines([Band(542 * MHZ, 590 * MHZ)], columns=columns)
        for line, after in pairwise(lines):
            assert not (re.search(r"\d$", line) and re.match(r"\s*(?:m|mm|dB|dBm|mW|MHz)\b", after)), (line, after)


def test_every_band_has_its_own_advice() -> None:
    lines = antenna_lines([Band(542 * MHZ, 590 * MHZ), Band(863 * MHZ, 865 * MHZ)])
    assert [line for line in lines if line.startswith("Antennas for")] == [
        "Antennas for 542 to 590 MHz",
        "Antennas for 863 to 865 MHz",
    ]
    assert lines.count(RADIO_LAW) == 1


def test_without_a_band_the_lines_say_what_is_missing() -> None:
    lines = antenna_lines([])
    assert "give it low and" in lines[0]
    assert lines[-1] == RADIO_LAW


def test_fields_for_sentences_carry_their_units() -> None:
    assert antenna_fields(600 * MHZ, 600 * MHZ, 30) == {
        "band.low": "600 MHz",
        "band.high": "600 MHz",
        "band.halfwave": "0.25 m",
        "band.distance": "30 m",
        "band.fresnel": "1.9 m",
        "band.clear": "1.2 m",
        "band.one_metre": "-11 dBm",
        "band.three_metres": "-21 dBm",
        "band.thin": "4 to 4.5 dB",
        "band.thick": "1 dB",
    }
    assert antenna_fields(470 * MHZ, 694 * MHZ)["band.halfwave"] == "0.32 m"


def test_fields_fill_a_playbook_sentence() -> None:
    known = antenna_fields(542 * MHZ, 590 * MHZ)
    text = "at least half a wave apart[: {band.halfwave} at {band.low}]"
    assert fill(text, known, {}) == "at least half a wave apart: 0.28 m at 542 MHz"
    assert all(list(fields_in(f"{{{name}}}")) == [name] for name in known)


@pytest.mark.parametrize(
    ("setup", "said"),
    [
        (replace(OWN, distance=0), "A distance of 0 m cannot be used. Give 1 to 1000 m."),
        (replace(OWN, distance=float("nan")), "A distance of nan m cannot be used."),
        (replace(OWN, length=-1), "A cable of -1 m cannot be used. Give 0 to 200 m."),
        (replace(OWN, power=0), "A power of 0 mW cannot be used. Give 0.1 to 4000 mW."),
        (replace(OWN, low=600 * MHZ), "A band needs a low end and a high end."),
    ],
)
def test_numbers_that_cannot_be_used_get_a_sentence(setup: Setup, said: str) -> None:
    with pytest.raises(RadioTrouble) as trouble:
        advice(setup)
    assert str(trouble.value).startswith(said)


def test_a_misspelt_cable_is_told_with_the_nearest() -> None:
    with pytest.raises(RadioTrouble, match=r"'rg85' is not a kind of cable\. Did you mean rg58\?"):
        cable_of("rg85")
    with pytest.raises(RadioTrouble, match="Known are rg58, rg58-limit, rg213, foam6, foam10"):
        cable_of("string of pearls")

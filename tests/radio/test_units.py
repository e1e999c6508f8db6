"""Frequencies and widths as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from showday.errors import RadioTrouble
from showday.radio.model import Band
from showday.radio.units import (
    HIGHEST,
    LOWEST,
    band,
    band_text,
    frequency,
    khz,
    khz_number,
    mhz,
    mhz_number,
    width,
)
from tests.support.sentences import broken


@pytest.mark.parametrize(
    ("text", "hertz"),
    [
        ("606.125", 606_125_000),
        ("606,125", 606_125_000),
        (" 606.125 MHz ", 606_125_000),
        ("606", 606_000_000),
        ("+606.", 606_000_000),
        ("473.142857", 473_142_857),
        ("470.309440559", 470_309_441),
    ],
)
def test_a_frequency_is_read_to_the_hertz(text: str, hertz: int) -> None:
    assert frequency(text) == hertz


@given(some.integers(LOWEST, HIGHEST))
def test_a_frequency_that_is_written_is_read_back(hertz: int) -> None:
    assert frequency(mhz(hertz)) == hertz
    assert round(mhz_number(hertz) * 1e6) == hertz


@pytest.mark.parametrize(
    "text", ["", "six", "6e2", "606.1.2", "1_000", "-5", "0", "0.5", "606125", "606125000", "nan"]
)
def test_what_is_no_frequency_gets_a_whole_sentence(text: str) -> None:
    with pytest.raises(RadioTrouble) as trouble:
        frequency(text)
    assert not list(broken(str(trouble.value)))


def test_kilohertz_and_hertz_are_guessed_and_said() -> None:
    for text, unit in (("606125", "kHz"), ("606125000", "Hz")):
        with pytest.raises(RadioTrouble, match=f"If these are {unit}, write 606.125"):
            frequency(text)


@pytest.mark.parametrize(
    "text", ["606-614", "606..614", "606 to 614", "606–614 MHz", "606 MHz - 614 MHz", "606,0-614,0"]
)
def test_a_range_has_two_ends(text: str) -> None:
    assert band(text) == Band(606_000_000, 614_000_000)


def test_one_frequency_is_a_range_of_no_width() -> None:
    assert band("606.5") == Band(606_500_000, 606_500_000)
    assert band_text(band("606.5")) == "606.500 MHz"
    assert band_text(band("606.5-607")) == "606.500-607.000 MHz"


def test_a_range_that_ends_below_its_start_is_turned_round_for_the_person() -> None:
    with pytest.raises(RadioTrouble, match=r"Write 606\.000-614\.000"):
        band("614-606")


@pytest.mark.parametrize("text", ["-606-614", "606-", "-", "606-614-620", "a-b", "606--614", "606-99999"])
def test_what_is_no_range_gets_a_whole_sentence(text: str) -> None:
    with pytest.raises(RadioTrouble) as trouble:
        band(text)
    assert not list(broken(str(trouble.value)))


@pytest.mark.parametrize(("text", "hertz"), [("25", 25_000), ("12,5", 12_500), ("12.5 kHz", 12_500), ("0", 0)])
def test_a_width_is_in_kilohertz(text: str, hertz: int) -> None:
    assert width(text) == hertz


@pytest.mark.parametrize("text", ["-5", "wide", "100001", "1e3"])
def test_what_is_no_width_gets_a_whole_sentence(text: str) -> None:
    with pytest.raises(RadioTrouble) as trouble:
        width(text, "spacing")
    assert "spacing" in str(trouble.value)


def test_a_step_has_to_be_more_than_nothing() -> None:
    with pytest.raises(RadioTrouble, match="more than 0"):
        width("0", "step", least=1)


def test_kilohertz_are_written_with_decimals_only_when_needed() -> None:
    assert [khz(350_000), khz(62_500), khz(-12_500), khz(0)] == ["350", "62.5", "-12.5", "0"]
    assert [khz_number(350_000), khz_number(62_500), khz_number(-12_500)] == [350, 62.5, -12.5]

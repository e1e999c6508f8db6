"""`showday radio antennas`: advice for the rig's own band, or for a range that is named."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from showday.text.cautions import RADIO_LAW
from tests.cli.calling import GOOD_RIG, Called, put

Call = Callable[..., Called]
TRANSMITTERS = """transmitters:
  - {name: In-ear 1, low: 542, high: 590, step: 25, width: 200}
  - {name: In-ear 2, low: 590, high: 606}
  - {name: In-ear 3, low: 863, high: 865}
  - {name: In-ear 4}
"""


def test_a_range_is_advised_in_sixty_columns(call: Call) -> None:
    called = call("radio", "antennas", "--range", "606-614")
    assert called.code == 0
    assert called.err == ""
    lines = called.out.splitlines()
    assert lines[0] == "Antennas for 606 to 614 MHz"
    assert max(map(len, lines)) <= 60
    assert called.last == RADIO_LAW


def test_the_rig_named_gives_its_bands(call: Call, tmp_path: Path) -> None:
    rig = put(tmp_path, act=GOOD_RIG + TRANSMITTERS) / "act.yaml"
    called = call("radio", "antennas", "--rig", str(rig))
    assert called.code == 0
    titles = [line for line in called.out.splitlines() if line.startswith("Antennas for")]
    assert titles == ["Antennas for 542 to 606 MHz", "Antennas for 863 to 865 MHz"]


def test_your_own_rig_is_used_without_a_name(call: Call, home: Path) -> None:
    put(home / "config", rig=GOOD_RIG + TRANSMITTERS)
    assert call("radio", "antennas").out.startswith("Antennas for 542 to 606 MHz\n")


def test_a_range_goes_before_the_rig(call: Call, home: Path) -> None:
    put(home / "config", rig=GOOD_RIG + TRANSMITTERS)
    called = call("radio", "antennas", "--range", "470-478", "--range", "478-486")
    assert [line for line in called.out.splitlines() if line.startswith("Antennas for")] == [
        "Antennas for 470 to 486 MHz"
    ]


@pytest.mark.parametrize("rig", [None, GOOD_RIG])
def test_without_any_band_the_sentence_says_what_to_give(call: Call, home: Path, rig: str | None) -> None:
    if rig:
        put(home / "config", rig=rig)
    called = call("radio", "antennas")
    assert called.code == 2
    assert called.out == ""
    assert "Give low and high in the rig file, or --range 606-614." in called.err


def test_problems_of_your_own_rig_are_told(call: Call, home: Path) -> None:
    put(home / "config", rig=GOOD_RIG + TRANSMITTERS.replace("step: 25", "step: wide"))
    called = call("radio", "antennas")
    assert "rig.yaml:" in called.err
    assert "wide" in called.err


def test_distance_cable_length_and_power_are_reckoned_with(call: Call) -> None:
    words = ("--range", "600", "--distance", "100", "--cable", "rg213", "--length", "20", "--power", "12,5")
    out = " ".join(call("radio", "antennas", *words).out.split())
    assert "100 m to the farthest player, 20 m of 10 mm RG-213 or RG-8 and 12.5 mW EIRP." in out
    assert "Over 100 m the first Fresnel zone reaches 3.5 m" in out  # sqrt(0.49965 m x 50 m x 50 m / 100 m)
    assert "20 m of 10 mm RG-213 or RG-8 takes 4 dB at 600 MHz" in out


def test_json_holds_the_same_advice_as_numbers_and_sentences(call: Call) -> None:
    data = call("radio", "antennas", "--range", "600", "--power", "50", "--json").data
    assert data["rules"] == RADIO_LAW
    [band] = data["bands"]
    assert (band["low_mhz"], band["high_mhz"], band["distance_m"], band["cable"]) == (600, 600, 30, "rg58")
    assert (band["length_m"], band["power_mw"]) == (10, 50)
    assert band["margin_db"][0] < band["margin_db"][1]
    assert all(set(each) == {"title", "sentence", "basis"} for each in band["advice"])
    assert any("0.25 m" in each["sentence"] for each in band["advice"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--range", "614-606"), "ends below its start"),
        (("--range", "600", "--distance", "far"), "'far' is not a distance. Write a number, such as 12.5."),
        (("--range", "600", "--distance", "0"), "A distance of 0 m cannot be used. Give 1 to 1000 m."),
        (("--range", "600", "--length", "-1"), "A cable of -1 m cannot be used. Give 0 to 200 m."),
        (("--range", "600", "--power", "1e9"), "'1e9' is not a power."),
        (("--range", "600", "--power", "5000"), "A power of 5000 mW cannot be used."),
        (("--range", "600", "--cable", "rg85"), "'rg85' is not a kind of cable. Did you mean rg58?"),
        (("--range", "600", "--cable", "\x1b[31m"), "is not a kind of cable."),
        (("--rig", "nowhere.yaml"), "nowhere.yaml"),
    ],
)
@pytest.mark.parametrize("more", [(), ("--json",)])
def test_what_cannot_be_used_gets_one_sentence(
    call: Call, words: tuple[str, ...], more: tuple[str, ...], said: str
) -> None:
    called = call("radio", "antennas", *words, *more)
    assert called.code == 2
    assert called.out == ""
    assert said in called.err
    assert "\x1b" not in called.err
    assert called.err.count("\n") == 1

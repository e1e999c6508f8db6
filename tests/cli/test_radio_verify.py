"""`showday radio verify`: the worked examples from the command line, in text, as JSON, and by exit status."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from showday.text.safe import one_line
from tests.cli.calling import Called
from tests.support.terminal import ROOT

Call = Callable[..., Called]
RIG = str(ROOT / "examples" / "rig.yaml")
RULES = "Local rules and the licence holder decide."
CLEAN = ("606.7", "607.1", "608.3", "610.3", "611.1")
"""606.7 + 0.4 · {0, 1, 4, 9, 11} MHz: a Golomb ruler, third order 400 kHz away from each."""


def test_a_clean_set_in_text(call: Call) -> None:
    called = call("radio", "verify", *CLEAN, "--orders", "3")
    assert (called.code, called.err, called.last) == (0, "", RULES)
    lines = called.out.splitlines()
    assert lines[0] == "Clean. The smallest clearance is 400 kHz, at 606.700 MHz."
    assert "     608.300 MHz    400 kHz clear" in lines
    assert max(map(len, lines)) <= 60


def test_two_signals_pass_and_three_fail_as_json(call: Call) -> None:
    """500.0 + 501.2 = 500.3 + 500.9: an A+B-C falls on each of the four, exactly."""
    called = call("radio", "verify", "500.0", "500.3", "500.9", "501.2", "--orders", "3", "--json")
    assert called.code == 1
    assert set(called.data) == {"clean", "carriers", "hits", "advice"}
    assert called.data["clean"] is False
    assert called.data["advice"] == [RULES]
    assert called.data["carriers"][0] == {
        "mhz": 500.0,
        "clearance_khz": 0,
        "limited_by": "A+B-C of 500.300, 500.900, 501.200 falls at 500.000 MHz, exactly on it",
    }
    assert called.data["hits"] == [
        {"kind": "A+B-C", "order": 3, "at_mhz": at, "from_mhz": makers, "carrier_mhz": at, "off_khz": 0}
        for at, makers in (
            (500.0, [500.3, 500.9, 501.2]),
            (500.3, [500.0, 501.2, 500.9]),
            (500.9, [500.0, 501.2, 500.3]),
            (501.2, [500.3, 500.9, 500.0]),
        )
    ]


def test_third_order_clean_and_fifth_not(call: Call) -> None:
    """500.0 + 0.4 · {0, 1, 4, 10, 12, 17} MHz: 3 · 501.6 - 2 · 500.4 = 504.0."""
    six = ("500.0", "500.4", "501.6", "504.0", "504.8", "506.8")
    assert call("radio", "verify", *six, "--orders", "3").code == 0
    called = call("radio", "verify", *six)
    assert called.code == 1
    assert "3A-2B of 501.600, 500.400 falls at 504.000 MHz, exactly on it." in " ".join(called.out.split())
    assert called.last == RULES


@pytest.mark.parametrize(("wide", "code"), [("0", 0), ("174.9", 0), ("175", 1), ("175,0", 1)])
def test_widths_are_inclusive(call: Call, wide: str, code: int) -> None:
    """3 · 519.0 - 2 · 518.2 = 520.6 is 175 kHz from 520.425; with three signals the same set has others nearer."""
    called = call("radio", "verify", "518.2", "519.0", "520.425", "--fifth", wide, "--json")
    kinds = {hit["kind"] for hit in called.data["hits"]}
    assert ("3A-2B" in kinds) is bool(code)


def test_seventh_order_is_looked_at_on_request(call: Call) -> None:
    """4 · 501 - 3 · 500 = 504."""
    three = ("500", "501", "504")
    assert "4A-3B" not in call("radio", "verify", *three).out
    assert "4A-3B of 501.000, 500.000" in call("radio", "verify", *three, "--orders", "3,5,7").out


def test_spacing_and_foreign_carriers(call: Call) -> None:
    called = call("radio", "verify", "471.0", "471.5", "--foreign", "470.5", "--spacing", "600", "--json")
    assert called.code == 1
    assert {(hit["kind"], hit["order"]) for hit in called.data["hits"]} >= {("spacing", 1), ("2A-B", 3)}
    text = call("radio", "verify", "471.0", "471.5", "--foreign", "470.5").out
    assert "Foreign carriers, from what yours do to them" in text


def test_the_rig_s_own_carriers_and_what_it_cannot_be_set_to(call: Call) -> None:
    called = call("radio", "verify", "--rig", RIG, "--third", "299")
    assert called.code == 0, called.out
    beyond = call("radio", "verify", "558.3", "700", "561.81", "--rig", RIG, "--json")
    assert beyond.code == 1
    assert [(hit["kind"], hit["order"], hit["carrier_mhz"]) for hit in beyond.data["hits"]] == [
        ("range", 0, 700.0),
        ("step", 0, 561.81),
    ]
    assert "Not clean: 2 carriers that cannot be set." in call("radio", "verify", "700", "561.81", "--rig", RIG).out


REFUSED = {
    "nothing": ((), "No carriers are named."),
    "a word": (("six",), "'six' is not a frequency."),
    "negative": (("-606.1",), "is not a frequency"),
    "kilohertz": (("606125",), "If these are kHz, write 606.125."),
    "order": (("606", "--orders", "4"), "Products of order 4 are not looked at."),
    "orders": (("606", "--orders", "three"), "'three' is not a list of orders."),
    "spacing": (("606", "--spacing", "-1"), "A spacing of -1 kHz cannot be used."),
    "width": (("606", "--third", "wide"), "'wide' is not a width."),
    "foreign": (("606", "--foreign", "0"), "0 MHz is not a frequency"),
    "rig": (("--rig", "nowhere.yaml"), "nowhere.yaml"),
    "too many": (tuple(f"{470 + n / 8}" for n in range(200)), "too many at once"),
    "escape": (("\x1b[2J606",), "is not a frequency"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_judged_is_one_sentence(call: Call, what: str) -> None:
    words, said = REFUSED[what]
    called = call("radio", "verify", *words)
    assert (called.code, called.out) == (2, "")
    assert said in called.err
    assert called.err == f"{one_line(called.err.strip(), 1000)}\n"

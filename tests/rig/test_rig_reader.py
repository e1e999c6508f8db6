"""What the act carries: three lines are enough, names must point somewhere, and every slip has its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from showday.rig.model import EMPTY, KINDS, Mains, Rig
from showday.rig.reader import read_rig
from tests.support.world import rig_of, shipped_rigs

THREE_LINES = "rig: small\nact: The Late Bus\ninputs: [Kick, Bass, Voice]\n"


def problems_of(text: str) -> list[str]:
    """The rig file's problems as `line:column: text`."""
    return [str(p).removeprefix("f:") for p in read_rig(text, "f")[1].in_order()]


def test_three_lines_are_a_rig() -> None:
    rig = rig_of(THREE_LINES)
    assert (rig.rig, rig.act) == ("small", "The Late Bus")
    assert [(line.number, line.name) for line in rig.inputs] == [(1, "Kick"), (2, "Bass"), (3, "Voice")]


def test_one_line_is_a_rig() -> None:
    assert rig_of("rig: r").inputs == ()


@pytest.mark.parametrize("kind", KINDS)
def test_an_empty_rig_has_nothing_of_any_kind(kind: str) -> None:
    assert EMPTY.things(kind) == ()


def test_there_is_nothing_of_an_unknown_kind() -> None:
    assert rig_of(THREE_LINES).things("guitar") == ()


@pytest.mark.parametrize(
    "field, kind",
    [
        ("people", "person"), ("inputs", "input"), ("mixes", "mix"), ("transmitters", "transmitter"),
        ("packs", "pack"), ("loads", "load"), ("spares", "spare"),
    ],
)  # fmt: skip
def test_a_bare_name_is_a_whole_entry(field: str, kind: str) -> None:
    rig = rig_of(f"rig: r\n{field}: [One, {{name: Two}}]")
    assert [thing.name for thing in rig.things(kind)] == ["One", "Two"]


@pytest.mark.parametrize(
    ("inputs", "numbers"),
    [
        pytest.param("[A, B, C]", [1, 2, 3], id="counted from 1"),
        pytest.param("[{name: A, number: 5}, B, C]", [5, 6, 7], id="on from a number"),
        pytest.param("[A, {name: B, number: 9}, C]", [1, 9, 10], id="on from the middle"),
        pytest.param("[{name: A, number: 8}, {name: B, number: 2}, C]", [8, 2, 3], id="backwards"),
    ],
)
def test_inputs_without_a_number_are_counted(inputs: str, numbers: list[int]) -> None:
    assert [line.number for line in rig_of(f"rig: r\ninputs: {inputs}").inputs] == numbers


@pytest.mark.parametrize(
    ("mains", "low", "high"),
    [
        # IEC 60038: under normal conditions the supply voltage stays within 10 % of the nominal one.
        pytest.param("230", 207.0, 253.0, id="230 V"),
        pytest.param("{volts: 120, hertz: 60}", 108.0, 132.0, id="120 V"),
        pytest.param("{volts: 100}", 90.0, 110.0, id="100 V"),
        pytest.param("{volts: 230, low: 216.2}", 216.2, 253.0, id="own low"),
        pytest.param("{volts: 230, high: 240}", 207.0, 240.0, id="own high"),
        pytest.param("{low: 90, high: 264}", 90.0, 264.0, id="no nominal"),
        pytest.param("{hertz: 50}", None, None, id="nothing known"),
    ],
)
def test_the_acceptable_voltage(mains: str, low: float | None, high: float | None) -> None:
    found = rig_of(f"rig: r\nmains: {mains}").mains
    assert (found.lowest, found.highest) == (low, high)


def test_no_mains_are_no_limits() -> None:
    assert (Mains().lowest, Mains().highest) == (None, None)


NOT_RIGHT = [
    pytest.param(
        "rig: r\ninputs: [A, {name: B, number: 1}]", "2:13: two of the input list have the number 1", id="number"
    ),
    pytest.param("rig: r\npacks: [A, A]", "2:12: two of the pack list have the name 'A'", id="name twice"),
    pytest.param(
        "rig: r\ninputs: [{name: A, pair: 2}]", "2:10: input A: its pair 2 is not another input", id="no pair"
    ),
    pytest.param(
        "rig: r\ninputs: [{name: A, pair: 1}]", "2:10: input A: its pair 1 is not another input", id="own pair"
    ),
    pytest.param(
        "rig: r\npeople: [Ada]\ninputs: [{name: A, person: ada}]",
        "3:28: 'ada' is not in people (did you mean Ada?)",
        id="person of an input",
    ),
    pytest.param(
        "rig: r\npeople: [Ada]\npacks: [{name: A, person: Bo}]", "3:27: 'Bo' is not in people", id="person of a pack"
    ),
    pytest.param(
        "rig: r\npeople: [Ada]\nmixes: [{name: A, people: [Ada, Bo]}]",
        "3:33: 'Bo' is not in people",
        id="people of a mix",
    ),
    pytest.param(
        "rig: r\ntransmitters: [T 1]\npacks: [{name: A, transmitter: T1}]",
        "3:32: 'T1' is not in transmitters (did you mean T 1?)",
        id="transmitter of a pack",
    ),
    pytest.param(
        "rig: r\nmixes: [Wedge]\ntransmitters: [{name: T, mix: Wedges}]",
        "3:31: 'Wedges' is not in mixes (did you mean Wedge?)",
        id="mix of a transmitter",
    ),
    pytest.param(
        "rig: r\ntransmitters: [{name: T, low: 700, high: 600}]",
        "2:16: transmitter T: low is above high; swap them",
        id="range",
    ),
    pytest.param(
        "rig: r\ntransmitters: [{name: T, low: 600, high: 700, frequency: 500}]",
        "2:16: transmitter T: 500 MHz is outside of its tuning range",
        id="frequency",
    ),
    pytest.param("rig: r\nmains: {volts: 230, high: 100}", "2:8: mains: low is above high; swap them", id="mains"),
    pytest.param("rig: r\nloads: [{name: L, low: 250, high: 100}]", "2:9: load L: low is above high", id="load"),
    pytest.param("rig: r\nmains: 230 V", "2:8: '230 V' is not a number", id="volts with a unit"),
]


@pytest.mark.parametrize(("text", "said"), NOT_RIGHT)
def test_what_is_not_right_is_told_where_it_stands(text: str, said: str) -> None:
    assert [line for line in problems_of(text) if line.startswith(said)], problems_of(text)


def test_names_are_only_checked_against_a_list_that_says_something() -> None:
    assert problems_of("rig: r\ninputs: [{name: A, person: Ada}]\npacks: [{name: P, transmitter: T}]") == []


def test_a_slip_does_not_take_the_rest_of_the_rig_away() -> None:
    rig, problems = read_rig("rig: r\nact: Us\ninputs: [A, {nam: B}, C]\nregion: moon", "f")
    assert rig is not None and len(problems.errors) == 3
    assert [line.name for line in rig.inputs] == ["A", "C"]


def test_without_an_id_it_is_no_rig() -> None:
    assert read_rig("act: Us", "f")[0] is None


@pytest.mark.parametrize("path", shipped_rigs(), ids=lambda p: p.name)
def test_the_example_rig_has_no_problems(path: Path) -> None:
    rig, problems = read_rig(path.read_bytes(), path.name)
    assert isinstance(rig, Rig)
    assert [str(p) for p in problems] == []

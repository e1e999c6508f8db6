"""`showday radio sweep`: what a sweep shows, in 60 columns without colour, and as JSON."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from showday.cli import main
from tests.cli.calling import Called
from tests.radio.example_sweeps import AGAIN, BEFORE, HOUSE, OTHERS, OWN
from tests.radio.sweep_texts import columns
from tests.support.terminal import ROOT

Call = Callable[..., Called]
RIG = str(ROOT / "examples" / "rig.yaml")
RULES = "Local rules and the licence holder decide."


@pytest.fixture
def field(tmp_path: Path) -> Callable[..., str]:
    """Writes the example's first sweep, changed as told; gives its name."""

    def write(change: Callable[[str], str] = str, name: str = "field.csv") -> str:
        text = BEFORE.read_text("ascii")
        path = tmp_path / name
        path.write_text(change(text), "utf-8")
        return str(path)

    return write


def test_the_text_reads_in_60_columns_and_ends_with_the_rule(call: Call) -> None:
    called = call("radio", "sweep", str(AGAIN), "--rig", RIG, "--own")
    assert called.code == 0
    assert called.err == ""
    assert called.last == RULES
    assert called.out.count(RULES) == 1
    lines = called.out.splitlines()
    assert max(map(len, lines)) <= 60
    assert "\x1b" not in called.out
    for line in (
        "- 3 sweeps stand in the file: the strongest and the mean of",
        "Television (europe), level over the floor and in all:",
        "Carriers (MHz, width, level over what is around):",
        "Our own, said to be on:",
        "Widest stretches where nothing was seen (MHz):",
        "Questions in Europe (CEPT):",
    ):
        assert line in lines
    assert any("├TV 30─┤" in line for line in lines)


def test_long_names_stay_in_60_columns(call: Call, field: Callable[..., str]) -> None:
    called = call("radio", "sweep", field(name="a name with many words " * 6), "--region", "europe")
    assert max(map(len, called.out.splitlines())) <= 60


def test_the_facts_as_json(call: Call) -> None:
    called = call("radio", "sweep", str(AGAIN), "--rig", RIG, "--own", "--json")
    data = called.data
    assert called.code == 0
    assert [each["name"] for each in data["television"]] == ["TV 30", "TV 34", "TV 35"]
    assert data["television"][0]["from_mhz"] == 542.0
    assert [each["mhz"] for each in data["carriers"]] == pytest.approx(sorted({**HOUSE, **OTHERS}), abs=0.013)
    assert {each["name"]: each["mhz"] for each in data["own"]} == {f"In-ear {n}": mhz for n, mhz in enumerate(OWN, 1)}
    assert all(each["seen"]["over_floor_db"] > 30 for each in data["own"])
    assert (data["unit"], data["passes"], data["region"], data["problems"]) == ("dB", 3, "europe", [])
    assert data["advice"] == RULES
    widths = [each["to_mhz"] - each["from_mhz"] for each in data["free"]]
    assert widths == sorted(widths, reverse=True)


def test_nothing_is_taken_for_our_own_unless_it_is_said(call: Call) -> None:
    called = call("radio", "sweep", str(AGAIN), "--rig", RIG)
    assert "Our own" not in called.out
    assert "    558.300  200 kHz   48 dB  In-ear 1? If so: --own" in called.out.splitlines()
    assert call("radio", "sweep", str(AGAIN), "--rig", RIG, "--json").data["own"] == []


def test_our_own_may_be_named_by_their_frequency(call: Call) -> None:
    data = call("radio", "sweep", str(AGAIN), "--rig", RIG, "--own", "558.3", "570", "--json").data
    assert [(each["name"], each["seen"] is None) for each in data["own"]] == [
        ("In-ear 1", False),
        ("own 570.000", True),
    ]


def test_before_ours_are_on_they_are_not_seen(call: Call) -> None:
    called = call("radio", "sweep", str(BEFORE), "--rig", RIG, "--own")
    assert called.out.count("not seen") == 4


def test_several_files_are_merged(call: Call) -> None:
    called = call("radio", "sweep", str(BEFORE), str(AGAIN), "--region", "europe", "--json")
    assert [Path(name).name for name in called.data["files"]] == ["afternoon.csv", "changeover-wide.csv"]
    assert called.data["passes"] == 4
    assert any("are they comparable at all?" in question for question in called.data["asked"])


def test_the_mean_may_be_searched(call: Call) -> None:
    called = call("radio", "sweep", str(AGAIN), "--region", "europe", "--mean")
    assert "the mean" in called.out
    assert call("radio", "sweep", str(AGAIN), "--mean", "--json").data["searched"] == "mean"


def test_without_a_region_it_is_asked(call: Call) -> None:
    called = call("radio", "sweep", str(BEFORE))
    assert called.code == 0
    assert "- Which region is this?" in called.out
    assert "Television" not in called.out
    assert called.last == RULES


@pytest.mark.parametrize(("level", "unit"), [("dbm", "dBm"), ("DBUV", "dBm"), ("db", "dB")])
def test_levels_are_what_a_person_says(call: Call, level: str, unit: str) -> None:
    assert call("radio", "sweep", str(BEFORE), "--level", level, "--json").data["unit"] == unit


def test_implausible_levels_are_asked_about(call: Call, field: Callable[..., str]) -> None:
    name = field(lambda text: text.replace(",-", ",").replace("(dBm)", ""))
    called = call("radio", "sweep", name)
    assert "- Most levels are positive" in called.out
    assert "--level dbuv" in " ".join(called.out.split())


def test_lines_that_cannot_be_used_are_told_with_their_number(call: Call, field: Callable[..., str]) -> None:
    name = field(lambda text: text + "590.100,\x1b[2Jloud\n")
    called = call("radio", "sweep", name)
    assert called.code == 1
    assert "Lines that could not be used:" in called.out
    said = f"{name}:1923:9: '␛[2Jloud' is not a number"
    assert "".join(said.split()) in "".join(called.out.split())  # a long path is broken to fit the screen
    assert "\x1b" not in called.out
    assert called.last == RULES
    problem = call("radio", "sweep", name, "--json").data["problems"][0]
    assert (problem["file"], problem["line"], problem["column"]) == (name, 1923, 9)


def test_a_short_sweep_says_its_lines_too(call: Call, tmp_path: Path) -> None:
    file = tmp_path / "short.csv"
    file.write_text("470.0,-100\n470.025,loud\n470.05,-99\n")
    called = call("radio", "sweep", str(file))
    assert (called.code, called.out) == (2, "")
    assert f"{file}:2:9: 'loud' is not a number" in called.err
    assert "Fewer than 64 levels" in called.err


COULD_NOT: dict[str, tuple[Callable[[Path], list[str]], str]] = {
    "a folder": (lambda p: [str(p)], "is a folder. Name the sweep file in it."),
    "not there": (lambda p: [str(p / "none")], "none is not there."),
    "no sweep": (lambda p: [str(p / "letter.csv")], "letter.csv:1:1: no line with a frequency and a level stands"),
    "no text": (lambda p: [str(p / "picture.csv")], "picture.csv is a picture, not a sweep."),
    "too short": (lambda p: [str(p / "short.csv")], "Fewer than 64 levels stand in the sweep"),
    "region": (lambda p: [str(BEFORE), "--region", "urope"], "'urope' is not a region. Did you mean europe?"),
    "level": (lambda p: [str(BEFORE), "--level", "volt"], "Levels cannot be read as 'volt'. Say one of dbm"),
    "own": (lambda p: [str(BEFORE), "--own", "loud"], "'loud' is not a frequency. Write MHz, such as 606.125."),
    "own of no rig": (lambda p: [str(BEFORE), "--own"], "The rig says no frequency of your transmitters."),
    "rig": (lambda p: [str(BEFORE), "--rig", str(p / "none.yaml")], "none.yaml"),
}


@pytest.mark.parametrize("what", COULD_NOT)
def test_what_could_not_be_done_is_one_sentence(call: Call, tmp_path: Path, what: str) -> None:
    (tmp_path / "letter.csv").write_text("Dear all\n")
    (tmp_path / "picture.csv").write_bytes(b"\x89PNG\r\n\x1a\n")
    (tmp_path / "short.csv").write_text(columns())
    words, sentence = COULD_NOT[what]
    called = call("radio", "sweep", *words(tmp_path))
    assert (called.code, called.out) == (2, "")
    assert sentence in called.err


def test_a_terminal_without_its_shapes_gets_letters(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    out: Any = io.TextIOWrapper(raw, encoding="ascii")
    monkeypatch.setattr(sys, "stdout", out)
    assert main(["radio", "sweep", str(BEFORE), "--region", "europe"]) == 0
    out.flush()
    text = raw.getvalue().decode("ascii")
    assert "[TV 30-" in text
    assert "?" not in text[: text.index("Television")].split("Level in")[1]

"""`showday radio plan`: JSON as promised, words that say proved or how far, exit status 0, 1 and 2."""

from __future__ import annotations

import signal
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pytest

from showday.text.safe import one_line
from tests.cli.calling import Called
from tests.radio.example_sweeps import AGAIN, OWN
from tests.support.terminal import ROOT

Call = Callable[..., Called]
RIG = str(ROOT / "examples" / "rig.yaml")
RULES = "Local rules and the licence holder decide."
FOUR = ("radio", "plan", "--count", "4", "--range", "606-610", "--step", "100")


def test_the_plan_as_json(call: Call) -> None:
    called = call(*FOUR, "--spares", "1", "--json")
    assert (called.code, called.err) == (0, "")
    data = called.data
    assert list(data) == ["carriers", "spares", "clearance_khz", "limited_by", "proved", "bound_khz", "advice"]
    assert (len(data["carriers"]), len(data["spares"])) == (4, 1)
    assert all(set(each) == {"mhz", "clearance_khz", "limited_by", "transmitter"} for each in data["carriers"])
    assert data["proved"] is True
    assert data["clearance_khz"] == data["bound_khz"]
    assert data["advice"] == [RULES]
    own = [str(each["mhz"]) for each in (*data["carriers"], *data["spares"])]
    judged = call("radio", "verify", *own, "--json")
    assert judged.code == 0
    assert min(each["clearance_khz"] for each in judged.data["carriers"]) == data["clearance_khz"]


def test_the_plan_in_text_says_that_it_is_proved(call: Call) -> None:
    called = call(*FOUR)
    lines = called.out.splitlines()
    assert called.code == 0
    assert "Proved: no other choice of as many has more." in " ".join(called.out.split())
    assert called.last == RULES
    assert called.out.count(RULES) == 1
    assert max(map(len, lines)) <= 60
    assert "\x1b" not in called.out


def test_a_search_without_time_says_best_so_far_and_the_bound(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    ticks = count()
    monkeypatch.setattr("showday.commands.radio.time.monotonic", lambda: float(next(ticks)))
    words = ("radio", "plan", "--count", "7", "--range", "606-614", "--spacing", "300", "--third", "50")
    called = call(*words, "--seconds", "12")
    assert called.code == 0
    assert "best found so far, no plan can have more than" in " ".join(called.out.split())
    assert called.last == RULES
    data = call(*words, "--seconds", "12", "--json").data
    assert data["proved"] is False
    assert data["bound_khz"] > data["clearance_khz"]


def test_the_interrupt_key_ends_the_search_and_keeps_the_best(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = count()

    def clock() -> float:
        if next(asked) == 12:
            signal.raise_signal(signal.SIGINT)
        return 0.0

    monkeypatch.setattr("showday.commands.radio.time.monotonic", clock)
    called = call("radio", "plan", "--count", "7", "--range", "606-614", "--spacing", "300", "--third", "50")
    assert called.code == 0
    assert "stopped, best found so far" in " ".join(called.out.split())
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_when_not_all_fit_the_most_that_do_and_the_wish_to_let_go(call: Call) -> None:
    """Seven places: no more than 0 1 4 6 are clean in third order, and with fifth order fewer."""
    words = ("radio", "plan", "--count", "4", "--range", "606-606.6", "--step", "100")
    called = call(*words)
    said = " ".join(called.out.split())
    assert called.code == 1
    assert "3 of 4 fit, and it is proved that no more do." in said
    assert "All would fit with third-order products only." in said
    assert called.last == RULES
    assert call(*words, "--orders", "3").code == 0
    assert call(*words, "--json").data["advice"][-1] == RULES


def test_a_hundred_carriers_are_a_best_effort(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    ticks = count()
    monkeypatch.setattr("showday.commands.radio.time.monotonic", lambda: float(next(ticks)))
    called = call("radio", "plan", "--count", "100", "--range", "470-694", "--seconds", "20")
    assert called.code == 1
    said = " ".join(called.out.split())
    assert " of 100 were found to fit; " in said
    assert "no plan can have more than" in said
    assert called.last == RULES


def test_the_rig_s_transmitters_get_the_carriers_and_spares_say_whom_they_fit(call: Call) -> None:
    words = ("radio", "plan", "--rig", RIG, "--range", "558-566", "--spares", "1", "--orders", "3")
    data = call(*words, "--json").data
    assert [each["transmitter"] for each in data["carriers"]] == [f"In-ear {n}" for n in range(1, 5)]
    assert data["spares"][0]["transmitter"] == [f"In-ear {n}" for n in range(1, 5)]
    assert "Fits every transmitter." in call(*words).out


def test_what_is_held_avoided_and_foreign_is_kept_to(call: Call) -> None:
    words = (*FOUR, "--hold", "606.35", "--avoid", "607-608", "609.3", "--foreign", "608.55", "--json")
    data = call(*words).data
    own = [each["mhz"] for each in data["carriers"]]
    assert 606.35 in own
    assert not [at for at in own if 607 <= at <= 608 or at in (609.3, 608.55)]
    named = [*map(str, own), "--foreign", "608.55"]
    assert call("radio", "verify", *named).code == 0


def test_a_sweep_s_carriers_are_kept_off_until_they_are_said_to_be_ours(call: Call) -> None:
    words = ("radio", "plan", "--rig", RIG, "--sweep", str(AGAIN), "--range", "558-562", "--orders", "3", "--json")
    silent = call(*words)
    assert "In-ear 1, In-ear 2" in silent.err
    assert "Say --own if those were yours." in silent.err
    ours = [each["mhz"] for each in silent.data["carriers"]]
    assert not [at for at in ours for own in OWN if abs(at - own) <= 0.1]
    said = call(*words, "--own")
    assert said.err == ""
    assert said.data["clearance_khz"] >= silent.data["clearance_khz"]
    assert call(*words, "--own", "558.3", "561.8").err == ""


def test_a_plan_is_kept_as_tonight_s_when_that_is_asked(call: Call, home: Path) -> None:
    assert not list(home.rglob("*.sqlite"))
    called = call(*FOUR, "--keep", "the house stays below 610")
    assert (called.code, called.last) == (0, RULES)
    assert "The plan is kept for tonight, without a show." in called.err
    assert list(home.rglob("*.sqlite"))


ONE = ("--count", "2", "--range", "606-610")
REFUSED = {
    "no count": (("--range", "606-614"), "How many carriers are wanted is not said."),
    "no range": (("--count", "4"), "No range is given."),
    "none": (("--count", "0", "--range", "606-614"), "--count: 0 is too few."),
    "negative count": (("--count", "-4", "--range", "606-614"), "--count: -4 is too few."),
    "no number": (("--count", "many", "--range", "606-614"), "--count: 'many' is not a whole number."),
    "far too many": (("--count", "500", "--range", "606-614"), "too many for one plan"),
    "negative range": (("--count", "4", "--range", "-606-614"), "is not a frequency"),
    "swapped range": (("--count", "4", "--range", "614-606"), "Write 606.000-614.000."),
    "absurd range": (("--count", "4", "--range", "606-6140000"), "is not a frequency"),
    "range of words": (("--count", "4", "--range", "a-b"), "'a-b' is not a range."),
    "too many places": (("--count", "4", "--range", "1-9000", "--step", "1"), "too many places"),
    "no step": ((*ONE, "--step", "0"), "A step of 0 kHz cannot be used."),
    "negative step": ((*ONE, "--step", "-25"), "A step of -25 kHz cannot be used."),
    "spacing": ((*ONE, "--spacing", "-1"), "A spacing of -1 kHz cannot be used."),
    "order": ((*ONE, "--orders", "2"), "Products of order 2 are not looked at."),
    "spares": ((*ONE, "--spares", "-1"), "--spares: -1 is too few."),
    "no time": ((*ONE, "--seconds", "0"), "--seconds: 0 cannot be used."),
    "endless time": ((*ONE, "--seconds", "inf"), "--seconds: 'inf' is not a time."),
    "avoid": ((*ONE, "--avoid", "614-606"), "ends below its start"),
    "foreign": ((*ONE, "--foreign", "loud"), "'loud' is not a frequency."),
    "held": ((*ONE, "--hold", "607", "607"), "The same frequency is held twice."),
    "sweep": ((*ONE, "--sweep", "nowhere.csv"), "nowhere.csv is not there."),
    "own of no rig": ((*ONE, "--sweep", str(AGAIN), "--own"), "The rig says no frequency of your transmitters."),
    "escape": ((*ONE, "--avoid", "\x1b[2J"), "is not"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_planned_is_one_sentence(call: Call, what: str) -> None:
    words, said = REFUSED[what]
    called = call("radio", "plan", *words)
    assert (called.code, called.out) == (2, "")
    assert said in called.err
    assert called.err == f"{one_line(called.err.strip(), 1000)}\n"


def test_overlapping_ranges_are_one(call: Call) -> None:
    words = ("radio", "plan", "--count", "3", "--json", "--step", "100", "--range")
    assert call(*words, "606-609", "608-610").data == call(*words, "606-610").data


def test_no_spacing_asks_for_nothing(call: Call) -> None:
    assert call(*FOUR, "--spacing", "0", "--json").data == call(*FOUR, "--json").data

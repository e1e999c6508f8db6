"""`showday radio plan`: JSON as promised, words that say proved or how far, exit status 0, 1 and 2."""

from __future__ import annotations

import signal
from collections.abc import Callable, Sequence
from itertools import count
from pathlib import Path

import pytest

from showday.text.safe import one_line
from tests.cli.calling import Called, put
from tests.radio.example_sweeps import AGAIN, OWN
from tests.support.terminal import ROOT
from tests.tui.radio_evening import sweep_file

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


def test_without_a_count_ones_own_rig_says_how_many_and_where(call: Call, home: Path) -> None:
    transmitter = "{name: In-ear %d, low: 606, high: 614, step: 25, frequency: %s}"
    rows = [transmitter % (1, "607"), transmitter % (2, "607.1")]
    put(home / "config", rig=f"rig: mine\ntransmitters: [{', '.join(rows)}]\n")
    data = call("radio", "plan", "--orders", "3", "--json").data
    assert [each["transmitter"] for each in data["carriers"]] == ["In-ear 1", "In-ear 2"]
    assert all(606 <= each["mhz"] <= 614 for each in data["carriers"])
    assert [each["mhz"] for each in call("radio", "verify", "--json").data["carriers"]] == [607.0, 607.1]
    counted = call("radio", "plan", "--count", "2", "--range", "700-702", "--orders", "3", "--json").data
    assert all(700 <= each["mhz"] <= 702 for each in counted["carriers"])


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


def sweep_with(path: Path, carriers: Sequence[float], low: int = 600, high: int = 620) -> str:
    """A sweep in MHz and dBm with a carrier of 200 kHz, 40 dB over the floor, at each of these."""
    return str(sweep_file(path, carriers, first=low * 1_000_000, span=(high - low) * 1_000_000))


def test_carriers_of_a_sweep_make_products_and_are_said_to_be_found(call: Call, tmp_path: Path) -> None:
    """2 x 607.0 - 606.2 = 607.8 and 2 x 606.2 - 607.0 = 605.4: no carrier of ours may stand on either."""
    file = sweep_with(tmp_path / "two.csv", (606.2, 607.0))
    here = ("--sweep", file, "--region", "europe")
    judged = call("radio", "verify", "607.8", "--third", "50", *here)
    assert judged.code == 1
    said = " ".join(judged.out.split())
    assert "2A-B of 607.000 (found), 606.200 (found) falls at 607.800 MHz" in said
    assert "2 carriers found in the sweep: kept off, and make third-order products." in said
    assert max(map(len, judged.out.splitlines())) <= 60
    assert call("radio", "verify", "607.8", "--third", "50", *here, "--sources", "0").code == 0
    assert call("radio", "verify", "607.05", *here, "--sources", "0").code == 1  # still kept off
    only = ("--range", "607.6-608", "--step", "200", "--count", "1", "--seconds", "5")
    planned = call("radio", "plan", *only, *here, "--third", "50", "--json").data
    assert [each["mhz"] for each in planned["carriers"]] in ([607.6], [608.0])
    assert "(found)" in planned["limited_by"]
    assert planned["advice"][0].startswith("2 carriers found in the sweep")


def test_of_many_carriers_of_a_sweep_the_strongest_count_and_it_is_said_how_many(call: Call, tmp_path: Path) -> None:
    file = sweep_with(tmp_path / "many.csv", [600.5 + 0.5 * n for n in range(16)])
    words = ("radio", "plan", "--count", "2", "--range", "610-618", "--sweep", file, "--region", "europe")
    said = " ".join(call(*words, "--seconds", "5").out.split())
    assert "16 carriers found in the sweep, all kept off; the 12 strongest make third-order products" in said
    more = " ".join(call(*words, "--seconds", "5", "--sources", "16").out.split())
    assert "16 carriers found in the sweep: kept off, and make" in more


def test_where_nothing_was_measured_is_said_and_not_planned_for(call: Call, tmp_path: Path) -> None:
    file = sweep_with(tmp_path / "short.csv", (606.2,))
    here = ("--sweep", file, "--region", "europe", "--seconds", "5")
    beyond = call("radio", "plan", "--count", "1", "--range", "630-640", *here)
    assert "Outside of the sweep (600.000-620.000 MHz)" in " ".join(beyond.out.split())
    free = call("radio", "plan", "--count", "2", *here, "--json").data
    assert all(600 <= each["mhz"] <= 620 for each in free["carriers"])
    rows = Path(file).read_text().splitlines()
    (tmp_path / "gap.csv").write_text("\n".join(row for row in rows if not 608 < float(row.split(",")[0]) < 612))
    inside = call("radio", "verify", "610", "--sweep", str(tmp_path / "gap.csv"), "--region", "europe")
    assert (inside.code, "not measured" in inside.out) == (1, True)


def test_two_ranges_that_only_touch_get_a_spare_each(call: Call, tmp_path: Path) -> None:
    rows = [f"{{name: {name}, low: {low}, high: {high}, step: 25}}" for name, low, high in TOUCHING]
    (tmp_path / "rig.yaml").write_text("rig: touching\ntransmitters: [" + ", ".join(rows) + "]\n")
    words = ("radio", "plan", "--rig", str(tmp_path / "rig.yaml"), "--spares", "2", "--orders", "3", "--seconds", "2")
    data = call(*words, "--json").data
    assert [each["transmitter"] for each in data["spares"]] == [["Low"], ["High"]]
    assert [each["transmitter"] for each in data["carriers"]] == ["Low", "High"]


TOUCHING = (("Low", 598, 606), ("High", 606, 614))


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
    "sources": ((*ONE, "--sweep", str(AGAIN), "--sources", "-1"), "--sources: -1 is too few."),
    "sources beyond": ((*ONE, "--sweep", str(AGAIN), "--sources", "500"), "--sources: 500 are too many."),
    "sources of nothing": ((*ONE, "--sources", "5"), "--sources says something of a sweep, and none is named."),
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

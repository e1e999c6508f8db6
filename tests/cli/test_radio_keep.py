"""Frequencies by line prompts alone: a sweep and a plan are kept beside a run that was broken off, and it notes both."""

from __future__ import annotations

from collections.abc import Callable

from tests.cli.calling import Called
from tests.radio.example_sweeps import BEFORE
from tests.support.terminal import ROOT

Call = Callable[..., Called]
RIG = str(ROOT / "examples" / "rig.yaml")
PLAN = ("radio", "plan", "--rig", RIG, "--count", "2", "--spares", "1", "--range", "555-566")


def test_what_is_kept_beside_a_run_is_noted_when_it_is_gone_on_with(call: Call) -> None:
    call("run", "rf-scan", "--plain", "--rig", RIG, "--venue", "Old Mill", "--new-venue")
    assert (
        "The sweep is kept for tonight at Old Mill."
        in call("radio", "sweep", str(BEFORE), "--rig", RIG, "--keep").err
    )
    planned = call(*PLAN, "--sweep", str(BEFORE), "--keep", "the quiet end")
    assert "The plan is kept for tonight at Old Mill." in planned.err
    assert "Local rules and the licence holder decide." in planned.out
    gone_on = call("run", "rf-scan", "--plain", "--rig", RIG, typed="later\n" * 24)
    assert "Noted: Sweep kept" in gone_on.out
    noted = call("notes").out
    assert "Sweep kept: 542.000-590.000 MHz" in noted
    assert "TV channels 30, 34, 35" in noted
    assert "because: the quiet end" in noted
    brief = call("brief", "Old Mill").out
    assert "swept 542.000-590.000 MHz: TV 30, TV 34, TV 35" in brief
    assert "Local rules and the licence holder decide." in brief


def test_what_is_not_to_be_kept_is_not(call: Call) -> None:
    call("run", "rf-scan", "--plain", "--rig", RIG, "--venue", "Old Mill", "--new-venue")
    call("radio", "sweep", str(BEFORE), "--rig", RIG)
    call(*PLAN)
    assert "swept" not in call("brief", "Old Mill").out

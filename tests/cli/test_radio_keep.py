"""Frequencies by line prompts alone: a sweep and a plan are kept beside a run that was broken off, and it notes both."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace

from showday import paths
from showday.log.store import Log
from showday.run.air import SpareTaken
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


def test_a_spare_takes_over_and_is_given_back_without_a_walk(call: Call) -> None:
    none = call("radio", "spare", "In-ear 1", "--rig", RIG)
    assert (none.code, none.out) == (2, "")
    assert "No frequency plan is kept for tonight. Make one: showday radio plan --keep." in none.err
    call(*PLAN, "--keep")
    stands = json.loads(call("radio", "spare", "--rig", RIG, "--json").out)["transmitters"]
    name, (spare,) = stands[0]["transmitter"], stands[0]["spares_mhz"]
    taken = call("radio", "spare", *name.upper().split(), "--rig", RIG).out
    assert taken.startswith(f"Set {name} and its packs to {spare:.3f} MHz.")
    assert "Local rules and the licence holder decide." in taken
    assert call("radio", "spare", name, "--rig", RIG).code == 2
    back = call("radio", "spare", name, "--back", "--rig", RIG).out
    assert back.startswith(f"Set {name} and its packs to {stands[0]['planned_mhz']:.3f} MHz.")
    assert f"Is it {name}?" in call("radio", "spare", name + "x", "--rig", RIG).err


def test_two_laptops_that_took_the_same_spare_are_told(call: Call) -> None:
    """One took it before it knew of the other; then both logs are one."""
    call(*PLAN, "--keep")
    one, other = (row["transmitter"] for row in json.loads(call("radio", "spare", "--json").out)["transmitters"])
    assert "stand on the same" not in call("radio", "spare", one, "--rig", RIG).out
    with Log.open(paths.log_path()) as log:
        (taken,) = (e for s in log.all_streams() for e in log.entries(s) if isinstance(e.event, SpareTaken))
        assert isinstance(taken.event, SpareTaken)
        log.append([replace(taken, id="theirs", event=replace(taken.event, transmitter=other))])
    said = call("radio", "spare", "--rig", RIG).out
    assert said.startswith(f"{one} and {other} stand on the same")
    assert "stand on the same" not in call("radio", "spare", other, "--back", "--rig", RIG).out

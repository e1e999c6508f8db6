"""What the speeds are measured on: the example act, with its past evenings in a log on disk."""

from __future__ import annotations

import shutil
from pathlib import Path

from showday.demo import make_demo_desk
from showday.library import shipped
from showday.log.store import Log

LINES = """
playbook: lines
title: Every line
order: 1
sections:
  - title: Every input
    for_each: input
    steps:
      - {id: signal, do: "Make a sound into {input.name}[ at {input.box}]", until: "channel {input.number} moves",
         why: If another channel moves then two plugs are swapped., basis: common practice, takes: 12s}
      - {id: rest, do: "Listen to channel {input.number} while {input.name} rests", until: "no hum, no crackle",
         why: Faults that hide under music are plain in silence., basis: common practice, takes: 4s}
      - {id: level, do: "Turn {input.name} up until it is loud enough", until: no red, takes: 4s,
         reading: {name: peak, unit: dBFS, wanted: -24..-12}}
"""
"""A playbook without musts, so that one key answers every step: 66 steps for the example act."""


def make_home(folder: Path) -> Path:
    """Put rig, playbook and a log of 16 runs into a folder; the folder."""
    playbooks = folder / "config" / "playbooks"
    playbooks.mkdir(parents=True)
    shutil.copy(shipped("examples") / "rig.yaml", folder / "config" / "rig.yaml")
    (playbooks / "lines.yaml").write_text(LINES, "utf-8")
    played = make_demo_desk().keeper._log
    assert isinstance(played, Log)
    played.backup(folder / "data" / "showday-log.sqlite")
    return folder

"""A small act for the real program: two lines and one playbook, in a folder that is lost afterwards."""

from __future__ import annotations

from pathlib import Path

import pytest

RIG = """
rig: small
people: [{name: Ada}, {name: Ben}]
inputs:
  - {number: 1, name: Bass, person: Ben}
  - {number: 2, name: Voice, person: Ada}
"""

LINE_CHECK = """
playbook: line-check
title: Small line check
order: 1
caution: Ears out first.
sections:
  - title: Before
    steps:
      - {id: clock, do: Start the clock, until: minutes on the screen}
      - {id: minimum, do: Turn every pack to minimum, must: yes}
  - title: Every input
    for_each: input
    steps:
      - {id: signal, do: "Make a sound into {input.name}", until: "channel {input.number} moves",
         why: Two that move are swapped., basis: common practice,
         reading: {name: peak, unit: dBFS, wanted: -24..-12}, if_wrong: no-signal}
      - {id: rest, do: "Listen while {input.name} rests", until: no hum}
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder with the rig and the playbook of the small act."""
    playbooks = tmp_path / "config" / "playbooks"
    playbooks.mkdir(parents=True)
    (tmp_path / "config" / "rig.yaml").write_text(RIG, "utf-8")
    (playbooks / "line-check.yaml").write_text(LINE_CHECK, "utf-8")
    return tmp_path

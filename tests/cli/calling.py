"""Calling `showday` inside of the test's process, and the files that tests call it with."""

from __future__ import annotations

import io
import json
import sys
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from showday.cli import main

GOOD_TREE = """fault: buzz
title: It buzzes
heard_as: buzz
walk: {check: One line or many?, id: lines, answers: {one: {cause: di}, many: {cause: supply}}}
causes:
  di: {what: The DI, cure: Press its audio ground lift}
  supply: {what: The supply, cure: Call the electrician}
help: {do: Call the electrician}
"""
GOOD_PLAYBOOK = """playbook: mine
title: My own
sections: [{title: All, steps: [{id: one, do: Do it, if_wrong: buzz}, {id: two, do: Do the other}]}]
"""
GOOD_RIG = """rig: rig
people: [{name: Ada}, {name: Ben}]
inputs: [{name: Bass, person: Ben}, {name: Voice, person: Ada}]
"""


@dataclass(frozen=True)
class Called:
    """What a call gave back."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The output as JSON."""
        return json.loads(self.out)

    @property
    def last(self) -> str:
        """The last line of the output."""
        return self.out.splitlines()[-1]


@dataclass(frozen=True)
class Caller:
    """Calls `showday`."""

    capsys: pytest.CaptureFixture[str]
    monkeypatch: pytest.MonkeyPatch

    def __call__(self, *words: str, typed: str = "") -> Called:
        self.monkeypatch.setattr(sys, "stdin", typing_in(typed))
        self.capsys.readouterr()
        code = main(words)
        out, err = self.capsys.readouterr()
        return Called(code, out, err)


def typing_in(typed: str) -> Any:
    """An input that is no terminal and holds these lines."""
    raw = io.BytesIO(typed.encode("utf-8", "surrogateescape"))
    return SimpleNamespace(buffer=raw, isatty=lambda: False)


def put(folder: Path, **files: str) -> Path:
    """Write YAML files into a folder; `_` in a name stands for a folder's end."""
    for name, text in files.items():
        path = folder.joinpath(*name.split("_")).with_suffix(".yaml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return folder


def own_files(home: Path) -> None:
    """A person's own rig, playbook and tree."""
    put(home / "config", rig=GOOD_RIG, playbooks_mine=GOOD_PLAYBOOK, playbooks_faults_buzz=GOOD_TREE)

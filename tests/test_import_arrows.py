"""Who may know whom: the contracts in pyproject.toml hold, and the program starts light."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.support.world import ROOT


def python(code: str) -> str:
    """What a fresh interpreter prints when it runs the code."""
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_arrows_between_packages_hold() -> None:
    code = "import sys; from importlinter.cli import lint_imports as lint; sys.exit(lint(no_cache=True))"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]


@pytest.mark.parametrize(
    ("module", "without"),
    [
        ("showday.desk", ["textual", "rich", "numpy", "platformdirs", "rapidfuzz"]),
        ("showday.cli", ["textual", "rich", "numpy"]),
        ("showday.library", ["textual", "sqlite3"]),
        ("showday.run.session", ["textual", "sqlite3", "showday.log", "showday.desk"]),
        ("showday.fault.walk", ["textual", "sqlite3", "showday.run"]),
        ("showday.rig.model", ["yaml", "showday.playbook"]),
        ("showday.text.values", ["yaml", "showday.rig"]),
    ],
)
def test_what_is_not_needed_is_not_imported(module: str, without: list[str]) -> None:
    loaded = python(f"import sys, {module}; print(*sys.modules)").split()
    assert module in loaded
    assert sorted(set(loaded) & set(without)) == []


@pytest.mark.parametrize("module", ["showday.desk", "showday.cli", "showday.library", "showday.tui.app"])
def test_importing_does_nothing_that_can_be_seen(module: str) -> None:
    code = f"""
import os, sys
seen = []
def look(event, args):
    if event in ("open", "os.mkdir", "socket.connect", "subprocess.Popen", "sqlite3.connect"):
        mode = args[1] if event == "open" and len(args) > 1 else "w"
        if mode is None or any(letter in str(mode) for letter in "wax+"):
            seen.append((event, str(args[0])))
sys.addaudithook(look)
sys.dont_write_bytecode = True
import {module}
print([s for s in seen if s[0] != "open" or (isinstance(s[1], str) and not s[1].endswith((".py", ".pyc", ".so")))])
"""
    assert python(code).strip() == "[]"

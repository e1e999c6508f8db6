"""The commands, called as a shell calls them but inside of the test's process."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.calling import Called, Caller


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A SHOWDAY_HOME of the test's own; nothing is in it yet."""
    made = tmp_path / "home"
    monkeypatch.setenv("SHOWDAY_HOME", str(made))
    return made


@pytest.fixture
def call(home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Callable[..., Called]:
    """Calls `showday` with words, and with lines typed into it."""
    return Caller(capsys, monkeypatch)

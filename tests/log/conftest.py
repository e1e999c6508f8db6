"""Logs in files of their own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from showday.log.store import Log


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a log can be made."""
    return tmp_path / "data" / "showday-log.sqlite"


@pytest.fixture
def log(path: Path) -> Iterator[Log]:
    """An empty log in a file, with the write-ahead log wherever the tests run."""
    with Log.open(path, busy=0.05, wal=True) as made:
        yield made

"""A run and a fault walk to be walked line by line."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from showday.desk import Desk
from tests.plain.small_evening import Evening, begun, make_small_desk, opened


@pytest.fixture
def make_desk(tmp_path: Path) -> Callable[..., Desk]:
    """Makes the small desk in a folder of the test's own."""
    return partial(make_small_desk, tmp_path)


@pytest.fixture
def evening(make_desk: Callable[..., Desk]) -> Evening:
    """A run of the small playbook that was just begun."""
    return begun(make_desk())


@pytest.fixture
def walk(make_desk: Callable[..., Desk]) -> Evening:
    """A fault walk outside of any playbook that was just opened."""
    return opened(make_desk())

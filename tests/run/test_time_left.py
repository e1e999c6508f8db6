"""Until when a run must be over."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from showday.run.slot import seconds_left
from showday.run.touring import Show

BEGAN = datetime(2026, 5, 2, 20, 0, tzinfo=UTC)
NOW = datetime(2026, 5, 2, 20, 5, tzinfo=UTC)


@pytest.mark.parametrize(
    ("by", "slot", "changeover", "left"),
    [
        ("slot", "20:30", None, 1500.0),
        ("changeover", "20:30", 18, 1500.0),
        ("slot", "20:04", None, -60.0),
        ("slot", "00:30", None, 15900.0),
        ("slot", "19:40", 18, None),
        ("changeover", "19:40", 18, 780.0),
        ("changeover", "", 18, 780.0),
        ("changeover", "", None, None),
        ("slot", "", 18, None),
        ("slot", "soon", None, None),
        ("", "20:30", 18, None),
    ],
)
def test_seconds_left(by: str, slot: str, changeover: float | None, left: float | None) -> None:
    show = Show("s", "v", "2026-05-02", slot, changeover)
    assert seconds_left(show, by, BEGAN, NOW, UTC) == left


@pytest.mark.parametrize(
    ("date", "slot"), [("9" * 30 + "-05-02", "20:30"), ("2026-05-02", "9" * 30 + ":30"), ("9999-12-31", "00:30")]
)
def test_a_day_that_no_calendar_has_says_nothing(date: str, slot: str) -> None:
    assert seconds_left(Show("s", "v", date, slot), "slot", BEGAN, NOW, UTC) is None


def test_without_a_show_nobody_knows_what_is_left() -> None:
    assert seconds_left(None, "slot", BEGAN, NOW) is None

"""The real clock and real ids."""

from __future__ import annotations

import time
import uuid
from datetime import UTC, datetime, timedelta

import pytest

from showday import clockwork
from showday.clockwork import SystemClock, new_id


def test_now_is_utc_and_agrees_with_the_system() -> None:
    before = time.time()
    now = SystemClock().now()
    assert now.utcoffset() == timedelta(0)
    assert datetime.fromtimestamp(before, UTC) - timedelta(seconds=1) <= now


def test_ticks_never_go_back() -> None:
    clock = SystemClock()
    ticks = [clock.ticks() for _ in range(100)]
    assert ticks == sorted(ticks)


@pytest.mark.skipif(not hasattr(time, "CLOCK_BOOTTIME"), reason="only Linux has this clock")
def test_ticks_count_through_sleep_where_the_system_can(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    def gettime(which: int) -> float:
        asked.append(which)
        return 7.0

    monkeypatch.setattr(time, "clock_gettime", gettime)
    assert SystemClock().ticks() == 7.0
    assert asked == [time.CLOCK_BOOTTIME]


def test_without_such_a_clock_the_monotonic_one_is_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clockwork, "_BOOTTIME", None)
    monkeypatch.setattr(time, "monotonic", lambda: 3.0)
    assert SystemClock().ticks() == 3.0


def test_ids_are_random_uuids() -> None:
    ids = {new_id() for _ in range(100)}
    assert len(ids) == 100
    assert all(uuid.UUID(id).version == 4 and str(uuid.UUID(id)) == id for id in ids)

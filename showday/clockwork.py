"""The real clock and real ids: the outside world that sessions are given."""

from __future__ import annotations

import time
import uuid
from datetime import UTC, datetime

_BOOTTIME: int | None = getattr(time, "CLOCK_BOOTTIME", None)
"""Linux counts through sleep with it (clock_gettime(2)); its monotonic clock stands still while a laptop is shut."""


class SystemClock:
    """This computer's time."""

    def now(self) -> datetime:
        """The time of day, in UTC."""
        return datetime.now(UTC)

    def ticks(self) -> float:
        """Seconds that never jump; they go on while the laptop sleeps where the system can tell."""
        if _BOOTTIME is not None:
            return time.clock_gettime(_BOOTTIME)
        return time.monotonic()


def new_id() -> str:
    """A new id: a random UUID (RFC 9562, version 4)."""
    return str(uuid.uuid4())

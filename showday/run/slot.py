"""When a show begins, as a moment."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, tzinfo

from showday.playbook.model import CHANGEOVER
from showday.run.touring import Show

AFTER_MIDNIGHT = 6
"""A slot before this hour belongs to the night of the show's day (common practice: the day ends at load-out)."""


def slot_time(show: Show, zone: tzinfo | None) -> datetime | None:
    """When the show begins, in UTC; None when the slot or the date is not known. `zone` None is this laptop's."""
    try:
        hour, minute = map(int, show.slot.split(":"))
        year, month, day = map(int, show.date.split("-"))  # strptime takes 5 ms to be loaded
        local = datetime(year, month, day, hour, minute)
        if hour < AFTER_MIDNIGHT:
            local += timedelta(days=1)
        aware = local.replace(tzinfo=zone) if zone else local.astimezone()
        return aware.astimezone(UTC)
    except (ValueError, OverflowError):  # a bundle may name a year that no calendar has
        return None


def seconds_left(
    show: Show | None, by: str, began: datetime, now: datetime, zone: tzinfo | None = None
) -> float | None:
    """Seconds from now (UTC) until a run must be over, below 0 when that is past; None when nothing says so.

    `by` is the playbook's word: nothing, the slot, or the changeover, which counts from when the run began where the
    slot is not known. A slot that had passed when the run began says nothing: the evening runs late.
    """
    if show is None or not by:
        return None
    slot = slot_time(show, zone)
    if slot is not None and slot > began:
        return (slot - now).total_seconds()
    if by == CHANGEOVER and show.changeover:
        return show.changeover * 60 - (now - began).total_seconds()
    return None

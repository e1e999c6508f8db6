"""When a show begins, as a moment."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta, tzinfo

from showday.run.touring import Show

AFTER_MIDNIGHT = 6
"""A slot before this hour belongs to the night of the show's day (common practice: the day ends at load-out)."""


def slot_time(show: Show, zone: tzinfo | None) -> datetime | None:
    """When the show begins, in UTC; None when the slot or the date is not known. `zone` None is this laptop's."""
    try:
        hour, minute = map(int, show.slot.split(":"))
        day = datetime.strptime(show.date, "%Y-%m-%d").date()
        local = datetime.combine(day, time(hour, minute))
    except ValueError:
        return None
    if hour < AFTER_MIDNIGHT:
        local += timedelta(days=1)
    aware = local.replace(tzinfo=zone) if zone else local.astimezone()
    return aware.astimezone(UTC)

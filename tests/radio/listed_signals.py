"""Which channel of a raster a listed transmitter is on."""

from __future__ import annotations

from collections.abc import Sequence

from showday.radio.rasters import SLACK, Channel


def channel_of_signal(channels: Sequence[Channel], middle: int, slack: int = SLACK) -> Channel | None:
    """The channel whose signal has its middle here, give or take `slack` Hz; None when none has."""
    near = min(channels, key=lambda channel: abs(channel.middle - middle), default=None)
    return near if near is not None and abs(near.middle - middle) <= slack else None

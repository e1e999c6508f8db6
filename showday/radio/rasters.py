"""TV channels: where each one begins and ends, where its signal stands, and how much of it is filled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from showday.radio.model import TELEVISION, Band
from showday.text.problem import Place

SLACK = 170_000
"""Hz by which a transmitter may stand off its channel's own place: of 4016 listed 8 MHz transmitters 144 are offset by
166 or 167 kHz, of 186 Australian ones 16 by 125 kHz (the scan tables that Debian packages as dtv-scan-tables)."""

SYMBOL_RATE_8VSB = 4_500_000 / 286 * 684
"""Symbols per second of ATSC 8-VSB, 10.762 million (ATSC A/53 part 2)."""
PILOT_8VSB = round((6_000_000 - SYMBOL_RATE_8VSB / 2) / 2)
"""Hz from the lower edge of a 6 MHz channel to the pilot of 8-VSB: half of what the Nyquist width leaves, 309.441 kHz."""
VSB, OFDM = "8vsb", "ofdm"


@dataclass(frozen=True, slots=True)
class Channel(Band):
    """One TV channel from edge to edge, in Hz."""

    number: int = 0
    middle: int = 0
    """Where the middle of its signal belongs."""
    occupied: int = 0
    """Width of the signal itself."""
    pilot: int | None = None
    """Where 8-VSB has its pilot; None for signals without one."""

    @property
    def signal(self) -> Band:
        """From end to end of the signal itself."""
        return Band(self.middle - self.occupied // 2, self.middle + self.occupied // 2)


@dataclass(frozen=True, slots=True)
class Raster:
    """Channels `first` to `last`, each `width` Hz wide; the first begins at `low` Hz."""

    first: int
    last: int
    low: int
    width: int
    occupied: int
    signal: str
    """`ofdm` or `8vsb`."""
    mark: str
    """How the row is known; see `regions.MARKS`."""
    as_of: str
    source: str
    shift: int = 0
    """Hz from the middle of a channel up to the middle of its signal."""
    place: Place = Place()

    def channels(self) -> tuple[Channel, ...]:
        """All of them, rising."""
        return tuple(self.channel(number) for number in range(self.first, self.last + 1))

    def channel(self, number: int) -> Channel:
        """One channel; the number is not checked."""
        low = self.low + (number - self.first) * self.width
        middle = low + self.width // 2 + self.shift
        pilot = low + PILOT_8VSB if self.signal == VSB else None
        name = f"TV {number}"
        return Channel(low, low + self.width, name, TELEVISION, number, middle, self.occupied, pilot)


def channel_holding(channels: Sequence[Channel], at: int) -> Channel | None:
    """The channel a frequency (Hz) lies in; on an edge that two share, the upper one."""
    inside = [channel for channel in channels if channel.holds(at)]
    return max(inside, key=lambda channel: channel.low, default=None)


def shifted(channel: Channel, offset: int) -> Channel:
    """The same channel with its signal `offset` Hz higher, as an offset transmitter has it."""
    pilot = None if channel.pilot is None else channel.pilot + offset
    return replace(channel, middle=channel.middle + offset, pilot=pilot)

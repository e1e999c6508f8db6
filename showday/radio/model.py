"""The words of the radio: bands, what is occupied, how far apart things have to stay. All frequencies are whole Hz."""

from __future__ import annotations

from dataclasses import dataclass

TELEVISION, CARRIER, AVOID, FOREIGN = "television", "carrier", "avoid", "foreign"
"""Kinds of what is occupied: a TV channel, something narrow in a sweep, what a person named, another act's carrier."""
USUAL_WIDTH = 200_000
"""Hz that a stage carrier takes at least (EN 300 422-1 measures in channels of 200 kHz)."""
FOUND_ORDER = 3
"""Highest order of the products that carriers found in a sweep take part in. Two transmitters of ours 3 m away leave a
receiver -20.6 dBm each; at an intercept point of -10 dBm their third order is 21 dB down and their fifth 42 (textbook: two
and four times the distance to that point, the points of both orders taken as one). A carrier that is known to be near is
named as a foreign one, and then every order counts."""


@dataclass(frozen=True, slots=True)
class Band:
    """From `low` to `high` in Hz; both ends belong to it. A band of no width is one frequency."""

    low: int
    high: int
    name: str = ""
    kind: str = ""

    def holds(self, at: int) -> bool:
        """Whether a frequency is inside."""
        return self.low <= at <= self.high

    def distance(self, at: int) -> int:
        """Hz from a frequency to the nearest end; 0 inside."""
        return max(self.low - at, at - self.high, 0)

    def meets(self, other: Band) -> bool:
        """Whether the two share a frequency."""
        return self.low <= other.high and other.low <= self.high

    @property
    def width(self) -> int:
        """Hz from end to end."""
        return self.high - self.low

    @property
    def centre(self) -> int:
        """The middle, in Hz, rounded down."""
        return (self.low + self.high) // 2


@dataclass(frozen=True, slots=True)
class Occupied(Band):
    """A band in use, as a sweep shows it or a person says it."""

    peak: int | None = None
    """Where the carrier itself stands, in Hz, when it is known better than the middle of the band."""
    level: float | None = None
    """Strongest level in it, in the sweep's own unit."""

    @property
    def at(self) -> int:
        """The carrier's frequency: its peak, or the middle of the band."""
        return self.centre if self.peak is None else self.peak


@dataclass(frozen=True, slots=True)
class Widths:
    """How far things have to stay apart, in Hz.

    `spacing` is the least distance allowed between two carriers: two that are exactly so far apart keep it.
    The others are widths of trouble around a product, by its order: a carrier exactly so far away is still hit,
    so that a width of 0 forbids exact hits only. `edge` is the same for bands that are occupied.
    """

    spacing: int = 0
    third: int = 0
    fifth: int = 0
    seventh: int = 0
    edge: int = 0

    def of_order(self, order: int) -> int:
        """The width around products of this order."""
        return {3: self.third, 5: self.fifth, 7: self.seventh}[order]


@dataclass(frozen=True, slots=True)
class Tuner:
    """What one transmitter can be set to: from `low` to `high` in Hz, in steps that begin at `low`.

    A step of 0 means that its steps are not known. `width` is how much room its signal takes, 0 when not known.
    """

    name: str
    low: int
    high: int
    step: int = 0
    width: int = 0

    def reaches(self, at: int) -> bool:
        """Whether it can be set to this frequency."""
        return self.low <= at <= self.high and (self.step <= 0 or (at - self.low) % self.step == 0)

"""What a plan is asked for, and what comes back. All frequencies and widths are whole Hz."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from showday.errors import RadioTrouble
from showday.radio.model import Band, Tuner, Widths
from showday.radio.products import USUAL_ORDERS, Kind, kinds_of
from showday.radio.units import HIGHEST, LOWEST, checked_frequency, khz, mhz
from showday.radio.verify import Air, Judged, Trouble, verify

USUAL_STEP = 25_000
"""Steps of 25 kHz: common practice of tunable stage transmitters."""
MOST_ASKED = 120
"""More carriers than this are not planned at once."""


@dataclass(frozen=True, slots=True)
class Ask:
    """What a plan is wanted for.

    `count` carriers, the `held` ones among them, and `spares` more that stay clean while everything is on. `ranges`
    may be empty when `tuners` say where they reach. With `tuners`, each carrier gets one that can be set to it.
    `orders` and `widths` say what counts as trouble; `kinds` overrides the orders' kinds of product. `foreign` are
    carriers of others that a person named, `found` those that a sweep shows: both make products and are protected.
    """

    count: int
    spares: int = 0
    ranges: tuple[Band, ...] = ()
    step: int = 0
    orders: tuple[int, ...] = USUAL_ORDERS
    widths: Widths = field(default_factory=Widths)
    avoid: tuple[Band, ...] = ()
    foreign: tuple[int, ...] = ()
    held: tuple[int, ...] = ()
    tuners: tuple[Tuner, ...] = ()
    protect: bool = True
    kinds: tuple[Kind, ...] | None = None
    found: tuple[int, ...] = ()

    @property
    def others(self) -> tuple[int, ...]:
        """Every carrier of others, rising, each once."""
        return tuple(sorted({*self.foreign, *self.found}))

    @property
    def products(self) -> tuple[Kind, ...]:
        """The kinds of product that are looked at."""
        return kinds_of(self.orders) if self.kinds is None else self.kinds

    @property
    def air(self) -> Air:
        """What the plan's carriers are judged by; the tuners are looked at when they are handed out."""
        found = frozenset(self.found) - {*self.foreign}
        return Air(self.others, self.products, self.widths, self.avoid, (), (), self.protect, found)

    def check(self) -> None:
        """RadioTrouble, one sentence, for what cannot be planned."""
        _check_numbers(self)
        for band in self.ranges:
            checked_frequency(band.low)
            checked_frequency(band.high)
            if band.low > band.high:
                raise RadioTrouble(
                    f"The range {mhz(band.low)}-{mhz(band.high)} ends below its start.",
                    f"Write {mhz(band.high)}-{mhz(band.low)}.",
                )
        if not self.ranges and not self.tuners:
            raise RadioTrouble("No range is given.", "Say where to look, such as --range 606-614, or name a rig.")
        for at in (*self.others, *self.held):
            if not LOWEST <= at <= HIGHEST:
                checked_frequency(at)
        verdict = verify(self.held, self.air)
        if not verdict.clean:
            trouble = verdict.hits[0]
            raise RadioTrouble(
                f"What is held is not clean by itself: at {mhz(trouble.carrier)} MHz, {trouble.sentence}.",
                "Hold fewer carriers, or ask for smaller widths.",
            )


def _check_numbers(ask: Ask) -> None:
    if ask.count < 1:
        raise RadioTrouble(f"A plan for {ask.count} carriers cannot be made.", "Ask for 1 or more.")
    if ask.spares < 0:
        raise RadioTrouble(f"{ask.spares} spares cannot be kept ready.", "Ask for 0 or more.")
    if ask.count + ask.spares > MOST_ASKED:
        raise RadioTrouble(
            f"{ask.count + ask.spares} carriers are too many for one plan.",
            f"Ask for at most {MOST_ASKED}, spares included.",
        )
    if ask.step < 0:
        raise RadioTrouble(f"A step of {khz(ask.step)} kHz cannot be used.", "Give kHz, more than 0.")
    if len(set(ask.held)) < len(ask.held):
        raise RadioTrouble("The same frequency is held twice.")
    if len(ask.held) > ask.count:
        raise RadioTrouble(f"{len(ask.held)} carriers are held and only {ask.count} are asked for.")
    if ask.tuners and ask.count > len(ask.tuners):
        raise RadioTrouble(
            f"{ask.count} carriers are asked for and the rig has {len(ask.tuners)} transmitters.",
            "Ask for the rest as spares.",
        )
    for name in ("spacing", "third", "fifth", "seventh", "edge"):
        if getattr(ask.widths, name) < 0:
            raise RadioTrouble(f"The width '{name}' is below 0.")


@dataclass(frozen=True, slots=True)
class Planned:
    """One carrier of a plan: where, its nearest trouble, and whom it is for."""

    judged: Judged
    tuner: str = ""
    """The transmitter it is for; for a spare, empty."""
    fits: tuple[str, ...] = ()
    """For a spare: the transmitters that can be set to it."""
    held: bool = False

    @property
    def at(self) -> int:
        """Hz."""
        return self.judged.at


@dataclass(frozen=True, slots=True)
class Plan:
    """The best that was found, and how good it is known to be."""

    carriers: tuple[Planned, ...]
    spares: tuple[Planned, ...] = ()
    limit: Trouble | None = None
    """The trouble that the smallest clearance comes from, with every spare on too."""
    proved: bool = False
    """The search is complete: no choice of as many has a larger smallest clearance."""
    ties_proved: bool = False
    """Nor, with the same smallest clearance, larger ones after it."""
    bound: int | None = None
    """Hz: no choice of as many can have a larger smallest clearance; None when nothing limits it."""
    asked: int = 0
    """How many were asked for, spares included."""
    most: int = 0
    """No more than this many can be clean at once; what is planned, when that is proved."""
    relax: tuple[str, ...] = ()
    """When not all fit: what makes them fit, a sentence each."""
    looked_at: int = 0
    """Nodes of the search."""

    @property
    def clearance(self) -> int | None:
        """Hz: the smallest clearance; None when nothing limits it."""
        return None if self.limit is None else self.limit.clearance

    @property
    def fits(self) -> bool:
        """Whether as many as were asked for are planned."""
        return len(self.carriers) + len(self.spares) == self.asked

    @property
    def fewest_proved(self) -> bool:
        """Whether it is proved that no more than these fit."""
        return self.fits or self.most == len(self.carriers) + len(self.spares)


ADVISING = "advising"
"""What is done when not all fit: which wish would have to give way."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the proof is: the best so far and the bound that closes on it, both in Hz."""

    best: int | None
    bound: int | None
    carriers: tuple[int, ...]
    looked_at: int
    doing: str = "proving"


KeepGoing = Callable[[], bool]
Report = Callable[[Progress], None]


def always() -> bool:
    """Go on until the search is complete."""
    return True


def silent(progress: Progress) -> None:
    """Report to nobody."""

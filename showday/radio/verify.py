"""Whether a set of carriers is clean, and how far each carrier is from its nearest trouble.

A carrier's clearance is the distance to its nearest trouble less the distance that was asked for, so that 0 or less
means trouble (two carriers at exactly the asked spacing have 0 and are still clean). Troubles are neighbours, products
and occupied bands. A product that contains the carrier it falls on is no trouble: 2A-B = A only says that A = B.

Foreign carriers make products and are protected too, from products that our own take part in, unless asked otherwise.
What foreign carriers do to each other is not ours to mend and is not counted. Those that only a sweep shows take part
in products up to `FOUND_ORDER`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from showday.radio.model import FOUND_ORDER, USUAL_WIDTH, Band, Tuner, Widths
from showday.radio.products import USUAL_ORDERS, Kind, Products, kinds_of, products
from showday.radio.tuning import tuning_faults
from showday.radio.units import band_text, khz, mhz

SPACING = "spacing"
"""The kind of trouble between neighbours; as a product its order would be 1."""
_LOOK = 48
"""How many sorted products on each side of a carrier are looked at first for one that it has no part in."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something near a carrier (Hz): a product, a neighbour (order 1) or an occupied band (order 0)."""

    kind: str
    order: int
    at: int
    """Where it is: the product, the neighbour, or the nearest end of the band."""
    makers: tuple[int, ...]
    """The carriers that a product comes from, in the order A, B, C; the neighbour itself; none for a band."""
    carrier: int
    distance: int
    """Hz from the carrier; negative inside of a band."""
    asked: int
    band: Band | None = None
    found: tuple[int, ...] = ()
    """Those of the makers that nobody named: a sweep shows them."""

    @property
    def clearance(self) -> int:
        """Hz that are left over what was asked for."""
        return self.distance - self.asked

    @property
    def hits(self) -> bool:
        """Whether it is too near: widths are inclusive, a spacing is kept by two carriers exactly so far apart."""
        if self.order == 1:
            return self.distance < self.asked or self.distance == 0
        return self.distance <= self.asked

    @property
    def sentence(self) -> str:
        """What it is and how far away, without a full stop."""
        asked = (
            f" (asked: {'at least' if self.order == 1 else 'more than'} {khz(self.asked)} kHz)" if self.asked else ""
        )
        if self.band is not None:
            name = " ".join(filter(None, (self.band.kind or "occupied", self.band.name)))
            if self.distance <= 0:
                return f"it lies in {name}, {band_text(self.band)}{asked}"
            return f"{name}, {band_text(self.band)}, is {khz(self.distance)} kHz away{asked}"
        if self.order == 1:
            found = " found in the sweep" if self.found else ""
            return f"the carrier {mhz(self.at)} MHz{found} is {khz(self.distance)} kHz away{asked}"
        makers = ", ".join(f"{mhz(at)} (found)" if at in self.found else mhz(at) for at in self.makers)
        where = "exactly on it" if self.distance == 0 else f"{khz(self.distance)} kHz away"
        return f"{self.kind} of {makers} falls at {mhz(self.at)} MHz, {where}{asked}"


@dataclass(frozen=True, slots=True)
class Judged:
    """One carrier with its nearest trouble; None when there is nothing that could trouble it."""

    at: int
    limit: Trouble | None = None

    @property
    def clearance(self) -> int | None:
        """Hz; None when nothing limits it."""
        return None if self.limit is None else self.limit.clearance


@dataclass(frozen=True, slots=True)
class Fault:
    """A carrier that cannot be used where it stands: outside of the ranges, or no transmitter can be set to it."""

    at: int
    kind: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is to be said about a set of carriers; carriers in the order they were given."""

    carriers: tuple[Judged, ...]
    foreign: tuple[Judged, ...]
    hits: tuple[Trouble, ...]
    faults: tuple[Fault, ...] = ()

    @property
    def clean(self) -> bool:
        """Nothing hits and every carrier can be used where it stands."""
        return not self.hits and not self.faults

    @property
    def worst(self) -> Trouble | None:
        """The trouble with the smallest clearance of all; None when there is none."""
        limits = [judged.limit for judged in (*self.carriers, *self.foreign) if judged.limit is not None]
        return min(limits, key=lambda limit: (limit.clearance, limit.carrier), default=None)

    @property
    def ranked(self) -> tuple[int, ...]:
        """Clearances of all that have one, smallest first: what plans are compared by."""
        known = (judged.clearance for judged in (*self.carriers, *self.foreign))
        return tuple(sorted(value for value in known if value is not None))


@dataclass(frozen=True, slots=True)
class Air:
    """What carriers are judged by, all in Hz."""

    foreign: tuple[int, ...] = ()
    """Carriers of others, those found in a sweep among them."""
    kinds: tuple[Kind, ...] = field(default_factory=lambda: kinds_of(USUAL_ORDERS))
    widths: Widths = field(default_factory=Widths)
    occupied: tuple[Band, ...] = ()
    ranges: tuple[Band, ...] = ()
    tuners: tuple[Tuner, ...] = ()
    protect: bool = True
    """Whether products of ours that fall on a foreign carrier count."""
    found: frozenset[int] = frozenset()
    """Those of the foreign ones that a sweep shows and nobody named: for products up to `FOUND_ORDER`."""


def verify(own: Sequence[int], air: Air | None = None) -> Verdict:
    """Judge a set of own carriers (Hz)."""
    air = air or Air()
    everyone = np.asarray([*own, *air.foreign], dtype=np.int64)
    found = np.array([False] * len(own) + [at in air.found for at in air.foreign], dtype=bool)
    made = [_without(found, products(everyone, kind)) for kind in air.kinds]
    limits, hits = [], []
    for index in range(len(everyone) if air.protect else len(own)):
        troubles = [*_neighbours(everyone, index, len(own), air)]
        counted = [each for each in made if each.kind.order <= FOUND_ORDER or not found[index]]
        for each in counted:
            troubles += _nearest(each, everyone, index, len(own), air)
        if index < len(own):
            troubles += [_band_trouble(int(everyone[index]), band, air.widths.edge) for band in air.occupied]
        limits.append(Judged(int(everyone[index]), min(troubles, key=_rank, default=None)))
        hits += [trouble for trouble in troubles if trouble.hits and trouble.order < 3]
        for each in counted:
            hits += _all_hits(each, everyone, index, len(own), air)
    faults = [*_outside(own, air.ranges), *(Fault(*fault) for fault in tuning_faults(own, air.tuners))]
    return Verdict(tuple(limits[: len(own)]), tuple(limits[len(own) :]), tuple(hits), tuple(faults))


def _without(found: npt.NDArray[np.bool_], made: Products) -> Products:
    """The products without those of too high an order for carriers that a sweep shows."""
    if made.kind.order <= FOUND_ORDER or not found.any():
        return made
    keep = ~found[made.makers].any(axis=1)
    return Products(made.kind, made.at[keep], made.makers[keep])


def overlap(carriers: Sequence[int]) -> tuple[int, int] | None:
    """The two carriers (Hz) that stand nearest together, when that is nearer than one of them is wide."""
    low, high = min(pairwise(sorted(carriers)), key=lambda pair: pair[1] - pair[0], default=(0, USUAL_WIDTH))
    return (low, high) if high - low < USUAL_WIDTH else None


def _rank(trouble: Trouble) -> tuple[int, int, str, int, tuple[int, ...]]:
    return trouble.clearance, trouble.order, trouble.kind, trouble.at, trouble.makers


def _neighbours(everyone: npt.NDArray[np.int64], index: int, own: int, air: Air) -> Iterator[Trouble]:
    """The nearest carrier, and every other one that is too near; two foreign ones are left to themselves."""
    at = int(everyone[index])
    others = everyone if index < own else everyone[:own]
    distances = np.abs(others - at)
    if index < own:
        distances[index] = np.iinfo(np.int64).max
    if not len(distances) or (index < own and len(distances) == 1):
        return
    nearest = int(distances.min())
    for other in np.flatnonzero(distances <= max(nearest, air.widths.spacing)):
        there = int(others[other])
        found = tuple(air.found & {there})
        yield Trouble(SPACING, 1, there, (there,), at, int(distances[other]), air.widths.spacing, None, found)


def _trouble(made: Products, row: int, everyone: npt.NDArray[np.int64], index: int, air: Air) -> Trouble:
    at, carrier = int(made.at[row]), int(everyone[index])
    roles = zip(made.kind.coefficients, made.makers[row], strict=True)
    # Coefficients fall; of carriers with the same one the lower is named first, however they were given.
    makers = tuple(maker for _, maker in sorted((-factor, int(everyone[maker])) for factor, maker in roles))
    asked = air.widths.of_order(made.kind.order)
    found = tuple(maker for maker in makers if maker in air.found)
    return Trouble(made.kind.name, made.kind.order, at, makers, carrier, abs(at - carrier), asked, None, found)


def _counts(made: Products, rows: slice, index: int, own: int) -> npt.NDArray[np.bool_]:
    """Which of these products can trouble this carrier: it has no part in them, and one of ours is concerned."""
    makers = made.makers[rows]
    free: npt.NDArray[np.bool_] = (makers != index).all(axis=1)
    return free if index < own else free & (makers < own).any(axis=1)


def _nearest(made: Products, everyone: npt.NDArray[np.int64], index: int, own: int, air: Air) -> Iterable[Trouble]:
    """The nearest product of one kind, as a list of one or none."""
    total, carrier, look = len(made.at), everyone[index], _LOOK
    middle = int(np.searchsorted(made.at, carrier))
    while total:
        first, last = max(middle - look, 0), min(middle + look, total)
        rows = np.flatnonzero(_counts(made, slice(first, last), index, own)) + first
        whole = first == 0 and last == total
        if len(rows):
            distances = np.abs(made.at[rows] - carrier)
            near = int(distances.min())
            seen_low = first == 0 or carrier - made.at[first] >= near
            seen_high = last == total or made.at[last - 1] - carrier >= near
            if whole or (seen_low and seen_high):
                best = [_trouble(made, int(row), everyone, index, air) for row in rows[distances == near]]
                return [min(best, key=_rank)]
        if whole:
            break
        look *= 4
    return []


def _all_hits(made: Products, everyone: npt.NDArray[np.int64], index: int, own: int, air: Air) -> list[Trouble]:
    asked = air.widths.of_order(made.kind.order)
    first = int(np.searchsorted(made.at, everyone[index] - asked, side="left"))
    last = int(np.searchsorted(made.at, everyone[index] + asked, side="right"))
    rows = np.flatnonzero(_counts(made, slice(first, last), index, own)) + first
    return [_trouble(made, int(row), everyone, index, air) for row in rows]


def _band_trouble(at: int, band: Band, edge: int) -> Trouble:
    nearest = band.low if abs(at - band.low) <= abs(at - band.high) else band.high
    distance = -abs(at - nearest) if band.holds(at) else band.distance(at)
    return Trouble(band.kind or "occupied", 0, nearest, (), at, distance, edge, band)


def _outside(own: Sequence[int], ranges: Sequence[Band]) -> Iterator[Fault]:
    for at in own:
        if ranges and not any(band.holds(at) for band in ranges):
            named = " and ".join(map(band_text, ranges))
            yield Fault(at, "range", f"{mhz(at)} MHz is outside of {named}")

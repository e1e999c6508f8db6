"""The room that a plan has: which places each transmitter can take, what stands around them, in one common unit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import gcd

import numpy as np
import numpy.typing as npt

from showday.errors import RadioTrouble
from showday.radio.model import FOUND_ORDER, Tuner
from showday.radio.plan_ask import USUAL_STEP, Ask
from showday.radio.plan_ways import EVERY_ORDER, FAR, Equation, Standing, clearances, equations_of
from showday.radio.products import Ints
from showday.radio.tuning import assign
from showday.radio.units import band_text, khz, mhz

MOST_SLOTS = 200_000
"""More places than this are refused: a coarser step finds the same plans."""

Takes = npt.NDArray[np.bool_]
"""Of all slots [M], whether one can be taken."""
SHARED = 4
"""Transmitters are alike for a spare when they share a fourth of the places of the one that has fewest, or more: two
ranges that only touch would leave it a single place (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class Group:
    """Transmitters that can take the same places: so many of them."""

    takes: Takes
    room: int


@dataclass(frozen=True, slots=True)
class Room:
    """Everything in units of `unit` Hz from `origin`; slots rise."""

    ask: Ask
    origin: int
    unit: int
    slots: Ints
    groups: tuple[Group, ...]
    others: Ints
    """What does not move: foreign carriers, then held ones."""
    standing: tuple[Standing, ...]
    """One for each of the others."""
    equations: tuple[Equation, ...]
    bands: Ints
    """Of each slot, the clearance from the bands to avoid."""
    alone: Ints
    """Of each slot, the clearance of a carrier that stands there with nothing but the others and the bands."""
    free: int
    """How many carriers are to be placed."""
    spares: tuple[Takes, ...] = ()
    """For each spare, which slots [M] make it one for the transmitters that it is meant for; empty without transmitters."""

    @property
    def spacing(self) -> int:
        """The least distance between two carriers that was asked for."""
        return self.equations[0].asked

    @property
    def raster(self) -> int:
        """The step that all slots lie on."""
        return int(np.gcd.reduce(np.diff(self.slots))) if len(self.slots) > 1 else 1

    @property
    def open(self) -> bool:
        """Nothing but the carriers themselves: one even raster, no others, no bands; plans can be mirrored."""
        even = len(self.slots) < 2 or bool((np.diff(self.slots) == self.raster).all())
        return even and not len(self.others) and len(self.groups) == 1 and bool((self.alone == FAR).all())

    def index(self, places: Ints) -> npt.NDArray[np.intp]:
        """Which slots these places are."""
        return np.searchsorted(self.slots, places)

    def seats(self, places: Ints, without: int = -1) -> bool:
        """Whether each place gets a transmitter of its own; `without` one of that group."""
        rooms = [group.room - (index == without) for index, group in enumerate(self.groups)]
        if min(rooms) < 0 or len(places) > sum(rooms):
            return False
        at = self.index(places)
        for size in range(1, len(self.groups)):
            for inside in combinations(range(len(self.groups)), size):
                outside = [self.groups[index].takes[at] for index in range(len(rooms)) if index not in inside]
                if int((~np.logical_or.reduce(outside)).sum()) > sum(rooms[index] for index in inside):
                    return False
        return True

    def hertz(self, places: Iterable[int]) -> tuple[int, ...]:
        """Places in Hz, rising."""
        return tuple(sorted(self.origin + int(place) * self.unit for place in places))


def make_room(ask: Ask, *, touching: bool = False) -> Room:
    """The room of an ask; RadioTrouble when there is none.

    A product exactly at its width, or a band's end exactly at the edge asked for, is a hit, two carriers exactly at
    their spacing are not. With `touching`, one unit more is asked of everything but the spacing, so that a clearance of 0
    or more is the same as clean.
    """
    ask.check()
    tuners = _tuners_left(ask)
    rasters = (
        [_raster(ask, tuner) for tuner in tuners]
        if tuners or ask.tuners
        else [_range_slots(ask, ask.step or USUAL_STEP)]
    )
    _check_slots(tuners, rasters)
    # One that is held can fail too: a spare has to be for it as well.
    reach = [_raster(ask, tuner) for tuner in ask.tuners] if ask.spares else []
    every = [*rasters, *reach]
    everywhere = np.unique(np.concatenate(every)) if every else np.zeros(0, dtype=np.int64)
    everywhere = everywhere[~np.isin(everywhere, [*ask.others, *ask.held])]
    origin = int(everywhere[0]) if len(everywhere) else (ask.ranges[0].low if ask.ranges else 0)
    unit = _unit(ask, everywhere - origin, origin)
    slots = (everywhere - origin) // unit
    others = (np.array([*ask.others, *sorted(ask.held)], dtype=np.int64) - origin) // unit
    mosts = (FOUND_ORDER if at in ask.air.found else EVERY_ORDER for at in ask.others)
    standing = tuple(Standing(ask.protect, most) for most in mosts) + (Standing(),) * len(ask.held)
    equations = equations_of(ask.products, ask.widths, unit)
    bands = _from_bands(everywhere, ask, unit)
    stricter = (equations[0], *(Equation(each.coefficients, each.asked + 1) for each in equations[1:]))
    within = np.where(bands == FAR, FAR, bands - 1)
    clean = np.minimum(clearances(slots, stricter, others, standing), within) if touching or reach else bands
    # Whichever room it is, the spares are for the same transmitters: what is clean is so in both.
    spares = spare_places([np.isin(everywhere, each) for each in reach], clean >= 0, ask.spares)
    if touching:
        equations, bands, alone = stricter, within, clean
    else:
        alone = np.minimum(clearances(slots, equations, others, standing), bands)
    groups = _groups(ask, everywhere, rasters, spares)
    free = ask.count + ask.spares - len(ask.held)
    return Room(ask, origin, unit, slots, groups, others, standing, equations, bands, alone, free, tuple(spares))


def _tuners_left(ask: Ask) -> list[Tuner]:
    """The transmitters that are not held; RadioTrouble when a held carrier has none."""
    places = assign(ask.held, ask.tuners)
    for at, place in zip(ask.held, places, strict=True):
        if ask.tuners and place is None:
            raise RadioTrouble(f"No transmitter that is left can be held at {mhz(at)} MHz.")
    return [tuner for place, tuner in enumerate(ask.tuners) if place not in places]


def _range_slots(ask: Ask, step: int) -> Ints:
    parts = []
    for band in ask.ranges:
        if band.width // step > MOST_SLOTS:
            least = band.width // MOST_SLOTS + 1
            raise RadioTrouble(
                f"{band_text(band)} in steps of {khz(step)} kHz are too many places.",
                f"Use steps of {khz(max(least, 1_000))} kHz or more, or a smaller range.",
            )
        parts.append(np.arange(band.low, band.high + 1, step, dtype=np.int64))
    return np.unique(np.concatenate(parts)) if parts else np.zeros(0, dtype=np.int64)


def _raster(ask: Ask, tuner: Tuner) -> Ints:
    """Where one transmitter can be set: its own steps, within the ranges, on the step asked for when there is one."""
    step = tuner.step or ask.step or USUAL_STEP
    if (tuner.high - tuner.low) // step > MOST_SLOTS:
        raise RadioTrouble(f"{tuner.name}: steps of {khz(step)} kHz over its whole range are too many places.")
    own = np.arange(tuner.low, tuner.high + 1, step, dtype=np.int64)
    if not tuner.step and ask.ranges:
        own = _range_slots(ask, step)
        own = own[(own >= tuner.low) & (own <= tuner.high)]
    if ask.ranges:
        inside = np.zeros(len(own), dtype=bool)
        for band in ask.ranges:
            on_step = (own - band.low) % ask.step == 0 if ask.step else True
            inside |= (own >= band.low) & (own <= band.high) & on_step
        return own[inside]
    return own[(own - tuner.low) % ask.step == 0] if ask.step else own


def _check_slots(tuners: Sequence[Tuner], rasters: Sequence[Ints]) -> None:
    for tuner, raster in zip(tuners, rasters, strict=False):
        if not len(raster):
            reach = f"{mhz(tuner.low)} to {mhz(tuner.high)} MHz"
            raise RadioTrouble(f"{tuner.name} reaches from {reach} and has no step inside of the ranges.")


def _unit(ask: Ask, places: Ints, origin: int) -> int:
    """The largest number of Hz that everything is a multiple of."""
    widths = ask.widths
    unit = int(np.gcd.reduce(places)) if len(places) else 0
    unit = gcd(unit, *(at - origin for at in (*ask.others, *ask.held)))
    unit = gcd(unit, *(end - origin for band in ask.avoid for end in (band.low, band.high)), widths.edge)
    return gcd(unit, widths.spacing, *(widths.of_order(kind.order) for kind in ask.products)) or 1


def _from_bands(places: Ints, ask: Ask, unit: int) -> Ints:
    nearest = np.full(len(places), FAR, dtype=np.int64)
    for band in ask.avoid:
        outside = np.maximum(band.low - places, places - band.high)
        np.minimum(nearest, (outside - ask.widths.edge) // unit, out=nearest)
    return nearest


def spare_places(takes: Sequence[Takes], usable: Takes, spares: int) -> list[Takes]:
    """Where each spare may stand [M], when transmitters can take these places: a spare that all can be set to, as far as
    they share enough `usable` places; else one for each set of transmitters that does, the largest set first, and round
    again. Transmitters without a usable place get none while others have some."""
    alike: list[tuple[Takes, int]] = []
    for take in [take for take in takes if (take & usable).any()] or takes:
        for index, (common, count) in enumerate(alike):
            shared, fewest = common & take & usable, min(int((each & usable).sum()) for each in (common, take))
            if SHARED * int(shared.sum()) >= max(fewest, 1):
                alike[index] = common & take, count + 1
                break
        else:
            alike.append((take, 1))
    alike.sort(key=lambda pair: -pair[1])
    return [alike[number % len(alike)][0] for number in range(spares)] if alike else []


def _groups(
    ask: Ask,
    everywhere: Ints,
    rasters: Sequence[Ints],
    spares: Sequence[Takes],
) -> tuple[Group, ...]:
    """Transmitters with the same places together, spares among them."""
    takes = [np.isin(everywhere, raster) for raster in rasters]
    if not ask.tuners:
        return (Group(takes[0], ask.count - len(ask.held) + ask.spares),)
    rooms: dict[bytes, tuple[Takes, int]] = {}
    for take in (*takes, *spares):
        rooms[take.tobytes()] = take, rooms.get(take.tobytes(), (take, 0))[1] + 1
    return tuple(Group(take, room) for take, room in rooms.values())

"""The sweeps and plans of a scripted evening: what the script says, as the desk keeps it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from showday.radio.model import CARRIER, TELEVISION, Band, Occupied
from showday.radio.units import HZ_PER_KHZ, HZ_PER_MHZ, band
from showday.rig.model import Rig
from showday.run.air import KeptCarrier, KeptPlan, KeptSweep
from showday.text import fields
from showday.text.fields import Field, ListOf, MapOf, Parsed, Table, Text
from showday.text.problem import Place

FLOOR, PLATEAU, PEAK = -102.0, -68.0, -57.0
"""Levels in dBm of an invented sweep."""
POINT = 100_000
"""Hz between the points of its line."""
HALF = 100_000
"""Half of the room that a stage carrier takes, Hz."""


@dataclass(frozen=True, slots=True)
class Swept:
    """A sweep that was kept at a step."""

    span: Band
    television: tuple[tuple[str, Band], ...] = ()
    """Names and places of the TV channels on the air."""
    signals: tuple[float, ...] = ()
    """MHz of narrow signals."""
    file: str = ""
    place: Place = Place()


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan that was kept at a step: the rig's own frequencies, and spares."""

    spares: tuple[float, ...] = ()
    """MHz, in the order in which they are to be used."""
    clearance: float | None = None
    """kHz."""
    asked: str = ""
    reason: str = ""
    place: Place = Place()


def _band(text: str) -> Band:
    try:
        return band(text)
    except Exception as trouble:
        raise ValueError(str(trouble)) from None


_BAND = Parsed(_band, "a range in MHz such as 526-598", {"type": "string"})
_MHZ = fields.number(1, 10_000)
SWEPT = Table(
    "sweep",
    (
        Field("span", _BAND, "what was measured, MHz", needed=True),
        Field("television", MapOf(_BAND, what="channel"), "name of a TV channel on the air → its range"),
        Field("signals", ListOf(_MHZ, single=True), "narrow signals, MHz"),
        Field("file", Text(), "name of the file it came from"),
    ),
    Swept,
    bare="span",
    what="a sweep",
)
PLANNED = Table(
    "plan",
    (
        Field("spares", ListOf(_MHZ, single=True), "spares, MHz, the first one first", needed=True),
        Field("clearance", fields.number(0, 10_000), "smallest clearance of all, kHz"),
        Field("asked", Text(), "what was wished"),
        Field("reason", Text(), "why this plan"),
    ),
    Planned,
    bare="spares",
    what="a plan",
)


def swept(script: Swept) -> KeptSweep:
    """The sweep as the desk keeps it, its line made up: a floor, plateaus of television, peaks."""
    tv = [Occupied(at.low, at.high, str(name), TELEVISION, None, PLATEAU) for name, at in script.television]
    peaks = [round(each * HZ_PER_MHZ) for each in script.signals]
    signals = [Occupied(at - HALF, at + HALF, "", CARRIER, at, PEAK) for at in peaks]
    bands = tuple(sorted([*tv, *signals], key=lambda each: (each.low, each.high)))
    span = script.span
    line = tuple((at, _level(at, bands)) for at in range(span.low, span.high + 1, POINT))
    files = (str(script.file),) if script.file else ()
    return KeptSweep(files=files, low=span.low, high=span.high, unit="dBm", floor=FLOOR, bands=bands, trace=line)


def _level(at: int, bands: tuple[Occupied, ...]) -> float:
    there = [each.level for each in bands if each.holds(at) and each.level is not None]
    ripple = math.sin(at / HZ_PER_MHZ * 7.0) + math.sin(at / HZ_PER_MHZ * 19.0)
    return round(max([FLOOR, *there]) + ripple, 1)


def planned(script: Planned, rig: Rig) -> KeptPlan:
    """The plan as the desk keeps it: every transmitter of the rig on the frequency that its file says."""
    hertz = None if script.clearance is None else round(script.clearance * HZ_PER_KHZ)
    names = tuple(str(unit.name) for unit in rig.transmitters)
    carriers = tuple(
        KeptCarrier(str(unit.name), round(unit.frequency * HZ_PER_MHZ), hertz)
        for unit in rig.transmitters
        if unit.frequency is not None
    )
    spares = tuple(KeptCarrier("", round(at * HZ_PER_MHZ), hertz, fits=names) for at in script.spares)
    return KeptPlan(
        carriers=carriers,
        spares=spares,
        clearance=hertz,
        asked=str(script.asked),
        reason=str(script.reason),
        nearest=hertz,
    )

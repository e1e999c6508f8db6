"""What was kept of the air: sweeps, frequency plans and the spares taken from them; their events, and what they fold into.

A plan or a sweep never changes: a newer one supersedes it. All frequencies and clearances are whole Hz.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from showday.radio.model import Occupied
from showday.run.events import Entry, Event

SWEEP_KEPT, PLAN_KEPT = "Sweep kept: ", "Frequency plan kept: "
"""How the notes begin that a run gets when something is kept."""

BandRow = tuple[int, int, str, str, int | None, float | None]
"""Low, high, name, kind, peak and level of what is occupied."""
CarrierRow = tuple[str, int, int | None, str, bool, tuple[str, ...]]
"""Transmitter, frequency, clearance, what limits it, whether it was held, and who else can be set to it."""


@dataclass(frozen=True, slots=True)
class SweepKept(Event):
    """A sweep was read and kept; the stream is the sweep's id."""

    venue: str
    show: str
    files: tuple[str, ...]
    low: int
    high: int
    unit: str
    floor: float
    bands: tuple[tuple[int, int, str, str, int | None, float | None], ...]
    """Rows as in `BandRow`."""
    own: tuple[tuple[str, int, bool], ...]
    """The act's own transmitters that were said to be on: name, frequency, and whether they were seen."""
    trace: str
    """Hash of the snapshot that holds the drawn line."""


@dataclass(frozen=True, slots=True)
class PlanKept(Event):
    """A frequency plan was taken; the stream is the plan's id. Rows as in `CarrierRow`."""

    venue: str
    show: str
    carriers: tuple[tuple[str, int, int | None, str, bool, tuple[str, ...]], ...]
    spares: tuple[tuple[str, int, int | None, str, bool, tuple[str, ...]], ...]
    proved: bool
    clearance: int | None
    bound: int | None
    asked: str
    reason: str
    sweep: str = ""
    nearest: int | None = None


@dataclass(frozen=True, slots=True)
class SpareTaken(Event):
    """A spare of this stream's plan is in use now, in the fault walk of that run when there is one."""

    hz: int
    transmitter: str
    run: str = ""
    walk: str = ""


@dataclass(frozen=True, slots=True)
class SpareReturned(Event):
    """The `SpareTaken` of this entry id no longer counts."""

    target: str


AIR_EVENTS: tuple[type[Event], ...] = (SweepKept, PlanKept, SpareTaken, SpareReturned)


@dataclass(frozen=True, slots=True)
class KeptCarrier:
    """One carrier or spare of a kept plan."""

    name: str
    """Its transmitter; for a spare, who took it, and empty until then."""
    hz: int
    clearance: int | None = None
    limited_by: str = ""
    held: bool = False
    fits: tuple[str, ...] = ()
    """For a spare: the transmitters that can be set to it; empty when that was not said."""
    used: bool = False


@dataclass(frozen=True, slots=True)
class Taken:
    """A spare in use."""

    id: str
    """Of the entry that took it."""
    at: str
    hz: int
    transmitter: str
    run: str = ""
    walk: str = ""


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A frequency plan as it was kept, with the spares that were taken since."""

    id: str = ""
    at: str = ""
    """UTC as it stands in the log."""
    venue: str = ""
    show: str = ""
    carriers: tuple[KeptCarrier, ...] = ()
    spares: tuple[KeptCarrier, ...] = ()
    proved: bool = False
    clearance: int | None = None
    bound: int | None = None
    asked: str = ""
    """The wishes in one sentence."""
    reason: str = ""
    """Why this plan."""
    sweep: str = ""
    """Id of the sweep that it was planned on, or empty."""
    nearest: int | None = None
    """From any of them to the nearest trouble, whatever widths were asked; None when that was not worked out."""
    taken: tuple[Taken, ...] = ()

    def now(self, transmitter: str) -> int | None:
        """Where a transmitter is to stand now: on the last spare that it took, else as planned; None when unplanned."""
        moved = [t.hz for t in self.taken if t.transmitter == transmitter and transmitter]
        return moved[-1] if moved else next((c.hz for c in self.carriers if c.name == transmitter and c.name), None)


@dataclass(frozen=True, slots=True)
class KeptSweep:
    """A sweep as it was kept."""

    id: str = ""
    at: str = ""
    venue: str = ""
    show: str = ""
    files: tuple[str, ...] = ()
    low: int = 0
    high: int = 0
    unit: str = ""
    floor: float = 0.0
    bands: tuple[Occupied, ...] = ()
    own: tuple[tuple[str, int, bool], ...] = ()
    """The act's own transmitters that were on: name, frequency, seen."""
    trace: tuple[tuple[int, float], ...] = ()
    """The drawn line, strongest level over frequency; empty until it is read from its snapshot."""
    snapshot: str = ""
    """Hash of that snapshot."""


@dataclass(frozen=True)
class AirBook:
    """Everything kept of the air, by id."""

    plans: dict[str, KeptPlan]
    sweeps: dict[str, KeptSweep]

    def taken_in(self, walk: str) -> list[tuple[str, Taken]]:
        """Spares (plan id, taken) that a fault walk has put into use."""
        return [(plan.id, t) for plan in self.plans.values() for t in plan.taken if walk and t.walk == walk]


def fold_air(entries: Iterable[Entry]) -> AirBook:
    """What the entries say of the air; other events, second openings and halves of a story are passed over."""
    plans: dict[str, KeptPlan] = {}
    sweeps: dict[str, KeptSweep] = {}
    taken: dict[str, list[Taken]] = {}
    returned: set[str] = set()
    for entry in entries:
        event = entry.event
        if isinstance(event, PlanKept):
            plans.setdefault(entry.stream, _plan(entry, event))
        elif isinstance(event, SweepKept):
            sweeps.setdefault(entry.stream, _sweep(entry, event))
        elif isinstance(event, SpareTaken):
            made = Taken(entry.id, entry.at, event.hz, event.transmitter, event.run, event.walk)
            taken.setdefault(entry.stream, []).append(made)
        elif isinstance(event, SpareReturned):
            returned.add(event.target)
    for id, plan in plans.items():
        counting = tuple(t for t in taken.get(id, ()) if t.id not in returned)
        if counting:
            plans[id] = replace(plan, taken=counting, spares=_marked(plan.spares, counting))
    return AirBook(plans, sweeps)


def _marked(spares: tuple[KeptCarrier, ...], taken: tuple[Taken, ...]) -> tuple[KeptCarrier, ...]:
    by = {each.hz: each.transmitter for each in taken}
    return tuple(replace(s, used=True, name=by[s.hz]) if s.hz in by else s for s in spares)


def _plan(entry: Entry, event: PlanKept) -> KeptPlan:
    return KeptPlan(
        entry.stream,
        entry.at,
        event.venue,
        event.show,
        tuple(KeptCarrier(*row) for row in event.carriers),
        tuple(KeptCarrier(*row) for row in event.spares),
        event.proved,
        event.clearance,
        event.bound,
        event.asked,
        event.reason,
        event.sweep,
        event.nearest,
    )


def _sweep(entry: Entry, event: SweepKept) -> KeptSweep:
    return KeptSweep(
        entry.stream,
        entry.at,
        event.venue,
        event.show,
        event.files,
        event.low,
        event.high,
        event.unit,
        event.floor,
        tuple(Occupied(*row) for row in event.bands),
        event.own,
        (),
        event.trace,
    )


def carrier_row(carrier: KeptCarrier) -> CarrierRow:
    """A carrier as the log keeps it."""
    return carrier.name, carrier.hz, carrier.clearance, carrier.limited_by, carrier.held, carrier.fits


def band_row(band: Occupied) -> BandRow:
    """What is occupied as the log keeps it."""
    return band.low, band.high, band.name, band.kind, band.peak, band.level

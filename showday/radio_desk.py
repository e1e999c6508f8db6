"""The evening's frequencies: what is kept of sweeps and plans, in the log and in words.

Screens, prompts and commands call these functions; none of them decides which plan counts.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

from showday.log.records import Snapshot, snapshot_hash
from showday.radio.model import TELEVISION
from showday.radio.units import HZ_PER_KHZ, band_text, khz, mhz
from showday.run import events as ev
from showday.run.air import (
    PLAN_KEPT,
    SWEEP_KEPT,
    AirBook,
    KeptCarrier,
    KeptPlan,
    KeptSweep,
    PlanKept,
    SweepKept,
    band_row,
    carrier_row,
    fold_air,
)
from showday.run.phases import FAULT_WALK, WALKING
from showday.run.progress import current
from showday.run.session import Session, touring_entry

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.radio.occupancy import Occupancy
    from showday.radio.plan_ask import Ask, Plan
    from showday.radio.sweep import Sweep

Kept = TypeVar("Kept", KeptPlan, KeptSweep)

SWEEP = "sweep"
"""Kind of the snapshot that holds a sweep's drawn line: JSON, a list of [Hz, dB]."""
MOST_POINTS = 2_000
"""Points of a kept line, a choice of this program: more than any terminal has columns."""
STILL_TONIGHT = timedelta(hours=24)
"""How long a plan of no show counts as tonight's."""
CLEARANCE = "clearance"
"""Name of the reading that a plan's clearance answers."""


# -- keeping -----------------------------------------------------------------------------------------------------


def keep_sweep(desk: Desk, found: Occupancy, *, run: Session | None = None) -> KeptSweep:
    """Keep what a sweep shows, at tonight's show; noted in the run that is open too."""
    sweep = found.sweep
    read = KeptSweep(
        files=tuple(sweep.files),
        low=sweep.low,
        high=sweep.high,
        unit=sweep.unit,
        floor=round(found.floor_level, 1),
        bands=found.bands(),
        own=tuple((own.name, own.at, own.seen is not None) for own in found.own),
        trace=tuple(line_of(sweep)),
    )
    return keep_read_sweep(desk, read, run=run)


def keep_read_sweep(desk: Desk, read: KeptSweep, *, run: Session | None = None) -> KeptSweep:
    """The same for a sweep that has its line already; its id, time, venue and show are filled in here."""
    text = json.dumps(read.trace, separators=(",", ":"))
    kept = Snapshot(snapshot_hash(SWEEP, text), SWEEP, ", ".join(read.files) or SWEEP, text)
    bands = tuple(map(band_row, read.bands))
    event = SweepKept(
        *_place(desk), read.files, read.low, read.high, read.unit, read.floor, bands, read.own, kept.hash
    )
    id = desk.world.new_id()
    desk.keeper.append([touring_entry(desk.world, id, event)], [kept])
    made = _with_line(desk, air(desk).sweeps[id])
    if run is not None:
        note_in(run, sweep_words(made))
    return made


def keep_plan(desk: Desk, plan: KeptPlan, *, run: Session | None = None) -> KeptPlan:
    """Take a plan for tonight; it supersedes earlier ones. Its id, time, venue and show are filled in here.

    The run that is open gets a note at its current step, and its clearance as the reading where the step asks for it.
    """
    event = PlanKept(
        *_place(desk),
        tuple(map(carrier_row, plan.carriers)),
        tuple(map(carrier_row, plan.spares)),
        plan.proved,
        plan.clearance,
        plan.bound,
        plan.asked,
        plan.reason,
        plan.sweep,
        plan.nearest,
    )
    id = desk.world.new_id()
    desk.record(id, event)
    made = air(desk).plans[id]
    if run is not None:
        note_in(run, plan_words(made))
        _read_clearance(run, made)
    return made


def as_kept(plan: Plan, ask: Ask, *, reason: str = "", sweep: str = "") -> KeptPlan:
    """A plan of the planner in the form that is kept, without id and show."""
    from showday.radio.model import Widths
    from showday.radio.verify import verify

    everyone = [each.at for each in (*plan.carriers, *plan.spares)]
    bare = verify(everyone, replace(ask.air, widths=Widths()))
    distances = [judged.clearance for judged in bare.carriers if judged.clearance is not None]
    carriers, spares = (
        tuple(
            KeptCarrier(
                each.tuner,
                each.at,
                each.judged.clearance,
                each.judged.limit.sentence if each.judged.limit else "",
                each.held,
                each.fits,
            )
            for each in planned
        )
        for planned in (plan.carriers, plan.spares)
    )
    return KeptPlan(
        carriers=carriers,
        spares=spares,
        proved=plan.proved,
        clearance=plan.clearance,
        bound=plan.bound,
        asked=wishes(ask),
        reason=reason,
        sweep=sweep,
        nearest=min(distances, default=None),
    )


def wishes(ask: Ask) -> str:
    """What a plan was asked for, in one line."""
    parts = [f"{ask.count} carriers" + (f" and {ask.spares} spares" if ask.spares else "")]
    where = " and ".join(map(band_text, ask.ranges)) or ("where the transmitters reach" if ask.tuners else "")
    parts += [where] if where else []
    parts += [f"steps of {khz(ask.step)} kHz"] if ask.step else []
    parts.append(f"products of order {', '.join(map(str, ask.orders))}")
    widths = [(name, getattr(ask.widths, name)) for name in ("spacing", "third", "fifth", "seventh", "edge")]
    parts += [f"{name} {khz(value)} kHz" for name, value in widths if value]
    parts += [f"{len(ask.avoid)} bands avoided"] if ask.avoid else []
    parts += [f"{len(ask.foreign)} foreign carriers"] if ask.foreign else []
    parts += [f"products of {len(ask.found)} found carriers"] if ask.found else []
    parts += [f"held: {', '.join(map(mhz, ask.held))} MHz"] if ask.held else []
    return "; ".join(parts)


def notice_kept(desk: Desk, session: Session) -> list[str]:
    """Note in an open run what was kept outside of it since it began, and say it.

    Nothing is noted twice, also when the note was taken back.
    """
    state = session.state
    if state.phase not in (WALKING, FAULT_WALK) or not state.history:
        return []
    begun, held = state.history[0].at, air(desk)
    said = {e.event.text for e in desk.keeper.entries(state.run) if isinstance(e.event, ev.NoteAdded)}
    fresh: list[tuple[str, str, KeptPlan | None]] = [
        (each.at, sweep_words(each), None) for each in _tonights(desk, held.sweeps.values()) if each.at > begun
    ]
    fresh += [(each.at, plan_words(each), each) for each in _tonights(desk, held.plans.values()) if each.at > begun]
    told = []
    for _, text, plan in sorted(fresh, key=lambda row: row[:2]):
        if text not in said:
            note_in(session, text)
            told.append(text)
            if plan is not None:
                _read_clearance(session, plan)
    return told


def _place(desk: Desk) -> tuple[str, str]:
    show = desk.tonight()
    return (show.venue, show.id) if show else ("", "")


def note_in(session: Session, text: str) -> None:
    """A note at the step that stands before the person, or at the step of the open fault walk."""
    state = session.state
    step = current(state) if state.phase == WALKING else None
    key = step.key if step else state.walk.step if state.walk else ""
    session.record(ev.NoteAdded(text, key))


def _read_clearance(session: Session, plan: KeptPlan) -> None:
    """Where the current step asks for the clearance, the plan's is the reading: the plain distance, in kHz."""
    step = current(session.state) if session.state.phase == WALKING else None
    hertz = plan.clearance if plan.nearest is None else plan.nearest
    if step is None or step.reading is None or hertz is None:
        return
    if step.reading.name == CLEARANCE and step.reading.unit == "kHz":
        session.read(hertz / HZ_PER_KHZ)


def line_of(sweep: Sweep) -> list[tuple[int, float]]:
    """The strongest levels over frequency, not more than `MOST_POINTS` points; bins without a level are left out."""
    points = list(zip(sweep.hz.tolist(), sweep.peak.tolist(), strict=True))
    step = max(1, math.ceil(len(points) / MOST_POINTS))
    strongest = (max(points[at : at + step], key=lambda p: p[1]) for at in range(0, len(points), step))
    return [(hz, round(level, 1)) for hz, level in strongest if math.isfinite(level)]


# -- in words ----------------------------------------------------------------------------------------------------


def plan_words(plan: KeptPlan) -> str:
    """A kept plan in one line: who stands where, the spares, how clear, how sure, why."""
    carriers = ", ".join(f"{c.name} {mhz(c.hz)}" if c.name else mhz(c.hz) for c in plan.carriers)
    spares = ", ".join(mhz(s.hz) for s in plan.spares)
    parts = [f"{PLAN_KEPT}{carriers} MHz", f"spares {spares} MHz" if spares else "no spares"]
    limit = next((c for c in (*plan.carriers, *plan.spares) if c.clearance == plan.clearance), None)
    if plan.clearance is not None:
        why = f" ({mhz(limit.hz)} MHz: {limit.limited_by})" if limit and limit.limited_by else ""
        parts.append(f"clearance {khz(plan.clearance)} kHz{why}")
    parts.append("proved" if plan.proved else "not proved")
    parts += [f"asked: {plan.asked}"] if plan.asked else []
    parts += [f"because: {plan.reason}"] if plan.reason else []
    return "; ".join(parts)


def sweep_words(sweep: KeptSweep) -> str:
    """A kept sweep in one line: what was measured, and what is occupied."""
    tv = [band.name.removeprefix("TV ") or band_text(band) for band in sweep.bands if band.kind == TELEVISION]
    others = len(sweep.bands) - len(tv)
    files = f" ({', '.join(sweep.files)})" if sweep.files else ""
    return (
        f"{SWEEP_KEPT}{mhz(sweep.low)}-{mhz(sweep.high)} MHz{files}; floor {sweep.floor:.0f} {sweep.unit}; "
        f"TV channels {', '.join(tv) or 'none'}; {others} other signals"
    )


# -- reading back ------------------------------------------------------------------------------------------------


def air(desk: Desk) -> AirBook:
    """Everything kept of the air."""
    return fold_air(desk.keeper.touring())


def tonight_plan(desk: Desk) -> KeptPlan | None:
    """The newest plan of tonight's show; without a show, the newest of no show in the last 24 hours."""
    return next(iter(_tonights(desk, air(desk).plans.values())), None)


def tonight_sweep(desk: Desk) -> KeptSweep | None:
    """The newest sweep of tonight, with its line; as for plans."""
    found = next(iter(_tonights(desk, air(desk).sweeps.values())), None)
    return _with_line(desk, found) if found else None


def _tonights(desk: Desk, kept: Iterable[Kept]) -> list[Kept]:
    show = _place(desk)[1]
    now = desk.world.clock.now()
    mine = [k for k in kept if k.show == show and (show or now - _moment(k.at) < STILL_TONIGHT)]
    return sorted(mine, key=lambda k: (k.at, k.id), reverse=True)


def _moment(at: str) -> datetime:
    return datetime.fromisoformat(at.replace("Z", "+00:00"))


def _with_line(desk: Desk, sweep: KeptSweep) -> KeptSweep:
    """The sweep with its line; without one when the snapshot is not there or no line."""
    try:
        rows = json.loads(desk.keeper.text_of(sweep.snapshot) or "[]")
        return replace(sweep, trace=tuple((int(hz), float(level)) for hz, level in rows))
    except (ValueError, TypeError, RecursionError):
        return sweep

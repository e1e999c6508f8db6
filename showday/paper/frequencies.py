"""The frequency plan on paper, with its spares."""

from __future__ import annotations

from showday.paper.model import CAUTION, SMALL, Block, Column, Part, Sheet, Table, Words
from showday.radio.units import khz, mhz
from showday.rig.model import Rig, Transmitter
from showday.rig.words import show
from showday.run.air import KeptCarrier, KeptPlan
from showday.text.cautions import RADIO_LAW

NOT_KEPT = (
    "No frequency plan is kept for this show. These are the frequencies of the rig file: look at the air first."
)
_WHERE = (
    Column("Transmitter", 5),
    Column("Mix", 5),
    Column("MHz", 4),
    Column("Clear by", 3),
    Column("Nearest trouble", 7),
    Column("Changed to", 4),
)
_SPARES = (Column("Spare MHz", 3), Column("Clear by", 3), Column("Fits", 7), Column("Taken by, at", 5))


def frequency_sheet(rig: Rig, plan: KeptPlan | None) -> Sheet:
    """Where each transmitter is to stand, and the spares; from the rig file when no plan is kept."""
    blocks: list[Block] = [Words(RADIO_LAW, CAUTION)]
    blocks += _kept(rig, plan) if plan else _of_the_rig(rig)
    blocks.append(
        Words("Set one, read it aloud, set its packs to the same, then walk the stage with every pack.", SMALL)
    )
    return Sheet("Frequency plan", (Part("", tuple(blocks)),), wide=True)


def _kept(rig: Rig, plan: KeptPlan) -> list[Block]:
    units = {unit.name: unit for unit in rig.transmitters}
    rows = []
    for carrier in plan.carriers:
        at = plan.now(carrier.name)
        moved = f"{mhz(at)} (spare)" if at is not None and at != carrier.hz else ""
        mix = _mix(rig, units.get(carrier.name))
        rows.append((carrier.name, mix, mhz(carrier.hz), _clear(carrier), carrier.limited_by, moved))
    made: list[Block] = [Table(_WHERE, tuple(rows))]
    if plan.spares:
        spares = (
            (mhz(s.hz), _clear(s), ", ".join(s.fits) or "all", f"taken: {s.name or 'yes'}" if s.used else "")
            for s in plan.spares
        )
        made.append(Table(_SPARES, tuple(spares)))
    else:
        made.append(Words("This plan has no spares."))
    sure = "proved best for what was asked" if plan.proved else "not proved best"
    made.append(
        Words(f"Planned {plan.at[:16].replace('T', ' ')} UTC; {sure}. Asked: {plan.asked or 'not noted'}.", SMALL)
    )
    if plan.reason:
        made.append(Words(f"Why: {plan.reason}", SMALL))
    return made


def _of_the_rig(rig: Rig) -> list[Block]:
    columns = (
        Column("Transmitter", 5),
        Column("Mix", 5),
        Column("MHz", 4),
        Column("Can be set", 6),
        Column("Step", 3),
        Column("Changed to", 5),
    )
    rows = tuple((u.name, _mix(rig, u), show(u.frequency), _reach(u), _step(u), "") for u in rig.transmitters)
    if not rows:
        return [Words("The rig file names no transmitters.")]
    blank = Table(_SPARES, (("", "", "", ""), ("", "", "", "")))
    return [Words(NOT_KEPT), Table(columns, rows), Words("Spares found here:"), blank]


def _mix(rig: Rig, unit: Transmitter | None) -> str:
    if unit is None:
        return ""
    return unit.mix or next((mix.name for mix in rig.mixes if mix.transmitter == unit.name), "")


def _reach(unit: Transmitter) -> str:
    return f"{show(unit.low)} to {show(unit.high)} MHz" if unit.low is not None and unit.high is not None else ""


def _step(unit: Transmitter) -> str:
    return f"{show(unit.step)} kHz" if unit.step is not None else ""


def _clear(carrier: KeptCarrier) -> str:
    return "" if carrier.clearance is None else f"{khz(carrier.clearance)} kHz"

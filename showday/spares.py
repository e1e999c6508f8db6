"""Tonight's plan in sentences and in fault walks: where a transmitter is to stand, its next spare, and when that is used.

A spare is taken in the same stroke in which the fix that names it brings sound back, and given back when that is undone,
whichever front end the walk is on. By hand it is taken and given back without a walk.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from showday.errors import NotAllowed, ShowdayError
from showday.fault.model import Fix, Leaf, Tree
from showday.fault.walk import id_of
from showday.radio.units import HZ_PER_MHZ, mhz
from showday.radio_desk import air, note_in, tonight_plan
from showday.rig.model import Rig
from showday.rig.words import named_things
from showday.run import events as ev
from showday.run.air import KeptCarrier, KeptPlan, SpareReturned, SpareTaken
from showday.run.session import Session
from showday.run.state import RunState, WalkState
from showday.text.sentence import fields_in

if TYPE_CHECKING:
    from showday.desk import Desk

SPARE = "spare.frequency"
"""The field of the next spare; a fix or cure whose sentence has it takes that spare."""


def transmitter_of(rig: Rig, kind: str, thing: str) -> str:
    """The transmitter that a thing of the rig (kind and id) hangs on; empty when it is not known."""
    found = next((each for id, each in named_things(kind, rig) if id == thing), None) if kind else None
    if found is None:
        return ""
    if kind == "transmitter":
        return str(found.name)
    if kind == "mix":
        named = (str(unit.name) for unit in rig.transmitters if unit.mix == found.name)
        return str(getattr(found, "transmitter", "")) or next(named, "")
    if kind == "person":
        return next((str(p.transmitter) for p in rig.packs if p.person == found.name and p.transmitter), "")
    return str(getattr(found, "transmitter", "")) if kind == "pack" else ""


def is_frequency(spare: str) -> bool:
    """Whether a tree's word for a spare means a frequency: `spare frequency`."""
    return "frequency" in spare.casefold().split()


# -- fields of sentences -----------------------------------------------------------------------------------------


def band_fields(rig: Rig) -> dict[str, str]:
    """Numbers of the rig's whole band for sentences, as `band.…`; nothing when no transmitter says how far it can be
    tuned."""
    from showday.radio.antennas import antenna_fields

    ranges = [(each.low, each.high) for each in rig.transmitters if each.low is not None and each.high is not None]
    if not ranges:
        return {}
    low, high = min(low for low, _ in ranges), max(high for _, high in ranges)
    return antenna_fields(round(low * HZ_PER_MHZ), round(high * HZ_PER_MHZ))


def planned_fields(desk: Desk, kind: str, thing: str, walk: str = "") -> dict[str, str]:
    """The sentence fields that tonight's plan knows for a thing of the rig, in MHz; nothing without a plan.

    In a fault walk that took a spare already, that one stands, so that its sentences stay as they were.
    """
    book = air(desk)
    plan = tonight_plan(desk)
    mine = book.taken_in(walk)
    if plan is None and not mine:
        return {}
    transmitter = transmitter_of(desk.rig, kind, thing)
    known: dict[str, str] = {}
    at = plan.now(transmitter) if plan else None
    if at is not None:
        known |= {"transmitter.planned": mhz(at), "pack.planned": mhz(at)}
    spares = spares_for(plan, desk.rig, transmitter) if plan else []
    if mine:
        known[SPARE] = mhz(mine[-1][1].hz)
    elif spares:
        known[SPARE] = mhz(spares[0].hz)
    else:
        words = missing_words(plan, transmitter).rstrip(".")
        known["spare.missing"] = words[:1].lower() + words[1:]
    return known


def spares_left(desk: Desk, thing: tuple[str, str], walk: str) -> int | None:
    """How many spare frequencies there are for a thing of the rig (kind and id); None without a plan for tonight.

    What the fault walk itself took counts as still there, so that the number stands as long as the walk does.
    """
    plan = tonight_plan(desk)
    if plan is None:
        return None
    mine = [taken for id, taken in air(desk).taken_in(walk) if id == plan.id]
    return len(mine) + len(spares_for(plan, desk.rig, transmitter_of(desk.rig, *thing)))


# -- which there are ---------------------------------------------------------------------------------------------


def spares_for(plan: KeptPlan, rig: Rig, transmitter: str) -> list[KeptCarrier]:
    """The unused spares that a transmitter can be set to, in the plan's order.

    Without a name, those first that as many of the plan's transmitters as possible can be set to.
    """
    free = [spare for spare in plan.spares if not spare.used]
    if transmitter:
        return [spare for spare in free if reaches(rig, spare, transmitter)]
    names = [carrier.name for carrier in plan.carriers]
    return sorted(free, key=lambda spare: -sum(reaches(rig, spare, name) for name in names))


def reaches(rig: Rig, spare: KeptCarrier, transmitter: str) -> bool:
    """Whether a transmitter can be set to a spare: as the plan says, else as the rig file says, else yes."""
    if spare.fits:
        return transmitter in spare.fits
    unit = next((each for each in rig.transmitters if each.name == transmitter), None)
    if unit is None or unit.low is None or unit.high is None:
        return True
    return unit.low * HZ_PER_MHZ <= spare.hz <= unit.high * HZ_PER_MHZ


def missing_words(plan: KeptPlan | None, transmitter: str) -> str:
    """That there is no spare, and why."""
    if plan is None:
        return "No frequency plan is kept for tonight."
    whom = f" for {transmitter}" if transmitter else ""
    return f"The plan has no spare left{whom}." if plan.spares else "The plan has no spares."


# -- by hand -----------------------------------------------------------------------------------------------------


def take_spare(desk: Desk, transmitter: str, *, hz: int | None = None, run: Session | None = None) -> KeptPlan:
    """A transmitter goes to its next spare, or to the one at `hz`; the plan as it stands then, noted in the open run.

    NotAllowed when there is no such spare.
    """
    plan = tonight_plan(desk)
    free = spares_for(plan, desk.rig, transmitter) if plan else []
    spare = next((each for each in free if hz is None or each.hz == hz), None)
    if plan is None or spare is None:
        raise NotAllowed(missing_words(plan, transmitter), "Make a new plan.")
    desk.record(plan.id, SpareTaken(spare.hz, transmitter, run.state.run if run else ""))
    if run is not None:
        note_in(run, f"Spare {mhz(spare.hz)} MHz taken by {transmitter}")
    return air(desk).plans[plan.id]


def give_back(desk: Desk, transmitter: str, *, run: Session | None = None) -> KeptPlan:
    """The last spare that a transmitter took is ready again, and it stands where it stood before; noted in the open run.

    NotAllowed when it stands on no spare.
    """
    plan = tonight_plan(desk)
    taken = [each for each in plan.taken if each.transmitter == transmitter] if plan else []
    if plan is None or not taken:
        raise NotAllowed(f"{transmitter} stands on no spare of tonight's plan.")
    hz = taken[-1].hz
    for each in taken:
        if each.hz == hz:  # two laptops may have noted the same
            desk.record(plan.id, SpareReturned(each.id))
    if run is not None:
        note_in(run, f"Spare {mhz(hz)} MHz given back by {transmitter}")
    return air(desk).plans[plan.id]


# -- in a fault walk ----------------------------------------------------------------------------------------------


def spare_moves(desk: Desk, before: RunState, after: RunState, event: ev.Event) -> list[tuple[str, ev.Event]]:
    """What an event of a run does to the spares of a plan: entries (stream, event) to be written with it."""
    if isinstance(event, ev.SoundRestored) and after.walk is not None:
        return _taken(desk, after, after.walk, event)
    if isinstance(event, ev.Undone) and before.walk is not None and before.walk.restored:
        now = after.walk
        if now is None or now.walk != before.walk.walk or not now.restored:
            mine = air(desk).taken_in(before.walk.walk)
            return [(plan, SpareReturned(taken.id)) for plan, taken in mine]
    return []


def _taken(desk: Desk, state: RunState, walk: WalkState, event: ev.SoundRestored) -> list[tuple[str, ev.Event]]:
    plan = tonight_plan(desk)
    if plan is None or not event.node or air(desk).taken_in(walk.walk) or not _takes_one(desk, state, event):
        return []
    transmitter = transmitter_of(desk.rig, *walk.thing)
    spares = spares_for(plan, desk.rig, transmitter)
    return [(plan.id, SpareTaken(spares[0].hz, transmitter, state.run, walk.walk))] if spares else []


def _takes_one(desk: Desk, state: RunState, event: ev.SoundRestored) -> bool:
    if is_frequency(event.uses):
        return True
    try:
        return SPARE in fields_in(_sentence(desk.tree_of(state), event.node))
    except ShowdayError:
        return False


def _sentence(tree: Tree, node: str) -> str:
    """What a fix or the cure of a cause says to do, its fields not filled in."""
    for each in tree.nodes():
        if id_of(each) == node and isinstance(each, Fix):
            return str(each.fix)
        if id_of(each) == node and isinstance(each, Leaf):
            cause = tree.cause(each.cause)
            return str(cause.cure) if cause else ""
    return ""

"""`showday radio spare`: where tonight's transmitters stand, and a spare that takes over or is given back."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from showday.commands import Add
from showday.errors import NotAllowed
from showday.text.safe import one_line

if TYPE_CHECKING:
    from showday.rig.model import Rig
    from showday.run.air import KeptPlan

_SPARE = "Without a name it says where every transmitter of tonight's plan stands, and which spares are ready."


def add_spare(inside: Any, add: Add) -> Any:
    """Declare it."""
    spare = add(inside, "spare", "set a transmitter to its next spare, or back again", _SPARE)
    spare.add_argument("transmitter", nargs="*", metavar="TRANSMITTER", help="the one that is in trouble")
    spare.add_argument("--back", action="store_true", help="give its spare back: it stands where it stood before")
    spare.add_argument("--rig", metavar="FILE", help="the rig file whose transmitters they are")
    spare.add_argument("--json", action="store_true", help="print the answer as JSON")
    return spare


def do_spare(args: argparse.Namespace) -> int:
    """Say it, or do it and say what to set."""
    from showday.commands.radio_keep import kept_desk
    from showday.commands.telling import show, show_json
    from showday.radio_desk import tonight_plan
    from showday.spares import give_back, missing_words, take_spare

    with kept_desk(args.rig, _tell) as desk:
        plan, rig = tonight_plan(desk), desk.rig
        if plan is None:
            raise NotAllowed(missing_words(None, ""), "Make one: showday radio plan --keep.")
        name = _named(plan, " ".join(args.transmitter)) if args.transmitter or args.back else ""
        if name:
            plan = (give_back if args.back else take_spare)(desk, name)
    if args.json:
        show_json(_data(plan, rig))
    else:
        show("\n".join([*_to_set(plan, name), *_lines(plan, rig)]))
    return 0


def _tell(sentence: str) -> None:
    print(f"showday: {one_line(sentence, 500)}", file=sys.stderr)


def _named(plan: KeptPlan, typed: str) -> str:
    from showday.text.problem import nearest

    names = [carrier.name for carrier in plan.carriers if carrier.name]
    found = next((name for name in names if name.casefold() == typed.casefold()), None)
    if found is None:
        close = nearest(typed, names)
        known = f"Is it {close}?" if close else f"The plan has: {', '.join(names) or 'carriers without names'}."
        said = f"No transmitter of tonight's plan is called '{typed}'." if typed else "Name the transmitter."
        raise NotAllowed(said, known)
    return found


def _to_set(plan: KeptPlan, name: str) -> list[str]:
    from showday.radio.units import mhz

    at = plan.now(name) if name else None
    return [f"Set {name} and its packs to {mhz(at)} MHz.", ""] if at is not None else []


def _lines(plan: KeptPlan, rig: Rig) -> list[str]:
    from showday.radio.units import mhz
    from showday.spares import spares_for
    from showday.text.cautions import RADIO_LAW

    lines = _shared(plan)
    for carrier in plan.carriers:
        at = plan.now(carrier.name) or carrier.hz
        ready = ", ".join(mhz(spare.hz) for spare in spares_for(plan, rig, carrier.name))
        moved = f" (planned {mhz(carrier.hz)})" if at != carrier.hz else ""
        lines.append(f"{carrier.name or 'A carrier'}: {mhz(at)} MHz{moved}; spares ready: {ready or 'none'}")
    return [*lines, RADIO_LAW]


def _shared(plan: KeptPlan) -> list[str]:
    """A sentence for each frequency on which two transmitters stand: two laptops can take the same spare unknowingly."""
    from showday.radio.units import mhz

    on: dict[int, list[str]] = {}
    for carrier in plan.carriers:
        on.setdefault(plan.now(carrier.name) or carrier.hz, []).append(carrier.name or "a carrier")
    return [
        f"{' and '.join(names)} stand on the same {mhz(at)} MHz: give one of them another spare, or its own back."
        for at, names in on.items()
        if len(names) > 1
    ]


def _data(plan: KeptPlan, rig: Rig) -> dict[str, Any]:
    from showday.radio.units import HZ_PER_MHZ
    from showday.spares import spares_for

    return {
        "transmitters": [
            {
                "transmitter": carrier.name,
                "planned_mhz": carrier.hz / HZ_PER_MHZ,
                "mhz": (plan.now(carrier.name) or carrier.hz) / HZ_PER_MHZ,
                "spares_mhz": [spare.hz / HZ_PER_MHZ for spare in spares_for(plan, rig, carrier.name)],
            }
            for carrier in plan.carriers
        ]
    }

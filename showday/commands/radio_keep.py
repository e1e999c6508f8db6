"""Keeping a sweep or a plan from the command line: it is tonight's from then on, in the log of this computer.

Nothing is written into a run, which may be open in another window: the run notes by itself what was kept meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from showday.radio_desk import as_kept, keep_plan, keep_sweep, tonight_sweep
from showday.saving import Tell, the_log

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.radio.occupancy import Occupancy
    from showday.radio.plan_ask import Ask, Plan


def keep_plan_from_command(ask: Ask, plan: Plan, *, rig: str | None, reason: str, tell: Tell) -> str:
    """What `showday radio plan --keep` does; a sentence that says where it is kept.

    `rig` is the rig file that was named, `reason` why this plan. `tell` says what goes wrong on the way.
    """
    with kept_desk(rig, tell) as desk:
        sweep = tonight_sweep(desk)
        keep_plan(desk, as_kept(plan, ask, reason=reason, sweep=sweep.id if sweep else ""))
        return f"The plan is kept for {_where(desk)}."


def keep_sweep_from_command(found: Occupancy, *, rig: str | None, tell: Tell) -> str:
    """What `showday radio sweep --keep` does; a sentence that says where it is kept."""
    with kept_desk(rig, tell) as desk:
        keep_sweep(desk, found)
        return f"The sweep is kept for {_where(desk)}."


@contextmanager
def kept_desk(rig: str | None, tell: Tell) -> Iterator[Desk]:
    """A desk over the log of this computer, for a command that writes into it."""
    from showday.clockwork import SystemClock, new_id
    from showday.opening import Asked, open_desk
    from showday.run.session import World

    with the_log(tell) as keeper:
        yield open_desk(Asked(rig=rig), keeper, World(keeper, SystemClock(), new_id), tell, rig_needed=False)


def _where(desk: Desk) -> str:
    show = desk.tonight()
    venue = desk.book().venue(show.venue) if show else None
    return f"tonight at {venue.name}" if venue else "tonight, without a show"

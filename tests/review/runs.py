"""Small runs of one line check, for what is read back of them."""

from __future__ import annotations

from showday.fault.walk import NO_CHANGE
from showday.run import events as ev
from showday.run.plan import Plan, PlannedReading, PlannedSection, PlannedStep
from showday.run.state import RunState, WalkState, replay

KICK = ("peak, input 1, Kick", "dBFS")
"""What the reading of the first step is called, and its unit."""

STEP = PlannedStep(
    "signal@1", "signal", 0, "Make a sound into Kick", reading=PlannedReading("dBFS", "peak", -24.0, -12.0),
    about="input 1, Kick", kind="input", thing="1", if_wrong=("no-signal",),
)  # fmt: skip
OTHER = PlannedStep("spare", "spare", 0, "Try the spare pack", if_wrong=("dropouts",))
PLAN = Plan("line-check", "Line check", (PlannedSection("Every input"),), (STEP, OTHER))
OUTLINE = (("plug", ("restored", NO_CHANGE)), ("swap", ("restored", NO_CHANGE)))


def words(walk: WalkState, name: str) -> str:
    return {"plug": "Push the plug in", "swap": "Swap the cable"}.get(name, name)


def entries_of(*events: ev.Event, run: str = "r1", hour: int = 18) -> list[ev.Entry]:
    """Entries ten seconds apart."""
    started = ev.RunStarted("line-check", "Line check", "")
    return [
        ev.Entry(f"{run}-{n}", run, n, f"2026-05-01T{hour}:{n // 6:02d}:{n % 6 * 10:02d}.000Z", n * 10.0, event)
        for n, event in enumerate((started, *events))
    ]


def a_walk(*answers: tuple[str, str], by: str = "", walk: str = "w1", step: str = "signal@1") -> list[ev.Event]:
    """A walk about no signal, at the kick's step."""
    about = ("input 1, Kick", ("input", "1")) if step else ("", ("", ""))
    made: list[ev.Event] = [ev.WalkOpened(walk, "no-signal", "No signal", "", OUTLINE, step, *about)]
    made += [ev.WalkAnswered(walk, node, answer) for node, answer in answers]
    made += [ev.SoundRestored(walk, by)] if by else []
    return [*made, ev.WalkEnded(walk, ev.RESTORED if by else ev.UNSOLVED)]


def state_of(entries: list[ev.Entry]) -> RunState:
    return replay(entries[0].stream, PLAN, entries)


BEGUN = ev.StepBegun("signal@1")
GOOD, FAULT = ev.StepAnswered("signal@1", ev.GOOD), ev.StepAnswered("signal@1", ev.FAULT)
WALK = a_walk(("plug", "restored"), by="plug")

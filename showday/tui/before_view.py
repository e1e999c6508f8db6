"""What the run screen says of earlier visits: what is other than last time, what to look out for."""

from __future__ import annotations

from showday.review.before import HereBefore, differs
from showday.run import events as ev
from showday.run.plan import PlannedStep
from showday.run.state import RunState
from showday.tui.lines import Line, say


def before_lines(before: HereBefore, state: RunState, step: PlannedStep | None) -> list[Line]:
    """Of the step that was just answered, when it is a fault only now; of the step before the person."""
    lines: list[Line] = []
    last = next((e.event for e in reversed(state.history) if not isinstance(e.event, ev.StepBegun)), None)
    if isinstance(last, ev.StepAnswered) and last.result == ev.FAULT and (step is None or last.step != step.key):
        done = state.planned(last.step)
        words = differs(before, state, done)
        lines += say("banner", f"{done.about or done.do}: {words}" if words else "")
    return [*lines, *say("banner", differs(before, state, step) if step else "")]

"""What differs from last time, while a run goes on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from showday.review.before import HereBefore, differs, here_before
from showday.run import events as ev
from showday.run.plan import Plan
from showday.run.state import RunState, replay
from tests.review.runs import BEGUN, FAULT, GOOD, PLAN, STEP, WALK, entries_of, state_of

NOTHING = HereBefore()


def read(value: float, inside: bool | None = True) -> ev.ReadingTaken:
    return ev.ReadingTaken("signal@1", value, "dBFS", inside)


def before(*runs: list[ev.Event]) -> HereBefore:
    """Earlier visits, newest first."""
    states = [(f"2026-05-{20 - n:02d}", state_of(entries_of(*events, run=f"r{n}"))) for n, events in enumerate(runs)]
    return here_before(states, lambda walk: "restored: push the plug in")


def now(*events: ev.Event) -> RunState:
    return state_of(entries_of(BEGUN, *events, run="now"))


@pytest.mark.parametrize(
    ("earlier", "tonight", "words"),
    [
        ([[BEGUN, GOOD]], [FAULT], "New here: it was good last time (2026-05-20)."),
        ([[BEGUN, FAULT], [BEGUN, GOOD]], [FAULT], ""),
        ([[BEGUN, *WALK]], [], "Last time here it was a fault (2026-05-20), restored: push the plug in."),
        ([[BEGUN, *WALK]], [GOOD], ""),
        ([[BEGUN, FAULT, GOOD]], [], "Last time here it was a fault (2026-05-20), good later."),
        ([[BEGUN, read(-18), GOOD], [BEGUN, read(-18), GOOD]], [read(-10, False)],
         "-10 dBFS is higher than ever here: always -18 on 2 visits."),
        ([[BEGUN, GOOD]], [GOOD], ""),
        ([[BEGUN, read(-18), GOOD], [BEGUN, read(-16), GOOD]], [read(-10, False)], "-10 dBFS is higher than ever here"),
        ([[BEGUN, read(-18), GOOD], [BEGUN, read(-16), GOOD]], [read(-23)], "-23 dBFS is lower than ever here"),
        ([[BEGUN, read(-18), GOOD], [BEGUN, read(-16), GOOD]], [read(-17)], ""),
        ([[BEGUN, read(-18), GOOD]], [read(-10, False)], "-10 dBFS is outside; it was -18 last time"),
        ([[BEGUN, read(-18), GOOD]], [read(-14)], ""),
        ([[BEGUN, read(-9, False), GOOD]], [read(-10, False)], ""),
        ([], [FAULT], ""),
    ],
    ids=[
        "good then, fault now", "fault then and now", "fault then, not answered yet", "fault then, good now",
        "put right then, not answered yet", "above what it always was",
        "good then and now", "above all visits", "below all visits", "among the visits", "outside after one inside",
        "inside after one", "outside after outside", "never here",
    ],
)  # fmt: skip
def test_what_differs(earlier: list[list[ev.Event]], tonight: list[ev.Event], words: str) -> None:
    said = differs(before(*earlier), now(*tonight), STEP)
    assert said.startswith(words) and bool(said) == bool(words)


def test_another_input_on_the_same_number_is_not_the_same_line() -> None:
    moved = replace(STEP, about="input 1, Snare")
    plan = Plan("line-check", "Line check", PLAN.sections, (moved,))
    state = replay("now", plan, entries_of(BEGUN, FAULT, run="now"))
    assert differs(before([BEGUN, GOOD]), state, moved) == ""


def test_what_was_taken_back_last_time_does_not_count() -> None:
    earlier = before([BEGUN, FAULT, ev.Undone("r0-2"), GOOD])
    assert differs(earlier, now(FAULT), STEP).startswith("New here")


def test_nothing_known_says_nothing() -> None:
    assert differs(NOTHING, now(FAULT), STEP) == ""

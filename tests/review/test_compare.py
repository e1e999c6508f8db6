"""This place against the act's usual, trends, what recurs, what helped, what leaving out cost."""

from __future__ import annotations

import pytest

from showday.fault.walk import NO_CHANGE
from showday.review.compare import SECONDS_UNIT, bars, trend, unusual
from showday.review.left_out import Evening, LeftOut, left_out, left_out_lines
from showday.review.measured import Measured, measured
from showday.review.recurring import helped, recurring
from showday.run import events as ev
from tests.review.runs import BEGUN, FAULT, GOOD, KICK, OUTLINE, PLAN, WALK, a_walk, entries_of, state_of, words

CHECK = ("Line check", "Every input")


def reading(*values: float) -> list[Measured]:
    """One run a value."""
    return [Measured({KICK: (value, None)}, {}) for value in values]


def section(*seconds: float) -> list[Measured]:
    """One run a time."""
    return [Measured({}, {CHECK: value}) for value in seconds]


@pytest.mark.parametrize(
    ("here", "elsewhere", "word"),
    [
        (reading(-9), reading(-18, -17, -19, -18), "HIGHER"),
        (reading(-30, -28), reading(-18, -17, -19, -18), "LOWER"),
        (reading(-17), reading(-18, -17, -19, -18), ""),
        (reading(-9), reading(-18, -17, -19), ""),
        (section(600), section(300, 310, 290), "LONGER"),
        (section(200), section(300, 310, 290), "SHORTER"),
        (section(350), section(300, 310, 290), ""),
        (section(80), section(30, 31, 29), ""),
        (section(600), section(300, 310), ""),
        (reading(-9), [], ""),
    ],
    ids=[
        "above all", "below all", "among them", "three are too few", "twice as long", "a third shorter",
        "a sixth longer", "under a minute more", "two runs are too few", "nothing elsewhere",
    ],
)  # fmt: skip
def test_what_is_other_here(here: list[Measured], elsewhere: list[Measured], word: str) -> None:
    found = unusual(here, elsewhere)
    assert [word in one.text for one in found] == ([True] if word else [])


def test_the_middle_of_the_visits_is_compared() -> None:
    (found,) = unusual(reading(-9, -18, -10), reading(-18, -17, -19, -20, -18))
    assert (found.here, found.low, found.high, found.usual, found.times) == (-10, -20, -17, -18, 5)


def test_what_is_farthest_outside_by_its_own_spread_stands_first() -> None:
    peak, supply = ("a peak", "dBFS"), ("supply", "V")
    usual = [
        Measured({peak: (p, None), supply: (v, None)}, {})
        for p, v in ((-19, 229), (-16, 230), (-18, 231), (-17, 230))
    ]
    found = unusual([Measured({peak: (-20, None), supply: (220, None)}, {})], usual)
    assert [one.unit for one in found] == ["V", "dBFS"]


def test_sections_are_told_in_minutes() -> None:
    (found,) = unusual(section(600), section(300, 310, 290))
    assert found.unit == SECONDS_UNIT and "10 min here" in found.text and "5 min" in found.text


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ([230, 229], ""),
        ([230, 229, 231], "steady"),
        ([0, 0, 0], "steady"),
        ([10, 12, 15], "rising"),
        ([10, 10, 15], "rising"),
        ([15, 12, 10], "falling"),
        ([-30, -20, -10], "rising"),
        ([12, 10, 15], "highest so far"),
        ([12, 15, 10], "lowest so far"),
        ([12, 15, 10, 12], "up and down"),
    ],
)
def test_readings_as_a_trend(values: list[float], words: str) -> None:
    assert trend(values).startswith(words) and bool(trend(values)) == bool(words)


def test_bars_span_the_readings_in_their_order() -> None:
    shown = bars([1, 5, 3, 9])
    assert len(shown) == 4 and shown[0] == "▁" and shown[3] == "█" and shown[0] < shown[2] < shown[1] < shown[3]
    assert len(set(bars([4, 4, 4]))) == 1


def test_numbers_of_a_run_leave_out_what_was_taken_back() -> None:
    run = entries_of(BEGUN, ev.ReadingTaken("signal@1", -3.0, "dBFS", False), ev.Undone("r1-2"),
                     ev.ReadingTaken("signal@1", -18.0, "dBFS", True), GOOD)  # fmt: skip
    found = measured(PLAN, run)
    assert found.readings == {KICK: (-18.0, True)}
    assert found.seconds == {("Line check", "Every input"): 40.0}


def test_a_line_that_was_wrong_twice_recurs_with_what_helped() -> None:
    first = state_of(entries_of(BEGUN, *a_walk(("plug", NO_CHANGE), ("swap", "restored"), by="swap"), run="r1"))
    second = state_of(entries_of(BEGUN, *a_walk(("swap", "restored"), by="swap"), run="r2"))
    third = state_of(entries_of(BEGUN, GOOD, run="r3"))
    (found,) = recurring([("2026-05-03", third), ("2026-05-02", second), ("2026-05-01", first)], words)
    assert (found.wrong, found.looked, found.last) == (2, 3, "2026-05-02")
    assert found.helped == (("Swap the cable", 2),)
    assert "Make a sound into Kick (input 1, Kick): wrong 2 of 3 times" in found.text


@pytest.mark.parametrize(
    "runs", [[[BEGUN, FAULT]], [[BEGUN, FAULT], [BEGUN, GOOD]], [a_walk(), a_walk()]],
    ids=["once", "once of twice", "walks without an answer"],
)  # fmt: skip
def test_what_was_wrong_once_does_not_recur(runs: list[list[ev.Event]]) -> None:
    states = [("2026-05-01", state_of(entries_of(*events, run=f"r{n}"))) for n, events in enumerate(runs)]
    assert recurring(states, words) == ()


def test_a_fault_outside_of_any_step_recurs_too() -> None:
    runs = [state_of(entries_of(*a_walk(("plug", NO_CHANGE), step=""), run=f"r{n}")) for n in (1, 2)]
    (found,) = recurring([("2026-05-01", run) for run in runs], words)
    assert found.text == "No signal: wrong 2 times, last 2026-05-01"


def test_fixes_are_counted_by_what_they_did() -> None:
    runs = [
        state_of(entries_of(BEGUN, *a_walk(("plug", NO_CHANGE), ("swap", "restored"), by="swap"), run="r1")),
        state_of(entries_of(BEGUN, *a_walk(("swap", NO_CHANGE)), run="r2")),
    ]
    found = {one.fix: (one.worked, one.tried) for one in helped(runs, words)}
    assert found == {"Swap the cable": (1, 2), "Push the plug in": (0, 1)}
    assert [one.text for one in helped(runs, words)] == [
        "No signal: Swap the cable: helped 1 of 2 times",
        "No signal: Push the plug in: did not help",
    ]


def evening(entries: list[ev.Entry], night: str = "s1") -> Evening:
    return Evening(night, "2026-05-01", state_of(entries), entries)


LEFT = ev.StepAnswered("signal@1", ev.LEFT_OUT, "no time")


@pytest.mark.parametrize(
    ("earlier", "later", "cost"),
    [
        ([BEGUN, LEFT], WALK, True),
        ([BEGUN, *WALK, LEFT], [], False),
        ([BEGUN, LEFT], a_walk(("plug", "restored"), by="plug", step=""), False),
        ([BEGUN, LEFT], [], False),
    ],
    ids=["the same line failed later", "it had failed before", "something else failed", "nothing failed"],
)
def test_what_leaving_out_cost(earlier: list[ev.Event], later: list[ev.Event], cost: bool) -> None:
    runs = [evening(entries_of(*earlier, run="r1")), evening(entries_of(*later, run="r2", hour=20))]
    (found,) = left_out(runs, lambda walk: "restored")
    assert bool(found.then) is cost
    (line,) = left_out_lines([found])
    assert "no time" in line and ("later that night: No signal" in line) is cost


def test_another_night_costs_nothing() -> None:
    runs = [evening(entries_of(BEGUN, LEFT, run="r1")), evening(entries_of(*WALK, run="r2", hour=20), "s2")]
    assert [one.then for one in left_out(runs, lambda walk: "")] == [()]


def test_a_step_about_nothing_in_particular_costs_by_the_fault_it_leads_to() -> None:
    opened = ev.WalkOpened("w1", "dropouts", "Drop-outs", "", OUTLINE)
    walk = [opened, ev.WalkAnswered("w1", "plug", NO_CHANGE), ev.WalkEnded("w1", ev.UNSOLVED)]
    left = ev.StepAnswered("spare", ev.LEFT_OUT, "late")
    runs = [evening(entries_of(ev.StepBegun("spare"), left, *walk))]
    assert left_out(runs, lambda walk: "not solved")[0].then == ("Drop-outs, not solved, 20 s",)


def test_a_fault_that_nobody_walked_is_a_cost_too() -> None:
    left = ev.StepAnswered("signal@1", ev.LEFT_OUT, "no time")
    wrong = ev.StepAnswered("signal@1", ev.FAULT, "dead in the first song")
    runs = [
        evening(entries_of(BEGUN, left, run="r1")),
        evening(entries_of(BEGUN, wrong, GOOD, run="r2", hour=20)),
    ]
    assert [one.then for one in left_out(runs, lambda walk: "")] == [
        ("Make a sound into Kick (input 1, Kick), dead in the first song",)
    ]


def test_a_step_left_out_for_several_things_is_told_once() -> None:
    names = ("input 1, Kick", "input 2, Snare", "input 3, Hi-hat")
    found = [LeftOut("2026-05-01", f"Listen ({name})", "no time", (), "rest", name) for name in names]
    found.append(
        LeftOut("2026-05-01", "Listen (input 4, Tom)", "no time", ("Hum, restored",), "rest", "input 4, Tom")
    )
    assert left_out_lines(found) == [
        "2026-05-01  Listen (input 1, Kick), and the same for input 2, Snare; input 3, Hi-hat: no time; "
        "nothing came of it that night",
        "2026-05-01  Listen (input 4, Tom): no time; later that night: Hum, restored",
    ]


def test_what_was_wrong_and_put_right_is_still_remembered() -> None:
    """A fault that was answered at its step and cured by hand, without a fault tree, at two visits."""
    cured = [(day, state_of(entries_of(BEGUN, FAULT, GOOD, run=run))) for day, run in (("d1", "r1"), ("d2", "r2"))]
    (found,) = recurring(cured, words)
    assert (found.wrong, found.looked, found.last) == (2, 2, "d2")

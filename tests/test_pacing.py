"""A run that keeps time: the forecast at each moment, and what it proposes to leave out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showday.clock.breaks import Breaks
from showday.clock.risk import WRONG_WORDS, chance_wrong
from showday.clock.times import learn_time
from showday.pacing import SURE, Pace
from showday.past_times import Past, past_of
from showday.run import events as ev
from showday.run.plan import Plan
from showday.run.progress import progress
from showday.run.session import Session
from showday.run.state import RunState
from tests.support.world import Evening, plan_of, rig_of

RIG = rig_of("rig: r\ninputs: [Kick, Bass, Vocal]")
BOOK = plan_of(
    """
playbook: p
title: Line check
sections:
  - title: First
    steps:
      - {id: scene, do: Load the scene, takes: 20s}
      - {id: packs, do: Turn the packs down, takes: 10s, must: yes}
  - title: Every input
    for_each: input
    steps:
      - {id: signal, do: "Sound {input.name}", takes: 12s}
      - {id: rest, do: "Listen to {input.name}", takes: 6s}
  - title: Last
    steps:
      - {id: house, do: Ask the house, takes: 40s}
      - {id: call, do: Call it complete}
""",
    RIG,
)
KEYS = [step.key for step in BOOK.steps]


def walked(
    evening: Evening, run: str, seconds: Mapping[str, float], *, faults: frozenset[str] = frozenset()
) -> RunState:
    """A run that answers every step after so many seconds, by key or id."""
    session = evening.start(BOOK, run)
    for step in BOOK.steps:
        session.show_current()
        evening.clock.advance(seconds.get(step.key, seconds.get(step.id, 10.0)))
        session.answer(ev.FAULT if step.key in faults else ev.GOOD, confirmed=step.must)
    return session.finish()


@pytest.fixture
def evening() -> Evening:
    return Evening()


@pytest.fixture
def session(evening: Evening) -> Session:
    made = evening.start(BOOK)
    made.show_current()
    return made


def test_without_a_past_the_playbooks_times_speak(session: Session) -> None:
    outlook = Pace(BOOK, Past(), seed=1).outlook(session.state, session.elapsed)
    usual = sum(step.takes or 15.0 for step in BOOK.steps)
    assert usual < outlook.work_p50 < 1.25 * usual
    assert outlook.work_p50 <= outlook.p50
    assert outlook.p50 < outlook.p80
    assert outlook.work_p80 < outlook.p80
    assert (outlook.runs, outlook.open, outlook.slow) == (0, len(KEYS), 1.0)
    assert (outlook.left, outlook.chance, outlook.fits) == (None, None, True)


def test_five_runs_speak_for_themselves(evening: Evening) -> None:
    runs = [walked(evening, f"r{i}", {"scene": s}) for i, s in enumerate((40, 50, 90, 45, 60))]
    pace = Pace(BOOK, past_of("p", runs), seed=1)
    assert [round(pace.times["scene"].seconds(p), 1) for p in (0.5, 0.8, 0.9)] == [54.6, 75.7, 92.9]


def test_the_chance_is_that_of_being_over_by_then(session: Session) -> None:
    pace = Pace(BOOK, Past(), seed=1)
    at = pace.outlook(session.state, session.elapsed)
    for left, chance in ((at.p50, 0.5), (at.p80, SURE), (0.0, 0.0), (-60.0, 0.0), (1e6, 1.0)):
        outlook = pace.outlook(session.state, session.elapsed, left)
        assert outlook.chance == pytest.approx(chance, abs=0.01)
        assert outlook.fits == (left >= at.p80)


def test_each_step_done_leaves_less_and_the_end_leaves_nothing(evening: Evening, session: Session) -> None:
    pace = Pace(BOOK, Past(), seed=1)
    seen = []
    for step in BOOK.steps:
        session.show_current()
        seen.append(pace.outlook(session.state, session.elapsed))
        evening.clock.advance(step.takes or 15.0)
        session.answer(ev.GOOD, confirmed=step.must)
    end = pace.outlook(session.state, session.elapsed, 0.0)
    assert all(one.work_p50 > other.work_p50 for one, other in pairwise(seen))
    assert (end.p80, end.chance, end.open) == (0.0, 1.0, 0)


def test_a_slow_evening_is_told_and_forecast(evening: Evening) -> None:
    runs = [walked(evening, f"r{i}", {"scene": 20 + i, "packs": 10 + i, "signal": 12 + i}) for i in range(6)]
    pace = Pace(BOOK, past_of("p", runs), seed=1)

    def after(factor: float) -> tuple[float, float]:
        session = evening.start(BOOK, f"at {factor}")
        for key in KEYS[:4]:
            session.show_current()
            evening.clock.advance(factor * {"scene": 22, "packs": 12, "signal": 14}.get(key.split("@")[0], 10))
            session.answer(ev.GOOD, confirmed=key == "packs")
        told = pace.outlook(session.state, session.elapsed)
        return told.slow, told.work_p50

    assert after(0.6)[0] < 0.95 < 1.05 < after(1.6)[0]
    assert after(0.6)[1] < after(1.0)[1] < after(1.6)[1]


def test_a_step_under_way_gets_shorter_and_then_longer_than_one_thought(evening: Evening, session: Session) -> None:
    pace = Pace(BOOK, Past(), seed=1)
    begun = pace.outlook(session.state, session.elapsed)
    evening.clock.advance(10)
    soon = pace.outlook(session.state, session.elapsed)
    evening.clock.advance(110)
    stuck = pace.outlook(session.state, session.elapsed)
    assert soon.work_p50 < begun.work_p50 < stuck.work_p50


def test_a_step_put_off_is_still_to_come(evening: Evening, session: Session) -> None:
    pace = Pace(BOOK, Past(), seed=1)
    session.answer(ev.LATER)
    assert pace.outlook(session.state, session.elapsed).open == len(KEYS)
    session.show_current()
    session.answer(ev.GOOD, confirmed=True)
    assert pace.outlook(session.state, session.elapsed).open == len(KEYS) - 1


def test_steps_that_were_clicked_through_do_not_make_the_evening_quick(evening: Evening, session: Session) -> None:
    pace = Pace(BOOK, Past(), seed=1)
    for _ in range(3):
        session.show_current()
        evening.clock.advance(0.7)
        session.answer(ev.GOOD, confirmed=True)
    session.show_current()
    outlook = pace.outlook(session.state, session.elapsed)
    usual = sum(step.takes or 15.0 for step in BOOK.steps[3:])
    assert outlook.slow == 1.0
    assert usual < outlook.work_p50 < 1.25 * usual


def test_a_fault_walk_that_is_open_still_takes_its_time(evening: Evening, session: Session) -> None:
    """Five walks of two minutes each: after 30 s of one, a minute and a half of it is still to come."""
    length = learn_time([120.0] * 5)
    pace = Pace(BOOK, replace(Past(), walks=Breaks(5, 3600.0, length)), seed=1)
    before = pace.outlook(session.state, session.elapsed)
    session.record(ev.WalkOpened("w", "hum", "Hum", "hash", (("look", ("yes", "no")),), step="scene"))
    evening.clock.advance(30)
    during = pace.outlook(session.state, session.elapsed)
    assert during.work_p50 == pytest.approx(before.work_p50)
    assert during.p50 - before.p50 == pytest.approx(90, abs=2)
    session.record(ev.SoundRestored("w", ""))
    assert pace.outlook(session.state, session.elapsed).p50 == pytest.approx(before.p50)


WAITING = plan_of(
    """
playbook: p
title: Set
by: changeover
sections:
  - title: Changeover
    steps:
      - {id: plugs, do: Plug the tails, takes: 60s}
  - title: First song
    waits: the first song
    steps:
      - {id: faces, do: Look at every face, takes: 10s}
      - {id: meters, do: Look at the meters, takes: 10s}
""",
    RIG,
)


def test_steps_that_wait_for_a_moment_are_not_forecast(evening: Evening) -> None:
    session = evening.start(WAITING)
    session.show_current()
    pace = Pace(WAITING, Past(), seed=1)
    outlook = pace.outlook(session.state, session.elapsed, 600.0)
    assert (outlook.open, outlook.waits) == (1, "the first song")
    assert outlook.work_p50 == pytest.approx(60, rel=0.1)
    assert progress(session.state).usual_left == 60.0
    session.answer(ev.GOOD)
    after = pace.outlook(session.state, session.elapsed, 600.0)
    assert (after.open, after.waits, after.chance, after.fits) == (0, "the first song", None, True)
    evening.clock.advance(240)
    session.answer(ev.GOOD)
    assert "faces" not in past_of("p", [session.state]).times, "a song's length is no pace"


def test_the_same_seed_gives_the_same_outlook(session: Session) -> None:
    def told(seed: int) -> tuple[object, object]:
        pace = Pace(BOOK, Past(), seed=seed)
        return pace.outlook(session.state, session.elapsed, 90.0), pace.proposal(session.state, session.elapsed, 90.0)

    assert told(7) == told(7)
    assert told(7)[0] != told(8)[0]


Words = tuple[str, str, tuple[str, ...]]
"""Risk, harm, and the steps that are needed before."""


def staked(words: Mapping[str, Words]) -> Plan:
    """The plan with an author's words, by id of the step."""
    silent: Words = ("", "", ())
    each = [(step, words.get(step.id, silent)) for step in BOOK.steps]
    return replace(
        BOOK, steps=tuple(replace(s, risk=risk, harm=harm, after=after) for s, (risk, harm, after) in each)
    )


STAKES: dict[str, Words] = {
    "scene": ("rare", "annoying", ()),
    "signal": ("common", "bad", ()),
    "rest": ("occasional", "annoying", ("signal",)),
    "house": ("occasional", "show-stopping", ()),
    "call": ("rare", "harmless", ("house",)),
}


def test_with_time_for_everything_nothing_is_left_out(session: Session) -> None:
    made = Pace(staked(STAKES), Past(), seed=1).proposal(session.state, session.elapsed, 3600.0)
    assert (made.dropped, made.accepted, made.fits) == ((), 0.0, True)
    assert list(made.kept) == KEYS


def test_short_of_time_the_least_risk_goes_first(session: Session) -> None:
    pace = Pace(staked(STAKES), Past(), seed=1)
    left = 0.75 * pace.outlook(session.state, session.elapsed).p80
    made = pace.proposal(session.state, session.elapsed, left)
    assert made.fits and made.exact
    assert made.p80 <= left and made.chance >= SURE
    out = [step.key for step in made.dropped]
    assert "scene" in out and "packs" not in out
    assert not {"signal@1", "signal@2", "signal@3"} & set(out)
    assert made.accepted == pytest.approx(sum(step.risk for step in made.dropped))
    assert [key for key in KEYS if key in {*made.kept, *out}] == KEYS
    assert made.dropped[0].do == "Load the scene"


def test_a_repeated_step_needs_only_the_one_of_its_own_thing(session: Session) -> None:
    """Of three inputs some can be done in full while others are left out in full."""
    stakes: dict[str, Words] = {"signal": ("rare", "harmless", ()), "rest": ("common", "bad", ("signal",))}
    pace = Pace(staked(stakes), Past(), seed=1)
    halves = 0
    for left in range(40, 130, 5):
        kept = set(pace.proposal(session.state, session.elapsed, float(left)).kept)
        rests = {f"rest@{i}" for i in (1, 2, 3)} & kept
        signals = {f"signal@{i}" for i in (1, 2, 3)} & kept
        assert {key.replace("rest", "signal") for key in rests} <= signals
        halves += bool(rests) and len(signals) < 3
    assert halves


def test_musts_that_do_not_fit_are_said_not_to(session: Session) -> None:
    made = Pace(staked(STAKES), Past(), seed=1).proposal(session.state, session.elapsed, 3.0)
    assert not made.fits
    assert made.kept == ("packs",)
    assert made.p80 > 3.0


@settings(max_examples=15)
@given(st.integers(0, 1000), st.lists(st.floats(0, 400), min_size=2, max_size=6))
def test_more_time_never_removes_less_risk_and_needs_are_kept(seed: int, times: list[float]) -> None:
    session = Evening().start(BOOK)
    pace = Pace(staked(STAKES), Past(), seed=seed, draws=300)
    removed = []
    for left in sorted(times):
        made = pace.proposal(session.state, 0.0, left)
        removed.append(made.removed)
        kept = set(made.kept)
        assert "packs" in kept
        assert not made.fits or made.p80 <= left
        assert all(f"signal@{i}" in kept for i in (1, 2, 3) if f"rest@{i}" in kept)
        assert "house" in kept or "call" not in kept
    assert all(a <= b + 1e-9 for a, b in pairwise(removed))


def test_steps_without_words_have_usual_ones_and_musts_weigh_most(session: Session) -> None:
    pace = Pace(BOOK, Past(), seed=1)
    risks = {step.key: pace.risk_of(step) for step in BOOK.steps}
    assert risks["packs"] == pytest.approx(1000 * WRONG_WORDS["occasional"] * 0.9)
    assert risks["scene"] == pytest.approx(risks["packs"] / 9)


def test_faults_of_the_log_raise_what_a_step_is_worth(evening: Evening) -> None:
    runs = [walked(evening, f"r{i}", {}, faults=frozenset({"house"})) for i in range(3)]
    past = past_of("p", runs)
    house = staked(STAKES).steps[-2]
    before, after = (Pace(staked(STAKES), p, seed=1).risk_of(house) for p in (Past(), past))
    assert after / before == pytest.approx(chance_wrong("occasional", 3, 3) / WRONG_WORDS["occasional"])


def test_a_plan_without_steps_is_over(evening: Evening) -> None:
    plan = plan_of(
        "playbook: e\ntitle: E\nsections: [{title: S, steps: [{id: a, do: Do it, when: festival}]}]",
        facts={"festival": False},
    )
    session = evening.start(plan)
    pace = Pace(plan, Past(), seed=1)
    assert pace.outlook(session.state, 0.0, 5.0).chance == 1.0
    assert pace.proposal(session.state, 0.0, 5.0).dropped == ()


def test_times_before_the_run_can_be_read(session: Session) -> None:
    pace = Pace(BOOK, Past(), seed=1)
    assert pace.times["signal"] == learn_time((), 12.0)
    assert math.isclose(pace.times["call"].seconds(0.5), 15.0)

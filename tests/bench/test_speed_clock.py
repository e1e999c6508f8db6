"""The forecast beside the bare drawing of as many numbers, and the exact choice beside the best by risk a second first."""

from __future__ import annotations

import time
from collections.abc import Callable
from random import Random

import numpy as np

from showday.clock.breaks import learn_breaks
from showday.clock.forecast import DRAWS, Forecast, UnderWay
from showday.clock.leave_out import Item, LeaveOut
from showday.clock.times import StepTime, learn_time
from showday.pacing import Pace
from showday.past_times import Past
from showday.run import events as ev
from showday.run.plan import Plan, PlannedSection, PlannedStep
from showday.run.session import Session
from tests.bench.conftest import Compare, Pair
from tests.support.world import Evening

STEPS = 200
NAMES = [f"step{i % 50}" for i in range(STEPS)]
TIMES = {name: learn_time([10.0 + i % 7, 14.0], 12.0) for i, name in enumerate(sorted(set(NAMES)))}


def timed(act: Callable[[], object]) -> float:
    """Seconds an act takes."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def drawn(times: list[StepTime]) -> float:
    """P80 of a total by drawing every step anew, each by itself: what a plain simulation does after each answer."""
    random = np.random.default_rng(1)
    logs = [t.middle + t.width * random.standard_t(t.freedom, DRAWS) for t in times]
    return float(np.quantile(np.exp(logs).sum(axis=0), 0.8))


def test_a_forecast_of_200_steps_after_an_answer(compare: Compare) -> None:
    """Aimed at: under 5 ms; the ratio says how much less than drawing all anew."""
    breaks = (learn_breaks([], 0.0), learn_breaks([], 0.0))
    made = Forecast(TIMES, NAMES, seed=1, day_spread=0.15, breaks=breaks)
    done = [(name, 13.0) for name in NAMES[:1]]

    def ours() -> float:
        return made.look(range(1, STEPS), done, UnderWay(1, 5.0)).whole().seconds(0.8)

    assert ours() > 0.9 * drawn([TIMES[name] for name in NAMES[1:]])
    bare = [TIMES[name] for name in NAMES[1:]]
    compare(
        Pair(
            "forecast of 200 steps, beside drawing anew",
            0.25,
            lambda: timed(ours),
            lambda: timed(lambda: drawn(bare)),
        ),
        20,
    )


def long_run() -> tuple[Plan, Session]:
    """Half of a run of 200 steps, every third one a must."""
    steps = tuple(
        PlannedStep(f"{name}@{i}", name, 0, "Do it", takes=12.0, must=i % 3 == 0, thing=str(i))
        for i, name in enumerate(NAMES)
    )
    plan = Plan("p", "P", (PlannedSection("S"),), steps)
    evening = Evening()
    session = evening.start(plan)
    for step in steps[: STEPS // 2]:
        session.show_current()
        evening.clock.advance(11.0)
        session.answer(ev.GOOD, confirmed=step.must)
    session.show_current()
    evening.clock.advance(4.0)
    return plan, session


def test_the_outlook_of_a_run(compare: Compare) -> None:
    """From the entries to the chance; beside drawing all anew, which knows nothing of tonight."""
    plan, session = long_run()
    pace = Pace(plan, Past(), seed=1)
    assert pace.outlook(session.state, session.elapsed, 3000.0).open == STEPS // 2
    bare = [pace.times[name] for name in NAMES[STEPS // 2 :]]
    pair = Pair(
        "outlook half way through 200 steps",
        1.0,
        lambda: timed(lambda: pace.outlook(session.state, session.elapsed, 3000.0)),
        lambda: timed(lambda: drawn(bare)),
    )
    compare(pair, 20)


def test_a_proposal_half_way(compare: Compare) -> None:
    """What to leave out, asked for by a key: beside twenty outlooks."""
    plan, session = long_run()
    pace = Pace(plan, Past(), seed=1)
    left = 0.8 * pace.outlook(session.state, session.elapsed).p80
    made = pace.proposal(session.state, session.elapsed, left)
    assert made.fits and made.dropped and made.p80 <= left
    pair = Pair(
        "what to leave out of 100 steps, 20 outlooks",
        1.0,
        lambda: timed(lambda: pace.proposal(session.state, session.elapsed, left)),
        lambda: timed(lambda: [pace.outlook(session.state, session.elapsed, left) for _ in range(20)]),
    )
    compare(pair, 5)


def test_the_exact_choice_of_60_steps(compare: Compare) -> None:
    random = Random(2)
    items = [Item(f"a{i}", random.randint(5, 40), random.randint(1, 90)) for i in range(40)]
    items += [Item(f"b{i}", random.randint(5, 40), random.randint(1, 90), needs=(f"a{i}",)) for i in range(20)]

    def greedy() -> float:
        left, removed = 700.0, 0.0
        kept: set[str] = set()
        for item in sorted(items, key=lambda i: -i.risk / i.seconds):
            if item.seconds <= left and kept.issuperset(item.needs):
                left, removed = left - item.seconds, removed + item.risk
                kept.add(item.id)
        return removed

    exact = LeaveOut(items, 700.0).choice(700.0)
    assert exact.exact and exact.removed >= greedy()
    compare(
        Pair(
            "exact choice of 60, beside the greedy one",
            400,
            lambda: timed(lambda: LeaveOut(items, 700.0)),
            lambda: timed(greedy),
        ),
        10,
    )

"""Steps about frequencies as line prompts: the commands, what was kept in another window, the spare in a walk."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from showday.demo import make_demo_desk
from showday.desk import Desk
from showday.plain.front import walk_plain
from showday.plain.run import RADIO_COMMANDS
from showday.plain.talk import Talk
from showday.radio_desk import keep_plan, tonight_plan
from showday.run.air import KeptCarrier, KeptPlan
from showday.run.session import Session, World
from tests.plain.small_evening import CountingClock, TypedLines

PLAN = KeptPlan(
    carriers=(KeptCarrier("In-ear 1", 558_300_000),),
    spares=(KeptCarrier("", 565_650_000),),
    clearance=320_000,
    reason="the quietest",
)


@pytest.fixture
def desk() -> Desk:
    """The example act, its clock a second later at each look."""
    made = make_demo_desk()
    clock = CountingClock(made.world.clock.now() + timedelta(seconds=1))
    made.world = World(made.keeper, clock, made.world.new_id)
    return made


def walked(
    desk: Desk, session: Session, *typed: str, looked: Callable[[str], None] = lambda prompt: None
) -> TypedLines:
    lines = TypedLines([*typed], looked=looked)
    walk_plain(desk, session, Talk(lines))
    return lines


def at(desk: Desk, key: str) -> Session:
    session = desk.start_run("rf-scan")
    session.go_to(key)
    return session


def test_a_step_about_frequencies_says_the_commands_and_others_do_not(desk: Desk) -> None:
    told = f"Frequencies, in another window: {RADIO_COMMANDS}"
    assert told in walked(desk, at(desk, "least-trouble")).shown
    assert told not in walked(desk, at(desk, "best-first")).shown


def test_what_was_kept_meanwhile_is_noted_and_its_clearance_is_not_asked_again(desk: Desk) -> None:
    session = at(desk, "least-trouble")

    def keep(prompt: str) -> None:
        if "step least-trouble" in prompt:
            keep_plan(desk, PLAN)

    said = walked(desk, session, "good", "good", looked=keep)
    noted = [line for line in said.shown if line.startswith("Noted: Frequency plan kept: In-ear 1 558.300 MHz")]
    assert len(noted) == 1
    assert "because: the quietest" in noted[0]
    assert session.state.step("clearance").reading == 320.0
    assert session.state.step("clearance").result == "good"


def test_the_step_says_where_to_set_the_transmitter(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    said = walked(desk, at(desk, "tx-frequency@in-ear-1"))
    assert "Do: Set In-ear 1 to its planned frequency: 558.300 MHz" in said.shown


def test_the_walk_uses_the_spare_and_back_gives_it_back(desk: Desk) -> None:
    keep_plan(desk, PLAN)
    desk.by_author = True
    session = at(desk, "one-off@in-ear-1")
    answers = ("fault", "1", "one mix", "no change", "no change", "all as", "yes", "bars stay up", "yes", "restored")
    shown = walked(desk, session, *answers).shown
    assert any(line.startswith("Do: Move the transmitter to its planned spare, 565.650 MHz") for line in shown)
    assert "Uses up: spare frequency (1 left)" in shown
    plan = tonight_plan(desk)
    assert plan is not None and [(s.used, s.name) for s in plan.spares] == [(True, "In-ear 1")]
    walked(desk, desk.resume_run(session.state.run), "back")
    plan = tonight_plan(desk)
    assert plan is not None and not plan.spares[0].used

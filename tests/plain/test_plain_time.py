"""The forecast and the proposal, line by line."""

from __future__ import annotations

from pathlib import Path

from showday.run import events as ev
from tests.plain.small_evening import EVENING, begun, make_small_desk

TIMED = EVENING.replace("\nsections:", "\nby: changeover\nsections:", 1)


def test_time_offers_what_to_leave_out_and_asks_it_again(tmp_path: Path) -> None:
    desk = make_small_desk(tmp_path, playbooks=[("evening", TIMED)])
    desk.plan_show(desk.add_venue("The Quay"), "2031-07-05", changeover=1)
    evening = begun(desk)
    said = evening.enter("time", "yes", "time", "yes", "time", "no", "stop")
    assert sum(line.startswith("Forecast: ") and line.endswith(" in time") for line in said.shown) >= 3
    assert [p for p in said.prompts if p.startswith("yes")] == ["yes leave out", "yes ask again", "yes leave out"]
    (left,), (back,) = evening.events(ev.StepsLeftOut), evening.events(ev.StepsTakenBack)
    assert isinstance(left, ev.StepsLeftOut) and isinstance(back, ev.StepsTakenBack)
    assert left.steps == back.steps
    assert said.text.count("Would be left out: ") == 2 * 4


def test_without_a_yes_nothing_is_left_out(tmp_path: Path) -> None:
    desk = make_small_desk(tmp_path, playbooks=[("evening", TIMED)])
    desk.plan_show(desk.add_venue("The Quay"), "2031-07-05", changeover=1)
    evening = begun(desk)
    evening.enter("time", "no", "stop")
    assert evening.events(ev.StepsLeftOut) == []


def test_without_a_show_time_says_the_range_alone(tmp_path: Path) -> None:
    evening = begun(make_small_desk(tmp_path))
    said = evening.enter("time", "stop")
    assert "Nothing says when it must be over, so nothing is proposed." in said.shown
    assert any(line.startswith("Forecast: ") for line in said.shown)

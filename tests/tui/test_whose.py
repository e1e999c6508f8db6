"""Which thing a fault is about is asked when neither the step nor anything else says it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

from showday.desk import Desk
from showday.run import events as ev
from showday.run.state import RunState
from showday.tui.app import ShowdayApp
from showday.tui.screens.modals import ChoiceModal, ListModal
from showday.tui.screens.run import RunScreen
from showday.tui.screens.walk import WalkScreen
from tests.tui.evening import FakeClock, card, press, rig_of, screen_text, until
from tests.tui.nights import a_desk

SET = """
playbook: set
title: The set
sections:
  - title: Songs
    steps:
      - {id: faces, do: Look at every face}
"""
SILENT = """
fault: silent
title: Nothing in the ear
heard_as: [silent]
concerns: input
walk:
  - {fix: "Push the plug of {input.name} home", id: push, cures: loose, workaround: yes}
causes: {loose: {what: A loose plug, cure: Push it home}}
help: {do: Ask the house}
"""
SIZE = (60, 20)


def state(app: ShowdayApp) -> RunState:
    assert app.session is not None
    return app.session.state


async def asked(pilot: Pilot[int]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, RunScreen))
    await press(pilot, "w s i l e n t enter")


async def got_round(app: ShowdayApp, pilot: Pilot[int]) -> None:
    """The voice is silent, and sound is back by the first fix; nobody knows the cause."""
    await asked(pilot)
    await press(pilot, "2 1 d")
    await until(pilot, lambda: isinstance(app.screen, RunScreen) and state(app).walk is None)


async def test_a_digit_says_which_and_the_sentences_and_the_to_fix_list_name_it(clock: FakeClock) -> None:
    desk = a_desk(clock, playbooks=(SET,), trees=(SILENT,))
    app = ShowdayApp(desk, session=desk.start_run("set"))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await asked(pilot)
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        assert "Nothing in the ear: which input?" in screen_text(app)
        await press(pilot, "2")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert state(app).walk is not None
        assert "Push the plug of Voice home" in card(app)
        await press(pilot, "1 d")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert [item.about for item in desk.book().open_items()] == ["input 2, Voice"]


async def test_the_same_fault_of_another_thing_is_not_taken_for_the_same_again(clock: FakeClock) -> None:
    desk = a_desk(clock, playbooks=(SET,), trees=(SILENT,))
    app = ShowdayApp(desk, session=desk.start_run("set"))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await got_round(app, pilot)
        await asked(pilot)
        await press(pilot, "1")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        await press(pilot, "q")
        await asked(pilot)
        await press(pilot, "2")
        await until(pilot, lambda: "The same again?" in screen_text(app))
        assert "input 2, Voice" in screen_text(app)
        await press(pilot, "1")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert [walk.came_back for walk in state(app).walks if walk.about == "input 2, Voice"] == [True]


async def test_esc_goes_on_at_once_without_saying(clock: FakeClock) -> None:
    desk = a_desk(clock, playbooks=(SET,), trees=(SILENT,))
    app = ShowdayApp(desk, session=desk.start_run("set"))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await asked(pilot)
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        await press(pilot, "escape")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        walk = state(app).walk
        assert walk is not None and (walk.about, walk.thing) == ("", ("", ""))


async def test_more_than_digits_reach_are_a_list_whose_first_row_goes_on(clock: FakeClock) -> None:
    desk: Desk = a_desk(clock, playbooks=(SET,), trees=(SILENT,))
    desk.rig = rig_of(f"rig: r\ninputs: [{', '.join(f'Line {n}' for n in range(1, 13))}]")
    app = ShowdayApp(desk, session=desk.start_run("set"))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await asked(pilot)
        await until(pilot, lambda: isinstance(app.screen, ListModal))
        await press(pilot, "j j j enter")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        opened = [e.event for e in state(app).history if isinstance(e.event, ev.WalkOpened)]
        assert [walk.thing for walk in opened] == [("input", "3")]


async def test_what_is_heard_once_sound_is_back_is_no_answer_of_the_walk(
    clock: FakeClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = a_desk(clock, playbooks=(SET,), trees=(SILENT,))
    session = desk.start_run("set")
    desk.open_walk(session, "silent")
    app = ShowdayApp(desk, session=session)
    given: list[object] = []
    monkeypatch.setattr(ShowdayApp, "listening", lambda _: True)
    monkeypatch.setattr(ShowdayApp, "ears", SimpleNamespace(evidence=lambda thing: thing, close=lambda: None))
    monkeypatch.setattr("showday.counsel.answer_by_ear", lambda *told: given.append(told[2]))
    tree = desk.tree_of(session.state)
    app.answer_what_was_heard(session, tree)
    assert given == [("", "")]
    session.restored_by_itself()
    app.answer_what_was_heard(session, tree)
    assert given == [("", "")]


async def test_undo_behind_a_walk_opens_it_again_at_the_question_for_its_cause(clock: FakeClock) -> None:
    desk = a_desk(clock, playbooks=(SET,), trees=(SILENT,))
    app = ShowdayApp(desk, session=desk.start_run("set"))
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await got_round(app, pilot)
        assert len(desk.book().open_items()) == 1
        await press(pilot, "u")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert "Is the cause known for certain?" in card(app)
        assert desk.book().open_items() == []
        await press(pilot, "1")
        await until(pilot, lambda: isinstance(app.screen, RunScreen) and state(app).walk is None)
        assert [walk.cause for walk in state(app).walks] == ["loose"]
        assert len(desk.book().open_items()) == 1

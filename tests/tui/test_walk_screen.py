"""The fault walk's screen: one ask at a time, digits answer, and it returns to the step it came from."""

from __future__ import annotations

import pytest

from showday.desk import Desk
from showday.run import events as ev
from showday.run.phases import FINISHED, INTERRUPTED
from showday.run.progress import current
from showday.run.session import Session
from showday.run.state import WalkState
from showday.tui.app import ShowdayApp
from showday.tui.screens.interrupted import InterruptedScreen
from showday.tui.screens.modals import ChoiceModal, ListModal
from showday.tui.screens.run import RunScreen
from showday.tui.screens.walk import WalkScreen
from showday.tui.widgets.choices import Choices, KeyBar
from showday.tui.widgets.row_list import RowList
from tests.tui.evening import card, press, said, screen_text, until

SIZE = (80, 24)


@pytest.fixture
def session(desk: Desk) -> Session:
    """A run that stands at the bass's signal with a walk for it open."""
    session = desk.start_run("line-check")
    session.go_to("signal@1")
    desk.open_walk(session, "no-signal", current(session.state))
    return session


@pytest.fixture
def app(desk: Desk, session: Session) -> ShowdayApp:
    return ShowdayApp(desk, session=session)


def walk(session: Session) -> WalkState:
    assert session.state.walk is not None
    return session.state.walk


def rows(app: ShowdayApp) -> list[tuple[str, str]]:
    shown = [*app.screen.query_one("#rows", Choices).choices, *app.screen.query_one("#others", KeyBar).choices]
    return [(choice.key, choice.text) for choice in shown]


async def test_cautions_come_before_the_first_ask(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        assert "! Keep ears out while you pull plugs." in card(app)
        await press(pilot, "1")
        assert not walk(session).answers
        await press(pilot, "enter")
        assert "Does the channel's meter move?" in card(app)


async def test_a_check_shows_its_answers_under_digits_and_always_dont_know_and_cant_now(app: ShowdayApp) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter")
        assert rows(app) == [
            ("1", "it moves"),
            ("2", "it stays still"),
            ("d", "don't know"),
            ("c", "can't now"),
            ("g", "sound came back by itself"),
        ]


async def test_a_digit_answers_and_the_next_ask_follows(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2")
        assert walk(session).answers == (("meter", "it stays still"),)
        assert "Push the plug in at the box" in card(app)
        await press(pilot, "9")
        assert "no answer 9" in said(app)
        assert len(walk(session).answers) == 1


async def test_dont_know_and_cant_now_are_answers_too(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter d d c")
        assert walk(session).answers == (("meter", "don't know"), ("send-up", "can't now"))


@pytest.mark.parametrize("key", ["u", "b"])
async def test_the_last_answer_can_be_taken_back(app: ShowdayApp, session: Session, key: str) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, f"enter 2 {key}")
        assert not walk(session).answers
        assert "Does the channel's meter move?" in card(app)


async def test_sound_back_and_cause_known_are_two_facts(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 1")
        assert walk(session).restored
        assert walk(session).cause == ""
        assert "Is the cause known for certain?" in card(app)
        assert rows(app) == [("d", "Not known"), ("1", "A plug was loose"), ("2", "The cable is broken")]
        await press(pilot, "2")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        ended = session.state.walks[-1]
        assert (ended.outcome, ended.cause, ended.by) == (ev.RESTORED, "bad-cable", "plug")
        step = current(session.state)
        assert step is not None
        assert step.key == "signal@1"
        assert session.state.step("signal@1").recheck


async def test_undo_takes_sound_back_away_again(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 1 u")
        assert not walk(session).restored
        assert walk(session).answers == (("meter", "it stays still"),)


async def test_a_cause_that_is_not_known_stays_unknown(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 1 d")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert session.state.walks[-1].cause == ""
        assert session.state.walks[-1].outcome == ev.RESTORED


@pytest.mark.parametrize("keys", ["enter g", "enter 2 3"])
async def test_sound_that_came_back_by_itself_is_no_fix(app: ShowdayApp, session: Session, keys: str) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, keys)
        assert walk(session).restored
        assert walk(session).by == ""
        await press(pilot, "d")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))


async def test_g_at_a_fix_means_that_it_worked(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 g")
        assert walk(session).by == "plug"


async def test_what_everyone_notices_names_it_and_wants_a_second_key(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 2")
        assert "WORKAROUND" in card(app)
        assert "uses spare channel" in card(app)
        assert "! EVERYONE NOTICES: the house loses this line for a moment" in card(app)
        before = walk(session).answers
        await press(pilot, "1")
        assert walk(session).answers == before
        assert "y first" in said(app)
        await press(pilot, "y 1")
        assert walk(session).workaround
        assert "to-fix list" in card(app)


async def test_what_must_be_opened_first_is_said_once(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 2 c")
        assert "Is the card seated?" in card(app)
        assert "first: Open the rear of the rack" in card(app)


async def test_another_tree_goes_on_from_here_at_the_same_step(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 2 c 1")
        assert ("4", "Go on with: Hum or buzz") in rows(app)
        await press(pilot, "4")
        await until(pilot, lambda: session.state.walk is not None and walk(session).fault == "hum")
        assert walk(session).step == "signal@1"
        await until(pilot, lambda: "audio ground lift on the DI" in screen_text(app))
        assert len([s for s in app.screen_stack if isinstance(s, WalkScreen)]) == 1


async def test_any_step_of_the_tree_can_be_taken_out_of_turn(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await press(pilot, "enter t")
        await until(pilot, lambda: isinstance(app.screen, ListModal))
        await press(pilot, "j j enter")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert "Push the plug in at the box" in card(app)
        await press(pilot, "2")
        assert walk(session).answers == (("plug", "no change"),)
        assert "Does the channel's meter move?" in card(app)


async def test_the_tree_stands_beside_the_ask_on_a_wide_screen(app: ShowdayApp) -> None:
    async with app.run_test(size=(140, 30), notifications=True) as pilot:
        await press(pilot, "enter 2")
        prompts = [str(option.prompt) for option in app.screen.query_one("#pane", RowList).options]
        assert prompts[0] == "> Push the plug in at the box"
        assert "x Does the channel's meter move? = it stays still" in prompts


async def test_help_is_asked_last_and_ends_unsolved(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 1 2")
        assert "CALL FOR HELP" in card(app)
        assert "Ask the house engineer about Bass" in card(app)
        await press(pilot, "c")
        assert "Help is the last" in said(app)
        await press(pilot, "2")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert session.state.walks[-1].outcome == ev.UNSOLVED
        assert "to-fix list" in said(app)


@pytest.mark.parametrize("key", ["q", "escape"])
async def test_leaving_asks_nothing_and_keeps_the_answers(app: ShowdayApp, session: Session, key: str) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, f"enter 2 {key}")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        ended = session.state.walks[-1]
        assert ended.outcome == ev.LEFT
        assert ended.answers == (("meter", "it stays still"),)
        step = current(session.state)
        assert step is not None
        assert step.key == "signal@1"


async def test_an_interrupted_walk_goes_on_at_the_same_ask(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 i")
        await until(pilot, lambda: isinstance(app.screen, InterruptedScreen))
        assert session.state.phase == INTERRUPTED
        assert "Push the plug in at the box" in screen_text(app)
        await press(pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert "Push the plug in at the box" in card(app)
        assert "AWAY" in screen_text(app)


async def test_a_note_in_a_walk_belongs_to_its_step(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter n b l u e enter")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert session.state.step("signal@1").notes == ("blue",)


async def test_answers_can_be_clicked(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await pilot.click("#rows", offset=(3, 0))
        await pilot.click("#rows", offset=(70, 1))
        assert walk(session).answers == (("meter", "it stays still"),)


async def test_a_walk_of_its_own_is_a_run_that_ends_with_it(desk: Desk) -> None:
    app = ShowdayApp(desk, fault="hum")
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        session = app.session
        assert session is not None
        assert session.state.plan.playbook == ""
        await press(pilot, "1 1")
    assert session.state.phase == FINISHED
    assert session.state.walks[-1].cause == "loop"
    assert app.return_code == 0


async def test_the_same_fault_again_is_asked_about_and_kept(app: ShowdayApp, session: Session, desk: Desk) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 2 1 d")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        await press(pilot, "enter f")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        await press(pilot, "1")
        await until(pilot, lambda: "The same again?" in screen_text(app))
        await press(pilot, "1")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert session.state.walks[-1].came_back
        assert any("came back" in item.text for item in desk.book().open_items())

"""The run's screen: keys become events of the run, and the screen shows the state they lead to."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from showday.desk import Desk
from showday.run import events as ev
from showday.run.phases import FINISHED, INTERRUPTED
from showday.run.progress import current
from showday.run.session import Session
from showday.tui.app import ShowdayApp
from showday.tui.screens.interrupted import InterruptedScreen
from showday.tui.screens.modals import ChoiceModal, ReadingModal, TextModal
from showday.tui.screens.run import RunScreen
from showday.tui.screens.walk import WalkScreen
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.row_list import RowList
from tests.tui.evening import FakeClock, card, press, said, screen_text, until

SIZE = (80, 24)


def at(session: Session) -> str:
    """Key of the step before the person."""
    step = current(session.state)
    return step.key if step else ""


def result(session: Session, key: str) -> str:
    return session.state.step(key).result


def answer_keys(app: ShowdayApp) -> list[str]:
    return [choice.key for choice in app.screen.query_one("#answers", KeyBar).choices]


async def test_cautions_are_read_before_the_first_step_is_answered(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        assert "! If anything tingles, stop." in card(app)
        assert answer_keys(app) == ["Enter"]
        await press(pilot, "g")
        assert result(session, "clock") == ""
        assert "caution" in said(app)
        await press(pilot, "enter g")
        assert result(session, "clock") == ev.GOOD


async def test_each_answer_key_records_its_result(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter l m j enter h")
        await press(pilot, "o")
        await until(pilot, lambda: isinstance(app.screen, TextModal))
        await press(pilot, "n o enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        results = {key: held.result for key, held in session.state.steps.items()}
        assert results == {"clock": "later", "minimum": "good", "signal@1": "not here", "signal@2": "left out"}
        assert session.state.step("signal@2").reason == "no"


@pytest.mark.parametrize("key", ["o", "h"])
async def test_a_must_is_not_done_without_unless_for_a_reason(app: ShowdayApp, session: Session, key: str) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, f"enter g {key}")
        await until(pilot, lambda: isinstance(app.screen, TextModal))
        await press(pilot, "enter")
        assert isinstance(app.screen, TextModal)
        assert "needed" in screen_text(app)
        await press(pilot, "escape")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert result(session, "minimum") == ""


async def test_a_must_wants_its_own_key_and_says_which(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g g")
        assert at(session) == "minimum"
        assert "m confirms" in said(app)
        assert "! MUST" in card(app)
        await press(pilot, "m")
        assert session.state.step("minimum").confirmed


async def test_two_musts_are_never_confirmed_by_the_same_key(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g m m")
        assert result(session, "scene") == ""
        assert "y confirms" in said(app)
        await press(pilot, "y")
        assert result(session, "scene") == ev.GOOD


async def test_the_offered_confirm_key_is_the_one_that_was_not_pressed(app: ShowdayApp) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g")
        assert answer_keys(app)[0] == "m"
        await press(pilot, "m")
        assert answer_keys(app)[0] == "y"


async def test_a_number_begins_the_reading_and_is_kept_with_its_verdict(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        session.go_to("signal@1")
        await press(pilot, "enter enter minus 1 8 enter")
        await until(pilot, lambda: session.state.step("signal@1").reading is not None)
        held = session.state.step("signal@1")
        assert (held.reading, held.inside) == (-18.0, True)
        await until(pilot, lambda: "-18 dBFS is inside" in card(app))


async def test_a_reading_outside_wants_a_fault_or_a_second_key(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        session.go_to("signal@1")
        await press(pilot, "enter r")
        await until(pilot, lambda: isinstance(app.screen, ReadingModal))
        await press(pilot, "minus 3 enter")
        await until(pilot, lambda: "OUTSIDE" in card(app))
        assert answer_keys(app)[:2] == ["f", "y"]
        await press(pilot, "g")
        assert result(session, "signal@1") == ""
        await press(pilot, "y")
        assert result(session, "signal@1") == ev.GOOD


async def test_words_are_no_number(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        session.go_to("signal@1")
        await press(pilot, "enter r a b minus enter")
        assert isinstance(app.screen, ReadingModal)
        assert "not a number" in screen_text(app)
        assert session.state.step("signal@1").reading is None


async def test_a_step_without_a_number_says_so(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter 7")
        assert isinstance(app.screen, RunScreen)
        assert "no number" in said(app)


async def test_what_everyone_notices_wants_a_second_different_key(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        session.go_to("reboot")
        await press(pilot, "enter g")
        assert result(session, "reboot") == ""
        assert "EVERYONE NOTICES: the house hears nothing for a minute" in card(app)
        await press(pilot, "y")
        assert result(session, "reboot") == ""
        await press(pilot, "g")
        assert result(session, "reboot") == ev.GOOD


async def test_undo_goes_back_step_by_step(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g m u u")
        assert at(session) == "clock"
        assert not session.state.steps
        await press(pilot, "u")
        assert "nothing to undo" in said(app)


async def test_a_note_is_kept_with_its_step_and_q_can_be_typed(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter n q u i e t enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert session.state.step("clock").notes == ("quiet",)


async def test_moving_answers_nothing(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter j down k")
        assert at(session) == "minimum"
        assert not session.state.steps
        await press(pilot, "up up up")
        assert at(session) == "clock"


async def test_the_list_takes_any_step(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await press(pilot, "enter t j j enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert at(session) == "scene"


async def test_the_list_stands_beside_the_step_on_a_wide_screen(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=(140, 30), notifications=True) as pilot:
        await press(pilot, "enter")
        pane = app.screen.query_one("#pane", RowList)
        assert pane.option_count == len(session.state.plan.steps)
        assert pane.highlighted == 0
        await press(pilot, "g")
        assert pane.highlighted == 1
        assert str(pane.get_option_at_index(0).prompt).startswith("x Start the clock")


async def test_b_looks_at_the_last_one_again(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter b")
        assert "No step was answered" in said(app)
        await press(pilot, "g b")
        assert at(session) == "clock"
        assert "answered: good" in card(app)


async def test_one_key_interrupts_and_enter_comes_back_to_the_same_step(
    app: ShowdayApp, session: Session, clock: FakeClock
) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g i")
        await until(pilot, lambda: isinstance(app.screen, InterruptedScreen))
        assert session.state.phase == INTERRUPTED
        clock.advance(240)
        await press(pilot, "n d r u m s enter")
        await until(pilot, lambda: "drums" in screen_text(app))
        await press(pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert at(session) == "minimum"
        banner = "\n".join(line.text for line in app.screen.query_one("#banner", Lines).lines)
        assert "last done was 'Start the clock'" in banner
        assert "you noted: drums" in banner


async def test_an_interrupted_run_that_is_left_stays_interrupted(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter i")
        await until(pilot, lambda: isinstance(app.screen, InterruptedScreen))
        await press(pilot, "q")
        await until(pilot, lambda: not app.is_running or app.return_value is not None or app._exit)
    assert session.state.phase == INTERRUPTED


async def test_resuming_after_a_crash_shows_the_same_step_and_what_was_done_last(
    desk: Desk, session: Session, clock: FakeClock
) -> None:
    session.show_current()
    session.answer(ev.GOOD)
    clock.advance(240)
    app = ShowdayApp(desk, session=desk.resume_run(session.state.run))
    async with app.run_test(size=SIZE, notifications=True):
        banner = "\n".join(line.text for line in app.screen.query_one("#banner", Lines).lines)
        assert banner == "AWAY 4 min: last done was 'Start the clock', b looks at it again"
        assert "Turn every pack to minimum" in card(app)


async def test_a_minute_without_a_key_offers_the_last_step_and_moves_nothing(
    app: ShowdayApp, session: Session, clock: FakeClock
) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g")
        clock.advance(130)
        screen = app.screen
        assert isinstance(screen, RunScreen)
        screen.tick()
        banner = screen.query_one("#banner", Lines)
        assert banner.lines[0].text.startswith("NO KEY FOR 2 min: last done was 'Start the clock'")
        assert at(session) == "minimum"


async def test_a_fault_offers_the_trees_of_the_step_and_returns_to_it_when_sound_is_back(
    app: ShowdayApp, session: Session
) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        session.go_to("signal@1")
        await press(pilot, "enter f")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        assert result(session, "signal@1") == ev.FAULT
        await press(pilot, "2")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        walk = session.state.walk
        assert walk is not None
        assert (walk.fault, walk.step, walk.about) == ("hum", "signal@1", "input 1, Bass")
        await press(pilot, "1 d")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert at(session) == "signal@1"
        assert session.state.step("signal@1").recheck
        assert "SOUND IS BACK" in screen_text(app)


async def test_a_fault_without_a_walk_goes_on_and_stays_a_fault(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter f")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        await press(pilot, "escape")
        await until(pilot, lambda: "Turn every pack" in card(app))
        assert result(session, "clock") == ev.FAULT
        assert at(session) == "minimum"


async def test_the_end_needs_a_key_and_its_call_stays(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g m y")
        for step in [s for s in session.state.plan.steps if s.section > 0]:
            session.record(ev.StepAnswered(step.key, ev.GOOD))
        screen = app.screen
        assert isinstance(screen, RunScreen)
        screen.show_all()
        assert card(app).startswith("LINE CHECK COMPLETE: 7 good")
        assert session.state.phase != FINISHED
        await press(pilot, "enter")
        assert session.state.outcome == ev.COMPLETE
        assert "LINE CHECK COMPLETE: 7 good" in screen_text(app)
        await press(pilot, "g")
        assert "over" in said(app)
        await press(pilot, "u")
        assert session.state.phase != FINISHED


async def test_stopping_names_the_musts_owed_and_wants_a_second_key(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter g e")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        assert "! MUST owed: Turn every pack to minimum" in screen_text(app)
        await press(pilot, "e")
        assert isinstance(app.screen, ChoiceModal)
        await press(pilot, "y")
        await until(pilot, lambda: session.state.phase == FINISHED)
        assert session.state.outcome == ev.STOPPED
        await until(pilot, lambda: "LINE CHECK STOPPED: 1 good, 6 open" in screen_text(app))


async def test_who_is_away_turns_their_lines_to_not_here(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter a 2 enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert session.state.away == {"Ben"}
        assert session.state.result_of(session.state.planned("signal@1")) == ev.NOT_HERE


async def test_what_was_put_off_comes_back_at_the_pause_point(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await press(pilot, "enter l m y enter h h")
        assert at(session) == "clock"
        banner = "\n".join(line.text for line in app.screen.query_one("#banner", Lines).lines)
        assert "PAUSE POINT: before the first song | 1 owed" in banner
        assert "CAME BACK" in banner


async def test_a_do_confirm_section_stands_as_one_list(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        session.go_to("lines")
        await press(pilot, "enter")
        assert "Do them all from memory" in card(app)
        assert ". Restart the mixer" in card(app)
        assert "Ask the house for every line" in card(app)


async def test_standing_lines_say_owed_elapsed_changeover_and_slot(desk: Desk, clock: FakeClock) -> None:
    clock.when = datetime(2026, 5, 2, 18, 0).astimezone(UTC)
    desk.plan_show(desk.add_venue("The Old Mill"), "2026-05-02", "19:00", 20.0)
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await press(pilot, "enter l")
        clock.advance(44 * 60)
        screen = app.screen
        assert isinstance(screen, RunScreen)
        screen.tick()
        texts = [line.text for line in screen.query_one("#standing", Lines).lines]
        assert texts[0] == "2 of 3 | Before | Line check"
        assert texts[1].startswith("1 owed | 6 open")
        assert texts[2] == "elapsed 44:00 | changeover 16:00 left | slot 19:00"


async def test_every_answer_can_be_clicked(app: ShowdayApp, session: Session) -> None:
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        await pilot.click("#answers", offset=(3, 0))
        assert "Start the clock" in card(app)
        await pilot.click("#answers", offset=(3, 0))
        assert result(session, "clock") == ev.GOOD
        await until(pilot, lambda: answer_keys(app)[0] == "m")
        await pilot.click("#answers", offset=(3, 0))
        assert result(session, "minimum") == ev.GOOD

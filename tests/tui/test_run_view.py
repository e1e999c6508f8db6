"""What the run's screen says, from states alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from showday.desk import Desk
from showday.errors import NotAllowed
from showday.run import events as ev
from showday.run.plan import PlannedReading
from showday.run.progress import Progress, current
from showday.run.session import Session
from showday.run.slot import slot_time
from showday.run.touring import Show
from showday.tui import run_view as view
from showday.tui.answer_keys import Offer
from showday.tui.lines import Line
from showday.tui.standing import TimeLeft, clock_words, minutes_words, owed_words
from tests.tui.evening import FakeClock


@pytest.fixture
def session(desk: Desk) -> Session:
    session = desk.start_run("line-check")
    session.show_current()
    return session


def texts(lines: tuple[Line, ...] | list[Line]) -> list[str]:
    return [line.text for line in lines if line.text]


def kinds(lines: tuple[Line, ...] | list[Line]) -> list[str]:
    return [line.kind for line in lines]


# -- the card --------------------------------------------------------------------------------------------------------


def test_danger_stands_before_what_to_do_and_the_reason_behind(session: Session) -> None:
    step = session.state.planned("minimum")
    card = view.step_card(session.state, step)
    assert texts(card.before) == ["! MUST", "! A plug pulled hot can bang."]
    assert texts(card.core) == ["Turn every pack to minimum", "until all knobs at zero"]
    assert kinds(card.core)[0] == "do"


def test_the_reason_names_its_basis(session: Session) -> None:
    card = view.step_card(session.state, session.state.planned("clock"))
    assert texts(card.after) == ["A line that goes up bangs. (common practice)"]


def test_what_to_do_stands_at_the_same_row_with_and_without_words_above(session: Session) -> None:
    plain = view.step_card(session.state, session.state.planned("clock"))
    about = view.step_card(session.state, session.state.planned("signal@1"))
    assert len(plain.before) == len(about.before) == 1


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-24.0, -12.0, "peak, wanted -24 to -12 dBFS"),
        (3.0, None, "peak, wanted at least 3 dBFS"),
        (None, 3.0, "peak, wanted at most 3 dBFS"),
        (None, None, "peak, in dBFS"),
    ],
)
def test_a_reading_says_its_name_range_and_unit(low: float | None, high: float | None, words: str) -> None:
    assert view.reading_words(PlannedReading("dBFS", "peak", low, high)) == words


def test_a_reading_outside_says_so_in_words(session: Session) -> None:
    session.go_to("signal@1")
    session.read(-3.0)
    lines = view.step_card(session.state, session.state.planned("signal@1")).after
    assert lines[0] == Line("outside", "! -3 dBFS is OUTSIDE | peak, wanted -24 to -12 dBFS")


def test_rows_tell_the_result_by_sign_and_word(session: Session) -> None:
    session.answer(ev.GOOD)
    session.answer(ev.LATER)
    state = session.state
    assert view.row_words(state, state.planned("clock")) == "x Start the clock | good"
    assert view.row_words(state, state.planned("minimum")) == "~ ! Turn every pack to minimum | later"
    assert view.row_words(state, state.planned("scene"), "scene") == "> ! Load the scene"
    assert view.row_words(state, state.planned("lines")) == ". Ask the house for every line"


def test_every_result_has_its_own_sign() -> None:
    assert set(view.MARKS) == {*ev.RESULTS, ""}
    assert len(set(view.MARKS.values())) == len(view.MARKS)


def test_a_do_confirm_section_is_one_list_with_the_step_opened_in_place(session: Session) -> None:
    session.go_to("lines")
    card = view.step_card(session.state, session.state.planned("lines"))
    assert texts(card.before)[:2] == ["Do them all from memory, then confirm each:", ". Restart the mixer"]
    assert texts(card.core) == ["Ask the house for every line"]


# -- cautions and banners --------------------------------------------------------------------------------------------


def test_cautions_are_held_up_once_for_the_playbook_and_once_for_each_section(session: Session) -> None:
    state = session.state
    first, later = state.planned("clock"), state.planned("signal@1")
    assert view.cautions_before(state, first, set()) == ("If anything tingles, stop.",)
    assert view.cautions_before(state, first, {-1, 0}) == ()
    assert view.cautions_before(state, later, {-1}) == ("Ears out.",)
    after = session.answer(ev.GOOD)
    assert view.cautions_before(after, first, set()) == ()


def test_a_begun_section_is_not_held_up_again(session: Session) -> None:
    session.go_to("signal@1")
    state = session.answer(ev.GOOD)
    assert view.cautions_before(state, state.planned("signal@2"), set()) == ()


def test_an_absence_is_said_until_the_next_answer(desk: Desk, session: Session, clock: FakeClock) -> None:
    session.answer(ev.GOOD)
    clock.advance(240)
    again = desk.resume_run(session.state.run)
    assert texts(view.absence_lines(again.state)) == [
        "AWAY 4 min: last done was 'Start the clock', b looks at it again"
    ]
    assert view.absence_lines(again.answer(ev.LATER)) == []


def test_words_left_behind_belong_to_the_last_interruption_only(session: Session) -> None:
    session.interrupt()
    session.record(ev.NoteAdded("drums"))
    back = session.resume_here()
    assert "you noted: drums" in texts(view.absence_lines(back))
    session.answer(ev.GOOD)
    session.interrupt()
    again = session.resume_here()
    assert "you noted: drums" not in texts(view.absence_lines(again))


# -- the end ---------------------------------------------------------------------------------------------------------


def test_the_end_names_what_is_owed(session: Session) -> None:
    for step in session.state.plan.steps:
        session.record(ev.StepAnswered(step.key, ev.GOOD, confirmed=True))
    assert view.end_card(session.state).core == (Line("big", "LINE CHECK COMPLETE: 7 good"),)
    session.record(ev.StepAnswered("lines", ev.LATER))
    card = view.end_card(session.state)
    assert "~ Ask the house for every line | later" in texts(card.after)


def test_stopping_names_musts_and_counts_the_rest(session: Session) -> None:
    step = session.state.planned("scene")
    many = tuple(replace(step, key=f"scene@{n}", must=True) for n in range(9))
    state = replace(session.state, plan=replace(session.state.plan, steps=many))
    lines = texts(view.stop_lines(state))
    assert lines.count("! MUST owed: Load the scene") == 5
    assert lines[-1] == "… and 4 more"


# -- which key answers ----------------------------------------------------------------------------------------------


def test_keys_follow_the_step(session: Session) -> None:
    def keys(offer: Offer) -> list[str]:
        return [choice.key for choice in offer.choices()]

    assert keys(Offer(session.state)) == ["g", "f", "l", "o", "h"]
    assert keys(Offer(session.state, reading_cautions=True)) == ["Enter"]
    must = session.answer(ev.GOOD)
    assert keys(Offer(must))[0] == "m"
    assert keys(Offer(must, must_key="y"))[0] == "y"
    audible = session.go_to("reboot")
    assert keys(Offer(audible))[0] == "y"
    assert keys(Offer(audible, ready=True))[0] == "g"
    over = session.finish(ev.STOPPED)
    assert keys(Offer(over)) == ["u"]


@pytest.mark.parametrize(
    ("key", "must_key", "allowed"), [("g", "m", False), ("m", "m", True), ("y", "m", False), ("m", "y", False)]
)
def test_only_the_offered_key_confirms_a_must(session: Session, key: str, must_key: str, allowed: bool) -> None:
    offer = Offer(session.answer(ev.GOOD), must_key=must_key)
    if allowed:
        assert offer.confirms(key).key == "minimum"
    else:
        with pytest.raises(NotAllowed, match=f"{must_key} confirms"):
            offer.confirms(key)


# -- standing lines --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("seconds", "clock", "words"),
    [
        (0, "0:00", "0 s"),
        (59.9, "0:59", "59 s"),
        (400, "6:40", "6 min"),
        (3600, "1:00:00", "1 h"),
        (3900, "1:05:00", "1 h 5 min"),
    ],
)
def test_times_in_words(seconds: float, clock: str, words: str) -> None:
    assert clock_words(seconds) == clock
    assert minutes_words(seconds) == words


def show(slot: str, changeover: float | None = None) -> Show:
    return Show("s", "v", "2026-05-02", slot, changeover)


@pytest.mark.parametrize(
    ("slot", "when"),
    [
        ("20:30", datetime(2026, 5, 2, 18, 30, tzinfo=UTC)),
        ("00:30", datetime(2026, 5, 2, 22, 30, tzinfo=UTC)),
        ("", None),
        ("late", None),
    ],
)
def test_a_slot_after_midnight_belongs_to_the_same_night(slot: str, when: datetime | None) -> None:
    assert slot_time(show(slot), timezone(timedelta(hours=2))) == when


MINUTE = timedelta(minutes=1)


@pytest.mark.parametrize(
    ("before", "parts"),
    [
        (90 * MINUTE, ["changeover 20 min", "slot 20:30 in 1 h 30 min"]),
        (20 * MINUTE, ["changeover 20:00 left", "slot 20:30"]),
        (6 * MINUTE + timedelta(seconds=40), ["changeover 6:40 left", "slot 20:30"]),
        (-3 * MINUTE, ["changeover is OVER", "slot 20:30 was 3 min ago"]),
    ],
)
def test_the_changeover_ends_at_the_slot(before: timedelta, parts: list[str]) -> None:
    left = TimeLeft.of(show("20:30", 20.0), UTC)
    now = datetime(2026, 5, 2, 20, 30, tzinfo=UTC) - before
    assert left.parts(now - 5 * MINUTE, now) == parts


def test_without_a_slot_the_changeover_counts_from_the_start_of_the_run() -> None:
    started = datetime(2026, 5, 2, 20, 0, tzinfo=UTC)
    left = TimeLeft.of(show("", 20.0), UTC)
    assert left.parts(started, started + 5 * MINUTE) == ["changeover 15:00 left"]
    assert left.parts(started, started + 21 * MINUTE) == ["changeover is OVER"]
    assert TimeLeft.of(None).parts(started, started) == []


def test_a_slot_alone_is_said_too() -> None:
    now = datetime(2026, 5, 2, 20, 0, tzinfo=UTC)
    assert TimeLeft.of(show("20:30"), UTC).parts(None, now) == ["slot 20:30 in 30 min"]


@pytest.mark.parametrize(
    ("done", "words"),
    [
        (Progress(open=3), "0 owed | 3 open"),
        (Progress(later=2, open=1, owed=("a", "b"), musts_owed=("b", "c")), "2 owed, 1 a must | 1 open"),
        (Progress(open=3, usual_left=90), "0 owed | 3 open, usually 1 min"),
    ],
)
def test_what_is_owed_in_words(done: Progress, words: str) -> None:
    assert owed_words(done) == words


def test_the_place_comes_first_so_that_it_is_never_cut(session: Session) -> None:
    assert view.title_of(session.state, current(session.state)) == "1 of 3 | Before | Line check"
    assert view.title_of(session.state, None) == "Line check"

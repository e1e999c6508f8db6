"""What the fault walk's screen says, from walks and asks alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from showday.counsel import InTime
from showday.desk import Desk
from showday.fault.advise import Advice, Likely
from showday.fault.walk import CANT_NOW, HELP, NO_CHANGE, WORKED, Ask
from showday.run.session import Session
from showday.run.state import WalkState
from showday.tui import walk_view as view
from showday.tui.lines import Line
from tests.tui.evening import FakeClock


@pytest.fixture
def session(desk: Desk) -> Session:
    session = desk.start_bare()
    desk.open_walk(session, "no-signal")
    return session


def walk(session: Session) -> WalkState:
    assert session.state.walk is not None
    return session.state.walk


def fix(**more: object) -> Ask:
    made: dict[str, object] = {"kind": "fix", "id": "plug", "do": "Push the plug in", "answers": (WORKED, NO_CHANGE)}
    return Ask(**{**made, **more})  # type: ignore[arg-type]


CHECK = Ask(kind="check", id="meter", do="Does it move?", answers=("it moves", "it stays still"))


def test_danger_and_what_must_be_opened_stand_before_what_to_do() -> None:
    ask = fix(caution="Mute first.", irreversible="the house hears it", opens="Open the rack", takes=30.0)
    card = view.ask_card(ask, ready=False, again=False)
    assert [line.text for line in card.before] == [
        "TRY | takes about 30 s",
        "! Mute first.",
        "! EVERYONE NOTICES: the house hears it",
        "Wait for the right moment, then y.",
        "first: Open the rack",
    ]
    assert card.core == (Line("do", "Push the plug in"),)


def test_a_workaround_says_that_it_cures_nothing_and_what_it_uses() -> None:
    card = view.ask_card(fix(workaround=True, uses="spare pack"), ready=False, again=False)
    assert card.before[0].text == "WORKAROUND: sound comes back, the cause stays | uses spare pack"


@pytest.mark.parametrize(("left", "said"), [(2, "(2 left)"), (1, "(1 left)"), (0, "(NONE left)")])
def test_a_workaround_says_how_many_of_its_spare_are_left(left: int, said: str) -> None:
    card = view.ask_card(fix(workaround=True, uses="spare pack"), ready=False, again=False, left=left)
    assert card.before[0].text.endswith(f"uses spare pack {said}")


ADVICE = Advice(
    step="plug",
    seconds=171.0,
    reason="40% likely, 20 s; next best costs +9 s",
    close=False,
    likely=(
        Likely("cable", "the cable is dead", 0.47, here=4, anywhere=5),
        Likely("muted", "it is muted", 0.5, anywhere=2),
        Likely("rare", "the moon", 0.004),
    ),
    instead="the author's next step (Look) costs +12 s",
)


def test_the_reason_is_one_line_and_what_is_quicker_in_time_another() -> None:
    hurry = InTime("spare", "Take the spare line", 180.0, "62% against 48%")
    assert [line.text for line in view.reason_lines(ADVICE, hurry)] == [
        "40% likely, 20 s; next best costs +9 s",
        "F5 likelier to bring sound back in the 3 min left (62% against 48%): Take the spare line",
    ]
    assert view.reason_lines(None, None) == [Line("reason", "the author's order; F3 computes one")]


def test_on_a_small_screen_what_is_quicker_takes_one_row() -> None:
    hurry = InTime("spare", "Take the spare line and plug it into the stage box", 180.0, "62% against 48%")
    [_, said] = view.reason_lines(ADVICE, hurry, width=60)
    assert len(said.text) <= 58
    assert said.text.startswith("F5 likelier in time (62% against 48%): Take the")


def test_contradicting_answers_are_told_before_the_reason() -> None:
    odd = replace(ADVICE, trouble="The answers contradict each other.")
    assert [line.kind for line in view.reason_lines(odd, None)] == ["warning", "reason"]


def test_help_says_that_a_workaround_is_left_while_the_cause_comes_first() -> None:
    last = replace(ADVICE, step=HELP)
    assert "F4" in view.reason_lines(last, None, stopgap=True)[-1].text
    assert len(view.reason_lines(last, None)) == 1
    assert len(view.reason_lines(ADVICE, None, stopgap=True)) == 1


def test_bars_have_percent_words_and_counts_and_are_read_without_colour() -> None:
    rows = view.odds_rows(ADVICE)
    assert [row.lead for row in rows] == [" 47% #####.....", " 50% #####.....", ""]
    assert [row.text for row in rows] == [
        "the cable is dead (4 of 4 times here, 5 of 7 in all)",
        "it is muted (2 of 7 in all)",
        "and 1 more, each under 1%",
    ]
    assert all(row.lead.isascii() for row in rows)
    assert [line.text for line in view.odds_lines(ADVICE)] == [
        "Still likely | about 3 min to sound, on average",
        "Why not the author's order: the author's next step (Look) costs +12 s",
    ]


def test_which_order_or_goal_is_followed_stands_with_its_key() -> None:
    assert view.mode_words(True, True) == "author's order (F3)"
    assert view.mode_words(False, True) == "sound first (F4)"
    assert view.mode_words(False, False) == "cause first (F4)"


def test_a_walk_for_the_to_fix_list_is_called_so() -> None:
    state = WalkState("w", "f", "No signal", "t", (), about="input 1, Bass")
    assert view.title_of(state) == "FAULT: No signal | input 1, Bass"
    assert view.title_of(replace(state, item="i")) == "TO FIX: No signal | input 1, Bass"


def test_what_is_suggested_stands_second_when_another_was_taken() -> None:
    outline = (("a", ()), ("b", ()), (HELP, ()))
    rows = view.list_rows(WalkState("w", "f", "t", "t", outline), str, "a", "b")
    assert rows == [("a", "> a"), ("b", "* suggested: b"), (HELP, ". help")]
    assert [node for node, _ in view.list_rows(WalkState("w", "f", "t", "t", outline), str, "a", HELP)] == [
        "a",
        HELP,
        "b",
    ]


def test_what_was_put_off_says_that_it_came_back() -> None:
    card = view.ask_card(CHECK, ready=False, again=True)
    assert card.before[0] == Line("banner", "CAME BACK: you put this off")


def test_before_the_second_key_only_putting_off_is_offered_beside_it() -> None:
    ask = fix(irreversible="the house hears it")
    assert [c.key for c in view.ask_choices(ask, ready=False, see="")] == ["y"]
    assert [c.key for c in view.ask_choices(ask, ready=True, see="")] == ["1", "2"]
    assert "c" in [c.key for c in view.other_choices(ask)]


def test_not_knowing_is_among_the_answers_of_a_check_that_everyone_notices() -> None:
    ask = replace(CHECK, irreversible="the house hears it")
    assert [c.key for c in view.ask_choices(ask, ready=False, see="")] == ["y"]
    assert [c.key for c in view.other_choices(ask)] == ["d", "c", "g"]


def test_help_cannot_be_put_off() -> None:
    ask = Ask(kind="help", id=HELP, do="Ask the house", answers=(WORKED, NO_CHANGE))
    keys = [c.key for c in (*view.ask_choices(ask, ready=True, see=""), *view.other_choices(ask))]
    assert keys == ["1", "2", "3"]


def test_no_two_answers_share_a_key() -> None:
    for ask in (CHECK, fix(see="hum"), fix(irreversible="all hear it")):
        rows = [*view.ask_choices(ask, ready=True, see="Hum"), *view.other_choices(ask)]
        keys = [row.key for row in rows]
        assert len(keys) == len(set(keys))


def test_the_list_shows_what_stands_here_then_what_is_left_then_what_was_answered_and_help_last(
    desk: Desk, session: Session
) -> None:
    tree = desk.tree_of(session.state)
    session.answer_walk(desk.ask(session.state, tree), "it stays still")
    here = desk.ask(session.state, tree).id
    rows = view.list_rows(walk(session), lambda node: node, here)
    assert rows[0] == ("plug", "> plug")
    assert rows[-2:] == [("meter", "x meter = it stays still"), (HELP, f". {HELP}")]
    assert len(rows) == len(walk(session).outline)


def test_causes_to_choose_from_are_those_of_the_fix_else_all_of_the_tree(desk: Desk, session: Session) -> None:
    tree = desk.tree_of(session.state)
    plug = desk.ask_again(session.state, tree, "plug")
    assert [name for name, _ in view.cause_candidates(tree, plug)] == ["loose-plug", "bad-cable"]
    assert len(view.cause_candidates(tree, None)) == len(tree.causes)


def test_answers_so_far_stand_newest_first_in_words() -> None:
    state = WalkState("w", "f", "No signal", "t", (), answers=(("a", CANT_NOW), ("b", NO_CHANGE)))
    lines = view.answered_lines(state, lambda node: f"Do {node}", 3)
    assert [line.text for line in lines if line.text] == ["x Do b = no change", "x Do a = can't now"]
    assert view.answered_lines(WalkState("w", "f", "t", "t", ()), str, 3) == []


def test_the_time_spent_on_this_fault_is_counted_from_its_opening(session: Session, clock: FakeClock) -> None:
    clock.advance(80)
    assert view.count_words(session) == "0 answered | 1:20 on this fault"

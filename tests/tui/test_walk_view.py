"""What the fault walk's screen says, from walks and asks alone."""

from __future__ import annotations

import pytest

from showday.desk import Desk
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


def test_what_was_put_off_says_that_it_came_back() -> None:
    card = view.ask_card(CHECK, ready=False, again=True)
    assert card.before[0] == Line("banner", "CAME BACK: you put this off")


def test_before_the_second_key_only_putting_off_is_offered_beside_it() -> None:
    ask = fix(irreversible="the house hears it")
    assert [c.key for c in view.ask_choices(ask, ready=False, see="")] == ["y"]
    assert [c.key for c in view.ask_choices(ask, ready=True, see="")] == ["1", "2"]
    assert "c" in [c.key for c in view.other_choices(ask, ready=False)]


def test_help_cannot_be_put_off() -> None:
    ask = Ask(kind="help", id=HELP, do="Ask the house", answers=(WORKED, NO_CHANGE))
    keys = [c.key for c in (*view.ask_choices(ask, ready=True, see=""), *view.other_choices(ask, ready=True))]
    assert keys == ["1", "2", "3"]


def test_no_two_answers_share_a_key() -> None:
    for ask in (CHECK, fix(see="hum"), fix(irreversible="all hear it")):
        rows = [*view.ask_choices(ask, ready=True, see="Hum"), *view.other_choices(ask, ready=True)]
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

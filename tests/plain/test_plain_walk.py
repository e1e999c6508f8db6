"""Fault walks line by line, inside a run and on their own."""

from __future__ import annotations

import pytest

from showday.run import events as ev
from showday.run.phases import FAULT_WALK, FINISHED
from tests.plain.small_evening import Evening

TO_SIGNAL = ("g", "c")
"""Answers that lead to the first step with fault trees."""


def test_a_fault_offers_the_trees_of_the_step_and_enter_takes_the_first(evening: Evening) -> None:
    said = evening.enter(*TO_SIGNAL, "f", "")
    assert "[tree signal@1] 1 No signal; 2 Hum or buzz; Enter for the first, or none?" in said.shown
    assert "Fault walk: No signal, input 1, Bass" in said.shown
    assert "Caution: Keep ears out while plugs are pulled." in said.shown
    assert said.prompts[-1] == "check meter"


@pytest.mark.parametrize(
    ("typed", "fault"), [("2", "hum"), ("hum", "hum"), ("No sig", "no-signal"), ("1", "no-signal")]
)
def test_a_tree_is_chosen_by_number_or_words(evening: Evening, typed: str, fault: str) -> None:
    evening.enter(*TO_SIGNAL, "f", typed)
    [opened] = evening.events(ev.WalkOpened)
    assert isinstance(opened, ev.WalkOpened)
    assert (opened.fault, opened.step) == (fault, "signal@1")


def test_no_tree_keeps_the_fault_and_goes_on(evening: Evening) -> None:
    said = evening.enter(*TO_SIGNAL, "f cable is cut", "7", "none")
    assert said.prompts[-3:] == ["tree signal@1", "tree signal@1", "reading signal@2 dBFS"]
    assert evening.events(ev.StepAnswered)[-1] == ev.StepAnswered("signal@1", "fault", "cable is cut")
    assert evening.events(ev.WalkOpened) == []


def test_input_that_ends_at_the_choice_of_a_tree_keeps_the_fault(evening: Evening) -> None:
    evening.enter(*TO_SIGNAL, "f")
    assert evening.answers()[-1] == ("signal@1", "fault")
    assert evening.again().prompts[0] == "reading signal@2 dBFS"


def test_a_fault_without_a_tree_is_only_noted(evening: Evening) -> None:
    assert evening.enter("f").prompts == ["step clock", "must minimum"]


def test_restored_asks_the_cause_and_then_the_same_step_again(evening: Evening) -> None:
    said = evening.enter(*TO_SIGNAL, "f", "", "it stays", "restored", "2", "-18")
    assert said.prompts[2:8] == [
        "reading signal@1 dBFS",
        "tree signal@1",
        "check meter",
        "fix plug",
        "cause plug",
        "reading signal@1 dBFS",
    ]
    assert "Cause 1: A plug was loose" in said.shown
    assert "Step 3 of 7, input 1, Bass, to look at again." in said.shown
    assert [type(e) for e in evening.events(ev.SoundRestored, ev.CauseConfirmed, ev.WalkEnded)] == [
        ev.SoundRestored,
        ev.CauseConfirmed,
        ev.WalkEnded,
    ]
    assert evening.session.state.walks[-1].cause == "bad-cable"
    assert evening.answers()[-1] == ("signal@1", "good")


def test_an_unknown_cause_is_not_confirmed(evening: Evening) -> None:
    said = evening.enter(*TO_SIGNAL, "f", "", "2", "r", "what", "unknown")
    assert "Answer with the number of a cause, or unknown, or back, or note and words." in said.shown
    assert evening.events(ev.CauseConfirmed) == []
    assert evening.session.state.walks[-1].outcome == "restored"


# -- how answers are typed ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        ("1", "it moves"),
        ("2", "it stays still"),
        ("it moves", "it moves"),
        ("IT STAYS STILL", "it stays still"),
        ("it s", "it stays still"),
        ("  it   m ", "it moves"),
        ("d", "don't know"),
        ("don't know", "don't know"),
        ("dont know", "don't know"),
        ("Don’t know", "don't know"),
        ("c", "can't now"),
        ("can't now", "can't now"),
    ],
)
def test_answers_by_number_words_or_beginning(walk: Evening, typed: str, answer: str) -> None:
    walk.enter(typed)
    [answered] = walk.events(ev.WalkAnswered)
    assert isinstance(answered, ev.WalkAnswered)
    assert (answered.node, answered.answer) == ("meter", answer)


@pytest.mark.parametrize("typed", ["it", "i", "3", "0", "", "perhaps", "good", "note", "١"])
def test_what_could_be_several_or_none_is_asked_again(walk: Evening, typed: str) -> None:
    said = walk.enter(typed)
    assert said.prompts == ["check meter", "check meter"]
    assert walk.events(ev.WalkAnswered) == []
    assert any(
        line.startswith(("Not understood. Answer: 1 it moves", "That could be any of these: it moves; it"))
        for line in said.shown
    )


def test_answers_that_begin_with_figures_have_no_numbers(walk: Evening) -> None:
    walk.enter("leave")
    walk.session = walk.desk.start_bare()
    walk.desk.open_walk(walk.session, "hum")
    said = walk.enter("1", "2")
    assert said.prompts[:2] == ["check lines", "check lines"]
    assert "[check lines] one line; many lines; 2 or 3?" in said.shown
    [answered] = walk.events(ev.WalkAnswered)
    assert isinstance(answered, ev.WalkAnswered)
    assert answered.answer == "2 or 3"


def test_a_letter_that_is_also_the_beginning_of_an_answer_is_asked_about(walk: Evening) -> None:
    said = walk.enter("2", "n", "no change", "no change", "l")
    assert said.prompts[:3] == ["check meter", "fix plug", "yes spare-line"]
    assert [e.answer for e in walk.events(ev.WalkAnswered) if isinstance(e, ev.WalkAnswered)] == [
        "it stays still",
        "no change",
    ]
    assert "It was not agreed to yet. Answer yes and do it, or can't now." in said.shown


def test_back_takes_the_last_answer_away(walk: Evening) -> None:
    said = walk.enter("1", "back", "2")
    assert said.prompts == ["check meter", "fix send-up", "check meter", "fix plug"]


def test_back_from_the_cause_takes_the_whole_fix_back(walk: Evening) -> None:
    said = walk.enter("1", "restored", "back")
    assert said.prompts == ["check meter", "fix send-up", "cause send-up", "fix send-up"]
    assert walk.session.state.walk is not None
    assert walk.session.state.walk.answers == (("meter", "it moves"),)


def test_back_at_the_first_check_says_there_is_nothing(walk: Evening) -> None:
    assert "There is nothing to undo here." in walk.enter("back").shown


def test_notes_in_a_walk_are_kept(walk: Evening) -> None:
    walk.enter("note smells of solder", "1", "restored", "n on the lid", "1")
    assert [e.text for e in walk.events(ev.NoteAdded) if isinstance(e, ev.NoteAdded)] == [
        "smells of solder",
        "on the lid",
    ]


def test_help_in_a_walk_lists_only_what_is_possible_there(walk: Evening) -> None:
    said = walk.enter("?", "2", "?")
    assert "  don't know or d: no answer to this check; the walk looks at all that may follow" in said.shown
    at_the_fix = said.shown[said.shown.index("[fix plug] 1 restored; 2 no change?") :]
    assert not any(line.startswith("  don't know") for line in at_the_fix)
    assert any(line.startswith("  can't now or c") for line in at_the_fix)


# -- what cannot be taken back, workarounds, help --------------------------------------------------------------------


def test_a_fix_that_the_audience_hears_wants_yes_first(walk: Evening) -> None:
    said = walk.enter("2", "no change", "restored", "yes", "restored", "1")
    assert "Cannot be taken back: the house loses this line" in said.shown
    assert said.prompts[2:6] == ["yes spare-line", "yes spare-line", "fix spare-line", "cause spare-line"]
    assert walk.session.state.walks[-1].by == "spare-line"


def test_what_was_not_agreed_to_can_be_put_off(walk: Evening) -> None:
    said = walk.enter("2", "no change", "c")
    assert said.prompts[-1] == "check card"


def test_a_workaround_says_that_nothing_is_cured_and_what_it_uses_up(walk: Evening) -> None:
    said = walk.enter("2", "no change", "yes", "restored", "unknown")
    assert "It is a workaround, not a cure; it goes on the to-fix list. Used up: spare line." in said.shown
    [item] = walk.desk.book().open_items()
    assert item.uses == "spare line"


def test_what_must_be_opened_is_said_before_the_check(walk: Evening) -> None:
    said = walk.enter("2", "no change", "c", "loose")
    first = said.shown.index("First: Open the rear of the rack")
    assert said.shown[first + 1] == "Check: Is the card seated?"
    assert said.shown.count("First: Open the rear of the rack") == 1


def test_sound_that_came_back_by_itself_has_no_cause(walk: Evening) -> None:
    said = walk.enter("restored")
    assert "Sound came back by itself." in said.shown
    assert walk.session.state.walks[-1].restored
    assert said.prompts == ["check meter"]


def test_when_nothing_helped_the_walk_ends_with_help(walk: Evening) -> None:
    said = walk.enter("1", "no change", "no change")
    assert said.prompts == ["check meter", "fix send-up", "fix help"]
    assert "Get help: Ask the house engineer about the input" in said.shown
    assert said.shown[-1] == "stopped: No signal: not solved, help was asked for, 3 answers"
    assert walk.session.state.phase == FINISHED


def test_help_that_restored_asks_for_any_cause_of_the_tree(walk: Evening) -> None:
    said = walk.enter("1", "no change", "restored", "4")
    assert next(line for line in said.shown if line.startswith("Cause ")) == "Cause 1: The send was down"
    assert walk.session.state.walks[-1].cause == "card-loose"
    assert said.shown[-1] == "complete: No signal: restored, 3 answers"


def test_the_sentences_are_about_the_line_of_the_step(evening: Evening) -> None:
    said = evening.enter(*TO_SIGNAL, "f", "", "1", "no change")
    assert "Get help: Ask the house engineer about Bass" in said.shown


def test_a_cure_that_goes_on_in_another_tree(walk: Evening) -> None:
    said = walk.enter("2", "no change", "c", "loose", "see", "one line")
    assert "Goes on in: Hum or buzz (answer see)" in said.shown
    assert said.prompts[-3:] == ["fix cure:card-loose", "check lines", "fix cure:di"]


# -- from anywhere in a run ------------------------------------------------------------------------------------------


def test_something_else_can_go_wrong_at_any_step(evening: Evening) -> None:
    said = evening.enter("wrong buzzing hum", "many", "restored", "1", "g")
    assert said.prompts == [
        "step clock",
        "check lines",
        "fix cure:supply",
        "cause cure:supply",
        "step clock",
        "must minimum",
    ]


def test_words_that_no_tree_knows(evening: Evening) -> None:
    said = evening.enter("wrong xylophone quartz")
    assert "No fault tree sounds like 'xylophone quartz'. Use other words." in said.shown
    assert said.prompts == ["step clock", "step clock"]


def test_what_came_back_is_noted(evening: Evening) -> None:
    said = evening.enter("came back", "wrong hum", "many", "restored", "1", "came back")
    assert "No fault walk of this run has restored anything. Use wrong and what you hear." in said.shown
    assert evening.session.state.walks[-1].came_back


def test_leaving_a_walk_goes_on_with_the_run(evening: Evening) -> None:
    said = evening.enter(*TO_SIGNAL, "f", "", "1", "leave")
    assert said.prompts[-1] == "reading signal@2 dBFS"


# -- sittings ------------------------------------------------------------------------------------------------

SOLVED = ("2", "no change", "yes", "restored", "1")


@pytest.mark.parametrize("length", range(len(SOLVED)))
def test_a_walk_goes_on_where_the_input_ended(walk: Evening, length: int) -> None:
    said = walk.enter(*SOLVED[:length])
    assert said.shown[-1].endswith("; `showday fault no-signal --plain` goes on with it")
    rest = ("yes", *SOLVED[length:]) if length == 3 else SOLVED[length:]
    said = walk.again(*rest)
    assert said.shown[-1] == "complete: No signal: restored, 3 answers"


def test_a_walk_inside_a_run_goes_on_too(evening: Evening) -> None:
    evening.enter(*TO_SIGNAL, "f", "", "1")
    assert evening.session.state.resumed_to == FAULT_WALK
    said = evening.again()
    assert "1 answer so far; it goes on behind it." in said.shown
    assert said.prompts == ["fix send-up"]


def test_a_walk_whose_tree_is_lost_is_left_so_that_the_run_goes_on(evening: Evening) -> None:
    evening.enter(*TO_SIGNAL, "f", "", "1")
    text_of = evening.desk.keeper.text_of
    plan = evening.session.state.started.plan if evening.session.state.started else ""
    evening.desk.keeper.text_of = lambda hash: text_of(hash) if hash == plan else None  # type: ignore[method-assign]
    said = evening.again()
    assert "The fault tree of this walk cannot be read. Run `showday log check`." in said.shown
    assert said.prompts == ["reading signal@2 dBFS"]

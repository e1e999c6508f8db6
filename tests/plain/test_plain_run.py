"""Walking a playbook line by line."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from showday.desk import Desk
from showday.errors import LogTrouble
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.plain.front import walk_plain
from showday.plain.talk import Talk
from showday.run import events as ev
from showday.run.phases import FINISHED, INTERRUPTED, WALKING
from showday.run.progress import progress
from tests.plain.small_evening import Evening, TypedLines

WHOLE = ("g", "c", "-18", "-20", "85", "c", "230", "g", "yes", "g")
"""Answers that complete the small playbook."""


def test_a_whole_run_ends_complete_with_its_counts(evening: Evening) -> None:
    said = evening.enter(*WHOLE)
    assert said.shown[-2] == "Call: THE EVENING COMPLETE: 7 good"
    assert said.shown[-1] == "complete: 7 good"
    assert evening.session.state.phase == FINISHED
    assert said.prompts == [
        "step clock",
        "must minimum",
        "reading signal@1 dBFS",
        "reading signal@2 dBFS",
        "reading level dB",
        "must level",
        "reading free V",
        "step free",
        "yes reboot",
        "step reboot",
    ]


def test_a_step_is_shown_with_caution_first_then_do_until_why(evening: Evening) -> None:
    said = evening.enter("g")
    first = said.shown.index("Do: Start the clock")
    assert said.shown[first : first + 4] == [
        "Do: Start the clock",
        "Until: minutes on the screen",
        "Why: Time is short. (common practice)",
        "Usual time: 10 s",
    ]
    danger = said.shown.index("Caution: A plug pulled hot can bang.")
    assert danger < said.shown.index("Do: Turn every pack to minimum")
    assert "Caution: If anything tingles, stop." in said.shown[:5]


def test_a_section_is_told_once_with_its_caution_and_the_pause_point_before_it(evening: Evening) -> None:
    said = evening.enter("g", "c", "-18")
    assert said.shown.count("Section 2 of 3: Every input (read-do)") == 1
    assert said.shown.count("Caution: Ears out.") == 1
    assert said.shown.index("Pause point: before the doors") < said.shown.index(
        "Section 2 of 3: Every input (read-do)"
    )


def test_every_answer_is_in_the_log_before_the_next_prompt(evening: Evening) -> None:
    seen: list[tuple[str, int]] = []
    evening.enter(*WHOLE, looked=lambda prompt: seen.append((prompt, len(evening.answers()))))
    assert [count for _, count in seen] == [0, 1, 2, 3, 4, 4, 5, 5, 6, 6]


@pytest.mark.parametrize(
    ("typed", "result", "reason"),
    [
        ("good", "good", ""),
        ("G", "good", ""),
        ("confirm", "good", ""),
        ("fault", "fault", ""),
        ("f the screen is dark", "fault", "the screen is dark"),
        ("later", "later", ""),
        ("l", "later", ""),
        ("left out", "left out", ""),
        ("left out no clock here", "left out", "no clock here"),
        ("o no clock", "left out", "no clock"),
        ("  Left   Out  no clock ", "left out", "no clock"),
        ("not here", "not here", ""),
        ("h", "not here", ""),
    ],
)
def test_answer_words_and_letters(evening: Evening, typed: str, result: str, reason: str) -> None:
    evening.enter(typed)
    [answer] = evening.events(ev.StepAnswered)
    assert answer == ev.StepAnswered("clock", result, reason)


@pytest.mark.parametrize(
    "typed", ["good grief", "gut", "no", "yes", "", "   ", "7", "note", "n", "wrong", "go", "leftout"]
)
def test_what_is_not_understood_is_asked_again_with_the_answers_and_changes_nothing(
    evening: Evening, typed: str
) -> None:
    before = evening.events()
    said = evening.enter(typed)
    assert said.prompts == ["step clock", "step clock"]
    assert any(line.startswith("Not understood. Answer good, fault, later") for line in said.shown)
    after = evening.events()
    assert [type(e) for e in after[len(before) :]] == [ev.StepBegun, ev.RunInterrupted]


def test_help_prints_every_word_and_asks_again(evening: Evening) -> None:
    said = evening.enter("?", "help")
    for word in ("good or g", "left out … or o", "stop or s", "undo or u"):
        assert sum(line.startswith(f"  {word}:") for line in said.shown) == 2
    assert said.prompts == ["step clock"] * 3


# -- musts, readings, what cannot be taken back -------------------------------------------------------------------


def test_a_must_is_not_good_without_confirm(evening: Evening) -> None:
    said = evening.enter("g", "good", "c")
    assert said.prompts[1:3] == ["must minimum", "must minimum"]
    assert "This step is a must. When it is as wanted, answer confirm." in said.shown
    assert evening.events(ev.StepAnswered)[-1] == ev.StepAnswered("minimum", "good", confirmed=True)


@pytest.mark.parametrize("result", ["left out", "not here"])
def test_a_must_is_not_left_out_without_words(evening: Evening, result: str) -> None:
    said = evening.enter("g", result, f"{result} packs stay in the van")
    assert said.prompts[:3] == ["step clock", "must minimum", "must minimum"]
    assert any(line.startswith("This step is a must. ") and "reason" in line for line in said.shown)
    assert evening.events(ev.StepAnswered)[-1] == ev.StepAnswered("minimum", result, "packs stay in the van")


@pytest.mark.parametrize("typed", ["-18", "-18 dBFS", "-18dbfs", "\u221218", "-18,0", "- 18"])
def test_a_reading_inside_makes_the_step_good_at_once(evening: Evening, typed: str) -> None:
    said = evening.enter("g", "c", typed)
    assert "-18 dBFS: inside -24 to -12." in said.shown
    assert evening.events(ev.ReadingTaken) == [ev.ReadingTaken("signal@1", -18.0, "dBFS", True)]
    assert evening.answers()[-1] == ("signal@1", "good")
    assert said.prompts[-1] == "reading signal@2 dBFS"


def test_a_reading_outside_is_told_and_the_step_is_still_asked(evening: Evening) -> None:
    said = evening.enter("g", "c", "-3", "l")
    assert "-3 dBFS: OUTSIDE of -24 to -12." in said.shown
    assert said.prompts[2:5] == ["reading signal@1 dBFS", "step signal@1", "reading signal@2 dBFS"]
    assert evening.answers()[-1] == ("signal@1", "later")


def test_a_second_number_corrects_the_first(evening: Evening) -> None:
    evening.enter("g", "c", "-3", "-15")
    assert evening.answers()[-1] == ("signal@1", "good")
    assert evening.session.state.step("signal@1").reading == -15.0


def test_a_must_with_a_reading_wants_confirm_after_it(evening: Evening) -> None:
    said = evening.enter("g", "c", "-18", "-18", "85")
    assert "85 dB: inside 80 to 90." in said.shown
    assert said.prompts[-1] == "must level"
    assert ("level", "good") not in evening.answers()


def test_a_reading_without_a_range_gets_no_verdict(evening: Evening) -> None:
    said = evening.enter("g", "c", "-18", "-18", "85", "c", "231.5")
    assert "231.5 V noted." in said.shown
    assert said.prompts[-1] == "step free"


@pytest.mark.parametrize("typed", ["1e5", "nan", "inf", "0x10", "--3", "-18 V", "١٢x"])
def test_what_is_no_number_is_not_noted_as_one(evening: Evening, typed: str) -> None:
    said = evening.enter("g", "c", typed)
    assert evening.events(ev.ReadingTaken) == []
    assert said.prompts[-2:] == ["reading signal@1 dBFS", "reading signal@1 dBFS"]


def test_words_work_at_a_reading_prompt(evening: Evening) -> None:
    evening.enter("g", "c", "h")
    assert evening.answers()[-1] == ("signal@1", "not here")


def test_what_cannot_be_taken_back_is_named_and_wants_yes_first(evening: Evening) -> None:
    said = evening.enter(*WHOLE[:8], "g", "f", "yes", "g")
    assert "Cannot be taken back: the house hears nothing for a minute" in said.shown
    assert said.prompts[-4:] == ["yes reboot", "yes reboot", "yes reboot", "step reboot"]
    assert evening.answers()[-1] == ("reboot", "good")


def test_without_yes_it_can_be_put_off(evening: Evening) -> None:
    evening.enter(*WHOLE[:8], "h")
    assert evening.answers()[-1] == ("reboot", "not here")


# -- other words ---------------------------------------------------------------------------------------------------


def test_a_note_is_kept_at_the_step_and_the_step_asked_again(evening: Evening) -> None:
    said = evening.enter("note the left clock is slow", "g")
    assert evening.events(ev.NoteAdded) == [ev.NoteAdded("the left clock is slow", "clock")]
    assert said.prompts == ["step clock", "step clock", "must minimum"]


def test_undo_takes_back_the_last_answer_and_asks_that_step(evening: Evening) -> None:
    said = evening.enter("g", "u")
    assert "Taken back: good at clock." in said.shown
    assert said.prompts == ["step clock", "must minimum", "step clock"]
    assert progress(evening.session.state).good == 0


def test_undo_with_nothing_to_undo_says_so(evening: Evening) -> None:
    assert "There is nothing to undo here." in evening.enter("undo").shown


def test_later_says_where_it_comes_back_and_does(evening: Evening) -> None:
    said = evening.enter("l", "c", "g")
    assert "Noted: later; it comes back behind 'Before'." in said.shown
    assert "Step 1 of 7, put off before." in said.shown
    assert said.prompts[:3] == ["step clock", "must minimum", "step clock"]


def test_go_asks_another_step_and_a_wrong_id_names_the_nearest(evening: Evening) -> None:
    said = evening.enter("go singal@2", "go signal@2", "-18")
    assert "There is no step 'singal@2' in this run. Did you mean signal@2?" in said.shown
    assert evening.answers() == [("signal@2", "good")]


def test_list_says_what_is_owed(evening: Evening) -> None:
    said = evening.enter("g", "l", "list")
    assert any(line.startswith("1 good, 1 later, 5 open.") for line in said.shown)
    assert "Owed, minimum, a must: Turn every pack to minimum" in said.shown


def test_away_by_name_makes_lines_not_here(evening: Evening) -> None:
    said = evening.enter("away ben", "g", "c")
    assert "Noted: not here are Ben." in said.shown
    assert said.prompts[-1] == "reading signal@2 dBFS"


def test_away_with_an_unknown_name_says_who_is_known(evening: Evening) -> None:
    said = evening.enter("away Bem", "away nobody")
    assert "'Bem' is not in the rig file. Did you mean Ben?" in said.shown
    assert "Noted: all are here." in said.shown


def test_away_nobody_brings_everybody_back(evening: Evening) -> None:
    evening.enter("away ben", "away nobody")
    assert evening.session.state.away == frozenset()


# -- the end -------------------------------------------------------------------------------------------------------


def test_stop_in_full_ends_the_run_at_once(evening: Evening) -> None:
    said = evening.enter("g", "stop")
    assert said.shown[-1] == "stopped: 1 good, 6 open"
    assert evening.events(ev.RunFinished) == [ev.RunFinished("stopped")]


def test_the_letter_alone_wants_a_yes_while_steps_are_open(evening: Evening) -> None:
    said = evening.enter("s", "no", "s", "yes")
    assert said.prompts == ["step clock", "yes stop", "step clock", "yes stop"]
    assert evening.session.state.phase == FINISHED


def test_the_end_of_input_leaves_the_run_to_be_gone_on_with(evening: Evening) -> None:
    said = evening.enter("g")
    assert said.shown[-1] == "stopped: 1 good, 6 open; `showday run evening --plain` goes on with it"
    assert evening.session.state.phase == INTERRUPTED
    assert [r.id for r in evening.desk.unfinished()] == [evening.session.state.run]


def test_interrupt_keeps_its_word_and_going_on_says_it(evening: Evening) -> None:
    evening.enter("g", "interrupt guitarist shouts")
    said = evening.again("c")
    assert "You left with: guitarist shouts" in said.shown
    assert "Last done: Start the clock: good" in said.shown
    assert any(line.startswith("Going on with it: begun just now") for line in said.shown)
    assert said.prompts[0] == "must minimum"


def test_a_must_still_owed_at_the_end_is_asked_for(evening: Evening) -> None:
    later = ("g", "l", "l", "-18", "-18", "l", "85", "c", "g", "yes", "g", "l")
    said = evening.enter(*later, "nonsense", "list", "minimum", "c")
    assert said.prompts[-4:] == ["end", "end", "end", "must minimum"]
    assert "Must owed, minimum: Turn every pack to minimum" in said.shown
    assert said.shown[-1] == "complete: 7 good"


def test_stop_at_the_end_with_a_must_owed(evening: Evening) -> None:
    later = ("g", "l", "l", "-18", "-18", "l", "85", "c", "g", "yes", "g", "l")
    said = evening.enter(*later, "s")
    assert said.shown[-2].startswith("Call: THE EVENING STOPPED: 6 good, 1 later")
    assert said.shown[-1] == "stopped: 6 good, 1 later"


@pytest.mark.parametrize("length", range(len(WHOLE)))
def test_input_may_end_anywhere_and_the_rest_completes_it_later(evening: Evening, length: int) -> None:
    evening.enter(*WHOLE[:length])
    assert evening.session.state.phase == INTERRUPTED
    answered = evening.answers()
    rest = [("signal@1", "-18"), ("signal@2", "-18"), ("level", "85"), ("free", "g"), ("reboot", "yes")]
    done = {step for step, _ in answered}
    typed = [a for step, a in [("clock", "g"), ("minimum", "c"), *rest] if step not in done]
    more = {"85": ["85", "c"], "yes": ["yes", "g"]}
    said = evening.again(*[line for answer in typed for line in more.get(answer, [answer])])
    assert said.shown[-1] == "complete: 7 good"


def test_the_interrupt_key_leaves_the_run_as_a_crash_would(evening: Evening) -> None:
    class Pressed(TypedLines):
        def read(self) -> str | None:
            if not self.typed:
                raise KeyboardInterrupt
            return super().read()

    lines = Pressed(["g"])
    assert walk_plain(evening.desk, evening.session, Talk(lines)) == 130
    assert lines.shown[-1].startswith("stopped: 1 good, 6 open")
    assert evening.session.state.phase == WALKING


# -- the log's trouble ---------------------------------------------------------------------------------------------


class FailingLog(Log):
    """A log that takes nothing while `full` is set."""

    full = False

    def append(self, *args: object, **more: object) -> None:
        if FailingLog.full:
            raise LogTrouble("The disk is full.", "Make room.")
        super().append(*args, **more)  # type: ignore[arg-type]


def test_the_standing_warning_is_told_when_it_comes_and_when_it_goes(make_desk: Callable[..., Desk]) -> None:
    desk = make_desk(keeper=Keeper(FailingLog.in_memory))
    session = desk.start_run("evening")

    def looked(prompt: str) -> None:
        FailingLog.full = prompt.startswith(("[step clock]", "[must minimum]"))

    lines = TypedLines(["g", "c", "-18", "-18"], looked=looked)
    talk = Talk(lines)
    talk.watch(lambda: desk.keeper.warning)
    try:
        walk_plain(desk, session, talk)
    finally:
        FailingLog.full = False
    warned = [line for line in lines.shown if line.startswith("Warning: The disk is full; ")]
    assert len(warned) == 1
    assert lines.shown.index("Everything is saved again.") > lines.shown.index(warned[0])
    answers = [e.event for e in desk.keeper.entries(session.state.run) if isinstance(e.event, ev.StepAnswered)]
    assert len(answers) == 4

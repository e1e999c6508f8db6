"""A past run told entry by entry: every event has its words, and undone ones are known."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC

import pytest

from showday.review.story import of_step, of_walk, story, time_of_day
from showday.run import events as ev
from showday.run.plan import Plan, PlannedSection, PlannedStep
from showday.run.state import WalkState

PLAN = Plan(
    "lines",
    "Lines",
    (PlannedSection("All"),),
    (PlannedStep("kick@1", "kick", 0, "Make a sound", about="input 1, Kick"), PlannedStep("vox@2", "vox", 0, "Sing")),
)
OPENED = ev.WalkOpened("w", "hum", "Hum", "hash", (("di", ("restored",)),), "kick@1", "input 1, Kick")


def entries(*events: ev.Event) -> list[ev.Entry]:
    return [ev.Entry(f"e{n}", "run", n, f"2026-05-02T18:00:{n:02d}.000Z", n, e) for n, e in enumerate(events)]


def words(walk: WalkState, name: str) -> str:
    return f"{walk.fault}'s {name}"


@pytest.mark.parametrize(
    ("event", "text"),
    [
        (ev.RunStarted("lines", "Lines", "hash", away=("Ben",)), "begun: Lines, without Ben"),
        (ev.StepBegun("kick@1"), "shown: Make a sound (input 1, Kick)"),
        (ev.StepBegun("gone"), "shown: gone"),
        (ev.StepAnswered("vox@2", ev.LATER, "no time"), "later: no time: Sing"),
        (ev.StepAnswered("vox@2", ev.GOOD, confirmed=True, source="listen"), "good, confirmed (by listen): Sing"),
        (ev.ReadingTaken("vox@2", -3.0, "dBFS", False), "read -3 dBFS, OUTSIDE: Sing"),
        (ev.ReadingTaken("vox@2", -18.0, "dBFS", True), "read -18 dBFS, inside: Sing"),
        (ev.ReadingTaken("vox@2", 5.0, "bars"), "read 5 bars: Sing"),
        (ev.NoteAdded("cold hall"), "note: cold hall"),
        (ev.AwayChanged(()), "away: nobody"),
        (ev.RunInterrupted("door"), "left: door"),
        (ev.RunInterrupted(), "left"),
        (ev.RunResumed(240), "back after 4 min"),
        (OPENED, "fault walk: Hum (input 1, Kick)"),
        (replace(OPENED, item="i"), "fault walk: Hum (input 1, Kick), for the cause of a to-fix item"),
        (ev.RunFinished(ev.STOPPED), "the run is stopped"),
        (ev.CameBack("unknown"), "it came back: a fault"),
        (ev.Undone("not here"), "an answer is taken back"),
    ],
)
def test_each_event_in_words(event: ev.Event, text: str) -> None:
    assert [told.text for told in story(entries(event), PLAN, words)] == [text]


def test_a_fault_walk_in_the_words_of_its_tree() -> None:
    told = story(
        entries(
            OPENED,
            ev.WalkAnswered("w", "di", "no change", ev.CARRIED),
            ev.WalkAnswered("w", "di", "restored"),
            ev.SoundRestored("w", "di", True, "spare DI"),
            ev.CauseConfirmed("w", "loop"),
            ev.WalkEnded("w", ev.RESTORED),
            ev.CameBack("w"),
        ),
        PLAN,
        words,
    )
    assert [line.text for line in told] == [
        "fault walk: Hum (input 1, Kick)",
        "hum's di: no change (answered in the walk before)",
        "hum's di: restored",
        "sound is back: hum's di, a workaround, used up: spare DI",
        "cause confirmed: hum's loop",
        "the walk ended with sound",
        "it came back: Hum",
    ]
    assert of_walk(told, "w") == told
    assert {line.step for line in told} == {"kick@1"}


def test_what_was_taken_back_is_told_and_known() -> None:
    told = story(entries(ev.StepAnswered("vox@2", ev.GOOD), ev.Undone("e0"), ev.NoteAdded("x", "vox@2")), PLAN, words)
    assert [line.taken_back for line in told] == [True, False, False]
    assert told[1].text == "taken back: good: Sing"
    assert [line.text for line in of_step(told, "vox@2")] == ["good: Sing", "note: x"]


def test_every_event_of_a_run_has_its_words() -> None:
    for kind in ev.RUN_EVENTS:
        required = {name: "x" for name, f in kind.__dataclass_fields__.items() if f.init}
        event = kind(**{**required, **{k: v for k, v in (("value", 1.0), ("gap", 1.0)) if k in required}})
        text = story(entries(event), None, words)[0].text
        assert "newer program" not in text, kind


def test_what_only_a_newer_program_knows_is_said_so() -> None:
    assert story(entries(ev.Event()), PLAN, words)[0].text == "something that only a newer program can read"


def test_times_of_the_log_as_times_of_day() -> None:
    assert time_of_day("2026-05-02T18:04:30.000Z", UTC) == "18:04:30"
    assert time_of_day("yesterday") == "yesterday"

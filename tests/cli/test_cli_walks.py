"""`showday run`, `fault` and the screens: what is walked, and what is gone on with."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from showday import paths
from showday.commands import walking
from showday.errors import ShowdayError
from showday.log.store import Log
from showday.opening import reading_desk
from showday.saving import the_log
from tests.cli.calling import GOOD_PLAYBOOK, GOOD_TREE, Called, own_files, put

Call = Callable[..., Called]


@pytest.fixture(autouse=True)
def mine(home: Path) -> None:
    """Own files are there."""
    own_files(home)


def prompts(called: Called) -> list[str]:
    """The tags of the prompts."""
    return [line[1:].partition("]")[0] for line in called.out.splitlines() if line.startswith("[")]


def runs() -> list[tuple[str, str]]:
    """(playbook, outcome) of the runs in the log, newest first."""
    with Log.open(paths.log_path()) as log:
        return [(record.playbook, record.outcome) for record in log.runs()]


# -- run -----------------------------------------------------------------------------------------------------------


def test_a_run_from_start_to_end(call: Call) -> None:
    called = call("run", "mine", "--plain", typed="g\ng\n")
    assert (called.code, called.last, called.err) == (0, "complete: 2 good", "")
    assert runs() == [("mine", "complete")]


@pytest.mark.parametrize("typed", ["mine", "My own", "MY  OWN"])
def test_a_playbook_by_id_or_title(call: Call, typed: str) -> None:
    assert call("run", typed, "--plain", typed="stop\n").code == 0


def test_a_playbook_that_is_not_there_names_the_nearest(call: Call) -> None:
    called = call("run", "line-chek", "--plain")
    assert called.code == 2
    assert called.err == "showday: There is no playbook 'line-chek'. Did you mean line-check?\n"


def test_a_playbook_with_problems_says_so(call: Call, home: Path) -> None:
    put(home / "config", playbooks_broken="playbook: broken\n")
    called = call("run", "broken", "--plain")
    assert called.code == 1
    assert "The playbook 'broken' has problems. `showday check` names them." in called.err


def test_a_playbook_file_is_walked_from_where_it_is(call: Call, tmp_path: Path) -> None:
    path = put(tmp_path, draft=GOOD_PLAYBOOK.replace("mine", "draft").replace("buzz", "hum")) / "draft.yaml"
    assert call("run", str(path), "--plain", typed="g\ng\n").last == "complete: 2 good"
    path.write_text("playbook: draft\n", "utf-8")
    assert call("run", str(path), "--plain").code == 1
    assert call("run", str(tmp_path / "no.yaml"), "--plain").code == 2


def test_an_unfinished_run_is_gone_on_with_and_new_starts_afresh(call: Call) -> None:
    call("run", "mine", "--plain", typed="g\n")
    again = call("run", "mine", "--plain")
    assert "Going on with it: begun just now" in again.out
    assert "Last done: Do it: good" in again.out
    assert prompts(again) == ["step two"]
    afresh = call("run", "mine", "--plain", "--new", typed="g\ng\n")
    assert prompts(afresh) == ["step one", "step two"]
    assert runs() == [("mine", "complete"), ("mine", "")]


def test_a_finished_run_is_not_gone_on_with(call: Call) -> None:
    call("run", "mine", "--plain", typed="stop\n")
    assert prompts(call("run", "mine", "--plain")) == ["step one"]


def test_a_run_of_another_show_is_not_gone_on_with(call: Call) -> None:
    call("run", "mine", "--plain", "--venue", "Old Hall", "--date", "2031-07-04", typed="g\n")
    other = call("run", "mine", "--plain", "--venue", "Old Hall", "--date", "2031-07-05")
    assert prompts(other) == ["step one"]
    same = call("run", "mine", "--plain", "--venue", "old hall", "--date", "2031-07-04")
    assert prompts(same) == ["step two"]


def test_people_away_are_not_asked_for(call: Call, home: Path) -> None:
    lines = "playbook: lines\ntitle: Lines\nsections: [{title: A, for_each: input, steps: [{id: a, do: Sound}]}]\n"
    put(home / "config", playbooks_lines=lines)
    assert prompts(call("run", "lines", "--plain", "--away", "ben")) == ["step a@2"]
    assert prompts(call("run", "lines", "--plain", "--away", "Ada,Ben")) == []
    called = call("run", "lines", "--plain", "--away", "Benn")
    assert called.code == 2
    assert "Did you mean Ben?" in called.err


def test_facts_of_the_show_choose_the_steps(call: Call, home: Path) -> None:
    steps = "[{id: out, do: Go, when: outdoors}, {id: in, do: Go, when: not outdoors}]"
    put(home / "config", playbooks_facts=f"playbook: facts\ntitle: F\nsections: [{{title: A, steps: {steps}}}]\n")
    there = ("--venue", "Field", "--date", "2031-07-04", "--fact")
    assert prompts(call("run", "facts", "--plain", *there, "not", "outdoors", "festival")) == ["step in"]
    assert prompts(call("run", "facts", "--plain", "--new", *there, "outdoors")) == ["step out"]
    wrong = call("run", "facts", "--plain", *there, "outdors")
    assert wrong.code == 2
    assert "Did you mean outdoors?" in wrong.err


def test_a_named_rig_is_used_and_a_broken_one_refused(call: Call, tmp_path: Path, home: Path) -> None:
    lines = "playbook: lines\ntitle: Lines\nsections: [{title: A, for_each: input, steps: [{id: a, do: Sound}]}]\n"
    put(home / "config", playbooks_lines=lines)
    other = put(tmp_path, big="rig: big\ninputs: [A, B, C]\n") / "big.yaml"
    assert "Step 1 of 3" in call("run", "lines", "--plain", "--rig", str(other)).out
    other.write_text("rig: [\n", "utf-8")
    called = call("run", "lines", "--plain", "--rig", str(other))
    assert called.code == 2
    assert called.err.startswith(f"showday: The rig file has problems: {other}:")
    put(home / "config", rig="inputs: [A]\n")
    assert call("run", "lines", "--plain", "--new").code == 2
    fault = call("fault", "buzz", "--plain", typed="leave\n")
    assert fault.code == 0
    assert "Going on without it." in fault.out


def test_without_a_rig_it_is_said_that_nothing_of_it_is_asked(call: Call, home: Path) -> None:
    (home / "config" / "rig.yaml").unlink()
    assert "There is no rig file yet, so nothing of it is asked" in call("run", "mine", "--plain").out


def test_broken_files_of_your_own_are_told_beside_the_work(call: Call, home: Path) -> None:
    put(home / "config", playbooks_broken="playbook: broken\n")
    called = call("run", "mine", "--plain", typed="g\ng\n")
    assert "One of your own files cannot be used; `showday check` says why." in called.out
    assert called.last == "complete: 2 good"


def test_the_example_act_leaves_nothing_behind(call: Call) -> None:
    called = call("run", "line-check", "--plain", "--demo", typed="g\n")
    assert called.code == 0
    assert prompts(called)[0].startswith("step ")
    assert not paths.log_path().exists()


# -- fault ---------------------------------------------------------------------------------------------------------


def test_a_fault_walk_by_what_is_heard(call: Call) -> None:
    called = call("fault", "hum", "--plain", "--author")
    assert "Fault walk: Hum or buzz" in called.out
    called = call("fault", "it buzzes", "--plain", "--author", typed="one\nrestored\n1\n")
    assert called.last == "complete: It buzzes: restored, 2 answers"
    assert runs()[0] == ("", "complete")


def test_several_close_trees_are_asked_about(call: Call, home: Path) -> None:
    for name in ("alpha", "omega"):
        tree = GOOD_TREE.replace("fault: buzz", f"fault: {name}").replace("It buzzes", f"Zzyx {name}")
        put(home / "config", **{f"playbooks_faults_{name}": tree.replace("heard_as: buzz", "heard_as: zzyx hiss")})
    called = call("fault", "zzyx", "--plain", typed="omega\n2\none\n")
    assert "Several fault trees are close:" in called.out
    assert prompts(called)[:2] == ["tree", "tree"]
    assert "Fault walk: Zzyx omega" in called.out
    assert call("fault", "zzyx", "--plain", typed="none\n").code == 0
    assert call("fault", "zzyx", "--plain").code == 0


def test_no_tree_sounds_like_it(call: Call) -> None:
    called = call("fault", "qqqq", "wwww", "--plain")
    assert called.code == 1
    assert called.err.startswith("showday: No fault tree sounds like 'qqqq wwww'.")


def test_without_words_all_trees_are_listed(call: Call) -> None:
    called = call("fault")
    assert called.code == 0
    assert "buzz: It buzzes. Heard as: buzz" in called.out.splitlines()


def test_a_broken_off_fault_walk_is_gone_on_with(call: Call) -> None:
    call("fault", "it buzzes", "--plain", "--author", typed="one\n")
    again = call("fault", "it buzzes", "--plain", "--author")
    assert prompts(again) == ["fix cure:di"]
    afresh = call("fault", "it buzzes", "--plain", "--author", "--new", typed="leave\n")
    assert prompts(afresh) == ["check lines"]
    assert (
        call("fault", "it buzzes", "--plain", "--author", typed="restored\n1\n").last
        == "complete: It buzzes: restored, 2 answers"
    )


def test_a_walk_that_died_before_its_run_was_ended_is_ended_by_the_next(call: Call) -> None:
    call("fault", "it buzzes", "--plain", "--author")
    with the_log(print) as keeper:
        desk = reading_desk(keeper)
        desk.resume_run(desk.unfinished()[0].id).end_walk()
    afresh = call("fault", "it buzzes", "--plain", "--author")
    assert prompts(afresh) == ["check lines"]
    assert runs() == [("", ""), ("", "stopped")]


# -- what the log does not take --------------------------------------------------------------------------------------


def test_answers_that_the_log_did_not_take_go_into_it_at_the_next_start(call: Call, home: Path) -> None:
    log = home / "data" / "showday-log.sqlite"
    log.parent.mkdir()
    log.write_text("something else", "utf-8")
    called = call("run", "mine", "--plain", typed="g\ng\n")
    assert (called.code, "complete: 2 good" in called.out) == (0, True)
    assert "Warning: " in called.out
    [beside] = paths.unsaved_files()
    assert str(beside) in called.last
    assert call("log", "check").code == 2
    log.unlink()
    call("run", "mine", "--plain", "--new")
    assert paths.unsaved_files() == []
    assert runs() == [("mine", ""), ("mine", "complete")]
    assert call("log", "check").code == 0


def test_lines_that_nobody_can_read_are_kept(call: Call) -> None:
    paths.unsaved_path().parent.mkdir(parents=True)
    paths.unsaved_path().write_text('{"half\n', "utf-8")
    call("run", "mine", "--plain", typed="g\ng\n")
    [kept] = paths.unsaved_files()
    assert kept.read_text("utf-8") == '{"half\n'


def test_when_no_file_takes_them_they_are_printed(call: Call, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = home / "data" / "showday-log.sqlite"
    log.parent.mkdir()
    log.write_text("something else", "utf-8")

    def refuse(path: Path, text: str) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(paths, "write_whole", refuse)
    called = call("run", "mine", "--plain", typed="g\n")
    assert "could not be saved anywhere (No space left on device)" in called.out
    assert '"kind": "step-answered"' in called.last or '"step-answered"' in called.out


# -- the screens -----------------------------------------------------------------------------------------------------


class Shown:
    """Stands in for the app of the screens and keeps what it was given."""

    made: list[dict[str, Any]]

    def __init__(self, desk: object, **given: Any) -> None:
        Shown.made.append({"desk": desk, **given})
        given["remember"]("showday-sun")
        self.return_code = 3

    def run(self) -> None:
        """Paint nothing."""


@pytest.fixture
def screens(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """A terminal that can show screens, and an app that shows none."""
    app = ModuleType("showday.tui.app")
    app.ShowdayApp = Shown  # type: ignore[attr-defined]
    Shown.made = []
    monkeypatch.setitem(sys.modules, "showday.tui.app", app)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(walking, "look_for_screen", lambda instead: None)
    return Shown.made


def test_the_screens_open_on_tonight_and_their_exit_status_counts(call: Call, screens: list[dict[str, Any]]) -> None:
    called = call()
    assert called.code == 3
    assert screens[0]["session"] is None
    assert screens[0]["desk"].rig.inputs[0].name == "Bass"


def test_the_theme_is_remembered(call: Call, screens: list[dict[str, Any]]) -> None:
    call()
    call()
    assert [made["theme_name"] for made in screens] == ["", "showday-sun"]


def test_the_authors_order_is_remembered_for_both_fronts(call: Call, screens: list[dict[str, Any]]) -> None:
    call()
    assert not screens[0]["desk"].by_author
    screens[0]["remember_order"](True)
    call()
    assert screens[1]["desk"].by_author
    assert "Why now: the author's order" in call("fault", "it buzzes", "--plain").out
    screens[1]["remember_order"](False)
    assert "Why now: the author's order" not in call("fault", "it buzzes", "--plain", "--new").out


def test_the_screens_open_on_a_run_and_go_on_with_it(call: Call, screens: list[dict[str, Any]]) -> None:
    call("run", "mine", "--plain", typed="g\n")
    call("run", "mine")
    assert screens[0]["session"].state.step("one").result == "good"


def test_the_screens_open_on_a_fault(call: Call, screens: list[dict[str, Any]]) -> None:
    call("fault", "it buzzes")
    assert screens[0]["fault"] == "buzz"


def test_the_screens_open_on_the_example_act(call: Call, screens: list[dict[str, Any]]) -> None:
    assert call("demo").code == 3
    desk, rest = screens[0]["desk"], screens[0]["rest"]
    assert desk.example and desk.library.heads()
    assert len(list(rest)) > 1 and desk.tonight() and desk.book().items


def test_screens_that_are_not_installed_point_to_the_plain_front(
    call: Call, monkeypatch: pytest.MonkeyPatch, screens: list[dict[str, Any]]
) -> None:
    monkeypatch.setitem(sys.modules, "showday.tui.app", None)
    called = call("run", "mine")
    assert called.code == 2
    assert called.err.startswith("showday: The screens cannot start: ")
    assert called.err.endswith("Use --plain.\n")


@pytest.mark.parametrize("term", ["dumb", "unknown"])
def test_a_terminal_that_cannot_show_them_points_to_the_plain_front(
    call: Call, monkeypatch: pytest.MonkeyPatch, term: str
) -> None:
    monkeypatch.setenv("TERM", term)
    monkeypatch.setattr(os, "isatty", lambda handle: True)
    called = call("run", "mine")
    assert (called.code, called.err) == (2, "showday: This terminal cannot show screens. Use --plain.\n")


@pytest.mark.parametrize(("keys", "drawing"), [(True, False), (False, True), (False, False)])
def test_both_input_and_error_stream_must_be_a_terminal(
    monkeypatch: pytest.MonkeyPatch, keys: bool, drawing: bool
) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(isatty=lambda: keys))
    monkeypatch.setattr(sys, "stderr", SimpleNamespace(isatty=lambda: drawing))
    with pytest.raises(ShowdayError, match="need a terminal"):
        walking.look_for_screen("--plain")


def test_a_terminal_on_both_is_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(isatty=lambda: True))
    monkeypatch.setattr(sys, "stderr", SimpleNamespace(isatty=lambda: True))
    walking.look_for_screen("--plain")


def test_the_to_fix_list_is_listed_and_one_of_it_can_be_hunted(call: Call) -> None:
    called = call("fault", "it buzzes", "--plain", "--author", typed="one\nno change\nleave\n")
    assert called.code == 0
    listed = call("fault", "--items")
    assert listed.out.startswith("1 ")
    assert "It buzzes: not solved" in listed.out
    hunted = call("fault", "--item", "1", "--plain", typed="")
    assert "Fault walk: It buzzes" in hunted.out
    assert "2 answers so far" in hunted.out
    assert "workarounds are not offered" in hunted.out
    again = call("fault", "--item", "1", "--plain", typed="leave\n")
    assert "Going on with it" in again.out
    assert call("fault", "--items").out == listed.out
    assert call("fault", "--item", "9", "--plain").code == 1

"""Scripted evenings: what is read, what is played, and what is refused with its place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from textwrap import dedent, indent
from typing import Protocol

import pytest

from showday.demo.play import PlayedClock, play
from showday.demo.script import read_evening
from showday.desk import Desk
from showday.errors import FileTrouble
from showday.fault.reader import read_tree
from showday.library import Library, Source
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.playbook.reader import read_playbook
from showday.rig.reader import read_rig
from showday.run import events as ev
from showday.run.session import World
from showday.run.state import RunState, replay

RIG = """
rig: small
people: [{name: Ada, plays: voice}, {name: Ben, plays: bass}]
inputs: [{name: Bass, person: Ben}, {name: Voice, person: Ada}]
"""
PLAYBOOK = """
playbook: check
title: Check
sections:
  - title: First
    steps:
      - {id: clock, do: Start the clock, takes: 10s}
      - {id: volts, do: Read the volts, takes: 10s, must: yes, reading: {name: supply, unit: V, wanted: 207..253}}
  - title: Lines
    pause: before the song
    steps:
      - {id: line, do: "Sound {input.name}", for_each: input, takes: 20s, if_wrong: quiet,
         reading: {name: peak, unit: dBFS}}
"""
TREE = """
fault: quiet
title: Nothing comes
heard_as: nothing
concerns: input
walk:
  - check: Look at the plug
    id: plug
    takes: 5s
    answers:
      in: {fix: Turn it up, id: up, cures: low, takes: 5s}
      out: {cause: unplugged}
  - {fix: Take the other line, id: other, cures: unplugged, workaround: yes, uses: spare line, takes: 5s}
causes:
  low: {what: turned down, cure: Turn it up}
  unplugged: {what: it was out, cure: Push it in, takes: 5s}
help: {do: Call somebody, takes: 60s}
"""
DAY = date(2030, 6, 1)
HEAD = """
evening: night
days_before: 3
venue: {name: The Barn, town: Nowhere, notes: {supply: one socket, access: [stairs, narrow door]}}
slot: 20:15
changeover: 25min
facts: [festival]
readings: {supply: 230, peak: [-20, -12]}
"""


def small_library() -> Library:
    tree, _ = read_tree(TREE, "quiet.yaml")
    book, _ = read_playbook(PLAYBOOK, "check.yaml", {"quiet"})
    assert tree is not None and book is not None
    sources = {
        ("playbook", "check"): Source("playbook", "check", "check.yaml", PLAYBOOK),
        ("fault", "quiet"): Source("fault", "quiet", "quiet.yaml", TREE),
    }
    return Library({"check": book}, {"quiet": tree}, sources)


@dataclass
class Played:
    """A desk after one evening."""

    desk: Desk

    def states(self) -> list[RunState]:
        keeper = self.desk.keeper
        found = []
        for record in reversed(keeper.runs()):
            entries = keeper.entries(record.id)
            found.append(replay(record.id, self.desk.plan_of(entries), entries))
        return found

    def state(self) -> RunState:
        (state,) = self.states()
        return state


class Play(Protocol):
    """Plays an evening whose runs are given as YAML."""

    def __call__(self, runs: str, head: str = HEAD) -> Played: ...


def whole(head: str, runs: str) -> str:
    """A script of these parts."""
    return f"{head.strip()}\nruns:\n{indent(dedent(runs).strip(), '  ')}\n"


def place(text: str, words: str) -> str:
    """Line and column of words that stand once in a text, as editors count them."""
    before, found, after = text.partition(words)
    assert found and words not in after
    return f"{before.count(chr(10)) + 1}:{len(before.rpartition(chr(10))[2]) + 1}"


@pytest.fixture
def evening(make_world: Callable[[], World]) -> Play:
    """Plays an evening whose runs are given as YAML."""
    rig, _ = read_rig(RIG, "rig.yaml")
    assert rig is not None

    def made(runs: str, head: str = HEAD) -> Played:
        script, problems = read_evening(whole(head, runs), "night.yaml")
        assert script is not None, [str(p) for p in problems]
        keeper = Keeper(Log.in_memory)
        clock = PlayedClock(datetime(2000, 1, 1, tzinfo=UTC))
        desk = Desk(small_library(), rig, None, keeper, World(keeper, clock, make_world().new_id))
        play(desk, clock, script, "night.yaml", DAY, UTC)
        return Played(desk)

    return made


def refused(evening: Play, runs: str) -> str:
    with pytest.raises(FileTrouble) as caught:
        evening(runs)
    return str(caught.value)


def test_a_run_that_says_nothing_is_good_in_the_usual_time(evening: Play) -> None:
    state = evening("- {began: 10:00, playbook: check}").state()
    assert [state.result_of(step) for step in state.plan.steps] == [ev.GOOD] * 4
    first, last = state.history[0], state.history[-1]
    assert first.at == "2030-05-29T10:00:00.000Z"
    assert isinstance(last.event, ev.RunFinished) and last.event.outcome == ev.COMPLETE
    assert last.elapsed == 10 + 10 + 20 + 20 + 1
    assert [state.step(key).reading for key in ("volts", "line@1", "line@2")] == [230, -20, -12]


def test_pace_and_extra_time(evening: Play) -> None:
    state = evening("- {began: 10:00, playbook: check, pace: 1.5, steps: {clock: {extra: 7s}}}").state()
    assert state.history[-1].elapsed == 1.5 * 60 + 7 + 1


def test_the_day_before_and_the_show_itself(evening: Play) -> None:
    played = evening("- {began: 23:00, playbook: check, day: -1}")
    assert played.state().history[0].at == "2030-05-28T23:00:00.000Z"
    (show,) = played.desk.book().shows.values()
    assert (show.date, show.slot, show.changeover, show.facts) == ("2030-05-29", "20:15", 25, ("festival",))
    assert played.desk.show == show.id
    (venue,) = played.desk.book().places()
    assert [(n.topic, n.text) for n in venue.notes] == [
        ("supply", "one socket"),
        ("access", "stairs"),
        ("access", "narrow door"),
    ]


def test_an_answer_for_all_things_of_a_step_or_for_one(evening: Play) -> None:
    steps = "{line: {result: not here}, line@2: {note: loud, reading: -3}}"
    state = evening(f"- {{began: 10:00, playbook: check, steps: {steps}}}").state()
    assert state.step("line@1").result == ev.NOT_HERE
    assert (state.step("line@2").result, state.step("line@2").reading) == (ev.GOOD, -3)
    assert state.step("line@2").notes == ("loud",)


def test_put_off_and_done_when_it_comes_back(evening: Play) -> None:
    state = evening("- {began: 10:00, playbook: check, steps: {clock: [later, {note: at last}]}}").state()
    answers = [(e.event.step, e.event.result) for e in state.history if isinstance(e.event, ev.StepAnswered)]
    assert answers == [
        ("clock", "later"),
        ("volts", "good"),
        ("line@1", "good"),
        ("line@2", "good"),
        ("clock", "good"),
    ]


def test_put_right_on_the_spot(evening: Play) -> None:
    state = evening("- {began: 10:00, playbook: check, steps: {clock: [fault, good]}}").state()
    answers = [e.event.step for e in state.history if isinstance(e.event, ev.StepAnswered)]
    assert answers == ["clock", "clock", "volts", "line@1", "line@2"]


WALKED = """
- began: 10:00
  playbook: check
  steps:
    line@2:
      - walk:
          tree: quiet
          answers: {plug: out, "cure:unplugged": ANSWER, other: restored}
          cause: unplugged
      - {note: sounds again}
"""


def test_a_walk_at_a_step_and_the_step_again(evening: Play) -> None:
    played = evening(WALKED.replace("ANSWER", "no change"))
    state = played.state()
    (walk,) = state.walks
    assert walk.answers == (("plug", "out"), ("cure:unplugged", "no change"), ("other", "restored"))
    assert (walk.outcome, walk.cause, walk.workaround, walk.uses) == (ev.RESTORED, "unplugged", True, "spare line")
    assert (state.step("line@2").result, state.step("line@2").notes) == (ev.GOOD, ("sounds again",))
    (item,) = played.desk.book().open_items()
    assert (item.about, item.uses) == ("input 2, Voice", "spare line")


def test_what_the_walk_did_not_need_is_refused(evening: Play) -> None:
    runs = WALKED.replace("ANSWER", "restored").replace("other: restored", "other: no change")
    text = refused(evening, runs)
    assert text.startswith(f"night.yaml:{place(whole(HEAD, runs), 'other')}: ")
    assert "'other' was not asked in this walk" in text


def test_a_walk_that_is_left_opens_an_item(evening: Play) -> None:
    played = evening(
        "- {began: 10:00, playbook: check, steps: {line@1: {walk: {tree: quiet, answers: {plug: out}}}}}"
    )
    assert played.state().walks[0].outcome == ev.LEFT
    assert [item.text for item in played.desk.book().open_items()] == ["Nothing comes: not solved"]


def test_the_same_node_twice(evening: Play) -> None:
    answers = '{plug: ["can\'t now", in], other: no change, up: no change, help: restored}'
    state = evening(f"- {{began: 10:00, walk: {{tree: quiet, answers: {answers}}}}}").state()
    assert [node for node, _ in state.walks[0].answers] == ["plug", "other", "plug", "up", "help"]


def test_a_to_fix_item_is_noted_and_closed(evening: Play) -> None:
    runs = WALKED.replace("ANSWER", "no change") + "  to_fix: [{item: nothing comes, note: new lead, how: swapped}]"
    (item,) = evening(runs).desk.book().items.values()
    assert (item.notes, item.how, bool(item.closed)) == (("new lead",), "swapped", True)


def test_a_stopped_run_stands_where_it_was(evening: Play) -> None:
    state = evening("- {began: 10:00, playbook: check, stopped_at: line@2}").state()
    assert state.outcome == ev.STOPPED
    assert state.result_of(state.planned("line@2")) == ""


def test_an_interruption_and_a_laptop_that_went_off(evening: Play) -> None:
    state = evening("""
        - began: 10:00
          playbook: check
          steps:
            volts: {break: {takes: 2min, cue: van}}
            line@1: {break: {takes: 9min, laptop: yes}}
    """).state()
    happened = [e.event for e in state.history if isinstance(e.event, ev.RunInterrupted | ev.RunResumed)]
    assert happened == [ev.RunInterrupted("van"), ev.RunResumed(120.0), ev.RunResumed(540.0)]
    assert [e.seq for e in state.history] == list(range(len(state.history)))
    assert state.history[-1].elapsed == 60 + 120 + 1, "the time without the laptop counts for nothing"
    assert state.history[-1].at == "2030-05-29T10:12:01.000Z"


def test_somebody_is_away(evening: Play) -> None:
    head = HEAD + "away: Ben\n"
    played = evening("- {began: 10:00, playbook: check}", head)
    state = played.state()
    assert state.result_of(state.planned("line@1")) == ev.NOT_HERE
    assert state.result_of(state.planned("line@2")) == ev.GOOD


@pytest.mark.parametrize(
    ("runs", "where", "words"),
    [
        ("- {began: 10:00, playbook: chek}", "chek", "no playbook 'chek' (did you mean check?)"),
        ("- {began: 10:00, playbook: check, steps: {clok: later}}", "clok", "(did you mean clock?)"),
        ("- {began: 10:00, playbook: check, steps: {line@3: later}}", "line@3", "'line@3' is not a step"),
        ("- {began: 10:00, playbook: check, steps: {volts: left out}}", "left out", "give the reason in words"),
        ("- {began: 10:00, playbook: check, stopped_at: clok}", "clok", "'clok' was never asked"),
        (
            "- {began: 10:00, playbook: check, stopped_at: volts, steps: {line@1: later}}",
            "line@1",
            "'line@1' was not asked in this run",
        ),
        ("- {began: 10:00, walk: {tree: quite, answers: {plug: in}}}", "quite", "(did you mean quiet?)"),
        ("- {began: 10:00, walk: {tree: quiet, answers: {plugs: in}}}", "plugs", "(did you mean plug?)"),
        ("- {began: 10:00, walk: {tree: quiet, answers: {plug: inn}}}", "inn", "is not an answer of 'plug'"),
        ("- {began: 10:00, walk: {tree: quiet, answers: {other: restored}}}", "quiet", "asks 'plug' next"),
        (
            "- {began: 10:00, walk: {tree: quiet, answers: {plug: out}, cause: lost}}",
            "lost",
            "'lost' is not a cause of quiet",
        ),
        (
            "- {began: 10:00, playbook: check, to_fix: [{item: hum, how: cured}]}",
            "{item",
            "0 open to-fix items have 'hum' in them",
        ),
        (
            "- {began: 10:00, playbook: check}\n- {began: 10:01, playbook: check}",
            "{began: 10:01",
            "before the one before it was over",
        ),
    ],
)
def test_what_does_not_fit_is_refused_with_its_place(evening: Play, runs: str, where: str, words: str) -> None:
    text = refused(evening, runs)
    assert text.startswith(f"night.yaml:{place(whole(HEAD, runs), where)}: "), text
    assert words in text


def test_a_reading_without_a_value_is_refused(evening: Play) -> None:
    with pytest.raises(FileTrouble, match="the reading 'supply' has no value under `readings`"):
        evening("- {began: 10:00, playbook: check}", HEAD.replace("supply: 230, ", ""))


@pytest.mark.parametrize(
    ("old", "new", "where", "problem"),
    [
        ("slot: 20:15", "slot: 25:15", "25:15", "'25:15' is not a time of day such as 19:30"),
        ("days_before: 3", "days_before: soon", "soon", "'soon' is not a whole number"),
        ("[festival]", "[festivall]", "festivall", "'festivall' is not a condition (did you mean festival?)"),
        ("supply: one", "suply: one", "suply", "'suply' is not a topic (did you mean supply?)"),
        ("evening: night\n", "", "days", "the key 'evening' is missing: id, the same as the file name"),
        ("changeover", "chngeover", "chng", "'chngeover' is not a key of an evening (did you mean changeover?)"),
    ],
)
def test_a_script_is_read_strictly(old: str, new: str, where: str, problem: str) -> None:
    text = HEAD.strip().replace(old, new, 1)
    _, problems = read_evening(text, "night.yaml")
    assert [str(p) for p in problems] == [f"night.yaml:{place(text, where)}: {problem}"]


@pytest.mark.parametrize(
    "run", ["{began: 10:00}", "{began: 10:00, playbook: check, walk: {tree: quiet, answers: {plug: in}}}"]
)
def test_a_run_has_a_playbook_or_a_walk(run: str) -> None:
    script, problems = read_evening(f"{HEAD.strip()}\nruns: [{run}]", "night.yaml")
    assert script is None
    assert [p.text for p in problems] == ["a run has either a playbook or a walk of its own"]

"""From the rig to what is wanted of its inputs, and from what was heard to the answers of a fault walk."""

from __future__ import annotations

from itertools import count

import pytest

from showday.clockwork import SystemClock
from showday.counsel import Counsel, answer_by_ear, heard_nodes
from showday.desk import Desk
from showday.fault.heard import ARRIVALS, HEARD_SURE, Evidence, heard_answers, understood
from showday.fault.model import Check
from showday.fault.reader import read_tree
from showday.hearing import evidence, input_of, pairs_of, wanted_inputs
from showday.library import load_library
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.playbook.reader import read_playbook
from showday.rig.model import Rig
from showday.rig.reader import read_rig
from showday.run import events as ev
from showday.run.past_walks import WALK_EVENTS, lessons, logged_walks
from showday.run.plan import make_plan
from showday.run.session import Session, World
from showday.sound.arrivals import Arrival
from showday.sound.model import KINDS, Finding
from showday.sound.pairs import Pair
from showday.sound.verdict import Heard
from tests.support.world import PLAYBOOKS

RIG_TEXT = """
rig: trio
inputs:
  - Kick
  - {name: Snare top, number: 5, pair: 6}
  - {name: Snare bottom, number: 6, pair: 5}
  - {name: Keys L, number: 9, pair: 10}
  - {name: Keys R, number: 10, pair: 9}
  - {name: Guest, spare: yes}
  - {name: Tracks, number: 12, source: playback}
"""


def trio() -> Rig:
    rig, problems = read_rig(RIG_TEXT, "trio.yaml")
    assert rig is not None, list(map(str, problems))
    return rig


def test_input_n_is_wanted_on_channel_n() -> None:
    wanted = wanted_inputs(trio())
    assert [(w.input, w.number, w.channel) for w in wanted] == [
        ("Kick", 1, 0),
        ("Snare top", 5, 4),
        ("Snare bottom", 6, 5),
        ("Keys L", 9, 8),
        ("Keys R", 10, 9),
        ("Guest", 11, 10),
        ("Tracks", 12, 11),
    ]
    assert [w.input for w in wanted if w.digital] == ["Tracks"]
    assert {(w.low_dbfs, w.high_dbfs) for w in wanted} == {(-24.0, -12.0)}


def test_the_shipped_line_check_wants_what_is_wanted_without_one() -> None:
    book, problems = read_playbook((PLAYBOOKS / "line-check.yaml").read_bytes(), "line-check.yaml")
    assert book is not None, list(map(str, problems))
    assert wanted_inputs(trio(), make_plan(book, trio())) == wanted_inputs(trio())


def test_a_reading_of_the_line_check_gives_the_range() -> None:
    text = """
playbook: own
title: Own
phase: changeover
sections:
  - title: Lines
    for_each: input
    steps:
      - {id: signal, do: "Sound {input.name}", opens: listen, reading: {name: peak, unit: dBFS, wanted: "-30..-9"}}
      - {id: hot, do: "Hit {input.name}", opens: listen, reading: {name: peak, unit: dBFS, wanted: "..-10"}}
      - {id: volts, do: "Read {input.name}", reading: {name: peak, unit: dBFS, wanted: "-3..-2"}}
"""
    book, problems = read_playbook(text, "own.yaml")
    assert book is not None, list(map(str, problems))
    assert {(w.low_dbfs, w.high_dbfs) for w in wanted_inputs(trio(), make_plan(book, trio()))} == {(-30.0, -10.0)}


def test_pairs_are_told_once_and_a_drum_from_below_is_upside_down() -> None:
    assert pairs_of(trio()) == [Pair(4, 5, inverted=True), Pair(8, 9)]


def test_the_input_that_a_step_is_about() -> None:
    assert input_of(trio(), ("input", "5")) == "Snare top"
    assert input_of(trio(), ("mix", "5")) == input_of(trio(), ("", "")) == input_of(trio(), ("input", "77")) == ""


# -- words -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "lines", "line", "holds"),
    [
        ("hum", {"hum": "3"}, "3", True),
        ("hum", {"hum": "3"}, "", True),
        ("hum", {"hum": "4"}, "3", False),
        ("hum", {"buzz": "3"}, "3", False),
        ("hum or buzz", {"buzz": "3"}, "3", True),
        ("hum on 1 line", {"hum": "3"}, "3", True),
        ("hum on 1 line", {"hum": "34"}, "3", False),
        ("hum or buzz on 2 lines", {"hum": "3", "buzz": "4"}, "3", True),
        ("hum or buzz on 2 lines", {"hum": "3", "buzz": "3"}, "3", False),
        ("hum on 4 lines or more", {"hum": "1234"}, "3", True),
        ("hum on 4 lines or more", {"hum": "123"}, "3", False),
        ("phone buzz", {"rf_buzz": "3"}, "3", True),
        ("dead line or digital silence", {"digital_silence": "3"}, "3", True),
    ],
)
def test_what_an_authors_words_mean(words: str, lines: dict[str, str], line: str, holds: bool) -> None:
    said = understood(words)
    assert said is not None
    assert said.hold(Evidence({kind: frozenset(on) for kind, on in lines.items()}, line)) == holds


@pytest.mark.parametrize(
    "words", ["", "humm", "hum on", "hum on 0 lines", "hum and buzz", "hum on many lines", "it arrives on 1 line"]
)
def test_other_words_are_a_problem_that_says_what_to_write(words: str) -> None:
    assert understood(words) is None
    text = (PLAYBOOKS / "faults" / "hum.yaml").read_text("utf-8")
    assert "high steady whine: clock tone" in text
    tree, problems = read_tree(
        text.replace("high steady whine: clock tone", f"high steady whine: '{words}'"), "hum.yaml"
    )
    assert tree is None
    assert "hum.yaml" in str(problems.errors[0])


def test_an_answer_that_the_check_does_not_have_is_a_problem() -> None:
    text = (PLAYBOOKS / "faults" / "hum.yaml").read_text("utf-8")
    tree, problems = read_tree(text.replace("high steady whine: clock", "high whine: clock"), "hum.yaml")
    assert tree is None
    assert "'high whine' is not an answer of this check" in str(problems.errors[0])


# -- evidence --------------------------------------------------------------------------------------------------------


def found(
    kind: str, channel: int, level: float | None = -50.0, f0: float | None = 50.0, sure: float = 0.8
) -> Finding:
    return Finding(kind, channel, level, f0, 1.0, 20.0, sure, "")


def heard_as(verdict: str, peak: float = -15.0) -> Heard:
    return Heard("Snare top", "", "", peak, Arrival("Snare top", 4, 4, 20.0, verdict, ""))


@pytest.mark.parametrize(
    ("finding", "counts"),
    [
        (found("hum", 4), True),
        (found("hum", 4, -85.0), False),
        (found("hum", 4, sure=0.3), False),
        (found("clipping", 4, None), True),
        (found("clipping", 4, None, sure=0.6), False),
        (found("clock_tone", 4, f0=1_000.0), True),
        (found("clock_tone", 4, f0=100.0), False),
    ],
)
def test_only_what_is_strong_and_sure_is_evidence(finding: Finding, counts: bool) -> None:
    told = evidence([finding], wanted_inputs(trio()), "Snare top")
    assert (told.lines == {finding.kind: frozenset({"4"})}) == counts
    assert told.line == "4"


def test_what_is_over_is_no_evidence() -> None:
    assert not evidence([found("hum", 4)], wanted_inputs(trio()), "Snare top", since_s=30.0).lines


@pytest.mark.parametrize(
    ("verdict", "peak", "answer"),
    [
        ("arrived", -15.0, "it jumps"),
        ("arrived", -40.0, "it barely moves"),
        ("elsewhere", -15.0, "another strip jumps"),
        ("nothing", -90.0, "nothing moves"),
        ("unsure", -15.0, None),
    ],
)
def test_where_a_sound_came_out_answers_the_first_look(verdict: str, peak: float, answer: str | None) -> None:
    tree = load_library().trees["no-signal"]
    told = evidence([], wanted_inputs(trio()), "Snare top", heard_as(verdict, peak))
    assert dict(heard_answers(tree, told)).get("input-meter") == answer


# -- in a walk -------------------------------------------------------------------------------------------------------


@pytest.fixture
def desk() -> Desk:
    keeper, numbers = Keeper(Log.in_memory), count(1)
    world = World(keeper, SystemClock(), lambda: f"id-{next(numbers):04d}")
    return Desk(load_library(), trio(), None, keeper, world)


def hum_walk(desk: Desk) -> tuple[Session, Counsel]:
    session = desk.start_bare()
    state = desk.open_walk(session, "hum")
    return session, Counsel(desk, state, desk.tree_of(state))


def chance(counsel: Counsel, session: Session, cause: str) -> float:
    return next((c.chance for c in counsel.likely(session.state).likely if c.cause == cause), 0.0)


ONE_LINE = Evidence({"hum": frozenset("4")}, "4")
MANY = Evidence({"hum": frozenset("1234")}, "4")


def test_hum_on_one_line_starts_the_walk_narrowed(desk: Desk) -> None:
    session, counsel = hum_walk(desk)
    before = chance(counsel, session, "di-loop"), chance(counsel, session, "phone-near")
    given = answer_by_ear(session, counsel.tree, ONE_LINE)
    assert given == [("noise-kind", "hum or buzz"), ("where-hum", "on one strip")]
    assert heard_nodes(session.state) == {"noise-kind", "where-hum"}
    assert chance(counsel, session, "di-loop") > before[0]
    assert chance(counsel, session, "phone-near") < before[1]
    assert counsel.next(session.state)[0].id == "tingle"  # what protects people is asked all the same
    assert answer_by_ear(session, counsel.tree, MANY) == []  # what has an answer keeps it


def test_hum_on_many_lines_speaks_for_the_supply(desk: Desk) -> None:
    session, counsel = hum_walk(desk)
    before = chance(counsel, session, "two-supplies")
    assert answer_by_ear(session, counsel.tree, MANY)[1] == ("where-hum", "on many strips")
    assert chance(counsel, session, "two-supplies") > before


def test_whoever_looks_overrules_what_was_heard_and_undo_takes_it_back(desk: Desk) -> None:
    session, counsel = hum_walk(desk)
    answer_by_ear(session, counsel.tree, ONE_LINE)
    heard = chance(counsel, session, "di-loop")
    ask = desk.ask_again(session.state, counsel.tree, "where-hum")
    assert ask is not None
    session.answer_walk(ask, "on many strips")
    assert heard_nodes(session.state) == {"noise-kind"}
    assert chance(counsel, session, "di-loop") < heard
    session.undo()
    assert heard_nodes(session.state) == {"noise-kind", "where-hum"}
    assert chance(counsel, session, "di-loop") == pytest.approx(heard)
    session.undo()
    assert heard_nodes(session.state) == {"noise-kind"}


def test_a_heard_answer_is_trusted_less_than_a_seen_one(desk: Desk) -> None:
    by_ear, counsel = hum_walk(desk)
    answer_by_ear(by_ear, counsel.tree, ONE_LINE)
    heard = chance(counsel, by_ear, "two-supplies")
    by_ear.end_walk()
    by_ear.finish()
    by_hand, counsel = hum_walk(desk)
    for node, answer in (("noise-kind", "hum or buzz"), ("where-hum", "on one strip")):
        ask = desk.ask_again(by_hand.state, counsel.tree, node)
        assert ask is not None
        by_hand.answer_walk(ask, answer)
    check = counsel.tree.node("where-hum")
    assert check is not None and getattr(check, "sure", 0.0) > HEARD_SURE
    assert heard > chance(counsel, by_hand, "two-supplies")


def test_the_log_keeps_who_answered_and_learns_nothing_from_what_was_heard(desk: Desk) -> None:
    session, counsel = hum_walk(desk)
    answer_by_ear(session, counsel.tree, ONE_LINE)
    session.end_walk("two-supplies")
    session.finish()
    [logged] = logged_walks(desk.keeper.events_of(WALK_EVENTS, [session.state.run]))
    assert logged.heard == {"noise-kind", "where-hum"}
    [lesson] = lessons([logged], "hum", venues=set(), rig="trio", now=desk.world.clock.now())
    assert lesson.heard == logged.heard
    after, counsel = hum_walk(desk)
    assert "where-hum" not in counsel.learned(after.state).numbers.checks
    sources = [e.event.source for e in session.state.history if isinstance(e.event, ev.WalkAnswered)]
    assert sources == [ev.HEARD, ev.HEARD]


@pytest.mark.parametrize("fault", ["hum", "noise", "no-signal", "dead-mic", "distortion"])
def test_every_answer_that_shipped_trees_hear_can_be_heard(fault: str) -> None:
    """Each row of `heard` gives its own answer from some evidence."""
    tree = load_library().trees[fault]
    kinds = [Evidence({k: frozenset(map(str, range(n)))}, "0") for k in KINDS for n in (1, 4)]
    every = [*kinds, *(Evidence(arrival=words) for words in ARRIVALS)]
    given = {pair for one in every for pair in heard_answers(tree, one)}
    rows = {(str(n.id), str(label)) for n in tree.nodes() if isinstance(n, Check) for label, _ in n.heard}
    assert rows and given == rows

"""The author's order of a tree, as a function of the answers so far."""

from __future__ import annotations

import pytest

from showday.fault.walk import (
    CANT_NOW,
    CURE,
    DONT_KNOW,
    HELP,
    NO_CHANGE,
    WORKED,
    Ask,
    ask_for,
    next_ask,
    outline,
    put_off,
    standing,
)
from tests.support.world import tree_of

TREE = tree_of("""
fault: f
title: No sound
heard_as: silent
concerns: input
help: {do: "Ask the house about {input.name}", takes: 2min, caution: Ears out}
groups: {rack: {what: Open the rack, takes: 60s}}
walk:
  - check: Does the meter of {input.name} move?
    id: meter
    until: it moves
    answers:
      moves:
        - {fix: Turn the send up, id: send, cures: send-low}
        - {cause: bad-ear}
      still:
        - {fix: "Push the plug[ at {input.box}] in", id: plug, cures: {loose: 0.8, broken: 0.1}, invalidates: meter}
        - check: Is the card seated?
          id: card
          group: rack
          answers: {firm: {cause: broken}, loose: {cause: card-loose}}
        - {fix: Seat the other card, id: other, cures: card-loose, group: rack}
  - {fix: Take the spare line, id: spare, cures: [broken, loose], workaround: yes, uses: spare line, when: festival}
  - {fix: Unmute, id: unmute, cures: muted, first: yes, irreversible: the house hears it, why: It is quick.}
causes:
  send-low: {what: the send was down, cure: Turn it up}
  bad-ear: {what: the earphone is bad, cure: Take another, see: one-ear, why: It wears out.}
  loose: {what: a plug was loose, cure: Push it in}
  broken: {what: "the cable of {input.name} is broken", cure: "Swap the cable of {input.name}", takes: 40s}
  card-loose: {what: a card sat loose, cure: Seat it}
  muted: {what: it was muted, cure: Unmute}
""")


def walk(*answers: str, **more: object) -> list[str]:
    """Ids asked when the given answers are given in turn; the last is what comes next."""
    given: list[tuple[str, str]] = []
    asked = []
    for answer in answers:
        ask = next_ask(TREE, given, **more)  # type: ignore[arg-type]
        asked.append(ask.id)
        given.append((ask.id, answer))
    return [*asked, next_ask(TREE, given, **more).id]  # type: ignore[arg-type]


N = NO_CHANGE
WALKS = [
    pytest.param([], "unmute", id="first comes first"),
    pytest.param([N], "unmute meter", id="then the author's order"),
    pytest.param([N, "moves"], "unmute meter send", id="into a branch"),
    pytest.param([N, "moves", N], "unmute meter send cure:bad-ear", id="a leaf's cure is done like a fix"),
    pytest.param([N, "moves", N, N], "unmute meter send cure:bad-ear spare", id="behind its check when used up"),
    pytest.param([N, "moves", N, N, N], "unmute meter send cure:bad-ear spare help", id="help at the end"),
    pytest.param([N, "still", N], "unmute meter plug meter", id="an answer made invalid is asked again"),
    pytest.param([N, "still", N, "still"], "unmute meter plug meter card", id="and leads on"),
    pytest.param([N, "still", N, "moves"], "unmute meter plug meter send", id="or elsewhere"),
    pytest.param(
        [N, DONT_KNOW, N, N, N, DONT_KNOW],
        "unmute meter send cure:bad-ear plug meter card",
        id="don't know walks every branch",
    ),
    pytest.param([CANT_NOW], "unmute meter", id="can't now goes on"),
    pytest.param(
        [CANT_NOW, "moves", N, N, N], "unmute meter send cure:bad-ear spare unmute", id="and comes back before help"
    ),
    pytest.param(
        [CANT_NOW, "moves", N, N, N, N], "unmute meter send cure:bad-ear spare unmute help", id="then it is done"
    ),
    pytest.param(
        [CANT_NOW, "moves", N, N, N, CANT_NOW], "unmute meter send cure:bad-ear spare unmute help", id="or given up"
    ),
    pytest.param([N, CANT_NOW, N], "unmute meter spare meter", id="a check comes back too"),
    pytest.param([N, CANT_NOW, N, CANT_NOW], "unmute meter spare meter send", id="given up, its branches are walked"),
]


@pytest.mark.parametrize(("answers", "asked"), WALKS)
def test_what_is_asked_in_turn(answers: list[str], asked: str) -> None:
    assert walk(*answers) == asked.split()


def test_what_does_not_apply_is_not_asked() -> None:
    assert walk(N, "moves", N, N, facts={"festival": False}) == ["unmute", "meter", "send", "cure:bad-ear", "help"]
    assert walk(N, "moves", N, N, facts={"festival": True})[-1] == "spare"


def test_any_step_may_be_taken_at_any_time() -> None:
    assert next_ask(TREE, [("spare", N), ("card", "firm")]).id == "unmute"
    assert next_ask(
        TREE, [("unmute", N), ("card", "loose"), ("meter", "still"), ("plug", N), ("meter", "still")]
    ).id == ("cure:card-loose")


def test_an_answer_may_be_taken_back_or_given_again() -> None:
    given = [("unmute", N), ("meter", "moves")]
    assert next_ask(TREE, given[:-1]).id == "meter"
    assert next_ask(TREE, [*given, ("meter", "still")]).id == "plug"


def test_answers_of_a_tree_that_has_changed_are_passed_over() -> None:
    assert next_ask(TREE, [("gone", "x"), ("unmute", N), ("meter", "sideways")]).id == "spare"


@pytest.mark.parametrize(
    ("answers", "wanted"),
    [
        ([], {}),
        ([("a", "x"), ("a", "y")], {"a": "y"}),
        ([("meter", "still"), ("plug", N)], {"plug": N}),
        ([("meter", "still"), ("plug", CANT_NOW)], {"meter": "still", "plug": CANT_NOW}),
        ([("plug", N), ("meter", "still")], {"plug": N, "meter": "still"}),
    ],
)
def test_the_answers_that_stand(answers: list[tuple[str, str]], wanted: dict[str, str]) -> None:
    assert standing(TREE, answers) == wanted


def test_how_often_a_step_was_put_off() -> None:
    assert put_off([("a", CANT_NOW), ("b", "x"), ("a", CANT_NOW)]) == {"a": 2}


KNOWN = {"input.name": "Kick", "input.box": "A 1"}


def test_a_check_ready_to_show() -> None:
    ask = ask_for(TREE, "meter", known=KNOWN)
    assert ask == Ask(
        kind="check",
        id="meter",
        do="Does the meter of Kick move?",
        answers=("moves", "still"),
        until="it moves",
        takes=10.0,
    )
    assert ask is not None and ask.choices == ("moves", "still", DONT_KNOW, CANT_NOW)


def test_a_fix_ready_to_show() -> None:
    ask = ask_for(TREE, "plug", known=KNOWN)
    assert ask is not None
    assert (ask.kind, ask.do) == ("fix", "Push the plug at A 1 in")
    assert ask.choices == (WORKED, NO_CHANGE, CANT_NOW)
    assert ask.causes == (("loose", "a plug was loose"), ("broken", "the cable of Kick is broken"))
    unmute = ask_for(TREE, "unmute")
    assert unmute is not None and (unmute.irreversible, unmute.why) == ("the house hears it", "It is quick.")
    spare = ask_for(TREE, "spare")
    assert spare is not None and spare.workaround and spare.uses == "spare line"


def test_a_cure_ready_to_show() -> None:
    ask = ask_for(TREE, f"{CURE}broken", known=KNOWN)
    assert ask is not None
    assert (ask.kind, ask.do, ask.takes) == ("fix", "Swap the cable of Kick", 40.0)
    assert ask.why == "Likely: the cable of Kick is broken"
    ear = ask_for(TREE, f"{CURE}bad-ear")
    assert ear is not None and (ear.why, ear.see) == ("It wears out.", "one-ear")


def test_help_ready_to_show() -> None:
    ask = ask_for(TREE, HELP, known=KNOWN)
    assert ask is not None
    assert (ask.kind, ask.do, ask.caution, ask.takes) == ("help", "Ask the house about Kick", "Ears out", 120.0)
    assert ask.choices == (WORKED, NO_CHANGE)
    assert ask_for(TREE, "gone") is None


def test_without_a_rig_the_words_are_plain() -> None:
    ask = ask_for(TREE, "plug")
    assert ask is not None and ask.do == "Push the plug in"
    meter = ask_for(TREE, "meter")
    assert meter is not None and meter.do == "Does the meter of the input move?"


@pytest.mark.parametrize(
    ("before", "opens"),
    [
        pytest.param([], "Open the rack", id="not open yet"),
        pytest.param([("card", "firm")], "", id="opened by the check"),
        pytest.param([("card", CANT_NOW)], "Open the rack", id="not opened, only put off"),
        pytest.param([("meter", "still")], "Open the rack", id="another step opens nothing"),
    ],
)
def test_a_group_is_opened_once(before: list[tuple[str, str]], opens: str) -> None:
    ask = ask_for(TREE, "other", before)
    assert ask is not None and ask.opens == opens


def test_the_outline_names_every_step_and_its_answers() -> None:
    made = dict(outline(TREE))
    assert made["meter"] == ("moves", "still")
    assert made["plug"] == made["cure:broken"] == made[HELP] == (WORKED, NO_CHANGE)
    asked = {
        "meter",
        "send",
        "cure:bad-ear",
        "plug",
        "card",
        "cure:broken",
        "cure:card-loose",
        "other",
        "spare",
        "unmute",
    }
    assert set(made) == asked | {HELP}


AGAIN = tree_of("""
fault: f
title: T
heard_as: x
help: Ask
walk:
  - check: Does it move?
    id: moves
    answers:
      yes: {again: swap}
      no:
        - {check: Is it plugged?, id: plugged, answers: {yes: {fix: Swap it, id: swap, cures: c}, no: {cause: d}}}
        - {again: help}
        - {fix: Hit it, id: hit, cures: c}
  - again: plugged
    answers: {no: {fix: Plug it, id: plug, cures: d}}
causes: {c: {what: C, cure: Cure c}, d: {what: D, cure: Cure d}}
""")


@pytest.mark.parametrize(
    ("answers", "asked"),
    [
        pytest.param(["yes"], "moves swap", id="a fix that stands elsewhere"),
        pytest.param(["yes", N], "moves swap plugged", id="a check that stands elsewhere"),
        pytest.param(["yes", N, "no"], "moves swap plugged plug", id="with what follows it here"),
        pytest.param(["yes", N, "yes"], "moves swap plugged help", id="or nothing that follows it here"),
        pytest.param(["no", "yes", N], "moves plugged swap help", id="help before the end"),
        pytest.param(["no", "no", N], "moves plugged cure:d help", id="help before the end, behind another"),
        pytest.param(["no", "yes", CANT_NOW], "moves plugged swap swap", id="what was put off comes before help"),
    ],
)
def test_a_node_that_stands_again_is_the_same_node(answers: list[str], asked: str) -> None:
    given: list[tuple[str, str]] = []
    for answer in answers:
        given.append((next_ask(AGAIN, given).id, answer))
    assert [*(id for id, _ in given), next_ask(AGAIN, given).id] == asked.split()


def test_a_node_that_stands_again_is_one_in_the_outline() -> None:
    assert [id for id, _ in outline(AGAIN)] == ["moves", "plugged", "swap", "cure:d", "hit", "plug", "help"]

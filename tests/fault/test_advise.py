"""What the advice says: the reason in one line, what is still likely, what the log has taught, and when it is in doubt."""

from __future__ import annotations

import pytest

from showday.fault.advise import Adviser, left_out
from showday.fault.learn import PastWalk, learn
from showday.fault.model import Tree
from showday.fault.reader import read_tree

TREE = """
fault: silent
title: Silent
heard_as: silent
walk:
  - check: Look at the meter
    id: meter
    takes: 5s
    sure: 1
    answers:
      moves: {fix: Unmute it, id: unmute, cures: muted, takes: 5s}
      still: {fix: Swap the cable, id: swap, cures: cable, takes: 60s}
  - {fix: Take the spare line, id: spare, cures: {muted: 0.9, cable: 0.9}, takes: 20s, workaround: yes, uses: spare line}
causes:
  muted: {what: it is muted, cure: Unmute it}
  cable: {what: the cable is dead, cure: Swap it}
help: {do: Call the house, takes: 10min}
"""


@pytest.fixture
def tree() -> Tree:
    made, problems = read_tree(TREE, "silent.yaml")
    assert made is not None, list(map(str, problems))
    return made


def test_a_workaround_wins_when_sound_comes_first_and_is_left_out_when_the_cause_is_sought(tree: Tree) -> None:
    sound = Adviser(tree).advise(())
    cause = Adviser(tree, workarounds=False).advise(())
    assert (sound.step, cause.step) == ("unmute", "unmute")
    after = (("unmute", "no change"),)
    assert Adviser(tree).advise(after).step == "spare"
    assert Adviser(tree, workarounds=False).advise(after).step == "swap"


def test_a_spare_that_is_in_use_is_not_offered(tree: Tree) -> None:
    after = (("unmute", "no change"),)
    assert Adviser(tree, used=["Spare line"]).advise(after).step == "swap"


def test_the_reason_gives_chance_time_and_the_price_of_the_second_best(tree: Tree) -> None:
    advice = Adviser(tree, workarounds=False).advise((("unmute", "no change"),))
    assert advice.reason.startswith("90% likely, 1 min")


def test_counts_are_told_when_the_log_has_any(tree: Tree) -> None:
    learned = learn(tree, [PastWalk((), cause="muted")] * 4 + [PastWalk((), cause="cable")] * 2)
    assert "4 of 6 times here" in Adviser(tree, learned=learned).advise(()).reason
    elsewhere = learn(tree, [PastWalk((), cause="muted", same_venue=False)] * 3)
    assert "3 of 3 times so far" in Adviser(tree, learned=elsewhere).advise(()).reason


def test_what_was_confirmed_often_becomes_likelier(tree: Tree) -> None:
    before = {c.cause: c.chance for c in Adviser(tree).advise(()).likely}
    learned = learn(tree, [PastWalk((), cause="cable")] * 10)
    after = {c.cause: c.chance for c in Adviser(tree, learned=learned).advise(()).likely}
    assert after["cable"] > before["cable"]
    assert sum(after.values()) == pytest.approx(1.0)


def test_what_could_not_be_done_is_offered_once_more_before_help(tree: Tree) -> None:
    adviser = Adviser(tree, workarounds=False)
    answers = [("meter", "don't know"), ("unmute", "no change"), ("swap", "can't now")]
    assert adviser.advise(answers).step == "swap"
    assert adviser.advise([*answers, ("swap", "can't now")]).step == "help"


def test_the_author_is_quoted_when_the_order_differs(tree: Tree) -> None:
    assert "Look at the meter" in Adviser(tree).advise(()).instead
    assert Adviser(tree).advise((("meter", "moves"),)).instead == ""


def test_answers_that_contradict_are_said_and_the_walk_goes_on() -> None:
    text = TREE.replace("sure: 1", "sure: 1\n    otherwise: moves")
    made, _ = read_tree(text, "silent.yaml")
    assert made is not None
    adviser = Adviser(made, workarounds=False)
    advice = adviser.advise((("unmute", "no change"), ("swap", "no change"), ("meter", "still")))
    assert advice.step == "help"
    assert advice.likely[0].cause == "something-else"


CERTAIN = """
fault: certain
title: Certain
heard_as: certain
walk:
  - {fix: Mute the channel, id: mute, cures: {howl: 0.5}, takes: 10s}
  - check: Is the lamp dark?
    id: lamp
    sure: 1
    otherwise: lit
    takes: 1s
    answers:
      dark: [{fix: Plug it in anew, id: plug, after: mute, cures: {dead: 0.9}, takes: 10s}, {cause: dead}]
      lit: [{cause: howl}]
causes:
  dead: {what: it has no power, cure: Swap it, takes: 60s}
  howl: {what: it howls, cure: Turn it, takes: 60s}
help: {do: Call, takes: 5min}
"""


def test_after_a_certain_answer_a_step_still_waits_for_the_one_it_comes_after() -> None:
    """Muting cures nothing of what is left, but the plug must not be pulled before it."""
    made, problems = read_tree(CERTAIN, "certain.yaml")
    assert made is not None, problems.in_order()
    adviser = Adviser(made)
    assert adviser.advise([("lamp", "dark")]).step == "mute"
    assert adviser.advise([("lamp", "dark"), ("mute", "no change")]).step == "plug"
    rest = [("mute", "no change"), ("plug", "no change"), ("cure:dead", "no change")]
    assert adviser.advise([("lamp", "dark"), *rest]).step == "help"


LATE = """
fault: late
title: Late
heard_as: late
walk:
  - {fix: Push the plug, id: plug, cures: plug, takes: 10s}
  - {fix: Swap the pack, id: swap, cures: pack, takes: 60s}
causes:
  plug: {what: a plug, cure: Push it, odds: 2}
  pack: {what: the pack, cure: Swap it, odds: 9}
help: {do: Call, takes: 10min}
"""


@pytest.mark.parametrize(
    ("seconds", "step"),
    [
        pytest.param(65.0, "swap", id="only the likelier one fits beside nothing else"),
        pytest.param(75.0, None, id="both fit, so the order need not change"),
        pytest.param(20.0, None, id="only the quick one fits"),
    ],
)
def test_when_time_is_short_the_likelier_step_is_named(seconds: float, step: str | None) -> None:
    """By hand: the plug has 2/11 for 10 s, the pack 9/11 for 60 s; the plug first is least on average."""
    made, problems = read_tree(LATE, "late.yaml")
    assert made is not None, list(map(str, problems))
    adviser = Adviser(made)
    assert adviser.advise(()).step == "plug"
    found = adviser.in_time((), seconds)
    assert (found.step if found else None) == step


def test_with_little_between_the_chances_nothing_is_said() -> None:
    """By hand: two causes as likely as each other; the one whose fix just fits is no likelier than the one suggested."""
    made, _ = read_tree(LATE.replace("odds: 2", "odds: 9"), "late.yaml")
    assert made is not None
    assert Adviser(made).advise(()).step == "plug"
    assert Adviser(made).in_time((), 65.0) is None


PRICED = """
fault: priced
title: Priced
heard_as: priced
walk:
  - {fix: Do one, id: one, cures: a, takes: 20s}
  - {fix: Do two, id: two, cures: b, takes: %s}
causes:
  a: {what: a, cure: A, odds: 8}
  b: {what: b, cure: B, odds: %s}
help: {do: Call, takes: 10min}
"""


@pytest.mark.parametrize(
    ("takes", "odds", "reason"),
    [
        pytest.param("20s", 7, "51% likely, 20 s; close call", id="nearly as good"),
        pytest.param("60s", 2, "76% likely, 20 s; next best costs +42 s", id="seconds"),
        pytest.param("4min", 2, "76% likely, 20 s; next best costs +3 min", id="minutes"),
    ],
)
def test_the_reason_says_how_clear_it_is(takes: str, odds: int, reason: str) -> None:
    """By hand: a has 0.95 of its share; second-first costs its time more whenever it was a, less 20 s when it was b."""
    made, problems = read_tree(PRICED % (takes, odds), "priced.yaml")
    assert made is not None, list(map(str, problems))
    assert Adviser(made).advise(()).reason == reason


def test_a_success_shifts_the_odds_and_rules_nothing_out(tree: Tree) -> None:
    adviser = Adviser(tree)
    before = {c.cause: c.chance for c in adviser.likely(())}
    after = {c.cause: c.chance for c in adviser.likely((("unmute", "restored"),))}
    assert after["muted"] == pytest.approx(before["muted"] / (before["muted"] + 0.05 * (1 - before["muted"])))
    assert min(after.values()) > 0.0


@pytest.mark.parametrize(
    ("used", "workarounds", "skipped"),
    [
        pytest.param((), True, set(), id="everything is offered"),
        pytest.param(("Spare Line",), True, {"spare"}, id="a spare is used up"),
        pytest.param((), False, {"spare"}, id="the cause comes first"),
    ],
)
def test_what_is_left_out_of_the_authors_order(
    tree: Tree, used: tuple[str, ...], workarounds: bool, skipped: set[str]
) -> None:
    assert {node for node, _ in left_out(tree, used, workarounds)} == skipped


def test_a_workaround_that_is_not_offered_is_not_quoted_as_the_authors_next_step(tree: Tree) -> None:
    after = (("meter", "moves"), ("unmute", "no change"))
    cause_first = Adviser(tree, workarounds=False).advise(after)
    assert "Take the spare line" not in cause_first.instead

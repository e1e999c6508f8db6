"""What a fault tree may not be, each with file, line and column, and the nearest right word."""

from __future__ import annotations

import pytest

from showday.fault.model import DEFAULT_ODDS, Check, Fix, Leaf
from showday.fault.reader import read_tree

HEAD = "fault: f\ntitle: T\nheard_as: x\nhelp: Ask the house\n"
HEAD += "causes:\n  c: {what: W, cure: C}\n  d: {what: W, cure: C}\n"
ANSWERS = "answers: {a: {cause: c}, b: {cause: d}}"


def tree(*nodes: str, head: str = HEAD) -> str:
    """A tree with one node a line; the first stands on line 9."""
    return head + "walk:\n" + "".join(f"- {node}\n" for node in nodes)


def problems_of(text: str) -> list[str]:
    """All problems as `line:column: text`."""
    return [str(p).removeprefix("t:") for p in read_tree(text, "t", {"f", "hum"})[1].in_order()]


GOOD = tree(f"{{check: Look, id: k, {ANSWERS}}}")


def test_a_tree_without_numbers_is_a_whole_tree() -> None:
    found, problems = read_tree(GOOD, "t")
    assert found is not None and not problems
    assert [type(node) for node in found.nodes()] == [Check, Leaf, Leaf]
    assert [cause.odds for _, cause in found.causes] == [DEFAULT_ODDS, DEFAULT_ODDS]
    assert found.help.do == "Ask the house" and found.concerns == "rig"


def test_look_ups_by_id() -> None:
    found, _ = read_tree(GOOD, "t")
    assert found is not None
    cause = found.cause("c")
    assert cause is not None and cause.what == "W"
    assert found.cause("x") is None and found.group("x") is None
    check = next(found.nodes())
    assert isinstance(check, Check)
    assert check.labels() == ("a", "b") and check.branch("a") == (Leaf("c", check.branch("a")[0].place),)
    assert check.branch("x") == ()


@pytest.mark.parametrize(
    ("cures", "wanted"),
    [("c", (("c", 1.0),)), ("[c, d]", (("c", 1.0), ("d", 1.0))), ("{c: 0.5, d: 1}", (("c", 0.5), ("d", 1.0)))],
)
def test_what_a_fix_cures(cures: str, wanted: tuple[tuple[str, float], ...]) -> None:
    found, _ = read_tree(tree(f"{{fix: Do, id: k, cures: {cures}}}", "{cause: d}"), "t")
    assert found is not None
    fix = next(found.nodes())
    assert isinstance(fix, Fix) and fix.cures == wanted


@pytest.mark.parametrize(
    ("odds", "wanted"), [("rare", 1.0), ("occasional", 3.0), ("common", 9.0), ("2.5", 2.5), ("'2,5'", 2.5)]
)
def test_odds_are_words_or_numbers(odds: str, wanted: float) -> None:
    found, _ = read_tree(GOOD.replace("c: {what: W,", f"c: {{what: W, odds: {odds},"), "t")
    assert found is not None and found.causes[0][1].odds == wanted


ONE = f"{{check: Look, id: k, {ANSWERS}}}"
WRONG = [
    pytest.param(tree(ONE, ONE), "10:21: the id 'k' is used twice (first on line 9)", id="id twice"),
    pytest.param(
        tree(ONE.replace("id: k", "id: help")),
        "9:21: the id 'help' means the call for help; choose another",
        id="help",
    ),
    pytest.param(
        tree(ONE.replace("check:", "chek:")), "9:4: 'chek' does not begin a node (did you mean check?)", id="node"
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, sur: 1")),
        "9:24: 'sur' is not a key of a check (did you mean sure?)",
        id="key",
    ),
    pytest.param(tree("{cause: e}", ONE), "9:11: there is no cause 'e' under `causes`", id="leaf without a cause"),
    pytest.param(
        tree(ONE, "{fix: Do, id: m, cures: cc}"),
        "10:27: there is no cause 'cc' under `causes`",
        id="fix without a cause",
    ),
    pytest.param(tree(ONE, "{fix: Do, id: m, cures: {c: 0}}"), "10:28: a chance of 0 cures nothing", id="no chance"),
    pytest.param(tree(ONE, "{fix: Do, id: m, cures: []}"), "10:3: the fix 'm' cures nothing", id="cures nothing"),
    pytest.param(tree("{fix: Do, id: m, cures: c}"), "7:3: nothing leads to the cause 'd'", id="cause out of reach"),
    pytest.param(tree(ONE.replace("{cause: c}", "[]")), "9:34: the answer 'a' leads nowhere", id="no end"),
    pytest.param(
        tree(ONE.replace("b:", "don't know:")), "9:49: 'don't know' can always be answered", id="don't know"
    ),
    pytest.param(tree(ONE.replace("b:", "Can't now:")), "9:49: 'Can't now' can always be answered", id="can't now"),
    pytest.param(
        tree(ONE.replace(", b: {cause: d}", "")), "9:33: at least 2 answer lines are needed", id="one answer"
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, invalidates: kk")),
        "9:37: 'kk' is not a check of this tree",
        id="invalidates",
    ),
    pytest.param(tree(ONE.replace("id: k", "id: k, after: l")), "9:31: 'l' is not a node of this tree", id="after"),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, group: rack")), "9:31: 'rack' is not a group of this tree", id="group"
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, when: festval")), "9:30: 'festval' is not a condition", id="condition"
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, after: k")),
        "9:21: 'k' must come after itself: its `after` lines",
        id="after itself",
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, after: m"), "{fix: Do, id: m, cures: c, after: k}"),
        "10:17: 'm' must come after itself: its `after` lines run in a circle",
        id="after in a circle",
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, invalidates: k")),
        "9:21: 'k' makes its own answer invalid: its `invalidates` lines run in a circle",
        id="invalidates itself",
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, invalidates: m"), ONE.replace("id: k", "id: m, invalidates: k")),
        "10:21: 'm' makes its own answer invalid",
        id="invalidates in a circle",
    ),
    pytest.param(
        tree(ONE.replace("Look", '"Look at {input.name}"')),
        "9:11: '{input.name}' has no input here; add `for_each: input`",
        id="field of what it does not concern",
    ),
    pytest.param(
        tree(ONE.replace("Look", '"Look at {inputs}"')),
        "9:11: '{inputs}' is not a field of the rig",
        id="no such field",
    ),
    pytest.param(
        tree(ONE, head=HEAD.replace("Ask the", "Ask {the}")), "4:7: '{the}' is not a field", id="field in help"
    ),
    pytest.param(
        tree(ONE, head=HEAD.replace("title: T", "title: '{rig.act}'")), "2:8: no field is filled in here", id="title"
    ),
    pytest.param(
        tree(ONE.replace("{a:", '{"{rig.act}":')), "9:34: no field is filled in here", id="field in an answer"
    ),
    pytest.param(
        tree(ONE, head=HEAD.replace("heard_as: x", "heard_as: []")), "3:11: the list is empty", id="heard as"
    ),
    pytest.param(HEAD + "walk: []", "8:7: the list is empty; at least 1 is needed", id="no walk"),
    pytest.param(
        tree(ONE, head=HEAD.replace("W, cure: C}\n  d", "W, cure: C, see: humm}\n  d")),
        "6:30: there is no fault tree 'humm' (did you mean hum?)",
        id="see",
    ),
    pytest.param(
        tree(ONE, head=HEAD.replace("  c:", "  C c:")), "6:3: an id has only small letters", id="cause's id"
    ),
    pytest.param(
        tree(ONE, head=HEAD.replace("help: Ask the house\n", "")), "1:1: the key 'help' is missing", id="no help"
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, tells: {c: a}")),
        "9:32: 'c' is not an answer of this check",
        id="tells, answer",
    ),
    pytest.param(
        tree(ONE.replace("id: k", "id: k, tells: {a: e}")), "9:35: 'e' is not a cause of this tree", id="tells, cause"
    ),
    pytest.param(tree(ONE, "{again: l}"), "10:11: 'l' is not a node of this tree", id="again, no node"),
    pytest.param(
        tree(ONE, "{again: k}"), "10:3: 'k' is a check; write what follows its answers here", id="again, a check"
    ),
    pytest.param(
        tree(ONE, "{again: k, answers: {x: {cause: c}}}"),
        "10:24: 'x' is not an answer of the check 'k'",
        id="again, no answer",
    ),
    pytest.param(
        tree(ONE, "{again: k, answers: {a: []}}"), "10:24: the answer 'a' leads nowhere", id="again, no end"
    ),
    pytest.param(
        tree(ONE, "{fix: Do, id: m, cures: c}", "{again: m, answers: {a: {cause: c}}}"),
        "11:3: 'm' is no check; it has no answers",
        id="again, a fix with answers",
    ),
]


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_what_is_wrong_is_told_where_it_stands(text: str, said: str) -> None:
    found = problems_of(text)
    assert any(line.startswith(said) for line in found), found
    assert read_tree(text, "t", {"f", "hum"})[0] is None


def test_all_of_it_is_told_at_once() -> None:
    text = tree("{cause: e}", ONE.replace("id: k", "id: k, group: g, when: x, after: y"))
    assert len(problems_of(text)) == 4


def test_an_order_against_the_authors_own_word_is_warned_about() -> None:
    text = tree(ONE.replace("id: k", "id: k, after: m"), "{fix: Do, id: m, cures: c}")
    assert problems_of(text) == ["9:31: warning: 'k' stands before 'm', after which it must come; change the order"]
    assert read_tree(text, "t")[0] is not None


def test_a_first_node_counts_as_standing_first() -> None:
    text = tree(ONE.replace("id: k", "id: k, after: m"), "{fix: Do, id: m, cures: c, first: yes}")
    assert problems_of(text) == []


def test_checks_may_invalidate_each_other_one_way() -> None:
    text = tree(
        ONE, ONE.replace("id: k", "id: l, invalidates: k"), ONE.replace("id: k", "id: m, invalidates: [k, l]")
    )
    assert problems_of(text) == []

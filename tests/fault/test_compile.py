"""What a written tree means in numbers: each key of the format, and that a file's order and its ids mean nothing."""

from __future__ import annotations

import random
import re

import pytest

from showday.fault.choose import Chooser
from showday.fault.compile import LEAST_ELSE, SOMETHING_ELSE, Numbers, compile_tree
from showday.fault.diagnosis import Action, Model, Question, Strategy, after_failure, begin, price
from showday.fault.exact import Exact
from showday.fault.model import Tree
from showday.fault.reader import read_tree
from showday.fault.strategy import computed_strategy

HEAD = "fault: f\ntitle: T\nheard_as: x\n"
TWO = "causes:\n  a: {what: A, cure: Mend a}\n  b: {what: B, cure: Mend b}\n"
HELP = "help: Ask the house\n"
ASK = "  - {check: Look, id: look, answers: {left: {cause: a}, right: {cause: b}}}\n"


def read(walk: str, causes: str = TWO, more: str = "", call: str = HELP) -> Tree:
    tree, problems = read_tree(f"{HEAD}{more}walk:\n{walk}{causes}{call}", "f.yaml")
    assert tree is not None, list(map(str, problems))
    return tree


def question(model: Model, name: str) -> Question:
    return next(q for q in model.questions if q.id == name)


def action(model: Model, name: str) -> Action:
    return next(a for a in model.actions if a.id == name)


def told(model: Model, name: str, answer: str) -> dict[str, float]:
    """P(answer | cause) by cause."""
    asked = question(model, name)
    return dict(zip(model.causes, asked.likelihood[asked.answers.index(answer)], strict=True))


def cured(model: Model, name: str) -> dict[str, float]:
    return {c: s for c, s in zip(model.causes, action(model, name).cures, strict=True) if s}


def after(model: Model, name: str) -> set[str]:
    mask = model.after(model.index(name))
    return {model.step_id(i) for i in range(model.steps) if mask >> i & 1}


def test_a_tree_without_a_number_is_a_whole_model() -> None:
    model = compile_tree(read(ASK))
    odds = dict(zip(model.causes, model.prior, strict=True))
    assert odds == pytest.approx({"a": 0.475, "b": 0.475, SOMETHING_ELSE: LEAST_ELSE})
    assert told(model, "look", "left") == pytest.approx({"a": 0.9, "b": 0.1, SOMETHING_ELSE: 0.5})
    assert told(model, "look", "right") == pytest.approx({"a": 0.1, "b": 0.9, SOMETHING_ELSE: 0.5})
    assert cured(model, "cure:a") == {"a": 1.0}
    assert (question(model, "look").seconds, action(model, "cure:a").seconds, model.help_seconds) == (10, 20, 300)


def test_words_and_numbers_for_odds_keep_their_ratios() -> None:
    causes = "causes:\n  a: {what: A, cure: M, odds: rare}\n  b: {what: B, cure: M, odds: common}\n"
    causes += "  c: {what: C, cure: M, odds: 4.5}\n"
    walk = "  - {cause: a}\n  - {cause: b}\n  - {cause: c}\n"
    model = compile_tree(read(walk, causes))
    odds = dict(zip(model.causes, model.prior, strict=True))
    assert odds["b"] == pytest.approx(9 * odds["a"])
    assert odds["c"] == pytest.approx(4.5 * odds["a"])
    assert sum(odds.values()) == pytest.approx(1.0)


def test_something_else_that_the_author_lists_has_its_odds_on_top_of_the_least() -> None:
    causes = TWO + f"  {SOMETHING_ELSE}: {{what: E, cure: Look on}}\n"
    model = compile_tree(read(ASK + f"  - {{cause: {SOMETHING_ELSE}}}\n", causes))
    odds = dict(zip(model.causes, model.prior, strict=True))
    assert odds[SOMETHING_ELSE] == pytest.approx(LEAST_ELSE + 0.95 / 3)


@pytest.mark.parametrize(
    ("sure", "left", "right"), [("", 0.9, 0.1), ("sure: 0.7, ", 0.7, 0.3), ("sure: 1, ", 1.0, 0.0)]
)
def test_sure_says_how_far_an_answer_is_trusted(sure: str, left: float, right: float) -> None:
    model = compile_tree(read(ASK.replace("id: look, ", f"id: look, {sure}")))
    assert told(model, "look", "left")["a"] == pytest.approx(left)
    assert told(model, "look", "left")["b"] == pytest.approx(right)


def test_a_cause_in_two_of_three_branches_shares_its_answers_and_one_in_none_tells_nothing() -> None:
    walk = "  - {check: L, id: look, answers: {x: {cause: a}, y: [{cause: a}, {cause: b}], z: {cause: b}}}\n"
    model = compile_tree(read(walk + "  - {cause: c}\n", TWO + "  c: {what: C, cure: M}\n"))
    assert [told(model, "look", answer)["a"] for answer in "xyz"] == pytest.approx([0.45, 0.45, 0.1])
    assert [told(model, "look", answer)["c"] for answer in "xyz"] == pytest.approx([1 / 3] * 3)


def test_a_workaround_in_a_branch_says_nothing_about_its_causes() -> None:
    around = "{fix: Go round, id: round, cures: [a, b], workaround: yes}"
    walk = f"  - {{check: L, id: look, answers: {{x: [{{cause: a}}, {around}], y: {{cause: b}}}}}}\n"
    model = compile_tree(read(walk))
    assert told(model, "look", "x")["b"] == pytest.approx(0.1)
    assert cured(model, "round") == {"a": 1.0, "b": 1.0}
    assert action(model, "round").workaround


def test_tells_counts_instead_of_the_branches() -> None:
    walk = ASK.replace("id: look, ", "id: look, tells: {left: [a, b]}, ")
    assert told(compile_tree(read(walk)), "look", "left") == pytest.approx({"a": 0.9, "b": 0.9, SOMETHING_ELSE: 0.5})


def test_chances_of_a_fix() -> None:
    model = compile_tree(read(ASK + "  - {fix: Do, id: do, cures: {a: 0.8, b: 0.2}, takes: 7s}\n"))
    assert cured(model, "do") == {"a": 0.8, "b": 0.2}
    assert action(model, "do").seconds == 7


def test_look_is_paid_always_and_takes_only_when_it_is_so() -> None:
    """By hand: looking 4 s, mending 60 s; sound after 64 s with a, 4 s and then help with anything else."""
    model = compile_tree(read(ASK + "  - {fix: Do, id: do, cures: a, look: 4s, takes: 60s}\n"))
    assert (action(model, "do").seconds, action(model, "do").repair) == (4, 60)
    assert price(model, Strategy("do")) == pytest.approx(0.475 * 64 + 0.525 * (4 + 300))


def test_look_then_fix_is_ranked_by_the_time_to_look() -> None:
    """Breese and Heckerman, UAI 1996, section 2: p/look decides, the repair is paid once whatever the order."""
    causes = "causes:\n  a: {what: A, cure: M, odds: 5, look: 10s, takes: 9min}\n"
    causes += "  b: {what: B, cure: M, odds: 4, takes: 20s}\n"
    tree = read("  - {cause: b}\n  - {cause: a}\n", causes, call="help: {do: Ask, takes: 2h}\n")
    model = compile_tree(tree)
    assert Exact(model).solve().step == "cure:a"
    assert Chooser(model, exact=False).suggest(begin(model)).step == "cure:a"


def test_first_comes_before_all_else_in_its_list_and_below() -> None:
    walk = "  - {fix: Do, id: do, cures: b}\n" + ASK.replace("id: look", "id: look, first: yes")
    model = compile_tree(read(walk))
    assert after(model, "do") == after(model, "cure:a") == after(model, "cure:b") == {"look"}
    assert after(model, "look") == set()
    assert Chooser(model).suggest(begin(model)).step == "look"


def test_first_in_a_branch_binds_only_the_branch() -> None:
    inner = "{fix: F, id: f, cures: a, first: yes}, {fix: G, id: g, cures: a}"
    model = compile_tree(read(f"  - {{check: L, id: look, answers: {{x: [{inner}], y: {{cause: b}}}}}}\n"))
    assert after(model, "g") == {"f"}
    assert after(model, "look") == after(model, "cure:b") == set()


def test_after_binds_and_is_kept_by_every_strategy() -> None:
    slow = "  - {fix: Slow, id: slow, cures: a, takes: 5min}\n"
    quick = "  - {fix: Quick, id: quick, cures: b, takes: 1s, after: slow}\n"
    model = compile_tree(read(slow + quick, call="help: {do: Ask, takes: 1h}\n"))
    assert after(model, "quick") == {"slow"}
    assert Exact(model).solve().step == "slow"
    assert Chooser(model, exact=False).suggest(begin(model)).step == "slow"


def test_pin_keeps_a_node_behind_the_one_above_it_and_before_the_one_below_it() -> None:
    lines = [f"  - {{fix: Do, id: {name}, cures: {cause}{pin}}}\n" for name, cause, pin in
             (("one", "a", ""), ("two", "b", ", pin: yes"), ("three", "a", ""), ("four", "b", ""))]  # fmt: skip
    model = compile_tree(read("".join(lines)))
    assert [after(model, name) for name in ("one", "two", "three", "four")] == [set(), {"one"}, {"two"}, set()]


def test_lines_that_would_close_a_circle_are_left_out() -> None:
    walk = "  - {fix: F, id: f, cures: a, first: yes, after: g}\n  - {fix: G, id: g, cures: b}\n"
    model = compile_tree(read(walk))
    assert after(model, "f") == {"g"}
    assert after(model, "g") == set()


def test_a_group_is_opened_once() -> None:
    """By hand: opening 90 s, then 20 s each: a after 110 s, b after 130 s, anything else after 130 s and help."""
    more = "groups:\n  rack: {what: Open the rack, takes: 90s}\n"
    walk = "  - {fix: F, id: f, cures: a, group: rack}\n  - {fix: G, id: g, cures: b, group: rack}\n"
    model = compile_tree(read(walk, more=more, call="help: {do: Ask, takes: 1h}\n"))
    expected = 0.475 * 110 + 0.475 * 130 + 0.05 * (130 + 3600)
    assert Exact(model).solve().seconds == pytest.approx(expected)
    opened = after_failure(model, begin(model), 0)
    assert opened.opened == 1


def test_spares_that_are_gone_and_nodes_that_do_not_apply_are_left_out() -> None:
    walk = ASK + "  - {fix: F, id: f, cures: a, uses: Spare pack}\n"
    walk += "  - {check: K, id: k, when: festival, answers: {x: {fix: G, id: g, cures: a}, y: {cause: b}}}\n"
    tree = read(walk)
    everything = {"look", "cure:a", "cure:b", "f", "k", "g"}

    def steps(model: Model) -> set[str]:
        return {model.step_id(i) for i in range(model.steps)}

    assert steps(compile_tree(tree)) == everything
    assert steps(compile_tree(tree, used=["spare PACK"])) == everything - {"f"}
    assert steps(compile_tree(tree, facts={"festival": False})) == everything - {"k", "g"}
    assert steps(compile_tree(tree, facts={"festival": True})) == everything


def test_irreversible_has_no_price() -> None:
    plain = ASK + "  - {fix: F, id: f, cures: a}\n"
    assert compile_tree(read(plain)) == compile_tree(read(plain.replace("id: f", "id: f, irreversible: All hear it")))


def test_what_the_log_has_taught_replaces_what_is_written() -> None:
    tree = read(ASK + "  - {fix: F, id: f, cures: {a: 0.8, b: 0.4}}\n")
    numbers = Numbers({"a": 0.6, "b": 0.3, SOMETHING_ELSE: 0.1}, {"f": 0.6}, {"look": 0.75})
    model = compile_tree(tree, numbers=numbers)
    assert dict(zip(model.causes, model.prior, strict=True)) == numbers.causes
    assert cured(model, "f") == pytest.approx({"a": 0.6, "b": 0.3})
    assert told(model, "look", "left")["a"] == pytest.approx(0.75)


# -- the file's order and its ids ------------------------------------------------------------------------------------


def random_tree(seed: int) -> tuple[list[str], list[str]]:
    """(lines of nodes, lines of causes) of a tree of one level; times and odds from few values, so that many are equal."""
    draw = random.Random(seed)
    names = [f"c{i}" for i in range(6)]
    causes = [f"  {n}: {{what: W, cure: M, odds: {draw.choice(['rare', 'common', 2.5])}}}\n" for n in names]
    nodes = [f"  - {{cause: {n}}}\n" for n in names]
    for i in range(3):
        some = draw.sample(names, 4)
        branches = [
            f"x: [{{cause: {some[0]}}}, {{cause: {some[1]}}}]",
            f"y: [{{cause: {some[2]}}}, {{cause: {some[3]}}}]",
        ]
        draw.shuffle(branches)
        nodes.append(
            f"  - {{check: L, id: k{i}, takes: {draw.choice([5, 10])}s, answers: {{{', '.join(branches)}}}}}\n"
        )
    for i in range(4):
        group = draw.choice(["", ", group: rack"])
        one, other = draw.sample(names, 2)
        cures = f"{{{one}: 0.8, {other}: 0.5}}"
        nodes.append(f"  - {{fix: F, id: f{i}, takes: {draw.choice([10, 20, 40])}s, cures: {cures}{group}}}\n")
    return nodes, causes


def compiled(nodes: list[str], causes: list[str]) -> Model:
    more = "groups:\n  rack: {what: Open it, takes: 30s}\n"
    return compile_tree(read("".join(nodes), "causes:\n" + "".join(causes), more))


@pytest.mark.parametrize("seed", range(6))
def test_sorting_a_file_anew_and_renaming_its_ids_changes_no_price(seed: int) -> None:
    nodes, causes = random_tree(seed)
    model = compiled(nodes, causes)
    suggested = Chooser(model, exact=False).suggest(begin(model)).seconds
    followed = price(model, computed_strategy(model))
    draw = random.Random(seed + 100)
    for _ in range(3):
        draw.shuffle(nodes)
        draw.shuffle(causes)
        ids = [f"{letter}{i}" for letter, count in (("c", 6), ("k", 3), ("f", 4)) for i in range(count)]
        new = [f"z{i}" for i in draw.sample(range(100), len(ids))]
        renamed = dict(zip(ids, new, strict=True))

        def other(text: str, renamed: dict[str, str] = renamed) -> str:
            return re.sub(r"\b[ckf]\d\b", lambda m: renamed[m.group()], text)

        again = compiled([other(n) for n in nodes], [other(c) for c in causes])
        assert Chooser(again, exact=False).suggest(begin(again)).seconds == pytest.approx(suggested, rel=1e-9)
        assert price(again, computed_strategy(again)) == pytest.approx(followed, rel=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_the_unit_of_time_scales_every_price(seed: int) -> None:
    nodes, causes = random_tree(seed)

    def slower(text: str) -> str:
        return re.sub(r"takes: (\d+)s", lambda m: f"takes: {4 * int(m.group(1))}s", text)

    causes = [line.replace("cure: M", "cure: M, takes: 20s") for line in causes]
    call = "help: {do: Ask, takes: 300s}\n"
    more = "groups:\n  rack: {what: Open it, takes: 30s}\n"
    one = compile_tree(read("".join(nodes), "causes:\n" + "".join(causes), more, call))
    four = compile_tree(
        read(slower("".join(nodes)), "causes:\n" + slower("".join(causes)), slower(more), slower(call))
    )
    assert price(four, computed_strategy(four)) == pytest.approx(4 * price(one, computed_strategy(one)))

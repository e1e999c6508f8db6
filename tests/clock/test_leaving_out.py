"""What to leave out: the exact set against every set there is, and against CP-SAT of OR-tools."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ortools.sat.python import cp_model
from scipy import stats

from showday.clock import leave_out
from showday.clock.leave_out import Choice, Item, LeaveOut
from showday.clock.risk import FINDS, HARM_WORDS, WRONG_RUNS, WRONG_WORDS, chance_wrong, risk_removed
from showday.fault.model import ODDS_WORDS


def best_choice(items: Sequence[Item], seconds: float, *, unit: float = 1.0) -> Choice:
    """The best choice within so many seconds."""
    return LeaveOut(items, seconds, unit=unit).choice(seconds)


NIGHT = [
    Item("rf-sync", 15, 0, must=True),
    Item("line-check", 60, 60),
    Item("comms", 50, 46),
    Item("spare-mic", 70, 62),
    Item("labels", 20, 10),
    Item("batteries", 30, 27),
]


def test_a_hundred_and_fifty_seconds() -> None:
    made = best_choice(NIGHT, 150)
    assert made.kept == ("line-check", "rf-sync", "spare-mic")
    assert made.dropped == ("batteries", "comms", "labels")
    assert (made.removed, made.accepted, made.seconds) == (122, 83, 145)
    assert made.seconds - 15 == 130
    assert made.fits and made.exact


def test_the_best_by_risk_a_second_first_is_worse() -> None:
    left, removed = 135.0, 0.0
    for item in sorted(NIGHT[1:], key=lambda i: -i.risk / i.seconds):
        if item.seconds <= left:
            left -= item.seconds
            removed += item.risk
    assert removed == 116 < best_choice(NIGHT, 150).removed


def test_what_a_step_needs_goes_with_it() -> None:
    items = [Item("open", 50, 0), Item("look", 10, 100, needs=("open",)), Item("other", 30, 40)]
    assert best_choice(items, 60).kept == ("look", "open")
    assert best_choice(items, 59).kept == ("other",)
    assert best_choice([replace(items[1], must=True), items[0], items[2]], 30).kept == ("look", "open")


def test_what_is_not_in_the_list_is_taken_as_done() -> None:
    assert best_choice([Item("look", 10, 5, needs=("done-before",))], 10).kept == ("look",)


def test_musts_are_kept_when_they_do_not_fit() -> None:
    made = best_choice(NIGHT, 10)
    assert made.kept == ("rf-sync",)
    assert not made.fits
    assert made.accepted == 205


def test_with_time_for_everything_nothing_is_dropped() -> None:
    for seconds in (245, 1e6, math.inf):
        made = best_choice(NIGHT, seconds)
        assert made.dropped == () and made.accepted == 0


def test_of_equals_more_steps_and_then_the_quicker() -> None:
    assert best_choice([Item("a", 10, 4), Item("b", 5, 2), Item("c", 5, 2)], 10).kept == ("b", "c")
    assert best_choice([Item("a", 10, 4), Item("b", 8, 4)], 10).kept == ("b",)
    assert best_choice([Item("a", 10, 4), Item("free", 0, 0)], 10).kept == ("a", "free")


@pytest.mark.parametrize(
    ("items", "says"),
    [
        ([Item("a", 1, 1), Item("a", 2, 1)], "twice"),
        ([Item("a", -1, 1)], "plain numbers"),
        ([Item("a", math.nan, 1)], "plain numbers"),
        ([Item("a", 1, math.inf)], "plain numbers"),
        ([Item("a", 1, 1, needs=("b",)), Item("b", 1, 1, needs=("a",))], "a needs itself"),
        ([Item("a", 1, 1, needs=("a",))], "a needs itself"),
    ],
)
def test_what_makes_no_sense_is_refused(items: list[Item], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        best_choice(items, 10)


def some(random: Random, most: int = 14) -> tuple[list[Item], int]:
    """A list with musts, prerequisites and ties, and a time that is short."""
    n = random.randint(1, most)
    items: list[Item] = []
    for i in range(n):
        earlier = [item.id for item in items]
        needs = random.sample(earlier, min(len(earlier), random.choice((0, 0, 0, 1, 1, 2, 3))))
        id = f"{random.choice('abc')}{i}"
        seconds, risk = random.randint(0, 25), random.choice((0, random.randint(0, 40), random.randint(0, 3)))
        items.append(Item(id, seconds, risk, random.random() < 0.12, tuple(needs)))
    return items, random.randint(0, 12 * n)


def allowed(items: list[Item], kept: set[str]) -> bool:
    return all((i.id in kept or not i.must) and (i.id not in kept or all(n in kept for n in i.needs)) for i in items)


def by_every_set(items: list[Item], seconds: float) -> float | None:
    """The most risk removed in time; None when the musts do not fit."""
    best = None
    ids = {i.id: i for i in items}
    for size in range(len(items) + 1):
        for kept in combinations(ids, size):
            if allowed(items, set(kept)) and sum(ids[k].seconds for k in kept) <= seconds:
                best = max(best or 0.0, sum(ids[k].risk for k in kept))
    return best


def by_cp_sat(items: list[Item], seconds: int) -> float | None:
    model = cp_model.CpModel()
    keep = {i.id: model.new_bool_var(i.id) for i in items}
    for i in items:
        if i.must:
            model.add(keep[i.id] == 1)
        for need in i.needs:
            model.add_implication(keep[i.id], keep[need])
    model.add(sum(int(i.seconds) * keep[i.id] for i in items) <= seconds)
    model.maximize(sum(int(i.risk) * keep[i.id] for i in items))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver.objective_value if status == cp_model.OPTIMAL else None


def sound(items: list[Item], made: Choice, seconds: float) -> None:
    """The choice is what it says."""
    ids = {i.id: i for i in items}
    assert sorted([*made.kept, *made.dropped]) == sorted(ids)
    assert allowed(items, set(made.kept))
    assert made.exact
    assert made.seconds == sum(ids[k].seconds for k in made.kept)
    assert made.removed == sum(ids[k].risk for k in made.kept)
    assert made.accepted == sum(ids[k].risk for k in made.dropped)
    assert (made.seconds <= seconds) == made.fits


def test_two_hundred_lists_against_every_set_there_is() -> None:
    random = Random(11)
    short = 0
    for _ in range(200):
        items, seconds = some(random, 9)
        made, best = best_choice(items, seconds), by_every_set(items, seconds)
        sound(items, made, seconds)
        assert made.fits == (best is not None)
        if best is not None:
            assert made.removed == best
            short += bool(made.dropped)
    assert short > 80


def test_two_hundred_longer_lists_against_cp_sat() -> None:
    random = Random(12)
    compared = 0
    for _ in range(200):
        items, seconds = some(random, 40)
        made, best = best_choice(items, seconds), by_cp_sat(items, seconds)
        sound(items, made, seconds)
        assert made.fits == (best is not None)
        if best is not None:
            assert made.removed == best
            compared += 1
    assert compared > 120


def test_a_line_check_of_sixty_steps_is_exact() -> None:
    """Thirty inputs, each listened to after it was sounded, and one step behind them all."""
    random = Random(3)
    items = [Item(f"signal@{i}", random.randint(5, 20), random.randint(1, 99)) for i in range(30)]
    items += [
        Item(f"rest@{i}", random.randint(2, 9), random.randint(1, 30), needs=(f"signal@{i}",)) for i in range(29)
    ]
    items.append(Item("done", 5, 50, needs=tuple(f"signal@{i}" for i in range(8))))
    for seconds in (100, 250, 400):
        made = best_choice(items, seconds)
        assert made.exact
        assert made.removed == by_cp_sat(items, seconds)


def test_beyond_its_limit_it_still_gives_a_sound_set(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(leave_out, "MOST_WAYS", 2)
    items = [Item(f"a{i}", 5 + i, 10 + i) for i in range(8)]
    items += [Item(f"b{i}", 3, 20, needs=(f"a{i}", f"a{(i + 3) % 8}")) for i in range(8)]
    made = best_choice(items, 60)
    assert not made.exact
    assert allowed(items, set(made.kept)) and made.seconds <= 60
    assert made.removed > 0


SEEDS = st.integers(0, 10**6)


@given(SEEDS)
def test_more_time_never_removes_less_risk(seed: int) -> None:
    items, _ = some(Random(seed))
    solved = LeaveOut(items, 400)
    removed = [solved.choice(seconds).removed for seconds in range(0, 400, 3)]
    assert removed == sorted(removed)


@given(SEEDS)
def test_one_solution_answers_for_every_shorter_time(seed: int) -> None:
    items, seconds = some(Random(seed))
    solved = LeaveOut(items, seconds + 50)
    assert solved.choice(seconds) == best_choice(items, seconds)
    falling = solved.falling(seconds)
    assert falling == sorted(falling, reverse=True)
    values = [solved.choice(s).removed for s in falling]
    assert values == sorted(values, reverse=True)
    assert not falling or values[0] == solved.choice(seconds).removed


@given(SEEDS, SEEDS)
def test_the_order_of_the_list_changes_nothing(seed: int, other: int) -> None:
    items, seconds = some(Random(seed))
    mixed = list(items)
    Random(other).shuffle(mixed)
    assert best_choice(mixed, seconds) == best_choice(items, seconds)


@given(SEEDS)
def test_musts_and_what_they_need_are_always_in(seed: int) -> None:
    items, seconds = some(Random(seed))
    kept = set(best_choice(items, seconds).kept)
    assert {i.id for i in items if i.must} <= kept
    assert allowed(items, kept)


@given(SEEDS)
def test_finer_units_never_use_more_than_the_time(seed: int) -> None:
    random = Random(seed)
    items, seconds = some(random)
    ragged = [replace(i, seconds=i.seconds + random.random(), must=False) for i in items]
    coarse, fine = best_choice(ragged, seconds), best_choice(ragged, seconds, unit=0.25)
    assert max(coarse.seconds, fine.seconds) <= seconds
    assert fine.removed >= coarse.removed


def test_words_are_threefold_steps_like_the_odds_of_causes() -> None:
    assert {w: c / WRONG_WORDS["rare"] for w, c in WRONG_WORDS.items()} == pytest.approx(ODDS_WORDS)
    harms = list(HARM_WORDS.values())
    assert [b / a for a, b in pairwise(harms)] == pytest.approx([3, 3, 3])
    assert harms[-1] == 1


@pytest.mark.parametrize(("word", "found", "times"), [("rare", 0, 0), ("common", 0, 9), ("occasional", 2, 7)])
def test_logged_faults_move_the_authors_word(word: str, found: int, times: int) -> None:
    prior = WRONG_WORDS[word]
    law = stats.beta(WRONG_RUNS * prior + found, WRONG_RUNS * (1 - prior) + times - found)
    assert chance_wrong(word, found, times) == pytest.approx(law.mean())


def test_risk_is_chance_times_harm_times_finding() -> None:
    assert risk_removed(0.09, "show-stopping") == pytest.approx(81)
    assert risk_removed(0.03, "bad", finds=1.0) == pytest.approx(10)
    assert risk_removed(0.01, "annoying") == pytest.approx(1000 * 0.01 / 9 * FINDS)

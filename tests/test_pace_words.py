"""The forecast in words and signs."""

from __future__ import annotations

import pytest

from showday import pace_words as words
from showday.pacing import Dropped, Outlook, Proposal


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (38, 61, "40 to 60 s"),
        (3, 8, "10 s"),
        (361, 479, "6 to 8 min"),
        (70, 100, "1 to 2 min"),
        (355, 362, "6 min"),
        (3900, 4800, "65 to 80 min"),
        (3900, 7200, "1 h 5 min to 2 h"),
    ],
)
def test_a_range(low: float, high: float, said: str) -> None:
    assert words.span_words(low, high) == said


@pytest.mark.parametrize(
    ("p50", "p80", "left", "shown"),
    [
        (40, 60, 100, "[####==....|]"),
        (100, 120, 60, "[#####|###==]"),
        (100, 120, 0, "[|########==]"),
        (100, 120, -5, "[|########==]"),
        (50, 100, None, "[#####=====]"),
        (50, 100, 100, "[#####=====|]"),
    ],
)
def test_the_bar_has_its_end_where_the_time_ends(p50: float, p80: float, left: float | None, shown: str) -> None:
    assert words.bar(p50, p80, left, 10) == shown


@pytest.mark.parametrize(
    ("gone", "p50", "p80", "left", "shown"),
    [
        (0, 60, 80, 100, "[######==..|]"),
        (50, 30, 40, 50, "[:::::###=.|]"),
        (90, 5, 8, 10, "[:::::::::#|]"),
        (60, 30, 40, None, "[::::::###=]"),
        (60, 30, 40, 0, "[::::::|###=]"),
        (60, 30, 40, -20, "[::::|::###=]"),
        (1000, 1, 1, None, "[:::::::::#]"),
        (0, 1, 2, 1000, "[#.........|]"),
    ],
)
def test_the_bar_moves_from_the_beginning_of_the_run_to_its_end(
    gone: float, p50: float, p80: float, left: float | None, shown: str
) -> None:
    assert words.bar(p50, p80, left, 10, gone) == shown


@pytest.mark.parametrize(
    ("chance", "said"),
    [(0.999, "over 99 %"), (0.99, "99 %"), (0.824, "82 %"), (0.0, "under 1 %"), (1.0, "over 99 %")],
)
def test_a_chance(chance: float, said: str) -> None:
    assert words.chance_words(chance) == said


def test_one_line_says_range_bar_and_chance() -> None:
    outlook = Outlook(240, 360, 240, 360, left=600, chance=0.97, open=9)
    assert words.outlook_words(outlook) == "4 to 6 min more [########====........|] 97 % in time"
    assert words.outlook_words(Outlook(0, 0, 0, 0)) == ""
    assert words.outlook_words(Outlook(0, 0, 0, 0, waits="the first song")) == "what is left waits for the first song"


def proposal(*risks: float, fits: bool = True) -> Proposal:
    dropped = tuple(Dropped(f"s{i}", f"Do {i}", "", 20.0, risk) for i, risk in enumerate(risks))
    return Proposal(dropped, (), sum(risks), 50.0, 100.0, 0.85, fits)


def test_a_proposal_says_what_it_accepts() -> None:
    said = words.verdict_words(proposal(2.0, 2.0))
    assert said.startswith("Without these 2 it fits: 85 % in time. That accepts a spoilt show once in 250")
    assert words.dropped_lines(proposal(2.0)) == ["Do 0: saves 20 s, accepts one show in 500"]
    assert "musts" in words.verdict_words(proposal(2.0, fits=False))
    assert words.verdict_words(proposal(fits=False)).startswith("It does not fit: 85 % in time.")
    assert words.verdict_words(proposal()) == "Everything fits: 85 % in time. Nothing needs to be left out."


def test_steps_that_repeat_stand_in_one_line() -> None:
    dropped = tuple(Dropped(f"rest@{n}", f"Listen to {n}", f"input {n}", 20.0, 1.0) for n in range(1, 5))
    lines = words.dropped_lines(Proposal(dropped, (), 4.0, 50.0, 100.0, 0.85, True))
    assert lines == ["Listen to 1 (input 1) and 3 more like it: saves 80 s, accepts one show in 250"]

"""`when` and `where`: what a musician can write, and what it means when something is not known."""

from __future__ import annotations

import pytest

from showday.playbook.conditions import condition_word, fits, holds, where_parts
from showday.rig.model import Input, Mix

FACTS = {"festival": True, "indoors": False}


@pytest.mark.parametrize(
    ("conditions", "shown"),
    [
        pytest.param([], True, id="no condition"),
        pytest.param(["festival"], True, id="so"),
        pytest.param(["indoors"], False, id="not so"),
        pytest.param(["not festival"], False, id="not, but so"),
        pytest.param(["not indoors"], True, id="not, and not so"),
        pytest.param(["generator"], True, id="not known is shown"),
        pytest.param(["not generator"], True, id="not, and not known is shown"),
        pytest.param(["festival", "not indoors"], True, id="both"),
        pytest.param(["festival", "indoors"], False, id="one of two"),
        pytest.param(["not  indoors"], True, id="two spaces"),
    ],
)
def test_when(conditions: list[str], shown: bool) -> None:
    assert holds(conditions, FACTS) is shown


@pytest.mark.parametrize(
    ("condition", "word"),
    [
        ("festival", "festival"),
        ("not festival", "festival"),
        ("not not festival", "not not festival"),
        ("not", "not"),
    ],
)
def test_the_word_of_a_condition(condition: str, word: str) -> None:
    assert condition_word(condition) == word


@pytest.mark.parametrize(
    ("condition", "parts"),
    [
        ("phantom", ("phantom", None, True)),
        ("not spare", ("spare", None, False)),
        ("source is di", ("source", "di", True)),
        ("source is not di", ("source", "di", False)),
        ("name is Kick in", ("name", "Kick in", True)),
        ("source is", ("source", "", True)),
        ("source is not", ("source", "", False)),
        ("two words", ("two words", None, True)),
    ],
)
def test_the_parts_of_where(condition: str, parts: tuple[str, str | None, bool]) -> None:
    assert where_parts(condition) == parts


KICK = Input("Kick", number=1, source="mic", phantom=False, spare=False)
KEYS = Input("Keys", number=2, source="di", pair=3)


@pytest.mark.parametrize(
    ("where", "picked"),
    [
        pytest.param([], [KICK, KEYS], id="all"),
        pytest.param(["phantom"], [], id="no is no, unknown is no"),
        pytest.param(["not phantom"], [KICK, KEYS], id="unknown counts as no"),
        pytest.param(["phantom is no"], [KICK], id="said to be no"),
        pytest.param(["pair"], [KEYS], id="whatever is given"),
        pytest.param(["source is di"], [KEYS], id="is"),
        pytest.param(["source is DI"], [KEYS], id="capitals do not count"),
        pytest.param(["source is not di"], [KICK], id="is not"),
        pytest.param(["number is 2"], [KEYS], id="a number"),
        pytest.param(["source is di", "not spare"], [KEYS], id="both"),
        pytest.param(["box"], [], id="nothing given"),
    ],
)
def test_where(where: list[str], picked: list[Input]) -> None:
    assert [line for line in (KICK, KEYS) if fits(where, line)] == picked


def test_a_list_is_compared_as_it_is_shown() -> None:
    assert fits(["people is ada, ben"], Mix("m", people=("Ada", "Ben")))

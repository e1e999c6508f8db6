"""How typed words are understood."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.plain import words


@pytest.mark.parametrize("word", words.STEP_WORDS, ids=lambda w: w.word)
def test_every_word_and_its_letter_are_understood(word: words.Word) -> None:
    behind = "some words" if word.takes != words.ALONE else ""
    for form in filter(None, (word.word, word.letter, word.word.upper())):
        assert words.step_word(f" {form}  {behind} ") == (word.word, behind)


@pytest.mark.parametrize("word", words.STEP_WORDS, ids=lambda w: w.word)
def test_words_behind_are_never_dropped(word: words.Word) -> None:
    found = words.step_word(f"{word.word} and more")
    assert found == (None if word.takes == words.ALONE else (word.word, "and more"))


def test_no_two_words_share_a_letter() -> None:
    for table in (words.STEP_WORDS, words.WALK_WORDS):
        letters = [word.letter for word in table if word.letter]
        assert len(letters) == len(set(letters))


def test_help_tells_every_word() -> None:
    for table in (words.STEP_WORDS, words.WALK_WORDS):
        told = "\n".join(words.help_lines(table))
        assert all(word.word in told and word.help in told for word in table)


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("-18", "dBFS", -18.0),
        ("+3", "", 3.0),
        ("230 V", "V", 230.0),
        ("230v", "V", 230.0),
        ("-18,5 dBFS", "dBFS", -18.5),
        ("\u221218.5", "dBFS", -18.5),
        ("\u201318", "dBFS", -18.0),
        ("- 18", "dBFS", -18.0),
        ("12", "12", None),
        ("dBFS", "dBFS", None),
        ("", "V", None),
        ("good", "V", None),
        ("1_000", "V", None),
        ("1e400", "V", None),
        ("-18 dBu", "dBFS", None),
    ],
)
def test_readings(typed: str, unit: str, value: float | None) -> None:
    assert words.reading(typed, unit) == value


@given(st.text(max_size=40), st.lists(st.text(min_size=1, max_size=20), max_size=6))
def test_whatever_is_typed_gives_answers_that_are_there(typed: str, answers: list[str]) -> None:
    possible = [*answers, *(word.word for word in words.WALK_WORDS)]
    assert set(words.choose(typed, answers, words.WALK_WORDS)) <= set(possible)
    words.step_word(typed)
    words.reading(typed, "dB")


ANSWERS = st.text("abcdefgh ", min_size=1, max_size=12).map(str.strip).filter(bool)


@given(st.lists(ANSWERS, min_size=1, unique_by=words.fold))
def test_every_answer_is_reached_by_its_number_and_by_its_full_words(answers: list[str]) -> None:
    for number, answer in enumerate(answers, 1):
        assert words.choose(str(number), answers) == [answer]
        assert words.choose(answer.upper(), answers) == [answer]

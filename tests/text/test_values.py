"""Times, numbers, ranges and words as people write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.text import values
from showday.text.values import Span

SECONDS = [
    ("15s", 15), ("15", 15), ("1.5", 1.5), (" 5 s ", 5), ("30 sec", 30), ("1 second", 1), ("10 seconds", 10),
    ("2min", 120), ("2m", 120), ("2 min", 120), ("1 minute", 60), ("3 minutes", 180), ("1,5 min", 90),
    ("1min 30s", 90), ("1m30s", 90), ("1h", 3600), ("1 hour", 3600), ("2 hours", 7200), ("1h 5min", 3900),
    ("1H 30MIN", 5400),
]  # fmt: skip
NO_SECONDS = ["", " ", "s", "abc", "15x", "1h30", "5 5", "-5s", "1:30", "five", "1..5s", "s15", "15ss", "9" * 400]


@pytest.mark.parametrize(("text", "wanted"), [pytest.param(t, w, id=t) for t, w in SECONDS])
def test_seconds_as_people_write_them(text: str, wanted: float) -> None:
    assert values.seconds(text) == wanted


@pytest.mark.parametrize("text", NO_SECONDS)
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        values.seconds(text)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [("3", 3.0), ("-24", -24.0), ("+1", 1.0), ("44.1", 44.1), ("44,1", 44.1), ("010", 10.0), (" 7 ", 7.0)],
)
def test_numbers_are_decimal(text: str, wanted: float) -> None:
    assert values.number(text) == wanted


@pytest.mark.parametrize(
    "text", ["", "1e3", "1_000", "0x10", ".5", "5.", "1.2.3", "inf", "nan", "12:30", "--1", "9" * 400]
)
def test_what_is_no_plain_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        values.number(text)


@pytest.mark.parametrize("word", ["yes", "Yes", "YES", "true", "on", " yes "])
def test_yes(word: str) -> None:
    assert values.yes_no(word) is True


@pytest.mark.parametrize("word", ["no", "No", "NO", "false", "off"])
def test_no(word: str) -> None:
    assert values.yes_no(word) is False


@pytest.mark.parametrize("word", ["", "y", "n", "1", "0", "yes please", "ja"])
def test_neither_yes_nor_no(word: str) -> None:
    with pytest.raises(ValueError):
        values.yes_no(word)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [("19:30", "19:30"), ("9:05", "09:05"), ("19.30", "19:30"), ("19h30", "19:30"), ("0:00", "00:00")],
)
def test_times_of_day(text: str, wanted: str) -> None:
    assert values.clock_time(text) == wanted


@pytest.mark.parametrize("text", ["", "24:00", "19:60", "1930", "7 pm", "19:3", "-1:00"])
def test_what_is_no_time_of_day_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        values.clock_time(text)


@pytest.mark.parametrize(
    ("text", "low", "high", "said"),
    [
        ("-24..-12", -24, -12, "-24 to -12"),
        ("12..", 12, None, "at least 12"),
        ("..3", None, 3, "at most 3"),
        ("5", 5, 5, "5"),
        ("44.1..96", 44.1, 96, "44.1 to 96"),
        ("606.5125..694.0375", 606.5125, 694.0375, "606.5125 to 694.0375"),
        (" 1 .. 2 ", 1, 2, "1 to 2"),
        ("0..0", 0, 0, "0"),
    ],
)
def test_ranges(text: str, low: float | None, high: float | None, said: str) -> None:
    span = values.span(text)
    assert (span.low, span.high, str(span)) == (low, high, said)


@pytest.mark.parametrize("text", ["", "..", "3..1", "a..b", "1..2..3", "1-2", "1...2"])
def test_what_is_no_range_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        values.span(text)


def test_both_ends_of_a_range_are_inside() -> None:
    span = Span(-24, -12)
    assert [span.holds(v) for v in (-24.1, -24, -18, -12, -11.9)] == [False, True, True, True, False]
    assert Span().holds(1e9) and str(Span()) == "any"


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0, "0 s"),
        (59.4, "59 s"),
        (59.6, "1 min"),
        (90, "1 min 30 s"),
        (120, "2 min"),
        (3600, "1 h"),
        (3900, "1 h 5 min"),
    ],
)
def test_durations_as_people_say_them(seconds: float, said: str) -> None:
    assert values.duration(seconds) == said


@given(st.integers(0, 3599))
def test_a_duration_reads_back_as_itself(seconds: int) -> None:
    assert values.seconds(values.duration(seconds)) == seconds


@given(st.text(max_size=30))
def test_readers_of_values_give_a_finite_value_or_refuse(text: str) -> None:
    for read in (values.seconds, values.number):
        try:
            value = read(text)
        except ValueError:
            continue
        assert math.isfinite(value)


@given(st.floats(-1e5, 1e5), st.floats(-1e5, 1e5))
def test_a_range_holds_what_lies_between_its_ends(a: float, b: float) -> None:
    low, high = sorted((round(a, 3), round(b, 3)))
    span = values.span(f"{low:.3f}..{high:.3f}")
    assert span.holds(low) and span.holds(high) and span.holds((low + high) / 2)
    assert not span.holds(low - 1) and not span.holds(high + 1)

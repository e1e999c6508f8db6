"""The drawing of a sweep: every column says the strongest level in it, and every mark stands where it belongs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.radio.drawing import (
    FAINT_PRODUCT,
    FINE,
    GUTTER,
    NARROWEST,
    OTHER_ACT,
    OTHERS,
    PRODUCT,
    SEVERAL,
    SIGNS,
    SPARE_SIGNS,
    Frame,
    Mark,
    Scene,
    Trace,
    around,
    draw,
    fitted,
    levels,
    reading,
    scale_of,
    short,
    zoomed,
)
from showday.radio.model import AVOID, CARRIER, FOREIGN, TELEVISION, Band, Occupied

MHZ = 1_000_000


def flat(low: int = 550, high: int = 560, step: int = 25_000, level: float = -100.0) -> Trace:
    """Even bins at one level, with a floor of -100."""
    hz = np.arange(low * MHZ, high * MHZ + 1, step, dtype=np.int64)
    return Trace(hz, np.full(len(hz), level), -100.0)


def with_peak(at: int, level: float = -40.0) -> Trace:
    trace = flat()
    trace.level[trace.hz == at] = level
    return trace


FRAME = Frame(Band(550 * MHZ, 560 * MHZ), 50)


@given(column=st.integers(0, 49))
def test_a_column_holds_its_own_middle_and_both_ends_of_the_window_are_inside(column: int) -> None:
    assert FRAME.column(FRAME.middle(column)) == column
    assert (FRAME.column(550 * MHZ), FRAME.column(560 * MHZ)) == (0, 49)
    assert FRAME.column(550 * MHZ - 1) is None
    assert FRAME.column(560 * MHZ + 1) is None


@given(at=st.integers(0, 400))
def test_the_strongest_level_is_drawn_in_its_column_alone(at: int) -> None:
    hertz = 550 * MHZ + at * 25_000
    found = levels(with_peak(hertz), FRAME)
    column = FRAME.column(hertz)
    assert [n for n, level in enumerate(found) if level == -40.0] == ([column] if hertz < 560 * MHZ else [])


def test_what_was_not_measured_is_a_hole_and_no_floor() -> None:
    trace = flat()
    keep = (trace.hz < 553 * MHZ) | (trace.hz > 555 * MHZ)
    trace = Trace(trace.hz[keep], trace.level[keep], -100.0)
    drawn = draw(trace, Scene(), FRAME, 4)
    bottom = drawn.plot[-1][GUTTER:]
    assert bottom[15:24].strip() == ""
    assert " " not in bottom[:14] + bottom[26:]
    assert "not measured" in reading(trace, Scene(), FRAME, 554 * MHZ)


def test_an_empty_bin_is_not_measured_either() -> None:
    trace = with_peak(555 * MHZ, -np.inf)
    assert levels(trace, Frame(Band(555 * MHZ - 5_000, 555 * MHZ + 5_000), 3)) == [None] * 3


def test_closer_than_the_bins_the_nearest_one_is_drawn_without_holes() -> None:
    assert levels(with_peak(555 * MHZ), Frame(Band(555 * MHZ - 50_000, 555 * MHZ + 50_000), 40)).count(None) == 0


def test_twice_the_level_over_the_floor_stands_twice_as_high() -> None:
    low, high = scale_of(with_peak(555 * MHZ))
    assert (low, high) == (-104.0, -40.0)
    rows = draw(with_peak(555 * MHZ), Scene(), FRAME, 8).plot
    column = GUTTER + (FRAME.column(555 * MHZ) or 0)
    assert [row[column] for row in rows] == ["█"] * 8
    half = draw(with_peak(555 * MHZ, -72.0), Scene(), FRAME, 8)
    assert scale_of(with_peak(555 * MHZ, -72.0)) == (-104.0, -70.0)
    assert half.plot[0][column] != " "


@pytest.mark.parametrize("height", [1, 2, 5, 18])
@pytest.mark.parametrize("columns", [10, 55, 135])
@pytest.mark.parametrize("ascii", [True, False])
def test_every_row_is_as_wide_as_the_room(height: int, columns: int, ascii: bool) -> None:
    frame = Frame(Band(550 * MHZ, 560 * MHZ), columns)
    scene = Scene((Occupied(550 * MHZ, 558 * MHZ, "TV 31", TELEVISION),), (Mark(551 * MHZ, "1"),))
    drawn = draw(with_peak(555 * MHZ), scene, frame, height, cursor=553 * MHZ, ascii=ascii)
    assert len(drawn.plot) == height
    assert {len(line) for line in drawn.lines} == {GUTTER + columns}


def test_in_plain_letters_nothing_but_those_of_an_old_terminal() -> None:
    scene = Scene((Occupied(550 * MHZ, 558 * MHZ, "TV 31", TELEVISION),), (Mark(551 * MHZ, "1"),))
    drawn = draw(with_peak(555 * MHZ), scene, FRAME, 5, cursor=553 * MHZ, ascii=True)
    assert all(line.isascii() for line in drawn.lines)
    assert "TV 31" in drawn.bands


def test_bands_are_named_as_far_as_there_is_room() -> None:
    tv = Occupied(551 * MHZ, 559 * MHZ, "TV 31", TELEVISION)
    assert "├TV 31" in draw(None, Scene((tv,)), FRAME, 1).bands
    small = Frame(Band(470 * MHZ, 694 * MHZ), 72)
    two = Scene(
        (Occupied(470 * MHZ, 478 * MHZ, "TV 21", TELEVISION), Occupied(478 * MHZ, 486 * MHZ, "TV 22", TELEVISION))
    )
    assert draw(None, two, small, 1).bands[GUTTER:].startswith("21")
    assert "22" in draw(None, two, small, 1).bands
    outside = Scene((Occupied(600 * MHZ, 608 * MHZ, "TV 38", TELEVISION),))
    assert draw(None, outside, FRAME, 1).bands.strip() == ""


def test_products_that_are_everywhere_are_not_marked() -> None:
    frame = Frame(Band(550 * MHZ, 560 * MHZ), 50)
    many = np.arange(550 * MHZ, 560 * MHZ, 100_000)
    assert PRODUCT not in draw(None, Scene((), (), ((3, many),)), frame, 1).marks
    assert draw(None, Scene((), (), ((3, many[: len(many) // 2]),)), frame, 1).marks.count(PRODUCT) == 25


def test_a_line_of_the_log_knows_where_nothing_was_measured() -> None:
    points = [(hz, -100.0) for hz in range(550 * MHZ, 560 * MHZ, 100_000) if not 553 * MHZ < hz < 555 * MHZ]
    assert Trace.of_points(points).gaps() == [(553 * MHZ, 555 * MHZ)]
    assert flat().gaps() == []


def test_marks_stand_over_products_and_several_in_a_column_say_so() -> None:
    products = ((3, np.array([551 * MHZ, 552 * MHZ])), (5, np.array([553 * MHZ])))
    marks = (Mark(552 * MHZ, "1"), Mark(555 * MHZ, "2"), Mark(555 * MHZ + 10_000, "a"))
    other = Occupied(557 * MHZ - 100_000, 557 * MHZ + 100_000, "", CARRIER, 557 * MHZ)
    act = Band(558 * MHZ, 558 * MHZ, "", FOREIGN)
    wide, near = FRAME, Frame(Band(550 * MHZ, 560 * MHZ), 100)
    assert wide.per_column > FINE >= near.per_column
    row = draw(None, Scene((other, act), marks, products), wide, 1).marks[GUTTER:]
    assert row.replace(" ", "") == ":1*xf"
    assert row[wide.column(551 * MHZ) or 0] == ":"
    assert "." in draw(None, Scene((), marks, products), near, 1).marks


def test_the_cursor_is_seen_without_colour() -> None:
    drawn = draw(flat(), Scene(), FRAME, 3, cursor=555 * MHZ)
    assert drawn.cursor == GUTTER + (FRAME.column(555 * MHZ) or 0)
    assert drawn.plot[0][drawn.cursor] == "▼"
    assert draw(flat(), Scene(), FRAME, 3, cursor=700 * MHZ).cursor is None


def test_without_a_sweep_it_says_so() -> None:
    drawn = draw(None, Scene(), FRAME, 3, cursor=550 * MHZ, empty="No sweep yet")
    assert "No sweep yet" in "".join(drawn.plot)


@given(low=st.integers(1 * MHZ, 6_000 * MHZ), width=st.integers(NARROWEST, 500 * MHZ), columns=st.integers(20, 200))
def test_every_number_on_the_axis_stands_at_its_frequency(low: int, width: int, columns: int) -> None:
    frame = Frame(Band(low, low + width), columns)
    axis = draw(None, Scene(), frame, 1).axis[GUTTER:]
    for column, char in enumerate(axis):
        if char == "|":
            at = round(float(axis[column + 1 :].split()[0].split("|")[0]) * MHZ)
            assert frame.column(at) == column


def test_the_reading_says_level_band_and_what_of_ours_is_there() -> None:
    scene = Scene(
        (Occupied(551 * MHZ, 559 * MHZ, "TV 31", TELEVISION), Band(552 * MHZ, 556 * MHZ, "", AVOID)),
        (Mark(555 * MHZ, "2"),),
    )
    assert (
        reading(with_peak(555 * MHZ), scene, FRAME, 555 * MHZ)
        == "555.000 MHz | -40 dBm at 555 | TV 31 | avoid | 2 here"
    )
    assert "outside" in reading(None, scene, FRAME, 600 * MHZ)


@given(
    at=st.integers(470 * MHZ, 694 * MHZ),
    times=st.sampled_from([0.5, 2.0, 1.0]),
    low=st.integers(470 * MHZ, 690 * MHZ),
    width=st.integers(NARROWEST, 224 * MHZ),
)
def test_a_zoomed_window_stays_inside_its_limits_and_keeps_the_cursor(
    at: int, times: float, low: int, width: int
) -> None:
    limits = Band(470 * MHZ, 694 * MHZ)
    window = fitted(Band(low, low + width), limits)
    at = min(max(at, window.low), window.high)
    made = zoomed(window, at, times, limits)
    assert limits.low <= made.low < made.high <= limits.high
    assert made.width >= NARROWEST
    assert made.low - 1 <= at <= made.high + 1


def test_the_window_around_things() -> None:
    assert around([]) is None
    one = around([Band(600 * MHZ, 600 * MHZ)])
    assert one is not None and one.width >= NARROWEST and one.holds(600 * MHZ)
    assert around([Band(500 * MHZ, 510 * MHZ), Band(550 * MHZ, 600 * MHZ)], 0.0) == Band(500 * MHZ, 600 * MHZ)


def test_short_frequencies_lose_no_hertz() -> None:
    assert [short(hz) for hz in (606 * MHZ, 606_500_000, 473_142_857)] == ["606", "606.5", "473.142857"]


def test_no_sign_of_ours_means_something_else() -> None:
    assert not set(SIGNS + SPARE_SIGNS) & {SEVERAL, OTHERS, OTHER_ACT, PRODUCT, FAINT_PRODUCT}
    assert len(set(SIGNS + SPARE_SIGNS)) == len(SIGNS + SPARE_SIGNS)

"""Wide sweep rows of both habits: where the values stand, several sweeps, and rows that cannot be used."""

from __future__ import annotations

from math import inf

import pytest

from showday.radio.sweep import DBM, UNCALIBRATED
from tests.radio.sweep_texts import MHZ, read, sweep_of, wide

LOW = 470 * MHZ
FIVE = [-60.0, -61.0, -62.0, -63.0, -64.0]
GOOD = wide(LOW, FIVE, time="12:00:00.500000")


def interleaved(base: float = -60.0, steps: int = 1, time: str = "12:00:00.123456") -> str:
    """Rows of the first habit: 5 MHz each, and of each 20 MHz first 0 and 10, then 5 and 15."""
    offsets = [20 * step + part for step in range(steps) for part in (0, 10, 5, 15)]
    return "".join(wide(LOW + at * MHZ, [base - at - i for i in range(5)], time=time) for at in offsets)


def test_as_many_values_as_bins_stand_in_the_middle_of_each() -> None:
    sweep = sweep_of(interleaved())
    assert sweep.hz.tolist() == [LOW + MHZ // 2 + i * MHZ for i in range(20)]
    assert sweep.peak.tolist() == [-60.0 - i for i in range(20)]
    assert (sweep.unit, sweep.passes) == (UNCALIBRATED, 1)
    assert "Wide sweep rows: each value stands for the middle of its bin." in sweep.said


def test_one_value_more_stands_at_the_lower_ends_and_the_last_is_left_out() -> None:
    row = wide(LOW, [-60, -61, -62, -63, -63], bins=4)
    sweep = sweep_of(row + wide(LOW + 4 * MHZ, [-70, -71, -72, -73, -73], bins=4))
    assert sweep.hz.tolist() == [LOW + i * MHZ for i in range(8)]
    assert sweep.peak.tolist() == [-60, -61, -62, -63, -70, -71, -72, -73]
    assert "the last value of a row is written twice and left out" in " ".join(sweep.said)


def test_a_last_value_that_is_new_is_kept() -> None:
    sweep = sweep_of(wide(LOW, FIVE, bins=4))
    assert (sweep.hz.tolist(), sweep.peak.tolist()) == ([LOW + i * MHZ for i in range(5)], FIVE)


def test_an_empty_bin_is_no_level_in_every_spelling() -> None:
    for empty in ("-inf", "-INF", "-1.#INF", "-1.#INF00"):
        sweep = sweep_of(wide(LOW, [-60, empty, -62, -63, -63], bins=4))
        assert sweep.peak.tolist() == [-60, -inf, -62, -63]


def test_bins_may_be_no_whole_hertz() -> None:
    row = wide(LOW, FIVE).replace(f", {LOW + 5 * MHZ}, 1000000.00", f", {LOW + 2_800_000}, 560000.04")
    assert sweep_of(row).hz.tolist() == pytest.approx([LOW + (i + 0.5) * 560_000 for i in range(5)], abs=2)


def test_several_sweeps_keep_the_strongest_and_the_mean_power() -> None:
    sweep = sweep_of(interleaved() + interleaved(-50.0) + interleaved(-70.0))
    assert (sweep.passes, sweep.peak[0]) == (3, -50.0)
    assert sweep.mean[0] == pytest.approx(-54.3180, abs=1e-3)  # 10 log10((1e-6 + 1e-5 + 1e-7) / 3)
    assert "3 sweeps stand in the file: the strongest and the mean of each bin are kept." in sweep.said


def test_a_sweep_that_was_broken_off_is_said() -> None:
    sweep = sweep_of(interleaved() + "".join(interleaved(-50.0).splitlines(keepends=True)[:2]))
    assert sweep.peak[:10].tolist() == [-50.0 - i for i in range(5)] + [-65.0 - i for i in range(5)]
    assert "2 sweeps stand in the file, the last one not whole" in " ".join(sweep.said)


def test_rows_that_run_past_the_end_that_was_asked_for_are_kept() -> None:
    sweep = sweep_of(interleaved(steps=3))
    assert (sweep.low, sweep.high, len(sweep.hz)) == (LOW + MHZ // 2, LOW + 59 * MHZ + MHZ // 2, 60)


def test_when_it_was_measured() -> None:
    sweep = sweep_of(interleaved(time="20:14:59.900000") + interleaved(time="20:15:07.100000"))
    assert (sweep.begun, sweep.ended) == ("2025-06-14 20:14:59.900000", "2025-06-14 20:15:07.100000")


def test_a_person_may_say_that_the_levels_are_dbm() -> None:
    assert sweep_of(GOOD, "dbm").unit == DBM
    assert sweep_of(GOOD, "dbuv").peak[0] == pytest.approx(-60 - 106.99)


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace("\n", "\r\n"),
        GOOD.replace(", ", ","),
        "date, time, hz_low, hz_high, hz_bin_width, num_samples, dB\n" + GOOD,
        "# made in the field\n" + GOOD,
        "\ufeff" + GOOD,
        GOOD.replace("\n", ", \n"),
        GOOD.rstrip("\n"),
    ],
)
def test_every_spelling_of_a_row_is_the_same(text: str) -> None:
    assert sweep_of(text).peak.tolist() == FIVE


def test_wide_rows_in_utf16() -> None:
    assert sweep_of(GOOD.encode("utf-16")).peak.tolist() == FIVE


LINES = {
    "too few": (
        wide(LOW, [-1, -2, -3], bins=5),
        "3 values stand here, 5 or 6 fit between 470000000 and 475000000 Hz",
    ),
    "too many": (wide(LOW, [-1] * 7, bins=5), "7 values stand here, 5 or 6 fit between"),
    "cut": (wide(LOW, FIVE)[:-9], "4 values stand here, 5 or 6 fit"),
    "cut in its head": (wide(LOW, FIVE)[:40], "the row ends after 4 of its columns; it has no values"),
    "a word": (wide(LOW, [-1, "oops", -1, -1, -1]), "'oops' is not a level"),
    "an empty cell": (wide(LOW, [-1, "", -1, -1, -1]), "'' is not a level"),
    "not a number": (wide(LOW, [-1, "nan", -1, -1, -1]), "value 2 of the row, nan, is no level in dB"),
    "endless": (wide(LOW, ["1e308"] * 5), "value 1 of the row, 1e+308, is no level in dB"),
    "swapped": (wide(LOW + 9 * MHZ, FIVE).replace(f"{LOW + 14 * MHZ}", "1"), "the row ends at 1 Hz, below its start"),
    "no width": (wide(LOW, FIVE).replace("1000000.00", "0"), "with bins of 0 Hz is no part of a sweep"),
    "too wide": (wide(LOW, FIVE).replace("1000000.00", "9e9"), "bins of 9000000000 Hz do not fit into a row"),
    "no numbers": (
        wide(LOW, FIVE).replace("1000000.00", "wide"),
        "are not the ends and the bin width of a row, in Hz",
    ),
    "no date": ("470.0,-100\n", "the row does not begin with a date and a time: '470.0,-100'"),
    "codes": ("\x1b[2J\n", "the row does not begin with a date and a time: '␛[2J'"),
}


@pytest.mark.parametrize("what", LINES)
def test_a_row_that_cannot_be_used_is_told_and_the_others_are_read(what: str) -> None:
    row, sentence = LINES[what]
    sweep, problems = read(GOOD + row)
    assert sweep is not None
    assert sweep.peak.tolist() == FIVE
    (problem,) = problems
    assert problem.place.line == 2
    assert sentence in str(problem)


@pytest.mark.parametrize("what", ["too few", "word in all", "cut in its head", "one bin"])
def test_rows_without_any_level_are_no_sweep(what: str) -> None:
    rows = {"word in all": wide(LOW, ["a"] * 5), "one bin": wide(LOW, [-60])}
    sweep, problems = read(rows.get(what) or LINES[what][0])
    assert sweep is None
    assert len(problems) == 1


def test_a_first_row_that_is_cut_is_told() -> None:
    sweep, problems = read("-63.00, -64.00\n" + GOOD)
    assert sweep is not None
    assert [str(p) for p in problems] == [
        "field.csv:1:1: the row does not begin with a date and a time: '-63.00, -64.00'"
    ]

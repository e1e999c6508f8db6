"""Two columns in every spelling that a field brings: read alike, with what was taken for granted said aloud."""

from __future__ import annotations

import pytest

from showday.radio.sweep import DBM, UNCALIBRATED, UNKNOWN
from tests.radio.sweep_texts import HZ, LEVELS, columns, read, sweep_of, told

PLAIN = columns()
CELLS = [row.split(",") for row in PLAIN.split()]
GROUPED = "".join(f"{hz:,};{level:.2f}\n" for hz, level in zip(HZ, LEVELS, strict=True))
SPELLINGS = {
    "comma": PLAIN,
    "semicolon": columns(";"),
    "tab": columns("\t"),
    "spaces": columns("   "),
    "comma and space": columns(", "),
    "decimal comma, semicolon": columns(";", ","),
    "decimal comma, tab": columns("\t", ","),
    "decimal comma, spaces": columns("  ", ","),
    "decimal comma, comma": columns(",", ","),
    "decimal comma, comma and space": columns(", ", ","),
    "kHz": columns(unit=1e3, digits=0),
    "kHz with decimals": columns(unit=1e3, digits=3),
    "Hz": columns(unit=1, digits=0),
    "GHz": columns(unit=1e9, digits=6),
    "Hz with a point and nothing behind it": columns(unit=1, digits=0).replace(",", ".,"),
    "powers of ten": "".join(f"{hz:.6E};{level:.4e}\n" for hz, level in zip(HZ, LEVELS, strict=True)),
    "CRLF": columns(end="\r\n"),
    "CR": columns(end="\r"),
    "no newline at the end": PLAIN.rstrip("\n"),
    "blanks around": "\n\n" + PLAIN.replace("\n", "  \n\n   "),
    "a separator at the end": columns(";", end=";\n"),
    "header": "Frequency (MHz),Level (dBm)\n" + PLAIN,
    "header twice, as in joined files": "MHz,dBm\n" + PLAIN.replace("470.075", "MHz,dBm\n470.075"),
    "comments": "# one\n! two\n; three\n// four\n% five\n* six\n" + PLAIN + "# end\n",
    "settings before": "Start,470000000\nStop,470125000\nPoints,6\nFrequency,Level\n" + PLAIN,
    "a date before": "2025-06-14 12:31\n14.06.2025;12:31\n12:31:07\n" + PLAIN,
    "the hint of a spreadsheet": "sep=;\n" + columns(";", ","),
    "descending": "".join(reversed(PLAIN.splitlines(keepends=True))),
    "quotes": "".join(f'"{a}","{b}"\n' for a, b in CELLS),
    "quotes, decimal comma": "".join(f'"{a}","{b}"\n' for a, b in CELLS).replace(".", ","),
    "units behind": "".join(f"{a} MHz, {b} dBm\n" for a, b in CELLS),
    "level first": "".join(f"{b},{a}\n" for a, b in CELLS),
    "a minus sign": PLAIN.replace("-", "\N{MINUS SIGN}"),
    "a plus sign": "".join(f"+{row}\n" for row in PLAIN.split()),
    "groups of three, points": GROUPED.translate(str.maketrans(".,", ",.")),
    "groups of three, commas": GROUPED,
    "groups of three, spaces": GROUPED.replace(",", " "),
}


@pytest.mark.parametrize("spelling", SPELLINGS)
def test_every_spelling_is_the_same_sweep(spelling: str) -> None:
    sweep = sweep_of(SPELLINGS[spelling])
    assert sweep.hz.tolist() == HZ
    assert sweep.peak.tolist() == sweep.mean.tolist() == LEVELS
    assert (sweep.unit, sweep.passes, sweep.asked) == (DBM, 1, ())


ENCODINGS = {
    "BOM": b"\xef\xbb\xbf" + PLAIN.encode(),
    "BOM before a header": b"\xef\xbb\xbf" + ("MHz,dBm\n" + PLAIN).encode(),
    "UTF-16, little end first": b"\xff\xfe" + PLAIN.encode("utf-16-le"),
    "UTF-16, big end first": b"\xfe\xff" + PLAIN.encode("utf-16-be"),
    "Latin-1 header": "Fréquence;Niveau (dBm)\n".encode("latin-1") + columns(";", ",").encode(),
}


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_every_encoding_is_the_same_sweep(encoding: str) -> None:
    sweep = sweep_of(ENCODINGS[encoding])
    assert (sweep.hz.tolist(), sweep.peak.tolist()) == (HZ, LEVELS)


@pytest.mark.parametrize("size", [1, 2, 3, 7, 64])
@pytest.mark.parametrize("encoding", ENCODINGS)
def test_it_does_not_matter_in_which_pieces_a_file_comes(encoding: str, size: int) -> None:
    content = ENCODINGS[encoding]
    sweep, problems = read([content[at : at + size] for at in range(0, len(content), size)])
    assert sweep is not None
    assert (sweep.hz.tolist(), problems) == (HZ, [])


SAID = {
    "MHz": (PLAIN, "Frequencies are taken as MHz, by their size."),
    "kHz": (columns(unit=1e3, digits=0), "Frequencies are taken as kHz, by their size."),
    "Hz": (columns(unit=1, digits=0), "Frequencies are taken as Hz, by their size."),
    "comma": (columns(";", ","), "Decimals stand behind a comma."),
    "groups": (SPELLINGS["groups of three, points"], "Digits stand in groups of three, decimals behind a comma."),
    "swapped": (SPELLINGS["level first"], "The level stands before the frequency."),
    "header": ("MHz,dBm\n" + PLAIN, "The header says dBm."),
    "no header": (PLAIN, "Levels are taken as dBm, by their size."),
    "passed over": ("# a\nb\n" + PLAIN, "2 lines of words were passed over."),
    "wrong header": ("Frequency (Hz),Level\n" + PLAIN, "The header says Hz; the numbers only make sense as MHz."),
}


@pytest.mark.parametrize("what", SAID)
def test_what_is_taken_for_granted_is_said(what: str) -> None:
    text, sentence = SAID[what]
    assert sentence in sweep_of(text).said


# -- frequencies that stand more than once -----------------------------------------------------------------------------


def test_a_frequency_twice_keeps_the_strongest_and_the_mean_power() -> None:
    sweep = sweep_of(PLAIN + "470.050,-88.5\n")
    assert sweep.hz.tolist() == HZ
    assert sweep.peak[2] == -88.5
    # 10 log10 of half of 10^-9.85 and 10^-8.85: 3.01 dB under the sum of the two
    assert sweep.mean[2] == pytest.approx(-88.5 + 0.413927 - 3.0103, abs=1e-4)
    assert "1 frequency stands more than once: the strongest and the mean are kept." in sweep.said


def test_several_sweeps_one_after_the_other_are_several_passes() -> None:
    sweep = sweep_of(PLAIN + PLAIN.replace("-9", "-8") + PLAIN)
    assert (sweep.passes, sweep.hz.tolist()) == (3, HZ)
    assert "3 sweeps stand in the file: the strongest and the mean of each bin are kept." in sweep.said


# -- levels ------------------------------------------------------------------------------------------------------------


def levels_of(levels: list[float], header: str = "") -> str:
    return header + "".join(f"{470 + i / 40:.3f},{level}\n" for i, level in enumerate(levels))


ASKED = {
    "dBuV in the air": (levels_of([12.0, 8.5, 45]), "Most levels are positive (8.5 to 45). Are they dBuV?"),
    "dBuV about zero": (levels_of([-17.0, -12.0, 45]), "Most levels are high for dBm (-17 to 45). Are they dBuV?"),
    "plain power": (levels_of([0.2, 0.001, 0.9]), "They look like plain power, not like decibels"),
    "a header that says dBm": (
        levels_of([12.0, 8.5, 45], "MHz,dBm\n"),
        "The header says dBm, yet most levels are positive (8.5 to 45).",
    ),
    "a header that says dBuV": (
        levels_of([-102.0, -98.5, -45], "MHz,dBuV\n"),
        "The header says dBuV, yet most levels are negative (-102 to -45). Are they dBm?",
    ),
}


@pytest.mark.parametrize("what", ASKED)
def test_implausible_levels_are_asked_about(what: str) -> None:
    text, question = ASKED[what]
    (asked,) = sweep_of(text).asked
    assert question in asked
    assert what == "plain power" or asked.endswith("Say --level dbuv or --level dbm.")


def test_without_a_header_implausible_levels_stay_as_they_are() -> None:
    sweep = sweep_of(levels_of([12.0, 8.5, 45]))
    assert (sweep.unit, sweep.peak.tolist()) == (UNKNOWN, [12.0, 8.5, 45.0])


@pytest.mark.parametrize(
    ("said", "unit", "first"), [("dbm", DBM, 12.0), ("db", UNCALIBRATED, 12.0), ("dbuv", DBM, 12.0 - 106.99)]
)
def test_what_a_person_says_of_the_levels_counts(said: str, unit: str, first: float) -> None:
    sweep = sweep_of(levels_of([12.0, 8.5, 45]), said)
    assert (sweep.unit, sweep.asked) == (unit, ())
    assert sweep.peak[0] == pytest.approx(first)


@pytest.mark.parametrize("word", ["dBuV", "dBµV", "dBμV", "DBUV"])
def test_a_header_in_dbuv_is_made_dbm_across_50_ohm(word: str) -> None:
    """0 dBuV across 50 ohm are -106.99 dBm: U²/R of 1 µV is 2e-14 W."""
    sweep = sweep_of(levels_of([5.0, 0.0, 3.0], f"MHz;Level ({word})\n-----\n"))
    assert (sweep.unit, sweep.asked) == (DBM, ())
    assert sweep.peak[1] == pytest.approx(-106.99, abs=0.005)


def test_a_header_in_db_is_no_dbm() -> None:
    assert sweep_of(levels_of([-5.0, 0.0, 3.0], "MHz;dB\n")).unit == UNCALIBRATED


def test_an_empty_bin_is_no_level() -> None:
    sweep = sweep_of(PLAIN.replace("-98.50", "-inf"))
    assert sweep.peak[2] == float("-inf")


# -- lines that cannot be used -------------------------------------------------------------------------------------------

LINES = {
    "a word": (PLAIN.replace("-98.50", "loud"), ["field.csv:3:9: 'loud' is not a number"]),
    "an empty cell": (
        columns(";").replace(";-98.50", ";"),
        ["field.csv:3:1: 1 value stands here, wanted a frequency"],
    ),
    "a cut last line": (
        PLAIN + "470.1",
        ["field.csv:7:1: 1 value stands here, wanted a frequency and a level: '470.1'"],
    ),
    "three values": (
        PLAIN + "470.200,-90,-91\n",
        ["field.csv:7:1: 3 values stand here", "'470.200,-90,-91'; export"],
    ),
    "not a number": (PLAIN.replace("-98.50", "nan"), ["field.csv:3:1: the level is not a number (nan)"]),
    "no level in dB": (PLAIN.replace("-98.50", "1e9"), ["field.csv:3:1: 1e+09 is no level in dB"]),
    "endless power": (PLAIN.replace("-98.50", "inf"), ["field.csv:3:1: inf is no level in dB"]),
    "another unit": (
        PLAIN + "470150,-90\n",
        ["field.csv:7:1: 470150 is outside of 30 to 10,000 MHz, the unit of this file"],
    ),
    "no frequency": (PLAIN + "-470.150,-90\n", ["field.csv:7:1: -470.15 is outside of 30 to 10,000 MHz"]),
    "codes of a terminal": (PLAIN.replace("-98.50", "\x1b[2J"), ["field.csv:3:9: '␛[2J' is not a number"]),
    "in CRLF": (columns(end="\r\n").replace("-98.50", "loud"), ["field.csv:3:9: 'loud' is not a number"]),
    "behind comments": ("# a\n# b\n" + PLAIN.replace("-98.50", "loud"), ["field.csv:5:9: 'loud' is not a number"]),
}


@pytest.mark.parametrize("what", LINES)
def test_a_line_that_cannot_be_used_is_told_and_the_others_are_read(what: str) -> None:
    text, parts = LINES[what]
    sweep, problems = read(text)
    assert sweep is not None
    assert len(sweep.hz) >= 5
    assert len(problems) == 1
    assert all(part in str(problems[0]) for part in parts), str(problems[0])


NOTHING = {
    "empty": ("", "field.csv:1:1: the file is empty"),
    "blank": ("\n \n\n", "field.csv:1:1: the file is empty"),
    "only a header": ("Frequency,Level\n", "field.csv:1:1: no line with a frequency and a level stands in the file"),
    "a letter": ("Dear all,\nsee you there.\n", "field.csv:1:1: no line with a frequency and a level"),
    "one column": (
        "470.000\n470.025\n",
        "field.csv:2:1: 1 value stands here, wanted a frequency and a level: '470.025'",
    ),
    "one frequency": ("470.000,-100\n", "field.csv:1:1: one frequency alone is no sweep"),
    "audio": ("20,-40\n25,-41\n", "field.csv:1:1: 20 is in no unit a stage frequency, 30 MHz to 10 GHz"),
}


@pytest.mark.parametrize("what", NOTHING)
def test_a_file_without_a_sweep_says_why(what: str) -> None:
    text, sentence = NOTHING[what]
    sweep, problems = read(text)
    assert sweep is None
    assert any(sentence in str(problem) for problem in problems), told(text)


def test_problems_stand_in_the_order_of_their_lines_and_a_flood_is_counted() -> None:
    bad = "".join(f"{471 + i / 1000:.3f},{'oops' if i % 2 else 'nan'}\n" for i in range(100))
    sweep, problems = read(PLAIN + bad)
    assert sweep is not None
    lines = [problem.place.line for problem in problems]
    assert lines == sorted(lines)
    assert len(problems) == 21
    assert str(problems[-1]) == "field.csv:106:1: 80 more lines up to here could not be used"

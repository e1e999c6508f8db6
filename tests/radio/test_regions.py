"""Regions ask and warn; no row of theirs permits anything. The rows against published rules, range by range."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.errors import RadioTrouble
from showday.radio.regions import (
    MARKS,
    Prompt,
    channel_at,
    channels,
    prompt_lines,
    prompts,
    read_regions,
    region_of,
    regions,
)
from showday.rig.reader import REGIONS
from showday.text.cautions import RADIO_LAW

MHZ = 1_000_000
ROWS = [(region.region, row) for region in regions() for row in region.rows]
NAMES = [f"{region} {row.low / MHZ:g}-{row.high / MHZ:g} {row.mark}" for region, row in ROWS]

NEVER = re.compile(
    r"\b(?:allow(?:s|ed)?|permit(?:s|ted)?|permission|authori[sz]ed?|legal(?:ly)?|lawful|free to|free of|freely|"
    r"feel free|no licen[cs]e (?:is )?(?:needed|required)|licen[cs]e-(?:free|exempt)|may (?:be used|transmit|use)|"
    r"can (?:be used|transmit|use)|you (?:may|can)|go ahead|safe|fine|okay|ok|clear to|welcome|usable|available|"
    r"good to go|yours)\b",
    re.I,
)
"""Words that permit; they stand nowhere, not even in a question."""
STATED = re.compile(r"\b(?:open|free|unlicensed|without a licen[cs]e|covers?|use it|used? here)\b", re.I)
"""Words that only a question may have: said as a fact they would permit."""


def stated(text: str) -> list[str]:
    """The sentences of a text that are no questions."""
    return [part for part in re.findall(r"[^.?!]+(?:[.?!](?=\d)[^.?!]+)*[.?!]", text) if not part.endswith("?")]


def found(at: float, region: str) -> list[Prompt]:
    """The rows at one frequency in MHz."""
    return list(prompts(region, round(at * MHZ), round(at * MHZ)))


def warned(at: float, region: str) -> bool:
    """Whether there is nothing but warnings at one frequency."""
    return all(row.warn for row in found(at, region))


@pytest.mark.parametrize(("region", "row"), ROWS, ids=NAMES)
def test_no_row_permits(region: str, row: Prompt) -> None:
    assert not NEVER.search(row.text)
    assert not any(STATED.search(part) for part in stated(row.text))
    if row.ask:
        assert "?" in row.ask
        assert "Stay out" not in row.ask
    else:
        assert "Stay out" in row.warn
        assert "?" not in row.warn


def test_the_words_that_permit_are_found() -> None:
    for text in (
        "You may use it.",
        "Allowed up to 10 mW.",
        "This range is licence-free.",
        "Free to use.",
        "It is legal.",
    ):
        assert NEVER.search(text)
    assert stated("Is it open? It is open to all, 606.5 MHz. Who says so?") == [" It is open to all, 606.5 MHz."]
    assert STATED.search("It is open to all.")


def test_nothing_around_the_rows_permits_either() -> None:
    texts = [RADIO_LAW, *MARKS.values(), *(region.title for region in regions())]
    texts += [row.source for _, row in ROWS] + [raster.source for region in regions() for raster in region.tv]
    texts += [prompts(region.region, 2_000 * MHZ, 2_001 * MHZ)[0].text for region in regions()]
    assert not [text for text in texts if NEVER.search(text)]


@pytest.mark.parametrize(("region", "row"), ROWS, ids=NAMES)
def test_every_row_says_how_it_is_known_and_since_when(region: str, row: Prompt) -> None:
    assert row.mark in MARKS
    assert re.fullmatch(r"unknown|(?:19|20)\d\d(?:-\d\d-\d\d)?", row.as_of)
    assert row.source
    assert row.basis.startswith(MARKS[row.mark])
    assert ("date not known" in row.basis) == (row.as_of == "unknown")


def test_every_raster_says_how_it_is_known_and_since_when() -> None:
    for region in regions():
        assert region.tv
        for raster in region.tv:
            assert raster.mark in MARKS
            assert re.fullmatch(r"unknown|20\d\d", raster.as_of)
            assert raster.source


def test_every_region_of_a_rig_file_has_its_rows() -> None:
    assert {region.region for region in regions()} == set(REGIONS)


# -- one frequency, different places ---------------------------------------------------------------------------


def test_615_mhz() -> None:
    tv = channel_at(615 * MHZ, "europe")
    assert tv is not None
    assert tv.number == 39
    assert channel_at(615 * MHZ, "us") is None
    assert "guard band" in found(615, "us")[0].ask
    assert "guard band" in found(615, "canada")[0].ask


def test_660_mhz() -> None:
    assert channel_at(660 * MHZ, "europe") is not None
    assert any("Which TV channels are on the air" in row.ask for row in found(660, "europe"))
    assert channel_at(660 * MHZ, "us") is None
    assert ["20 mW" in row.ask and "unlicensed" in row.ask for row in found(660, "us")] == [True]
    assert [row.mark for row in found(660, "us")] == ["secondary"]


@pytest.mark.parametrize("region", ["us", "canada", "europe", "uk", "australia"])
def test_700_mhz_is_warned_of_nearly_everywhere(region: str) -> None:
    assert warned(700, region)


def test_700_mhz_is_television_in_japan() -> None:
    assert channel_at(700 * MHZ, "japan") is not None
    assert not warned(700, "japan")


def test_864_mhz() -> None:
    assert any("10 mW" in row.ask for row in found(864, "europe"))
    assert any("10 mW" in row.ask for row in found(864, "uk"))
    assert warned(864, "us")
    assert "Land mobile" in found(864, "us")[0].warn
    assert [row.mark for row in found(864, "us")] == ["memory"]


def test_channel_37_is_kept_for_radio_astronomy() -> None:
    # 47 CFR 73.603: 608-614 MHz.
    for region in ("us", "canada"):
        assert all(channel.number != 37 for channel in channels(region))
        assert warned(611, region)
        assert "radio astronomy" in found(611, region)[0].warn
    assert [row.mark for row in found(611, "us")] == ["official"]
    assert [row.mark for row in found(611, "canada")] == ["memory"]


@pytest.mark.parametrize(
    ("region", "low", "high"),
    [
        ("us", 608, 614),
        ("us", 616, 653),
        ("us", 663, 902),
        ("canada", 608, 614),
        ("canada", 616, 652),  # RSS-210 issue 10 Annex G
        ("canada", 663, 698),  # the same
        ("canada", 698, 806),
        ("europe", 694, 733),
        ("europe", 757.5, 821.5),
        ("europe", 832, 863),
        ("uk", 694, 821.5),
        ("uk", 832, 863),
        ("australia", 694, 820),  # ACMA: nothing since 1 January 2015
        ("japan", 714, 806),
    ],
)
def test_ranges_with_nothing_but_warnings(region: str, low: float, high: float) -> None:
    rows = prompts(region, round(low * MHZ), round(high * MHZ))
    assert rows
    assert all(row.warn for row in rows)


@pytest.mark.parametrize(
    ("region", "low", "high", "mark"),
    [
        ("us", 54, 72, "secondary"),
        ("us", 76, 88, "secondary"),
        ("us", 174, 216, "secondary"),
        ("us", 614, 616, "secondary"),
        ("us", 653, 657, "memory"),
        ("us", 657, 663, "secondary"),
        ("us", 941.5, 960, "official"),
        ("us", 1435, 1525, "official"),
        ("us", 6875, 7125, "official"),
        ("canada", 470, 608, "official"),
        ("canada", 614, 616, "official"),
        ("canada", 652, 663, "official"),
        ("europe", 174, 216, "official"),
        ("europe", 733, 757.5, "official"),
        ("europe", 821.5, 823, "official"),
        ("europe", 863, 865, "official"),
        ("europe", 1350, 1400, "official"),
        ("europe", 1518, 1525, "official"),
        ("uk", 173.8, 175, "secondary"),
        ("uk", 470, 606, "secondary"),
        ("uk", 606, 614, "secondary"),
        ("uk", 614, 694, "secondary"),
        ("uk", 863, 865, "official"),
        ("australia", 520, 694, "secondary"),
        ("australia", 1790, 1800, "official"),
        ("japan", 73.6, 74.8, "secondary"),
        ("japan", 322, 323, "secondary"),
        ("japan", 470, 710, "secondary"),
        ("japan", 710, 714, "memory"),
        ("japan", 806, 810, "secondary"),
        ("japan", 1240, 1260, "memory"),
    ],
)
def test_ranges_with_questions(region: str, low: float, high: float, mark: str) -> None:
    rows = [row for row in region_of(region).rows if (row.low, row.high) == (round(low * MHZ), round(high * MHZ))]
    assert rows
    assert {row.mark for row in rows} == {mark}
    assert all(row.ask for row in rows)


def test_the_american_line_for_television_is_asked_for() -> None:
    # 47 CFR 74.802: 4 km, or coordinated, or indoors below -84 dBm over the whole channel.
    asked = next(row for row in found(560, "us") if row.source == "47 CFR 74.802")
    assert asked.as_of == "2026-06-20"
    for words in ("4 km", "coordinated", "indoors", "-84 dBm"):
        assert words in asked.ask


def test_mobile_service_and_its_neighbours_are_not_mixed_up_in_the_american_gap() -> None:
    assert warned(652.5, "us")
    assert not warned(655, "us")
    assert "licence" in found(655, "us")[0].ask
    assert warned(664, "us")


# -- looking rows up -------------------------------------------------------------------------------------------


def test_a_range_gets_every_row_that_it_shares_more_than_an_edge_with() -> None:
    rows = prompts("uk", 600 * MHZ, 614 * MHZ)
    assert {row.low // MHZ for row in rows} == {470, 606}


def test_what_no_row_touches_gets_a_question() -> None:
    [alone] = prompts("japan", 900 * MHZ, 910 * MHZ)
    assert (alone.low, alone.high) == (900 * MHZ, 910 * MHZ)
    assert "Nothing is noted here" in alone.ask
    [one] = found(900, "japan")
    assert "Nothing is noted here" in one.ask


def test_a_part_that_no_row_touches_gets_a_question_too() -> None:
    rows = prompts("australia", 500 * MHZ, 530 * MHZ)
    unnoted = [row for row in rows if "Nothing is noted" in row.ask]
    assert [(row.low, row.high) for row in unnoted] == [(500 * MHZ, 520 * MHZ)]
    assert len(rows) == 2


@given(
    st.sampled_from([region.region for region in regions()]),
    st.integers(50 * MHZ, 7_200 * MHZ),
    st.integers(0, 300 * MHZ),
)
def test_no_part_of_a_range_is_passed_over_in_silence(region: str, low: int, width: int) -> None:
    rows = sorted(prompts(region, low, low + width), key=lambda row: row.low)
    assert rows
    reached = low
    for row in rows:
        assert row.low <= reached
        reached = max(reached, row.high)
    assert reached >= low + width


def test_lines_end_with_who_decides() -> None:
    for region in regions():
        lines = prompt_lines(region.region, 470 * MHZ, 700 * MHZ)
        assert lines[-1] == RADIO_LAW == "Local rules and the licence holder decide."
        assert len(lines) > 1
    [first, _] = prompt_lines("us", 611 * MHZ, 611 * MHZ)
    assert first == (
        "608.000-614.000 MHz: Channel 37 is reserved for radio astronomy. Stay out. "
        "(from the official text, as of 2021: 47 CFR 73.603)"
    )


def test_an_unknown_region_is_told_with_the_nearest() -> None:
    with pytest.raises(RadioTrouble, match=r"'austalia' is not a region\. Did you mean australia\?"):
        region_of("austalia")
    with pytest.raises(RadioTrouble, match="Known are europe, uk, us"):
        channels("the moon")


# -- the file is read as strictly as every other ----------------------------------------------------------------

RASTER = (
    "{first: 21, last: 48, low: 470, width: 8, occupied: 7.6, signal: ofdm, mark: official, as_of: 2019, source: x}"
)
ROW = "{low: 470, high: 694, mark: memory, as_of: unknown, source: x, ask: Who?}"


def problems_of(raster: str = RASTER, row: str = ROW) -> list[str]:
    """The problems of a file with this raster and this row."""
    source = f"regions:\n  - region: here\n    title: Here\n    tv: [{raster}]\n    rows: [{row}]\n"
    return [str(problem) for problem in read_regions(source, "r.yaml")[1]]


def test_a_good_file_has_no_problems() -> None:
    assert problems_of() == []


@pytest.mark.parametrize(
    ("raster", "row", "said"),
    [
        (RASTER.replace("last: 48", "last: 20"), ROW, "the last channel is below the first"),
        (RASTER.replace("7.6", "8.5"), ROW, "the signal is wider than its channel"),
        (RASTER.replace("2019", "lately"), ROW, "as_of is a year, a day"),
        (RASTER, ROW.replace("694", "469"), "the range ends below its start"),
        (RASTER, ROW.replace(", ask: Who?", ""), "either a question (ask) or a warning (warn)"),
        (
            RASTER,
            ROW.replace("ask: Who?", "ask: Who?, warn: Stay out"),
            "either a question (ask) or a warning (warn)",
        ),
        (RASTER, ROW.replace("memory", "rumour"), "rumour"),
        (RASTER, ROW.replace("as_of: unknown, ", ""), "as_of"),
        (RASTER, ROW.replace("as_of: unknown", "as_of: once"), "as_of is a year, a day"),
        (RASTER, ROW.replace("ask:", "allow:"), "'allow' is not a key"),
    ],
)
def test_problems_name_their_place(raster: str, row: str, said: str) -> None:
    problems = problems_of(raster, row)
    assert any(said in problem for problem in problems), problems
    assert all(problem.startswith("r.yaml:") for problem in problems)

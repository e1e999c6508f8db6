"""Numbers that a person may act on, held against the standard that the text names."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import pytest

from showday.playbook.reader import read_playbook, walk_steps
from showday.run.plan import make_plan
from tests.support.world import rig_of, shipped_playbooks, shipped_trees

TEXT = {path.stem: path.read_text("utf-8") for path in (*shipped_playbooks(), *shipped_trees())}

# OSHA 29 CFR 1910.95, table G-16: sound level in dBA, slow response, and permitted hours a day.
TABLE_G16 = {90: 8.0, 92: 6.0, 95: 4.0, 97: 3.0, 100: 2.0, 102: 1.5, 105: 1.0, 110: 0.5, 115: 0.25}


def niosh_minutes(level: float) -> float:
    """Recommended exposure limit, NIOSH publication 98-126: 8 h at 85 dBA, halved with each 3 dB."""
    return 480 / 2 ** ((level - 85) / 3)


@pytest.mark.parametrize(
    ("level", "minutes"), [(85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15), (103, 7.5)]
)
def test_the_formula_gives_the_published_table(level: int, minutes: float) -> None:
    assert niosh_minutes(level) == minutes


EXPOSURE = re.compile(r"\b(\d+) dBA (?:it is|for|:|is) (\d+(?:\.\d+)?) (h|hours?|min|minutes?)\b")


def exposures(text: str) -> Iterator[tuple[float, float, bool]]:
    """Each level with its minutes, and whether the text around it names OSHA."""
    for found in EXPOSURE.finditer(text):
        minutes = float(found.group(2)) * (60 if found.group(3).startswith("h") else 1)
        around = text[max(0, found.start() - 200) : found.end() + 200]
        yield float(found.group(1)), minutes, "OSHA" in around or "1910.95" in around


@pytest.mark.parametrize("name", TEXT)
def test_times_at_a_sound_level_are_those_of_the_limit_that_is_named(name: str) -> None:
    found = list(exposures(TEXT[name]))
    for level, minutes, osha in found:
        assert minutes == pytest.approx(TABLE_G16[int(level)] * 60 if osha else niosh_minutes(level), rel=0.02)
    assert len(found) == len(re.findall(r"\d ?dB ?\(?A\)?\b", TEXT[name])), "a level in dBA stands without a time"
    if found:
        assert "NIOSH 98-126" in TEXT[name] or "1910.95" in TEXT[name]


def test_the_limits_stand_somewhere() -> None:
    levels = {level for text in TEXT.values() for level, _, _ in exposures(text)}
    assert {85.0, 100.0} <= levels


SUPPLY = [
    # IEC 60038: the supply voltage stays within 10 % of the nominal one.
    ("mains: {volts: 230, hertz: 50}", 207.0, 253.0),
    ("mains: 120", 108.0, 132.0),
    ("mains: {volts: 100, low: 95}", 95.0, 110.0),
    ("act: Us", None, None),
]


@pytest.mark.parametrize(("mains", "low", "high"), SUPPLY)
@pytest.mark.parametrize("name", [path.stem for path in shipped_playbooks()])
def test_the_supply_is_read_against_the_limits_of_the_rig(
    name: str, mains: str, low: float | None, high: float | None
) -> None:
    book, _ = read_playbook(TEXT[name], name)
    assert book is not None
    wanted = {s.id for _, s in walk_steps(book) if s.reading and "{mains." in s.reading.wanted}
    volts = {s.id for _, s in walk_steps(book) if s.reading and s.reading.unit == "V" and "supply" in s.reading.name}
    assert volts <= wanted
    for step in make_plan(book, rig_of(f"rig: r\n{mains}")).steps:
        if step.id in wanted:
            assert step.reading is not None and (step.reading.low, step.reading.high) == (low, high), step.id


def test_phantom_is_read_against_its_standard() -> None:
    # IEC 61938: P48 phantom supply is 48 V with a tolerance of 4 V.
    readings = re.findall(r"reading: \{name: phantom[^}]*wanted: ([\d.]+)\}", " ".join(TEXT.values()))
    assert readings and set(readings) == {"44..52"}


def test_the_two_line_levels_lie_as_far_apart_as_is_said() -> None:
    # 0 dBu is the voltage of 1 mW in 600 ohm, 0 dBV is 1 V.
    apart = 20 * math.log10(math.sqrt(0.6) * 10 ** (4 / 20) / 10 ** (-10 / 20))
    said = re.findall(r"\+4 dBu is ([\d.]+) dB above -10 dBV", " ".join(TEXT.values()))
    assert said and {float(number) for number in said} == {round(apart, 1)}


def test_a_long_load_takes_four_fifths_of_a_breaker() -> None:
    # NEC 210.20(A): 125 % of the continuous load (3 h or more) must fit the rating.
    said = re.findall(r"A load of 3 h or more may use (\d+) %: (\d+) A of (\d+) A", " ".join(TEXT.values()))
    assert said
    for share, load, rating in said:
        assert int(load) * 1.25 == int(rating) and int(share) / 100 * 1.25 == 1

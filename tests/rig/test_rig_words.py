"""What sentences and conditions may ask of a rig."""

from __future__ import annotations

import pytest

from showday.playbook.model import CONDITIONS
from showday.rig.model import REPEATS
from showday.rig.reader import LISTS, REGIONS
from showday.rig.words import OF_THE_PLAN, UNKNOWN, facts, named_things, people_of, rig_fields, show, thing_fields
from tests.support.world import rig_of

FULL = rig_of("""
rig: full
act: The Late Bus
region: uk
mains: {volts: 230, hertz: 50}
people: [{name: Ada, plays: voice}, {name: Ben, plays: bass, away: yes}, Cy]
inputs:
  - {name: Kick, source: mic, box: A 1, person: Cy, phantom: no}
  - {name: Keys L, source: di, pair: 3, person: Ben}
  - {name: Keys R, source: di, pair: 2, person: Ben}
  - {name: Click, source: playback, house: no}
  - {name: Spare, spare: yes}
mixes: [{name: Ada's, stereo: yes, transmitter: T 1, people: Ada}, {name: Rest, transmitter: T 2}]
transmitters: [{name: T 1, low: 606, high: 614, step: 25, frequency: 606.5125, mix: Ada's}, {name: T 2}]
packs: [{name: P 1, transmitter: T 1, person: Ada}, {name: P 2, transmitter: T 2, person: Ben},
        {name: P 3, transmitter: T 2, person: Cy}, {name: P 4, transmitter: T 2, spare: yes}]
loads: [{name: Mixer, watts: 85.5}]
spares: [{name: DI, have: 1, need: 2}]
""")


def test_every_plain_word_is_of_something_that_is_there() -> None:
    for name in UNKNOWN:
        kind, _, field = name.partition(".")
        assert kind in (*REPEATS, "rig", "mains", "band", "venue", "show")
        if kind in REPEATS and name not in OF_THE_PLAN:
            assert field in {f.name for f in LISTS[kind].fields}, name


def test_what_the_plan_gives_is_not_what_the_rig_file_gives() -> None:
    assert set(UNKNOWN) >= OF_THE_PLAN
    written = {f"{kind}.{field.name}" for kind, table in LISTS.items() for field in table.fields}
    assert not OF_THE_PLAN & written


def test_every_text_and_number_of_a_thing_has_plain_words() -> None:
    yes_or_no = {"away", "phantom", "pad", "house", "spare", "stereo"}
    for kind, table in LISTS.items():
        for field in table.fields:
            assert (f"{kind}.{field.name}" in UNKNOWN) != (field.name in yes_or_no), f"{kind}.{field.name}"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""), ("", ""), ((), ""), (0, "0"), (3, "3"), (3.0, "3"), (606.5125, "606.5125"), (0.5, "0.5"),
        (0.0, "0"), (100.0, "100"), (True, "yes"), (False, "no"), (("a", "b"), "a, b"), ("x", "x"),
    ],
)  # fmt: skip
def test_values_as_text(value: object, text: str) -> None:
    assert show(value) == text


def test_fields_of_the_whole_rig() -> None:
    assert rig_fields(FULL) == {
        "rig.act": "The Late Bus",
        "rig.region": "uk",
        "mains.volts": "230",
        "mains.hertz": "50",
        "mains.low": "207",
        "mains.high": "253",
    }
    assert rig_fields(rig_of("rig: r")) == {}


def test_fields_of_a_thing_are_only_those_that_are_known() -> None:
    assert thing_fields("input", FULL.inputs[3]) == {
        "input.name": "Click",
        "input.number": "4",
        "input.source": "playback",
        "input.house": "no",
        "input.spare": "no",
    }
    assert thing_fields("transmitter", FULL.transmitters[0])["transmitter.frequency"] == "606.5125"


@pytest.mark.parametrize(
    ("kind", "ids"),
    [
        ("input", ["1", "2", "3", "4", "5"]),
        ("pack", ["p-1", "p-2", "p-3", "p-4"]),
        ("mix", ["ada-s", "rest"]),
        ("guitar", []),
    ],
)
def test_every_thing_has_an_id(kind: str, ids: list[str]) -> None:
    assert [id for id, _ in named_things(kind, FULL)] == ids


def test_names_that_give_the_same_id_are_numbered() -> None:
    rig = rig_of("rig: r\npacks: [Pack A, pack-a, 漢字, 鼓, pack]")
    assert [id for id, _ in named_things("pack", rig)] == ["pack-a", "pack-a-2", "pack", "pack-2", "pack-3"]


@pytest.mark.parametrize(
    ("kind", "name", "people"),
    [
        pytest.param("person", "Ada", {"Ada"}, id="a person is their own"),
        pytest.param("input", "Kick", {"Cy"}, id="a line is its player's"),
        pytest.param("input", "Click", set(), id="nobody's line"),
        pytest.param("pack", "P 2", {"Ben"}, id="a pack is its wearer's"),
        pytest.param("pack", "P 4", set(), id="nobody's pack"),
        pytest.param("mix", "Ada's", {"Ada"}, id="a mix is its listeners'"),
        pytest.param("mix", "Rest", {"Ben", "Cy"}, id="else of those who wear its packs"),
        pytest.param("transmitter", "T 1", {"Ada"}, id="a transmitter is its mix's"),
        pytest.param("transmitter", "T 2", {"Ben", "Cy"}, id="and of those who wear its packs"),
        pytest.param("load", "Mixer", set(), id="a load is nobody's"),
    ],
)
def test_whose_it_is(kind: str, name: str, people: set[str]) -> None:
    thing = next(thing for thing in FULL.things(kind) if thing.name == name)
    assert people_of(kind, thing, FULL) == people


FACTS = [
    pytest.param("rig: r", {}, id="nothing known"),
    pytest.param("rig: r\nregion: uk", {name: name == "uk" for name in REGIONS}, id="region"),
    pytest.param("rig: r\npacks: [P]", {"in-ears": True}, id="packs"),
    pytest.param("rig: r\ntransmitters: [T]", {"in-ears": True}, id="transmitters"),
    pytest.param("rig: r\ninputs: [A]", {}, id="lines of which nothing is said"),
    pytest.param(
        "rig: r\ninputs: [{name: A, source: mic}]", {"playback": False, "wireless-mics": False}, id="no playback"
    ),
    pytest.param(
        "rig: r\ninputs: [{name: A, source: playback}, {name: B, source: wireless, phantom: no}]",
        {"playback": True, "wireless-mics": True, "phantom": False},
        id="playback and wireless",
    ),
    pytest.param("rig: r\ninputs: [A, {name: B, phantom: yes}]", {"phantom": True}, id="phantom"),
]


@pytest.mark.parametrize(("text", "wanted"), FACTS)
def test_conditions_that_follow_from_the_rig(text: str, wanted: dict[str, bool]) -> None:
    assert facts(rig_of(text)) == wanted


def test_facts_are_words_that_when_knows() -> None:
    assert facts(FULL).keys() <= set(CONDITIONS)
    assert set(REGIONS) <= set(CONDITIONS)

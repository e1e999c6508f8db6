"""What the trade does without a published source stands in the playbooks, and says that it is common practice."""

from __future__ import annotations

import re

import pytest

from showday.playbook.model import Step
from showday.playbook.reader import read_playbook, walk_steps
from tests.support.world import shipped_playbooks


def steps() -> list[Step]:
    """Every step that ships."""
    made = []
    for path in shipped_playbooks():
        book, _ = read_playbook(path.read_bytes(), path.name)
        assert book is not None
        made += [step for _, step in walk_steps(book)]
    return made


STEPS = steps()
FACTS = [
    pytest.param(r"spread the transmit antennas.*combine them", id="transmit antennas are spread or combined"),
    pytest.param(r"frequencies chosen for least trouble", id="frequencies are chosen for least trouble"),
    pytest.param(r"right-angle plugs.*lid from closing", id="right-angle plugs let the lid close"),
    pytest.param(r"close both lids.*closing the lid is itself a check", id="closing the lid is a check"),
    pytest.param(r"mains and usb belong on the outside panel", id="mains and USB are on the outside panel"),
    pytest.param(r"labelled panels let a house crew plug in", id="panels are labelled"),
    pytest.param(r"8 needed, take 12\W+12 needed, take 16", id="positions are left blank"),
    pytest.param(r"click never goes to the house", id="click never goes to the house"),
    pytest.param(r"three stereo mixes can serve five packs", id="three stereo mixes serve five packs"),
    pytest.param(r"5 to 7 outputs", id="playback needs 5 to 7 outputs"),
    pytest.param(r"keep one line free|line kept free", id="a line is kept free"),
    pytest.param(r"test each connector as soon as it is made", id="a connector is tested as soon as it is made"),
    pytest.param(r"small screws by hand", id="small screws are driven by hand"),
    pytest.param(r"hook-and-loop wears out.*interlocking fasteners hold", id="interlocking fasteners hold"),
    pytest.param(r"spares are counted a week before", id="spares are counted a week before"),
]


@pytest.mark.parametrize("fact", FACTS)
def test_the_fact_stands_there_and_is_called_common_practice(fact: str) -> None:
    said = [step for step in STEPS if re.search(fact, f"{step.do} {step.until} {step.why}", re.I)]
    assert said
    assert [step.id for step in said if "common practice" not in step.basis] == []


def test_every_basis_is_a_source_or_says_that_there_is_none() -> None:
    """A source has the letters of its body or a number in it; else it is common practice or from memory."""
    plain = re.compile(r"common practice|from memory: \S|derived|[A-Z]{2,}|\d")
    assert [step.id for step in STEPS if not plain.search(step.basis)] == []


@pytest.mark.parametrize(
    "step", [s for s in STEPS if re.search(r"\b(?:lift|carry|carries)\b", s.do, re.I)], ids=lambda s: s.id
)
def test_nobody_carries_alone(step: Step) -> None:
    assert re.search(r"two people|two of you|with (?:a|the) \w+|help", f"{step.do} {step.until} {step.caution}", re.I)

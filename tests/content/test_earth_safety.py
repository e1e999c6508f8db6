"""Nobody is ever told to lift, cut, tape, remove or defeat a protective earth, by any text that ships."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from showday.text.reader import Listing, Mapping, Node, Scalar, read_yaml
from tests.support.earth import orders_to_defeat_earth
from tests.support.world import ROOT

BAD = [
    "Lift the earth.",
    "Lift the protective earth of the amplifier",
    "Lift the mains earth and listen again",
    "lift the ground",
    "Lift its ground at the outlet",
    "Cut the earth pin.",
    "Cut off the third prong",
    "Snip the ground pin off the plug",
    "Tape over the earth contact",
    "Put tape on it, or tape the ground pin",
    "Remove the ground prong from the plug",
    "Remove, with pliers, the earth pin",
    "Defeat the safety ground",
    "Break the earth connection for a moment",
    "Bypass the protective earth",
    "Disconnect the earth wire in the plug",
    "Disconnect the green and yellow wire",
    "Bend the ground pin away",
    "Unscrew the earth strap of the rack",
    "Float the ground",
    "Pull out the earth pin",
    "Insulate the mains earth with a bit of paper",
    "Use a ground lift on the plug",
    "Use a ground-lifter on the amplifier",
    "Try a cheater plug",
    "Use an adapter without earth",
    "Run the laptop from an unearthed adapter",
    "Plug it in with the earth pin taped over",
    "Use a lead with the ground pin removed",
    "Leave the safety earth disconnected",
    "Keep the earth lifted until the set is over",
    "Take a two-prong adapter",
    "Try it without the earth",
    "Do not hesitate to lift the earth.",
    "Never touch the plug, cut the earth pin instead",
    "Never lift the phone. Lift the earth.",
    "Never lift the protective earth, but tape the ground pin if you must",
    "It does not hum when you lift the mains earth",
    "If it hums, lifting the earth helps",
    "Press the ground lift",
    "Go without the earth for one song",
]
GOOD = [
    "Never lift the protective earth.",
    "Never lift, cut or tape the protective earth.",
    "Never cut or tape an earth pin",
    "Do not remove the ground pin.",
    "Don't ever lift the earth.",
    "Nobody may lift the earth",
    "It is not safe to lift the earth",
    "Never use a cheater plug",
    "No unearthed adapters",
    "Instead of lifting the earth, use a transformer",
    "There is no reason to lift the mains earth",
    "Lifting the earth is deadly",
    "Without the earth the rack's metal can go live",
    "Without it the rack's metal can go live. Never lift the protective earth.",
    "Press the audio ground lift on its DI",
    "Mute, press the audio ground lift on the DI, unmute",
    "Set the audio ground lift back to ground",
    "Use an audio ground lift or a transformer",
    "A ground loop runs through the shield: break the loop with a transformer",
    "Break the ground loop with a transformer",
    "Check that every earth pin is whole",
    "Swap the lead for one with an earth contact",
    "Have the electrician measure the outlets and their earth",
    "Lift the case together, keep it off the wet ground",
    "Pull the plug at the outlet first. Earth contact intact.",
    "Current leaks to earth somewhere",
    "A ground fault trips the breaker",
    "Put the case on the ground",
    "Use earthed adapters only",
    "Cut the bass by 3 dB",
    "Tape the cable to the ground of the stage",
]


@pytest.mark.parametrize("text", BAD)
def test_the_detector_finds(text: str) -> None:
    assert orders_to_defeat_earth(text)


@pytest.mark.parametrize("text", GOOD)
def test_the_detector_lets_pass(text: str) -> None:
    assert orders_to_defeat_earth(text) == []


def scalars(node: Node | None) -> Iterator[str]:
    """Every key and value of a YAML file."""
    if isinstance(node, Scalar):
        yield node.text
    elif isinstance(node, Listing):
        for item in node.items:
            yield from scalars(item)
    elif isinstance(node, Mapping):
        for key, value in node.entries:
            yield str(key)
            yield from scalars(value)


def strings(source: str) -> Iterator[str]:
    """Every string of a Python file, docstrings among them; a formatted one with its fields left out."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif isinstance(node, ast.JoinedStr):
            yield " ".join(str(part.value) for part in node.values if isinstance(part, ast.Constant))


def files(pattern: str, *folders: str) -> list[Path]:
    """Files that ship."""
    found = [path for folder in folders for path in (ROOT / folder).rglob(pattern)]
    return sorted(path for path in found if "__pycache__" not in path.parts)


TEXTS = [
    *files("*.yaml", "playbooks", "examples"),
    *files("*.py", "showday"),
    *files("*.md", "playbooks", "examples"),
]
TEXTS += [path for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md") if path.exists()]


@pytest.mark.parametrize("path", TEXTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_text_that_ships_tells_anyone_to_defeat_an_earth(path: Path) -> None:
    source = path.read_text("utf-8")
    if path.suffix == ".yaml":
        texts = list(scalars(read_yaml(source, path.name)[0]))
        assert texts
    else:
        texts = list(strings(source)) if path.suffix == ".py" else source.split("\n\n")
    assert [order for text in texts for order in orders_to_defeat_earth(text)] == []


def test_the_prohibition_stands_where_hum_is_looked_for() -> None:
    for name in ("faults/hum.yaml", "faults/no-power.yaml", "load-in.yaml", "bench-check.yaml"):
        assert "Never lift the protective earth." in (ROOT / "playbooks" / name).read_text("utf-8"), name

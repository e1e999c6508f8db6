"""One table describes the keys of a mapping; whatever does not fit is told where it stands, with the nearest word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from showday.text import fields
from showday.text.fields import ByKey, Choice, Field, Id, ListOf, MapOf, Table, Text, slug
from showday.text.problem import Place, Problem, Problems, nearest
from showday.text.reader import Word, read_yaml


@dataclass(frozen=True)
class Thing:
    name: str = ""
    place: Place = Place()
    number: int | None = None
    gain: float | None = None
    loud: bool = False
    takes: float | None = None
    kind: str = ""
    tags: tuple[str, ...] = ()
    parts: tuple[Any, ...] = ()
    words: tuple[Any, ...] = ()
    one: Any = None


PART = Table("part", (Field("name", Text(), "its name", needed=True),), Thing, bare="name", what="a part")
LEFT = Table("left", (Field("left", Id(), "id", needed=True, attr="name"),), Thing, what="a left")
RIGHT = Table("right", (Field("right", Id(), "id", needed=True, attr="name"),), Thing, what="a right")
THING = Table(
    "thing",
    (
        Field("name", Text("a name"), "its name", needed=True),
        Field("number", fields.whole(1, 99), "its number"),
        Field("gain", fields.number(-10, 10), "in dB"),
        Field("loud", fields.yes_no(), "yes: loud"),
        Field("takes", fields.seconds(), "usual time"),
        Field("kind", Choice(("mic", "line")), "what it is"),
        Field("tags", ListOf(Text(), single=True), "words"),
        Field("parts", ListOf(PART, least=1), "its parts"),
        Field("words", MapOf(Text(), id_keys=True, least=2, what="word"), "more words"),
        Field("one", ByKey(lambda: [("left", LEFT), ("right", RIGHT)], "a side"), "a side"),
    ),
    Thing,
    what="a thing",
)


def read(text: str) -> tuple[Thing | None, list[str]]:
    """The thing and its problems as `line:column: text`."""
    node, problems = read_yaml(text, "f")
    thing = fields.read_file(THING, node, problems)
    return thing, [str(p).removeprefix("f:") for p in problems.in_order()]


def test_everything_in_its_place() -> None:
    thing, problems = read(
        "name:  Kick \n  in\nnumber: 3\ngain: -1,5\nloud: yes\ntakes: 1min 30s\nkind: mic\ntags: no\n"
        "parts: [a, {name: b}]\nwords: {x-1: on, y: off}\none: {right: r}"
    )
    assert problems == []
    assert thing is not None
    assert (thing.name, thing.number, thing.gain, thing.loud, thing.takes) == ("Kick in", 3, -1.5, True, 90.0)
    assert (thing.kind, thing.tags) == ("mic", ("no",))
    assert [part.name for part in thing.parts] == ["a", "b"]
    assert thing.words == (("x-1", "on"), ("y", "off"))
    assert thing.one.name == "r"
    assert isinstance(thing.name, Word) and thing.name.place == Place(1, 8)
    assert thing.one.place == Place(11, 6)


NOT_IT = [
    pytest.param("nam: x", "1:1: 'nam' is not a key of a thing (did you mean name?)", id="unknown key"),
    pytest.param("number: 1", "1:1: the key 'name' is missing: its name", id="missing key"),
    pytest.param("name:", "1:6: nothing stands here, wanted a name", id="no text"),
    pytest.param("name: ''", "1:7: nothing stands here, wanted a name", id="empty text"),
    pytest.param("name: [x]", "1:7: here stands a list, wanted a name", id="list for a text"),
    pytest.param("name: {x: y}", "1:7: here stands keys and values, wanted a name", id="mapping for a text"),
    pytest.param("just words", "1:1: a thing is wanted here, with keys (name, number,", id="text for a mapping"),
    pytest.param("[x]", "1:1: a thing is wanted here, with keys (name, number,", id="list for a mapping"),
    pytest.param("name: x\nnumber: three", "2:9: 'three' is not a whole number", id="no number"),
    pytest.param("name: x\nnumber: 1.5", "2:9: '1.5' is not a whole number", id="no whole number"),
    pytest.param("name: x\nnumber: 1e1", "2:9: '1e1' is not a whole number", id="exponent"),
    pytest.param("name: x\nnumber: 0", "2:9: 0 is outside of 1..99", id="too low"),
    pytest.param("name: x\nnumber: 100", "2:9: 100 is outside of 1..99", id="too high"),
    pytest.param("name: x\ngain: loud", "2:7: 'loud' is not a number", id="no decimal"),
    pytest.param("name: x\ngain: -10.5", "2:7: -10.5 is outside of -10..10", id="decimal too low"),
    pytest.param("name: x\nloud: maybe", "2:7: 'maybe' is not yes or no", id="neither yes nor no"),
    pytest.param("name: x\ntakes: 0s", "2:8: 0s is outside of 0.1..86400", id="no time at all"),
    pytest.param("name: x\ntakes: 25h", "2:8: 25h is outside of 0.1..86400", id="more than a day"),
    pytest.param("name: x\ntakes: soon", "2:8: 'soon' is not a time such as 15s or 2min", id="no time"),
    pytest.param("name: x\nkind: mick", "2:7: 'mick' is not one of mic, line (did you mean mic?)", id="no choice"),
    pytest.param("name: x\nkind: 漢", "2:7: '漢' is not one of mic, line", id="nothing is near"),
    pytest.param("name: x\ntags: {a: b}", "2:7: here stands keys and values, wanted a text", id="no list, no text"),
    pytest.param("name: x\nparts: one", "2:8: a list is wanted here: one line each", id="text for a list"),
    pytest.param("name: x\nparts: []", "2:8: the list is empty; at least 1 is needed", id="empty list"),
    pytest.param("name: x\nparts: [{nam: y}]", "2:9: the key 'name' is missing", id="missing key, inside"),
    pytest.param("name: x\nwords: {a: b}", "2:8: at least 2 word lines are needed here", id="too few lines"),
    pytest.param("name: x\nwords: [a, b]", "2:8: word lines are wanted here ('name: …')", id="list for lines"),
    pytest.param(
        "name: x\nwords: {A b: c, d: e}",
        "2:9: an id has only small letters, digits and hyphens (did you mean a-b?)",
        id="key that is no id",
    ),
    pytest.param("name: x\none: {lift: y}", "2:7: 'lift' does not begin a side (did you mean left?)", id="no table"),
    pytest.param("name: x\none: {q: y}", "2:6: a side is wanted here; it begins with one of:", id="no side"),
    pytest.param("name: x\none: y", "2:6: a side is wanted here; it begins with one of: left, right", id="no keys"),
    pytest.param(
        "name: x\none: {left: Kick in}",
        "2:13: an id has only small letters, digits and hyphens (did you mean kick-in?)",
        id="no id",
    ),
    pytest.param("name: " + "x" * 2001, "1:7: warning: 2,001 characters; nobody reads that on a stage", id="long"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "said"), NOT_IT)
def test_what_does_not_fit_is_told_where_it_stands(text: str, said: str) -> None:
    assert any(line.startswith(said) for line in read(text)[1]), read(text)[1]


def test_only_a_needed_key_keeps_the_thing_from_being_made() -> None:
    assert read("name: x\nnumber: three")[0] == Thing(name="x", place=Place(1, 1))
    assert read("nam: x")[0] is None
    assert read("name: []")[0] is None


def test_one_bad_item_leaves_the_others() -> None:
    thing, problems = read("name: x\nparts: [a, {nam: b}, c]")
    assert thing is not None and [part.name for part in thing.parts] == ["a", "c"]
    assert len(problems) == 2


def test_free_keys_are_one_line_of_text() -> None:
    table = Table("t", (Field("free", MapOf(Text(), what="answer"), "free"),), lambda place, free=(): free)
    for key in ("''", '"a\\nb"', "' a'"):
        node, problems = read_yaml(f"free: {{{key}: x}}", "f")
        fields.read_file(table, node, problems)
        assert [p.place for p in problems] == [Place(1, 8)], key


@pytest.mark.parametrize(
    ("text", "id"),
    [
        ("Kick (in)", "kick-in"), ("  Böse Oma! ", "bose-oma"), ("Ærø", "r"), ("漢字", ""), ("---", ""),
        ("A" * 300, "a" * 60), ("Pack 2", "pack-2"), ("é", "e"),
    ],
)  # fmt: skip
def test_an_id_is_made_of_any_text(text: str, id: str) -> None:
    assert slug(text) == id


def test_a_problem_reads_as_one_safe_line() -> None:
    problem = Problem("a\nb.yaml", Place(3, 7), "bad \x1b[31m word", "good\x07", warning=True)
    assert str(problem) == "a b.yaml:3:7: warning: bad ␛[31m word (did you mean good␇?)"


def test_problems_are_told_in_the_files_order() -> None:
    problems = Problems("f")
    problems.add(Place(2, 1), "c")
    problems.add(Place(1, 5), "b", warning=True)
    problems.add(Place(1, 5), "a")
    assert [p.text for p in problems.in_order()] == ["a", "b", "c"]
    assert [p.text for p in problems.errors] == ["c", "a"]


@pytest.mark.parametrize(
    ("word", "meant"), [("titel", "title"), ("TITLE", "title"), ("xyz", ""), ("t" * 101, ""), ("", "")]
)
def test_the_nearest_word(word: str, meant: str) -> None:
    assert nearest(word, ["title", "steps"]) == meant

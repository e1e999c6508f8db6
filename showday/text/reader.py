"""Strict YAML: every scalar is text with a place; nothing is guessed, nothing can run.

Built on the parser's events, so that positions are kept and no constructor is ever called. Refused: anchors,
aliases, merge keys, tags, several documents, keys that are not text, keys that stand twice, and files over the
limits below. All problems of a file are collected.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import yaml

from showday.text.problem import Place, Problems

MAX_BYTES = 1_000_000
MAX_VALUES = 100_000
MAX_DEPTH = 40

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
_COMMENT = re.compile(r"[ \t]+#\S")
_OTHER_BREAKS = str.maketrans("\x85\u2028\u2029", "   ")
"""Line breaks to a YAML 1.1 parser and to no editor: taken as spaces, so that lines are counted as editors do."""


class Word(str):
    """Text from a file that knows where it stood."""

    place: Place
    __slots__ = ("place",)

    def __new__(cls, text: str, place: Place | None = None) -> Word:
        """The text, at a place (the file's start when none is given)."""
        word = super().__new__(cls, text)
        word.place = place or Place()
        return word


@dataclass(frozen=True, slots=True)
class Scalar:
    """One value, as typed."""

    text: str
    place: Place
    plain: bool = True


@dataclass(frozen=True, slots=True)
class Listing:
    """A YAML sequence."""

    items: list[Node]
    place: Place


@dataclass(frozen=True, slots=True)
class Mapping:
    """A YAML mapping in the file's order, keys unique."""

    entries: list[tuple[Word, Node]]
    place: Place

    def get(self, key: str) -> Node | None:
        """The value of a key, or None."""
        return next((node for name, node in self.entries if name == key), None)


Node = Scalar | Listing | Mapping


class _Stop(Exception):
    """The rest of the file cannot be read."""


@dataclass
class _State:
    problems: Problems
    lines: list[str]
    events: Iterator[Any]
    values: int = 0
    depth: int = 0

    def next(self) -> Any:
        try:
            return next(self.events)
        except yaml.YAMLError as error:
            self.problems.add(*_explain(error, self.lines))
            raise _Stop from None
        except (ValueError, OverflowError):  # from chr(), by which the parser in Python reads escapes
            self.problems.add(Place(), _ESCAPE)
            raise _Stop from None


def read_yaml(source: bytes | str, file: str) -> tuple[Node | None, Problems]:
    """The file's one node and its problems; the node is None when nothing can be used.

    `source` is the content, `file` the name used in the problems.
    """
    problems = Problems(file)
    text = _decode(source, problems)
    if text is None:
        return None, problems
    state = _State(problems, text.split("\n"), yaml.parse(text, Loader=_Loader))
    try:
        return _document(state), problems
    except _Stop:
        return None, problems


def _decode(source: bytes | str, problems: Problems) -> str | None:
    raw = source.encode("utf-8", "surrogatepass") if isinstance(source, str) else source
    if len(raw) > MAX_BYTES:
        problems.add(Place(), f"the file is larger than {MAX_BYTES:,} bytes; split it")
        return None
    raw = raw.removeprefix(codecs.BOM_UTF8)
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        good = _one_break(raw[: error.start].decode("utf-8")).split("\n")
        place = Place(len(good), len(good[-1]) + 1)
        problems.add(place, "this is not UTF-8 text; save the file as UTF-8")
        return None
    text = _one_break(text)
    found = _CONTROL.search(text)
    if found:
        before = text[: found.start()].split("\n")
        problems.add(Place(len(before), len(before[-1]) + 1), _control_text(found.group()))
        return None
    return text.translate(_OTHER_BREAKS)


def _one_break(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _control_text(char: str) -> str:
    return f"a control character (U+{ord(char):04X}) stands here; delete it"


def _document(state: _State) -> Node | None:
    node: Node | None = None
    documents = 0
    while True:
        event = state.next()
        if isinstance(event, yaml.StreamEndEvent):
            break
        if isinstance(event, yaml.DocumentStartEvent):
            documents += 1
            if documents > 1:
                state.problems.add(_place(event), "a second document begins here ('---'); one file holds one")
                break
            node = _node(state, state.next())
    if node is None or (isinstance(node, Scalar) and node.plain and not node.text):
        state.problems.add(Place(), "the file is empty")
        return None
    return node


def _place(event: Any) -> Place:
    return Place(event.start_mark.line + 1, event.start_mark.column + 1)


def _node(state: _State, event: Any) -> Node:
    place = _place(event)
    state.values += 1
    if state.values > MAX_VALUES:
        state.problems.add(place, f"more than {MAX_VALUES:,} values; split the file")
        raise _Stop
    if isinstance(event, yaml.AliasEvent):
        state.problems.add(place, f"an alias (*{event.anchor}) is not allowed; write the value out, or quote it")
        return Scalar("", place)
    if getattr(event, "anchor", None):
        state.problems.add(place, f"an anchor (&{event.anchor}) is not allowed; remove it, or quote the value")
    if getattr(event, "tag", None):
        state.problems.add(place, "a tag (!…) is not allowed; remove it, or quote the value")
    if isinstance(event, yaml.ScalarEvent):
        return _scalar(state, event, place)
    state.depth += 1
    if state.depth > MAX_DEPTH:
        state.problems.add(place, _DEEP)
        raise _Stop
    made = _listing(state, place) if isinstance(event, yaml.SequenceStartEvent) else _mapping(state, place)
    state.depth -= 1
    return made


def _scalar(state: _State, event: Any, place: Place) -> Scalar:
    is_plain = event.style is None or event.style == ""
    end = event.end_mark
    if is_plain and end.line < len(state.lines):
        rest = state.lines[end.line][end.column :]
        if event.value and _COMMENT.match(rest):
            state.problems.add(
                Place(end.line + 1, end.column + 1),
                "what follows ' #' is a comment and is lost; put the whole value in quotes to keep it",
                warning=True,
            )
    found = _CONTROL.search(event.value)
    if found:  # written as an escape in double quotes
        state.problems.add(place, _control_text(found.group()))
        return Scalar(_CONTROL.sub("", event.value), place, is_plain)
    return Scalar(event.value, place, is_plain)


def _listing(state: _State, place: Place) -> Listing:
    items: list[Node] = []
    while not isinstance(event := state.next(), yaml.SequenceEndEvent):
        items.append(_node(state, event))
    return Listing(items, place)


def _mapping(state: _State, place: Place) -> Mapping:
    entries: list[tuple[Word, Node]] = []
    seen: dict[str, Place] = {}
    while not isinstance(event := state.next(), yaml.MappingEndEvent):
        key = _node(state, event)
        value = _node(state, state.next())
        if not isinstance(key, Scalar):
            state.problems.add(key.place, "a key must be plain text")
        elif key.text == "<<" and key.plain:
            state.problems.add(key.place, "a merge key (<<) is not allowed; write the values out")
        elif key.text in seen:
            first = seen[key.text]
            state.problems.add(key.place, f"the key '{key.text}' stands twice (first on line {first.line}); keep one")
        else:
            seen[key.text] = key.place
            entries.append((Word(key.text, key.place), value))
    return Mapping(entries, place)


_TOKEN = "a value cannot begin with this character; put it in quotes"
_QUOTE = "a quoted text begins here and never ends; close the quotes"
_ESCAPE = "a '\\' in double quotes begins a special character; write it twice, or use single quotes"
_NEIGHBOURS = "this line does not fit its neighbours; check the indent and the quotes"
_FLOW = "a '[' or '{' is not closed, or a comma is missing; quote the value if it is text"
_BLOCK = "'|' or '>' cannot begin a value in this way; put the value in quotes"
_DEEP = f"nested more than {MAX_DEPTH} deep; make it flatter"
_MEANING = (
    ("maximum nesting depth", _DEEP),  # the C parser reads ahead, up to 1,000 levels
    ("that cannot start any token", _TOKEN),
    ("did not find expected node content", _TOKEN),
    ("expected the node content", _TOKEN),
    ("found unexpected end of stream", _QUOTE),
    ("found unexpected document", _QUOTE),
    ("could not find expected ':'", "this line has no ': ' (colon and space) after its key"),
    ("found a tab", "a tab stands here; indent with spaces"),
    ("did not find expected key", _NEIGHBOURS),
    ("did not find expected '-'", "this line does not fit the list above; check the indent"),
    ("expected <block end>", _NEIGHBOURS),
    ("while parsing a flow", _FLOW),
    ("sequence entries are not allowed", "a list item ('- ') cannot stand here; put it on its own line"),
    ("unknown escape", _ESCAPE),
    ("escape code", _ESCAPE),
    ("while scanning a block scalar", _BLOCK),
    ("while scanning a directive", "a line cannot begin with '%'; put it in quotes"),
    ("incompatible YAML", "a line cannot begin with '%'; delete it"),
    ("<document start>", "nothing can stand here; check the lines above for '...' or '%'"),
    ("while scanning an a", "a value cannot begin with '&' or '*'; put it in quotes"),
    ("a tag", "a value cannot begin with '!'; put it in quotes"),
)
"""What the C parser and the one in Python say, and what a person can do about it."""


def _explain(error: yaml.YAMLError, lines: list[str]) -> tuple[Place, str]:
    """The parser's message in words that help; its place, or the file's first line when it gives none."""
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    place = Place(mark.line + 1, mark.column + 1) if mark else Place()
    said = " ".join(str(getattr(error, name, "") or "") for name in ("context", "problem"))
    line = lines[place.line - 1] if place.line <= len(lines) else ""
    if "\t" in line[: place.column]:
        return place, "a tab stands in this line; indent with spaces"
    if "mapping values are not allowed" in said:
        second = ": " in line[: place.column - 1]
        return place, "a second ': ' stands in this line; put the value in quotes" if second else _NEIGHBOURS
    for sign, meaning in _MEANING:
        if sign in said:
            return _beginning(error, place, meaning), meaning
    return place, f"this is not YAML ({said.strip() or 'unreadable'})"


def _beginning(error: yaml.YAMLError, place: Place, meaning: str) -> Place:
    """Where a quoted text began, or a bracket on an earlier line; else the place itself."""
    mark = getattr(error, "context_mark", None)
    if mark and (meaning == _QUOTE or (meaning == _FLOW and mark.line + 1 < place.line)):
        return Place(mark.line + 1, mark.column + 1)
    return place

"""Field tables: one description of a file's keys that reads it, checks it, documents it and makes its JSON Schema."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from collections.abc import Mapping as MappingType
from dataclasses import dataclass, field
from typing import Any

from showday.text import values
from showday.text.problem import Place, Problems, nearest
from showday.text.reader import Listing, Mapping, Node, Scalar, Word

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_ANY_SCALAR = ["string", "number", "boolean"]
LEAST_SECONDS, MOST_SECONDS = 0.1, 86_400
"""Bounds of a time in a file: a choice of this program."""
MAX_TEXT = 2_000
"""Longer texts are warned about: nobody reads them on a stage."""


class Missing:
    """What a kind gives back when the value cannot be used; a problem has been noted."""


MISSING = Missing()


class Kind:
    """How one value is read, and how it looks in a JSON Schema."""

    def read(self, node: Node, problems: Problems) -> Any:
        """The value, or MISSING with a problem noted."""
        raise NotImplementedError

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """The JSON Schema of the value; named parts go into `defs`."""
        raise NotImplementedError


def _scalar(node: Node, problems: Problems, wanted: str) -> Scalar | None:
    if isinstance(node, Scalar):
        return node
    what = "a list" if isinstance(node, Listing) else "keys and values"
    problems.add(node.place, f"here stands {what}, wanted {wanted}")
    return None


@dataclass(frozen=True)
class Text(Kind):
    """One text, not empty."""

    wanted: str = "a text"

    def read(self, node: Node, problems: Problems) -> Any:
        """A `Word`."""
        scalar = _scalar(node, problems, self.wanted)
        if scalar is None:
            return MISSING
        text = " ".join(scalar.text.split())
        if not text:
            problems.add(scalar.place, f"nothing stands here, wanted {self.wanted}")
            return MISSING
        if len(text) > MAX_TEXT:
            problems.add(scalar.place, f"{len(text):,} characters; nobody reads that on a stage", warning=True)
        return Word(text, scalar.place)

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """Any scalar with something in it: the reader takes every scalar as text."""
        return {"type": _ANY_SCALAR, "pattern": r"\S"}


@dataclass(frozen=True)
class Id(Kind):
    """An id: small letters, digits, hyphens."""

    def read(self, node: Node, problems: Problems) -> Any:
        """A `Word` that is an id."""
        scalar = _scalar(node, problems, "an id")
        if scalar is None:
            return MISSING
        if not _ID.fullmatch(scalar.text):
            problems.add(scalar.place, "an id has only small letters, digits and hyphens", slug(scalar.text))
            return MISSING
        return Word(scalar.text, scalar.place)

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """A pattern (a number such as 3 is an id too)."""
        return {"anyOf": [{"type": "string", "pattern": f"^{_ID.pattern}$"}, {"type": "integer", "minimum": 0}]}


def slug(text: str) -> str:
    """An id made of any text: `Kick (in)` → `kick-in`, `Böse` → `bose`; empty when nothing usable is in it."""
    bare = unicodedata.normalize("NFKD", text[:200]).lower()
    bare = "".join(char for char in bare if not unicodedata.combining(char))
    return "-".join(re.findall(r"[a-z0-9]+", bare))[:60].strip("-")


@dataclass(frozen=True)
class Parsed(Kind):
    """A scalar read by one of the functions of `values`."""

    parse: Callable[[str], Any]
    wanted: str
    json: MappingType[str, Any]
    low: float | None = None
    high: float | None = None

    def read(self, node: Node, problems: Problems) -> Any:
        """The parsed value."""
        scalar = _scalar(node, problems, self.wanted)
        if scalar is None:
            return MISSING
        try:
            value = self.parse(scalar.text)
        except (ValueError, OverflowError):
            problems.add(scalar.place, f"'{scalar.text[:60]}' is not {self.wanted}")
            return MISSING
        if (self.low is not None and value < self.low) or (self.high is not None and value > self.high):
            problems.add(scalar.place, f"{scalar.text[:60]} is outside of {self._bounds()}")
            return MISSING
        return value

    def _bounds(self) -> str:
        low = "" if self.low is None else f"{self.low:.10g}"
        high = "" if self.high is None else f"{self.high:.10g}"
        return f"{low}..{high}"

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """As given by the table."""
        return dict(self.json)


def _whole(text: str) -> int:
    if not re.fullmatch(r"[+-]?\d{1,9}", text.strip()):
        raise ValueError(text)
    return int(text)


def yes_no() -> Parsed:
    """Kind of a yes or a no."""
    return Parsed(values.yes_no, "yes or no", {"enum": ["yes", "no", True, False, "true", "false", "on", "off"]})


def seconds() -> Parsed:
    """Kind of a time such as `15s`; zero is refused, since a step that takes nothing distorts every forecast."""
    part = r"\d+([.,]\d+)?\s*([Hh]|[Mm]|[Ss]|[Hh][Oo][Uu]|[Mm][Ii][Nn]|[Ss][Ee][Cc])"
    pattern = rf"^\s*(\d+([.,]\d+)?\s*$|{part})"
    json = {"type": ["string", "number"], "pattern": pattern, "minimum": LEAST_SECONDS, "maximum": MOST_SECONDS}
    return Parsed(values.seconds, "a time such as 15s or 2min", json, low=LEAST_SECONDS, high=MOST_SECONDS)


def whole(low: int, high: int) -> Parsed:
    """Kind of a whole number within bounds."""
    json = {"type": ["integer", "string"], "minimum": low, "maximum": high, "pattern": r"^\s*[+-]?\d+\s*$"}
    return Parsed(_whole, "a whole number", json, low, high)


def number(low: float, high: float) -> Parsed:
    """Kind of a decimal number within bounds."""
    json = {"type": ["number", "string"], "minimum": low, "maximum": high, "pattern": r"^\s*[+-]?\d+([.,]\d+)?\s*$"}
    return Parsed(values.number, "a number", json, low, high)


@dataclass(frozen=True)
class Choice(Kind):
    """One of a few words."""

    words: tuple[str, ...]

    def read(self, node: Node, problems: Problems) -> Any:
        """The word."""
        scalar = _scalar(node, problems, f"one of {', '.join(self.words)}")
        if scalar is None:
            return MISSING
        if scalar.text not in self.words:
            text = f"'{scalar.text[:60]}' is not one of {', '.join(self.words)}"
            problems.add(scalar.place, text, nearest(scalar.text, self.words))
            return MISSING
        return Word(scalar.text, scalar.place)

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """An enumeration."""
        return {"enum": list(self.words)}


@dataclass(frozen=True)
class ListOf(Kind):
    """A list; with `single`, one value alone stands for a list of one."""

    item: Kind
    single: bool = False
    least: int = 0

    def read(self, node: Node, problems: Problems) -> Any:
        """A tuple; items that cannot be used are left out, each with its problem."""
        if isinstance(node, Listing):
            if len(node.items) < self.least:
                problems.add(node.place, f"the list is empty; at least {self.least} is needed")
            read = (self.item.read(item, problems) for item in node.items)
            return tuple(value for value in read if value is not MISSING)
        if self.single:
            value = self.item.read(node, problems)
            return MISSING if value is MISSING else (value,)
        problems.add(node.place, "a list is wanted here: one line each, beginning with '- '")
        return MISSING

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """An array, or one item or an array."""
        array: dict[str, Any] = {"type": "array", "items": self.item.schema(defs)}
        if self.least:
            array["minItems"] = self.least
        return {"anyOf": [self.item.schema(defs), array]} if self.single else array


@dataclass(frozen=True)
class MapOf(Kind):
    """A mapping whose keys are the writer's own words."""

    value: Kind
    id_keys: bool = False
    least: int = 0
    what: str = "key and value"

    def read(self, node: Node, problems: Problems) -> Any:
        """A tuple of (Word, value) in the file's order."""
        if not isinstance(node, Mapping):
            problems.add(node.place, f"{self.what} lines are wanted here ('name: …')")
            return MISSING
        out = []
        for key, child in node.entries:
            if self.id_keys and not _ID.fullmatch(key):
                problems.add(key.place, "an id has only small letters, digits and hyphens", slug(key))
            elif not key or key != " ".join(key.split()):
                problems.add(key.place, f"{self.what}: the words before the ':' are one line of text, not empty")
            value = self.value.read(child, problems)
            if value is not MISSING:
                out.append((key, value))
        if len(node.entries) < self.least:
            problems.add(node.place, f"at least {self.least} {self.what} lines are needed here")
        return tuple(out)

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """An object with free keys."""
        made: dict[str, Any] = {"type": "object", "additionalProperties": self.value.schema(defs)}
        made["propertyNames"] = {"pattern": f"^{_ID.pattern}$" if self.id_keys else r"\S"}
        if self.least:
            made["minProperties"] = self.least
        return made


@dataclass(frozen=True)
class Field:
    """One key of a mapping."""

    name: str
    kind: Kind
    doc: str
    needed: bool = False
    attr: str = ""
    """The model's attribute, when it is not the key."""


@dataclass(frozen=True)
class Table(Kind):
    """The keys of one kind of mapping, and what is built of them.

    `build` is called with one keyword per given field (by `attr` or name) and `place`.
    `bare` names the field that a lone scalar stands for.
    """

    name: str
    fields: tuple[Field, ...]
    build: Callable[..., Any] = field(compare=False)
    bare: str = ""
    what: str = ""

    def read(self, node: Node, problems: Problems) -> Any:
        """The built object, or MISSING when a needed field is not usable."""
        if isinstance(node, Scalar) and self.bare:
            node = Mapping([(Word(self.bare, node.place), node)], node.place)
        if not isinstance(node, Mapping):
            problems.add(node.place, f"{self.what or self.name} is wanted here, with keys ({self._some()})")
            return MISSING
        table = {f.name: f for f in self.fields}
        given: dict[str, Any] = {}
        broken = False
        for key, child in node.entries:
            known = table.get(key)
            if known is None:
                text = f"'{key[:60]}' is not a key of {self.what or self.name}"
                problems.add(key.place, text, nearest(key, table))
                continue
            value = known.kind.read(child, problems)
            if value is not MISSING:
                given[known.attr or known.name] = value
            elif known.needed:
                broken = True
        for f in self.fields:
            if f.needed and node.get(f.name) is None:
                problems.add(node.place, f"the key '{f.name}' is missing: {f.doc}")
                broken = True
        return MISSING if broken else self.build(place=node.place, **given)

    def _some(self) -> str:
        return ", ".join(f.name for f in self.fields[:6])

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """A reference to the table's object in `defs`."""
        if self.name not in defs:
            defs[self.name] = {}
            properties = {}
            for f in self.fields:
                properties[f.name] = {"description": f.doc, **f.kind.schema(defs)}
            made: dict[str, Any] = {"type": "object", "additionalProperties": False, "properties": properties}
            needed = [f.name for f in self.fields if f.needed]
            if needed:
                made["required"] = needed
            defs[self.name] = {"anyOf": [{"type": _ANY_SCALAR}, made]} if self.bare else made
        return {"$ref": f"#/$defs/{self.name}"}


@dataclass(frozen=True)
class ByKey(Kind):
    """One of several tables, told apart by the key that must be there."""

    tables: Callable[[], Sequence[tuple[str, Table]]] = field(compare=False)
    what: str = "a node"

    def read(self, node: Node, problems: Problems) -> Any:
        """What the fitting table builds."""
        options = self.tables()
        names = [name for name, _ in options]
        if isinstance(node, Mapping):
            for name, table in options:
                if node.get(name) is not None:
                    return table.read(node, problems)
            for key, _ in node.entries:
                if meant := nearest(key, names):
                    problems.add(key.place, f"'{key[:60]}' does not begin {self.what}", meant)
                    return MISSING
        problems.add(node.place, f"{self.what} is wanted here; it begins with one of: {', '.join(names)}")
        return MISSING

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        """Any of the tables."""
        return {"anyOf": [table.schema(defs) for _, table in self.tables()]}


def read_file(table: Table, node: Node | None, problems: Problems) -> Any | None:
    """The file's object, or None; `problems` says why."""
    if node is None:
        return None
    value = table.read(node, problems)
    return None if value is MISSING else value


def json_schema(table: Table, title: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a file described by `table`."""
    defs: dict[str, Any] = {}
    top = table.schema(defs)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **top, "$defs": defs}


__all__ = [
    "MISSING",
    "ByKey",
    "Choice",
    "Field",
    "Id",
    "Kind",
    "ListOf",
    "MapOf",
    "Parsed",
    "Place",
    "Table",
    "Text",
    "json_schema",
    "number",
    "read_file",
    "seconds",
    "slug",
    "whole",
    "yes_no",
]

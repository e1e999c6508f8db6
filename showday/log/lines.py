"""Entries and snapshots as lines of JSON: for answers that the log did not take, and for carrying them elsewhere."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from showday.log import codec
from showday.log.records import Snapshot
from showday.run.events import Entry

_FORMS: dict[str, dict[str, type]] = {
    "entry": {"id": str, "stream": str, "seq": int, "at": str, "elapsed": float, "kind": str, "body": str},
    "snapshot": {"hash": str, "kind": str, "name": str, "text": str},
}


@dataclass(frozen=True, slots=True)
class Lines:
    """What such a text holds."""

    entries: tuple[Entry, ...] = ()
    snapshots: tuple[Snapshot, ...] = ()
    unread: tuple[str, ...] = ()
    """Lines that are not whole; the last line of a file that was cut off is one."""


def to_lines(entries: Iterable[Entry], snapshots: Iterable[Snapshot] = ()) -> str:
    """One line each, snapshots first, ASCII only, so that any file and any terminal takes it."""
    return "".join([*map(to_line, snapshots), *map(to_line, entries)])


def to_line(what: Entry | Snapshot) -> str:
    """One entry or snapshot as a line, with its line end; the same thing always gives the same line."""
    if isinstance(what, Snapshot):
        values: dict[str, Any] = {"hash": what.hash, "kind": what.kind, "name": what.name, "text": what.text}
        return json.dumps({"snapshot": values}, sort_keys=True) + "\n"
    kind, body = codec.encode(what.event)
    values = {"id": what.id, "stream": what.stream, "seq": what.seq, "at": what.at, "elapsed": float(what.elapsed)}
    return json.dumps({"entry": {**values, "kind": kind, "body": body}}, sort_keys=True) + "\n"


def from_lines(text: str) -> Lines:
    """What the lines hold, damaged ones apart."""
    entries: list[Entry] = []
    snapshots: list[Snapshot] = []
    unread: list[str] = []
    for line in filter(str.strip, text.split("\n")):
        try:
            read = read_line(line)
        except (ValueError, RecursionError):
            unread.append(line)
            continue
        if isinstance(read, Entry):
            entries.append(read)
        else:
            snapshots.append(read)
    return Lines(tuple(entries), tuple(snapshots), tuple(unread))


def read_line(line: str) -> Entry | Snapshot:
    """What one such line holds; ValueError (or RecursionError) when it is not whole."""
    row = json.loads(line)
    if not isinstance(row, dict) or len(row) != 1:
        raise ValueError(line)
    [(name, values)] = row.items()
    form = _FORMS.get(name)
    if form is None or not isinstance(values, dict) or values.keys() != form.keys():
        raise ValueError(line)
    if any(type(values[key]) is not wanted for key, wanted in form.items()):
        raise ValueError(line)
    if name == "snapshot":
        return Snapshot(**values)
    event = codec.decode(values.pop("kind"), values.pop("body"))
    return Entry(**values, event=event)

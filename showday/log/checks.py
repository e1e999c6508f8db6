"""What is wrong inside a log that the database itself finds whole. Pure: rows in, sentences out."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import astuple
from typing import Any

from showday.log import codec
from showday.log.records import Snapshot, dangling, snapshot_hash, summarise
from showday.run import events as ev
from showday.run.events import Entry
from showday.text.safe import one_line

Row = tuple[Any, ...]
Replay = Callable[[str, list[Entry]], str | None]
"""Given a run's id and entries: what is wrong with them, or None."""

MANY = 20
"""Problems of one sort that are told one by one."""
REBUILD = "`showday log rebuild` mends that"
NEVER = 2**63 - 1
"""As a run's `top`: no seq is higher, so every further entry has the run counted anew."""


class Findings:
    """Problems as sentences, sorts kept apart so that a hundred of one do not hide one of another."""

    def __init__(self) -> None:
        self._sorts: dict[str, list[str]] = {}

    def add(self, sort: str, text: str) -> None:
        """Note one problem."""
        self._sorts.setdefault(sort, []).append(one_line(text, 400))

    def sentences(self) -> list[str]:
        """All of them, long sorts cut short."""
        told = []
        for sort, texts in self._sorts.items():
            told += texts[:MANY]
            if len(texts) > MANY:
                told.append(f"… and {len(texts) - MANY} more {sort}.")
        return told


def entry_of(row: Row) -> Entry:
    """The entry of a row (id, stream, seq, at, elapsed, kind, body); a damaged event is there as `Unknown`."""
    return Entry(row[0], row[1], row[2], row[3], row[4], codec.readable(row[5], row[6]))


def snapshot_of(row: Row) -> Snapshot:
    """The snapshot of a row (hash, kind, name, text), the last two as bytes."""
    name, text = (part.decode("utf-8", "surrogatepass") for part in row[2:])
    return Snapshot(row[0], row[1], name, text)


def record_row(entries: list[Entry]) -> Row | None:
    """The row that the run table should hold for a stream's entries, in order; None when they are not a run's."""
    record = summarise(entries)
    if record is None:
        return None
    return (*astuple(record), NEVER if dangling(entries) else entries[-1].seq)


def look_at_stream(
    findings: Findings, rows: list[Row], held: Row | None, kept: Collection[str], replay: Replay | None
) -> None:
    """Look at one stream: its rows in order, the row the run table holds, the hashes of all snapshots."""
    stream = rows[0][1]
    whole = True
    for row in rows:
        try:
            codec.decode(row[5], row[6])
        except ValueError as error:
            whole = False
            findings.add("damaged entries", f"Entry {row[0]} of {stream} is damaged: {error}.")
    entries = [entry_of(row) for row in rows]
    for hash in _named(entries):
        if hash not in kept:
            findings.add("missing snapshots", f"Run {stream} names a snapshot that is not in the log: {hash}.")
    wanted = record_row(entries)
    if wanted != held:
        findings.add("wrong records", f"The record of run {stream} does not agree with its entries; {REBUILD}.")
    said = replay(stream, entries) if replay and whole and wanted is not None else None
    if said:
        findings.add("runs that do not replay", f"Run {stream} does not replay: {said}")


def _named(entries: list[Entry]) -> Iterator[str]:
    for entry in entries:
        event = entry.event
        if isinstance(event, ev.RunStarted):
            yield from filter(None, (event.plan, *event.sources))
        elif isinstance(event, ev.WalkOpened) and event.tree:
            yield event.tree


def look_at_snapshot(findings: Findings, held: Snapshot) -> None:
    """Look at one snapshot."""
    if snapshot_hash(held.kind, held.text) != held.hash:
        findings.add("altered snapshots", f"The {held.kind} '{held.name}' is not what was kept ({held.hash}).")

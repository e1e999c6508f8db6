"""What the log keeps and gives: snapshots, the one-line record of a run, and the order of entries."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from showday.errors import LogTrouble
from showday.run import events as ev
from showday.run.events import Entry

LONE = re.compile("[\ud800-\udfff]")
"""Half of a surrogate pair: in Python text it may stand alone, in UTF-8 never."""


class EntryRefused(LogTrouble):
    """This entry or snapshot can never be written, whatever the state of the log; others can."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A text that a run was made of, or the line of a sweep, as it was then."""

    hash: str
    kind: str
    """`plan`, `playbook`, `fault`, `rig` or `sweep`."""
    name: str
    text: str


def snapshot_hash(kind: str, text: str) -> str:
    """The snapshot's name in the log: SHA-256 (FIPS 180-4) of kind, newline and text, in hex."""
    return hashlib.sha256(f"{kind}\n{text}".encode("utf-8", "surrogatepass")).hexdigest()


@dataclass(frozen=True, slots=True)
class RunRecord:
    """A run in one line. Texts are foreign: show them as plain text."""

    id: str
    playbook: str
    title: str
    venue: str
    show: str
    started: str
    """UTC of its first entry."""
    last: str
    """The latest UTC of its entries."""
    outcome: str
    """`complete`, `stopped`, or empty while it is unfinished."""
    answers: int = 0
    """Answers to steps that count; a step answered twice counts twice."""
    walks: int = 0
    """Fault walks opened."""
    notes: int = 0


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    """Entries as they tell their story: each stream whole, by (seq, at, id); streams by when they begin."""
    by_place = sorted(entries, key=lambda e: (e.seq, e.at, e.id))
    begins: dict[str, str] = {}
    for entry in by_place:
        begins.setdefault(entry.stream, entry.at)
    return sorted(by_place, key=lambda e: (begins[e.stream], e.stream))


def summarise(entries: Sequence[Entry]) -> RunRecord | None:
    """The record of one stream's entries, given in order; None when no run starts in them."""
    started = next((e for e in entries if isinstance(e.event, ev.RunStarted)), None)
    if started is None or not isinstance(started.event, ev.RunStarted):
        return None
    gone = undone(entries)
    outcome, answers, walks, notes = "", 0, 0, 0
    for entry in entries:
        event = entry.event
        if entry.id in gone:
            continue
        if isinstance(event, ev.RunFinished):
            outcome = event.outcome
        answers += isinstance(event, ev.StepAnswered)
        walks += isinstance(event, ev.WalkOpened)
        notes += isinstance(event, ev.NoteAdded)
    texts = (started.event.playbook, started.event.title, started.event.venue, started.event.show)
    playbook, title, venue, show = map(storable, texts)
    last = max(entry.at for entry in entries)
    return RunRecord(
        started.stream, playbook, title, venue, show, started.at, last, storable(outcome), answers, walks, notes
    )


def undone(entries: Sequence[Entry]) -> set[str]:
    """Ids of the entries that no longer count; an undo that was itself undone takes nothing back."""
    gone: set[str] = set()
    for entry in reversed(entries):
        if isinstance(entry.event, ev.Undone) and entry.id not in gone:
            gone.add(entry.event.target)
    return gone


def dangling(entries: Sequence[Entry]) -> bool:
    """Whether an undo waits for an entry that is not here yet, as in halves of a joined log."""
    ids = {entry.id for entry in entries}
    return any(isinstance(e.event, ev.Undone) and e.event.target not in ids for e in entries)


def storable(text: str) -> str:
    """The text with halves of surrogate pairs, which no database takes, as replacement characters."""
    return LONE.sub("\ufffd", text)

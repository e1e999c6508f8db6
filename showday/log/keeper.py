"""Between the person and the log: what the log does not take now is kept, shown as if it had, and tried again."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

from showday.errors import LogTrouble
from showday.log.codec import TOURING_TYPES, WORDS
from showday.log.lines import Lines, from_lines, to_lines
from showday.log.records import EntryRefused, RunRecord, Snapshot, in_order, summarise
from showday.log.word_search import Held, NoteWords
from showday.run.events import Entry, Event, WalkOpened

T = TypeVar("T")

IMPATIENT = 0.1
"""Seconds to wait for another program once it has let the person wait; longer would be felt at every key."""


class Store(Protocol):
    """The part of the log that is needed here."""

    def append(self, entries: Sequence[Entry], snapshots: Sequence[Snapshot] = ()) -> None:
        """Write all or nothing; durable on return."""

    def entries(self, stream: str) -> list[Entry]:
        """A stream's entries in order."""

    def touring(self) -> list[Entry]:
        """All entries of venues, shows and to-fix items."""

    def runs(
        self,
        venue_ids: Collection[str] | None = None,
        unfinished: bool = False,
        limit: int | None = None,
        *,
        shows: Collection[str] = (),
        playbook: str = "",
    ) -> list[RunRecord]:
        """Runs, newest first."""

    def entries_of(self, kinds: Collection[str], among: Collection[str]) -> list[Entry]:
        """Entries of some kinds in some streams."""

    def walked(self, fault: str, limit: int) -> list[str]:
        """Ids of the newest runs in which a fault tree was walked."""

    def text_of(self, hash: str) -> str | None:
        """The text of a snapshot."""

    def make_words_ready(self) -> int:
        """Make more notes ready for being searched; how many are left."""

    def note_words(self) -> NoteWords:
        """The words of all notes."""

    def reading(self, ask: Callable[[], T]) -> T:
        """What is read by way of something that the log gave."""

    def wait_at_most(self, seconds: float | None) -> None:
        """Wait this long for another program; None is as long as usual."""

    def close(self) -> None:
        """Let go of the file."""


@dataclass(frozen=True, slots=True)
class _Batch:
    """What was appended together is written together."""

    entries: tuple[Entry, ...]
    snapshots: tuple[Snapshot, ...]


class Keeper:
    """The sink of a session, and the reader of a log that may not be there.

    The log is opened at once, and again at each `append` and `retry` while that fails. No method raises LogTrouble:
    `warning` says what is wrong for as long as it is.
    """

    def __init__(self, open_log: Callable[[], Store], spool: Callable[[str], None] | None = None) -> None:
        """`spool` is given what is not in the log, as text, whenever that changes: a place beside the log."""
        self._open_log = open_log
        self._spool = spool
        self._spooled = 0
        self._log: Store | None = None
        self._waiting: list[_Batch] = []
        self._refused: list[_Batch] = []
        self._unwritten: LogTrouble | None = None
        self._unread: LogTrouble | None = None
        self._refusal: LogTrouble | None = None
        self._reach()

    @property
    def warning(self) -> str:
        """One sentence while something is wrong; empty when everything is saved and can be read."""
        count = f"{self.pending} not saved yet" if self.pending else "nothing is saved now"
        for trouble, so in (
            (self._unwritten, count),
            (self._refusal, count),
            (self._unread, "what it holds is not shown now"),
        ):
            if trouble is not None:
                return f"{trouble.message.rstrip('.')}; {so}."
        return ""

    @property
    def hint(self) -> str:
        """What to do about the warning."""
        trouble = self._unwritten or self._refusal or self._unread
        return trouble.hint if trouble else ""

    @property
    def pending(self) -> int:
        """How many entries and snapshots are not in the log yet."""
        return sum(len(batch.entries) + len(batch.snapshots) for batch in self._kept())

    # -- writing -----------------------------------------------------------------------------------------------

    def append(self, entries: Sequence[Entry], snapshots: Sequence[Snapshot] = ()) -> None:
        """Write all or nothing, after everything that still waits; what cannot be written now waits."""
        self._waiting.append(_Batch(tuple(entries), tuple(snapshots)))
        self._write()
        self._put_beside()

    def retry(self) -> bool:
        """Try again to write what waits; True when nothing is left to be saved and the log is open."""
        self._write()
        self._put_beside()
        return self._log is not None and not self.pending

    def pending_as_text(self) -> str:
        """What is not in the log, to be put into a file when the program ends; `take_up` reads it."""
        batches = list(self._kept())
        return to_lines((e for b in batches for e in b.entries), (s for b in batches for s in b.snapshots))

    def take_up(self, text: str) -> tuple[str, ...]:
        """Write what an earlier `pending_as_text` holds; the lines of it that cannot be read."""
        found = read_pending(text)
        self._waiting += [_Batch((), (snapshot,)) for snapshot in found.snapshots]
        self._waiting += [_Batch((entry,), ()) for entry in found.entries]
        self._write()
        return found.unread

    def close(self) -> bool:
        """Try a last time and let go of the log; True when nothing is left to be saved."""
        if self._waiting:
            self._write()
        if self._log is not None:
            self._log.close()
            self._log = None
        return not self.pending

    def _put_beside(self) -> None:
        """While the log fails, memory is not the only place: a dead battery must not take the answers with it."""
        if self._spool is not None and self.pending != self._spooled:
            self._spool(self.pending_as_text())
            self._spooled = self.pending

    def _reach(self) -> Store | None:
        if self._log is None:
            try:
                self._log = self._open_log()
                self._unwritten = None
            except LogTrouble as trouble:
                self._unwritten = trouble
        return self._log

    def _write(self) -> None:
        log = self._reach()
        if log is None or not self._waiting:
            return
        try:
            self._write_waiting(log)
        except LogTrouble as trouble:
            self._unwritten = trouble
            log.wait_at_most(IMPATIENT)
            return
        if self._unwritten is not None:
            self._unwritten = None
            log.wait_at_most(None)

    def _write_waiting(self, log: Store) -> None:
        try:
            log.append(
                [entry for batch in self._waiting for entry in batch.entries],
                [snapshot for batch in self._waiting for snapshot in batch.snapshots],
            )
            self._waiting.clear()
        except EntryRefused:
            # One that can never be written must not hold up the others.
            while self._waiting:
                batch = self._waiting[0]
                try:
                    log.append(batch.entries, batch.snapshots)
                except EntryRefused as refusal:
                    self._refused.append(batch)
                    self._refusal = refusal
                del self._waiting[0]

    # -- reading -----------------------------------------------------------------------------------------------

    def entries(self, stream: str) -> list[Entry]:
        """A stream's entries in order, unsaved ones among them."""
        held: list[Entry] = self._read(lambda log: log.entries(stream), [])
        return self._with_pending(held, lambda entry: entry.stream == stream)

    def touring(self) -> list[Entry]:
        """All entries of venues, shows and to-fix items, unsaved ones among them."""
        held: list[Entry] = self._read(lambda log: log.touring(), [])
        return self._with_pending(held, lambda entry: type(entry.event) in TOURING_TYPES)

    def runs(
        self,
        venue_ids: Collection[str] | None = None,
        unfinished: bool = False,
        limit: int | None = None,
        *,
        shows: Collection[str] = (),
        playbook: str = "",
    ) -> list[RunRecord]:
        """Runs, newest first: of these venues or shows (None: of all), of a playbook, unfinished ones, at most `limit`."""
        touched = {entry.stream for batch in self._kept() for entry in batch.entries}
        enough = None if limit is None else limit + len(touched)
        held: list[RunRecord] = self._read(
            lambda log: log.runs(venue_ids, unfinished, enough, shows=shows, playbook=playbook), []
        )
        if touched:
            held = [record for record in held if record.id not in touched]
            for stream in touched:
                record = summarise(self.entries(stream))
                if record is None or (unfinished and record.outcome) or playbook not in ("", record.playbook):
                    continue
                if venue_ids is None or record.venue in venue_ids or record.show in shows:
                    held.append(record)
            held.sort(key=lambda record: (record.started, record.id), reverse=True)
        return held[:limit]

    def events_of(self, kinds: Collection[type[Event]], among: Collection[str]) -> list[Entry]:
        """Entries of some streams whose event is of one of these kinds, unsaved ones too, each stream's in order."""
        words = [WORDS[kind] for kind in kinds]
        held: list[Entry] = self._read(lambda log: log.entries_of(words, among), [])
        return self._with_pending(held, lambda entry: type(entry.event) in kinds and entry.stream in among)

    def walked(self, fault: str, limit: int) -> list[str]:
        """Ids of the newest runs in which a fault tree was walked, unsaved ones first."""
        kept = (entry for batch in self._kept() for entry in batch.entries)
        unsaved = {e.stream: None for e in kept if isinstance(e.event, WalkOpened) and e.event.fault == fault}
        held: list[str] = self._read(lambda log: log.walked(fault, limit), [])
        return list(unsaved | dict.fromkeys(held))

    def make_words_ready(self) -> int:
        """Make more notes ready for being searched; how many are left. Those left are found too, but slowly."""
        if self._log is None:
            return 0
        try:
            return self._log.make_words_ready()
        except LogTrouble:  # another program writes, or the disk is full: nothing is lost by it
            return 0

    def note_words(self) -> NoteWords | None:
        """The words of all saved notes; None when the log cannot be read."""
        return self._read(lambda log: log.note_words(), None)

    def reading(self, ask: Callable[[], T], otherwise: T) -> T:
        """What is read by way of `note_words`; `otherwise` when the log cannot be read."""
        return self._read(lambda log: log.reading(ask), otherwise)

    def unsaved(self, wanted: Callable[[Event], bool]) -> list[Held]:
        """Entries that are not in the log yet, with what is known of their runs."""
        kept = [entry for batch in self._kept() for entry in batch.entries if wanted(entry.event)]
        runs = {stream: summarise(self.entries(stream)) for stream in {entry.stream for entry in kept}}
        known = {stream: (run.title, run.venue, run.show) for stream, run in runs.items() if run}
        return [Held(entry, *known.get(entry.stream, ("", "", ""))) for entry in kept]

    def text_of(self, hash: str) -> str | None:
        """The text of a snapshot; None when there is none of this hash."""
        for batch in self._kept():
            for snapshot in batch.snapshots:
                if snapshot.hash == hash:
                    return snapshot.text
        return self._read(lambda log: log.text_of(hash), None)

    def _read(self, ask: Callable[[Store], T], otherwise: T) -> T:
        if self._log is None:
            return otherwise
        try:
            answer = ask(self._log)
        except LogTrouble as trouble:
            self._unread = trouble
            return otherwise
        self._unread = None
        return answer

    def _with_pending(self, held: list[Entry], wanted: Callable[[Entry], bool]) -> list[Entry]:
        there = {entry.id for entry in held}
        kept = (entry for batch in self._kept() for entry in batch.entries)
        more = [entry for entry in kept if entry.id not in there and wanted(entry)]
        return in_order([*held, *more]) if more else held

    def _kept(self) -> Iterator[_Batch]:
        yield from self._refused
        yield from self._waiting


def read_pending(text: str) -> Lines:
    """What a text made by `pending_as_text` holds."""
    return from_lines(text)

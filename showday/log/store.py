"""The log in SQLite: append-only, one transaction an append, durable when `append` returns.

The only module that knows the database. A `Log` belongs to the thread that opened it.
"""

from __future__ import annotations

import contextlib
import sqlite3
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Self, TypeVar

from showday import paths
from showday.errors import LogTrouble
from showday.log import checks, codec, copies, places, schema, statements, trouble, word_index
from showday.log.copies import BUSY, connect
from showday.log.preparing import prepare, set_up
from showday.log.records import EntryRefused, RunRecord, Snapshot, in_order, snapshot_hash
from showday.log.schema import MIGRATIONS
from showday.log.word_index import CatchingUp
from showday.log.word_search import NoteWords
from showday.run import events as ev
from showday.run.events import Entry

Connect = Callable[[str, float], sqlite3.Connection]
T = TypeVar("T")

_COUNTS = {ev.StepAnswered: (1, 0, 0), ev.WalkOpened: (0, 1, 0), ev.NoteAdded: (0, 0, 1)}
MOST_NOTES = 2_000
"""Notes that are made ready at once: a tenth of a second or two, for which another program waits (measured)."""
_ANEW = (ev.RunStarted, ev.RunFinished, ev.Undone)
"""Events after which a run's record is made anew; the others are counted in."""


class Log:
    """The open log. Every method raises LogTrouble when the file does not do what is asked."""

    def __init__(self, db: sqlite3.Connection, path: Path | None, busy: float) -> None:
        self._db = db
        self.path = path
        """The file; None when the log is only in memory."""
        self._where = trouble.named(path or "in memory")
        self._busy = self._waits = busy
        self._file = places.identity(path) if path and _pragma(db, "journal_mode") == "wal" else None
        self._look_again = 0.0
        self._touring: tuple[int, list[Entry]] | None = None
        self._catching_up: CatchingUp | None = None

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        create: bool = True,
        busy: float = BUSY,
        wal: bool | None = None,
        migrations: Sequence[Sequence[str]] = MIGRATIONS,
        connect: Connect = connect,
    ) -> Log:
        """Open the log; make its folder and file when they are not there and `create`; update an older form.

        `busy` is how long to wait for another program, in seconds; `wal` False does without the write-ahead log,
        None decides by the file system. LogTrouble when the file is newer, something else, damaged, locked,
        read-only, or cannot be made.
        """
        path = path.absolute()
        places.look(path, create)
        db: sqlite3.Connection | None = None
        with _telling(trouble.named(path), busy):
            try:
                db = connect(str(path), busy)
                prepare(db, path, not paths.may_be_remote(path) if wal is None else wal, migrations)
                return cls(db, path, busy)
            except BaseException:
                if db is not None:
                    db.close()
                raise

    @classmethod
    def in_memory(cls) -> Log:
        """A log that is gone when it is closed."""
        db = connect(":memory:", BUSY)
        set_up(db)
        schema.migrate(db, MIGRATIONS)
        return cls(db, None, BUSY)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Fold the write-ahead log into the one file, unless another program reads it, and let go."""
        with contextlib.suppress(sqlite3.Error):
            self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        self._db.close()

    def wait_at_most(self, seconds: float | None) -> None:
        """Wait this long for another program from now on; None is as long as at the opening."""
        self._waits = self._busy if seconds is None else seconds
        self._db.execute(f"PRAGMA busy_timeout = {round(self._waits * 1000)}")

    # -- writing -----------------------------------------------------------------------------------------------

    def append(self, entries: Iterable[Entry], snapshots: Iterable[Snapshot] = ()) -> None:
        """Write all or nothing; durable on return. What the two raise while they are gone through undoes it all.

        An entry or snapshot that is there already with the same content is passed over, so that a try can be
        repeated. EntryRefused when it is there with other content, or is no text that a database takes.
        """

        def work() -> None:
            for snapshot in snapshots:
                self._put_snapshot(snapshot)
            anew: dict[str, None] = {}
            for entry in entries:
                if self._put(entry) and entry.stream not in anew and not self._count_in(entry):
                    anew[entry.stream] = None
            for stream in anew:
                self._make_record(stream)

        self._transact(work)

    def rebuild(self) -> None:
        """Make everything that is derived from the entries anew: the records of all runs, the words of notes."""

        def work() -> None:
            self._db.execute("DELETE FROM run")
            for (stream,) in self._db.execute(statements.RUN_STREAMS).fetchall():
                self._make_record(stream)
            word_index.forget(self._db)

        self._transact(work)
        self._catching_up = None
        while self.make_words_ready():
            pass

    def make_words_ready(self, most: int = MOST_NOTES) -> int:
        """Go through the next entries that may be notes, so that they are found by their words; how many are left.

        Waits for no other program: LogTrouble when one is writing. What is left is found too, but slowly.
        """
        with _telling(self._where, 0):
            if self._catching_up is None or self._catching_up.whole:
                self._catching_up = CatchingUp(self._db)
        ahead = self._catching_up
        if not ahead.whole:
            self._db.execute("PRAGMA busy_timeout = 0")
            try:
                self._transact(lambda: ahead.go_on(most))
            except BaseException:
                self._catching_up = None
                raise
            finally:
                self._db.execute(f"PRAGMA busy_timeout = {round(self._waits * 1000)}")
        return ahead.left

    def _transact(self, work: Callable[[], None], begin: str = "BEGIN IMMEDIATE") -> None:
        db = self._db
        try:
            if self.path is not None and self._file is not None:
                self._still_there(self.path)
            db.execute(begin)
            try:
                work()
                db.execute("COMMIT")
            except BaseException:
                if db.in_transaction:
                    with contextlib.suppress(sqlite3.Error):
                        db.execute("ROLLBACK")
                raise
        except sqlite3.ProgrammingError:
            raise
        except sqlite3.Error as error:
            raise _told(error, self._where, self._waits) from error

    def _still_there(self, path: Path) -> None:
        """Look whether the file is where it was, at most once a second.

        SQLite does so by itself only without a write-ahead log; with one it goes on writing into the lost file.
        """
        now = time.monotonic()
        if now >= self._look_again:
            if places.identity(path) != self._file:
                raise trouble.moved(self._where)
            self._look_again = now + 1.0

    def _put(self, entry: Entry) -> bool:
        """Write one entry; False when it was there already."""
        kind, body = codec.encode(entry.event)
        family = codec.family(kind)
        if isinstance(entry.event, codec.Unknown):
            beside = self._db.execute(statements.FAMILY, (entry.stream,)).fetchone()
            family = beside[0] if beside else family
        row = (entry.id, entry.stream, entry.seq, entry.at, entry.elapsed, kind, body)
        try:
            if self._db.execute(statements.PUT, (*row, family)).rowcount == 1:
                if family == codec.TOURING:
                    self._touring = None
                return True
        except (UnicodeError, OverflowError, sqlite3.IntegrityError) as error:
            raise EntryRefused(
                f"Entry {trouble.named(entry.id)} is not fit for the log: {trouble.named(error)}."
            ) from error
        there = self._db.execute(statements.ENTRY, (entry.id,)).fetchone()
        if there != row and checks.entry_of(there) != entry:
            raise EntryRefused(
                f"An entry with the id {trouble.named(entry.id)} is in the log already and says something else.",
                "The one in the log stays.",
            )
        return False

    def _put_snapshot(self, snapshot: Snapshot) -> None:
        what = f"The snapshot '{trouble.named(snapshot.name)}'"
        if snapshot.hash != snapshot_hash(snapshot.kind, snapshot.text):
            raise EntryRefused(f"{what} is not the text that it says it is.")
        name, text = (part.encode("utf-8", "surrogatepass") for part in (snapshot.name, snapshot.text))
        try:
            self._db.execute(statements.PUT_SNAPSHOT, (snapshot.hash, snapshot.kind, name, text))
        except UnicodeError as error:
            raise EntryRefused(f"{what} is not fit for the log: {trouble.named(error)}.") from error

    def _count_in(self, entry: Entry) -> bool:
        """Count a new entry into its run's record; False when the record has to be made anew for that."""
        made = type(entry.event)
        if made in codec.TOURING_TYPES:
            return True
        if made in _ANEW:
            return False
        counts = _COUNTS.get(made, (0, 0, 0))
        values = (entry.seq, entry.at, *counts, entry.stream, entry.seq)
        return self._db.execute(statements.COUNT_IN, values).rowcount == 1

    def _make_record(self, stream: str) -> None:
        row = checks.record_row(self._entries(stream))
        if row is not None:
            self._db.execute(statements.PUT_RUN, row)

    # -- reading -----------------------------------------------------------------------------------------------

    def entries(self, stream: str) -> list[Entry]:
        """A stream's entries by (seq, at, id). One that cannot be read is there as `codec.Unknown`."""
        with _telling(self._where, self._waits):
            return self._entries(stream)

    def touring(self) -> list[Entry]:
        """All entries of venues, shows and to-fix items, each stream whole and in order."""
        with _telling(self._where, self._waits):
            # Asked for at every step but changed a few times an evening, so it is kept until this connection writes
            # one of them or another connection (which is what data_version tells) writes anything.
            version = int(_pragma(self._db, "data_version"))
            if self._touring is None or self._touring[0] != version:
                rows = self._db.execute(statements.TOURING)
                self._touring = version, in_order(map(checks.entry_of, rows))
            return list(self._touring[1])

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
        sql, values = statements.runs(venue_ids, unfinished, limit, shows=shows, playbook=playbook)
        with _telling(self._where, self._waits):
            return [RunRecord(*row) for row in self._db.execute(sql, values)]

    def entries_of(self, kinds: Collection[str], among: Collection[str]) -> list[Entry]:
        """Entries of some kinds (words of `codec.KINDS`) in some streams, each stream's in order."""
        sql, values = statements.entries_of(kinds, among)
        with _telling(self._where, self._waits):
            return [checks.entry_of(row) for row in self._db.execute(sql, values)]

    def walked(self, fault: str, limit: int) -> list[str]:
        """Ids of the newest runs in which a fault tree was walked."""
        with _telling(self._where, self._waits):
            return [id for (id,) in self._db.execute(statements.WALKED, (codec.member("fault", fault), limit))]

    def note_words(self) -> NoteWords:
        """The words of all notes, as the tables have them now; ask it by `reading`."""
        return self.reading(lambda: NoteWords(self._db))

    def reading(self, ask: Callable[[], T]) -> T:
        """What `ask` reads by way of something that this log gave."""
        with _telling(self._where, self._waits):
            return ask()

    def all_streams(self) -> list[str]:
        """The id of every run, venue, show and to-fix item."""
        with _telling(self._where, self._waits):
            return [stream for (stream,) in self._db.execute(statements.STREAMS)]

    def count(self) -> int:
        """How many entries there are."""
        with _telling(self._where, self._waits):
            return int(self._db.execute(statements.COUNT).fetchone()[0])

    def text_of(self, hash: str) -> str | None:
        """The text of a snapshot; None when there is none of this hash."""
        with _telling(self._where, self._waits):
            row = self._db.execute(statements.SNAPSHOT, (hash,)).fetchone()
        return None if row is None else checks.snapshot_of(row).text

    def snapshots(self) -> Iterator[Snapshot]:
        """Every snapshot."""
        with _telling(self._where, self._waits):
            yield from map(checks.snapshot_of, self._db.execute(statements.SNAPSHOTS))

    def _entries(self, stream: str) -> list[Entry]:
        return [checks.entry_of(row) for row in self._rows(stream)]

    def _rows(self, stream: str) -> list[checks.Row]:
        return self._db.execute(statements.STREAM, (stream,)).fetchall()

    # -- care --------------------------------------------------------------------------------------------------

    def check(self, replay: checks.Replay | None = None) -> list[str]:
        """What is wrong with the log, in sentences; nothing is changed.

        `replay` is given each run whose entries can be read, and says what is wrong with it or None.
        """
        found = checks.Findings()
        try:
            self._transact(lambda: self._look_inside(found, replay), "BEGIN")
        except LogTrouble as error:
            found.add("faults in the file", str(error))
        return found.sentences()

    def _look_inside(self, found: checks.Findings, replay: checks.Replay | None) -> None:
        for (said,) in self._db.execute("PRAGMA integrity_check"):
            if said != "ok":
                found.add("faults in the file", f"The file is damaged: {said}.")
        kept = set()
        for row in self._db.execute(statements.SNAPSHOTS):
            kept.add(row[0])
            checks.look_at_snapshot(found, checks.snapshot_of(row))
        held = {row[0]: row for row in self._db.execute(statements.RUN_ROWS)}
        for (stream,) in self._db.execute(statements.STREAMS).fetchall():
            checks.look_at_stream(found, self._rows(stream), held.pop(stream, None), kept, replay)
        for stream in held:
            found.add("wrong records", f"The record of run {stream} has no entries; {checks.REBUILD}.")
        if not word_index.agrees(self._db):
            found.add(
                "wrong words", f"The words by which notes are found do not agree with the notes; {checks.REBUILD}."
            )

    def backup(self, path: Path) -> None:
        """Copy the whole log, checked, to `path`; an older copy there is replaced only by a good one.

        Works while this or another program writes. LogTrouble when `path` is the log itself or something else.
        """
        places.refuse_target(path.absolute(), self.path)
        copies.copy(self._db, path.resolve())

    def restore(self, backup: Path) -> Path:
        """Make this log what a backup holds, in one transaction; where the log as it was until now is kept.

        LogTrouble when the backup is no log, is newer than this program, or is not whole; then nothing is changed.
        """
        if self.path is None:
            raise LogTrouble("A log in memory cannot be restored.")
        kept = places.free_name(self.path, "before-restore")
        with copies.opened_backup(backup.absolute(), self.path, len(MIGRATIONS)) as source:
            copies.copy(self._db, kept)
            with _telling(self._where, self._waits):
                copies.fill_over(self._db, source)
                schema.migrate(self._db, MIGRATIONS)
        self._touring = None
        self.rebuild()
        return kept


def _pragma(db: sqlite3.Connection, name: str) -> Any:
    return db.execute(f"PRAGMA {name}").fetchone()[0]


@contextlib.contextmanager
def _telling(where: str, waited: float) -> Iterator[None]:
    """Turn the database's errors into sentences; a wrong use of it stays what it is."""
    try:
        yield
    except sqlite3.ProgrammingError:
        raise
    except sqlite3.Error as error:
        raise _told(error, where, waited) from error


def _told(error: sqlite3.Error, where: str, waited: float) -> LogTrouble:
    return trouble.from_database(getattr(error, "sqlite_errorname", ""), str(error), where, waited)

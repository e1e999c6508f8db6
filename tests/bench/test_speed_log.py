"""One answer written for good, beside a bare commit of SQLite with the same settings in the same folder."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable
from itertools import cycle
from pathlib import Path

from showday.clockwork import SystemClock, new_id
from showday.desk import Desk
from showday.library import load_library, load_rig
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.run import events as ev
from showday.run.session import Session, World
from tests.bench.conftest import Compare, Pair

SETTINGS = (
    "synchronous",
    "fullfsync",
    "checkpoint_fullfsync",
    "foreign_keys",
    "recursive_triggers",
    "trusted_schema",
)


def timed(act: Callable[[], object]) -> float:
    """Seconds an act takes."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def bare_database(path: Path, like: sqlite3.Connection) -> sqlite3.Connection:
    """A database of one table without an index, with the settings of another connection."""
    db = sqlite3.connect(path, isolation_level=None)
    for name in ("journal_mode", *SETTINGS):
        db.execute(f"PRAGMA {name} = {like.execute(f'PRAGMA {name}').fetchone()[0]}")
    db.execute("CREATE TABLE line (id TEXT, stream TEXT, at TEXT, body TEXT)")
    return db


def test_an_answer_is_durable(compare: Compare, home: Path, tmp_path: Path) -> None:
    log = Log.open(tmp_path / "log.sqlite")
    desk = example_desk(home, log)
    session = desk.start_run("lines")
    bare = bare_database(tmp_path / "bare.sqlite", log._db)
    steps = cycle(session.state.plan.steps)
    ids: list[str] = []

    def answer() -> None:
        session.record(ev.StepAnswered(next(steps).key, ev.GOOD))

    def commit() -> None:
        ids.append(new_id())
        row = (ids[-1], session.state.run, SystemClock().now().isoformat(), '{"step": "signal@1", "result": "good"}')
        bare.execute("BEGIN IMMEDIATE")
        bare.execute("INSERT INTO line VALUES (?, ?, ?, ?)", row)
        bare.execute("COMMIT")

    compare(Pair("an answer durable", 1.3, lambda: timed(answer), lambda: timed(commit)), 600)
    assert not desk.keeper.pending
    assert_written(tmp_path, session, ids)
    desk.keeper.close()
    bare.close()


def assert_written(folder: Path, session: Session, ids: list[str]) -> None:
    """Other connections find everything, while the first ones are still open."""
    with Log.open(folder / "log.sqlite", create=False) as again:
        kept = [entry.id for entry in again.entries(session.state.run)]
    assert kept == [entry.id for entry in session.state.history]
    other = sqlite3.connect(folder / "bare.sqlite")
    assert [id for (id,) in other.execute("SELECT id FROM line ORDER BY rowid")] == ids
    other.close()


def example_desk(home: Path, log: Log) -> Desk:
    """The example act over an open log."""
    rig, _, source = load_rig(home / "config" / "rig.yaml")
    assert rig is not None
    keeper = Keeper(lambda: log)
    library = load_library(own=home / "config" / "playbooks")
    return Desk(library, rig, source, keeper, World(keeper, SystemClock(), new_id))

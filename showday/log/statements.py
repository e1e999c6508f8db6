"""The SQL that writes and reads the log's tables."""

from __future__ import annotations

from collections.abc import Collection

_COLUMNS = ("id", "stream", "seq", "at", "elapsed", "kind", "body")
_ENTRIES = f"SELECT {', '.join(_COLUMNS)} FROM entry"

PUT = f"INSERT INTO entry ({', '.join(_COLUMNS)}, family) VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING"
ENTRY = f"{_ENTRIES} WHERE id = ?"
STREAM = f"{_ENTRIES} WHERE stream = ? ORDER BY seq, at, id"
TOURING = f"{_ENTRIES} WHERE family = 'touring'"
COUNT = "SELECT count(*) FROM entry"
STREAMS = "SELECT DISTINCT stream FROM entry ORDER BY stream"
RUN_STREAMS = "SELECT DISTINCT stream FROM entry WHERE kind = 'run-started'"
FAMILY = "SELECT family FROM entry WHERE stream = ? LIMIT 1"

# Through bytes, because a file's name or text may hold what Python lets stand in text and SQLite does not.
PUT_SNAPSHOT = """INSERT INTO snapshot (hash, kind, name, text) VALUES (?, ?, CAST(? AS TEXT), CAST(? AS TEXT))
                  ON CONFLICT (hash) DO NOTHING"""
_SNAPSHOTS = "SELECT hash, kind, CAST(name AS BLOB), CAST(text AS BLOB) FROM snapshot"
SNAPSHOT = f"{_SNAPSHOTS} WHERE hash = ?"
SNAPSHOTS = f"{_SNAPSHOTS} ORDER BY hash"

_RECORD = "id, playbook, title, venue, show, started, last, outcome, answers, walks, notes"
PUT_RUN = f"INSERT OR REPLACE INTO run ({_RECORD}, top) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
RUN_ROWS = f"SELECT {_RECORD}, top FROM run"
COUNT_IN = """UPDATE run SET top = ?, last = max(last, ?), answers = answers + ?, walks = walks + ?,
              notes = notes + ? WHERE id = ? AND top < ?"""

Asked = tuple[str, tuple[str | int, ...]]
"""A statement and its values."""


def runs(
    venue_ids: Collection[str] | None,
    unfinished: bool,
    limit: int | None,
    columns: str = _RECORD,
    *,
    shows: Collection[str] = (),
    playbook: str = "",
) -> Asked:
    """Records of runs, newest first; with `venue_ids`, those of these venues and those of these shows."""
    parts = []
    if venue_ids is not None:
        at = f"venue IN ({_marks(venue_ids)})"
        parts.append(f"({at} OR show IN ({_marks(shows)}))" if shows else at)
    if unfinished:
        parts.append("outcome = ''")
    if playbook:
        parts.append("playbook = ?")
    where = f"WHERE {' AND '.join(parts)}" if parts else ""
    sql = f"SELECT {columns} FROM run {where} ORDER BY started DESC, id DESC LIMIT ?"
    named = (*venue_ids, *shows) if venue_ids is not None else ()
    return sql, (*named, *((playbook,) if playbook else ()), -1 if limit is None else limit)


def entries_of(kinds: Collection[str], among: Collection[str]) -> Asked:
    """Entries of some kinds in some streams."""
    sql = f"""{_ENTRIES} WHERE stream IN ({_marks(among)}) AND kind IN ({_marks(kinds)})
              ORDER BY stream, seq, at, id"""
    return sql, (*among, *kinds)


WALKED = """SELECT id FROM run WHERE id IN (SELECT stream FROM entry WHERE kind = 'walk-opened' AND instr(body, ?))
            ORDER BY started DESC, id DESC LIMIT ?"""
"""The newest runs whose walks hold a text."""


def _marks(values: Collection[str]) -> str:
    return ", ".join("?" * len(values))

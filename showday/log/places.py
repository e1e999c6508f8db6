"""Looking at the files around the log before the database touches them.

The log's own file is never opened here: closing it again would take away the locks that SQLite holds on it for this
process (sqlite.org/howtocorrupt.html, section 2.2).
"""

from __future__ import annotations

from pathlib import Path

from showday.errors import LogTrouble
from showday.log import trouble
from showday.log.schema import APPLICATION_ID

_MAGIC = b"SQLite format 3\x00"
"""How every database begins (sqlite.org/fileformat2.html)."""
_BESIDE = ("-wal", "-shm", "-journal")


def look(path: Path, create: bool) -> None:
    """Look at what is at `path` before the database does, and make the folder."""
    where = trouble.named(path)
    try:
        if path.exists():
            if not path.is_file():
                raise trouble.not_a_log(where)
        elif not create:
            raise trouble.absent(where)
    except OSError as error:
        raise trouble.unreadable(where, str(error)) from error
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise trouble.no_folder(where, str(error)) from error


def free_name(path: Path, mark: str) -> Path:
    """Where the copy of an older form, `v1`, or of an older state goes, beside the log; never over an earlier copy."""
    free, count = path.with_name(f"{path.stem}-{mark}{path.suffix}"), 1
    while free.exists():
        count += 1
        free = path.with_name(f"{path.stem}-{mark}-{count}{path.suffix}")
    return free


def refuse_target(path: Path, log: Path | None) -> None:
    """LogTrouble when a copy at `path` would write over the log itself, or over something that is no log."""
    where, other = trouble.named(path), "Choose another name for the copy."
    try:
        if path.is_dir():
            raise LogTrouble(f"{where} is a folder.", "Add a file name for the copy.")
        real = path.resolve()
        if log is not None and _is_of(real, log.resolve()):
            raise LogTrouble(f"{where} is the log itself.", other)
        # A database beside which such a file stands is open, or was not closed; a new one would be spoiled by it.
        if any(_beside(real, end).exists() for end in _BESIDE):
            raise LogTrouble(f"{where} is in use by another program.", other)
        if real.exists() and not _may_be_replaced(real):
            raise LogTrouble(f"{where} is another file, not a copy of a log.", other)
    except OSError as error:
        raise trouble.no_copy(where, str(error)) from error


def identity(path: Path) -> tuple[int, int] | None:
    """Which file stands at a path; None when there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _beside(path: Path, end: str) -> Path:
    return path.with_name(path.name + end)


def _is_of(path: Path, log: Path) -> bool:
    return path in (log, *(_beside(log, end) for end in _BESIDE)) or (path.exists() and path.samefile(log))


def _may_be_replaced(path: Path) -> bool:
    with path.open("rb") as file:
        head = file.read(72)
    mark = APPLICATION_ID.to_bytes(4, "big")  # at offset 68 of the header (sqlite.org/fileformat2.html)
    return head == b"" or (head.startswith(_MAGIC) and head[68:] == mark)

"""Looking at the files around the log before the database touches them."""

from __future__ import annotations

from pathlib import Path

from showday.errors import LogTrouble
from showday.log import trouble

_MAGIC = b"SQLite format 3\x00"
"""How every database begins (sqlite.org/fileformat2.html)."""
_BESIDE = ("-wal", "-shm", "-journal")


def look(path: Path, create: bool) -> None:
    """Look at what is at `path` before the database does, and make the folder."""
    where = trouble.named(path)
    try:
        if path.exists():
            if not path.is_file() or _beginning(path) not in (_MAGIC, b""):
                raise trouble.not_a_log(where)
        elif not create:
            raise trouble.absent(where)
    except OSError as error:
        raise trouble.unreadable(where, str(error)) from error
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise trouble.no_folder(where, str(error)) from error


def _beginning(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(len(_MAGIC))


def free_name(path: Path, version: int) -> Path:
    """Where the copy of an older form goes, beside the log; never over an earlier copy."""
    free, count = path.with_name(f"{path.stem}-v{version}{path.suffix}"), 1
    while free.exists():
        count += 1
        free = path.with_name(f"{path.stem}-v{version}-{count}{path.suffix}")
    return free


def refuse_target(path: Path, log: Path | None) -> None:
    """LogTrouble when a copy at `path` would write over the log itself, or over something that is no log."""
    where, other = trouble.named(path), "Choose another name for the copy."
    if path.is_dir():
        raise LogTrouble(f"{where} is a folder.", "Add a file name for the copy.")
    if log is not None:
        real = path.resolve()
        itself = path.exists() and path.samefile(log)
        if itself or real in [log.resolve().with_name(log.resolve().name + end) for end in ("", *_BESIDE)]:
            raise LogTrouble(f"{where} is the log itself.", other)
    if path.exists() and _beginning(path) not in (_MAGIC, b""):
        raise LogTrouble(f"{where} is another file, not a copy of a log.", other)
    if any(path.with_name(path.name + end).exists() for end in _BESIDE):
        raise LogTrouble(f"{where} is in use by another program.", other)

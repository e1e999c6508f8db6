"""What can go wrong with the log's file, each as one clear sentence and what to do."""

from __future__ import annotations

from showday.errors import LogTrouble
from showday.text.safe import one_line

KEEP_AND_BEGIN = (
    "Nothing in it was changed. Keep it: rename it, together with any file of the same name ending in -wal, and "
    "start again; a new log begins. A copy made with `showday log backup` can be put in its place."
)


def named(path: object) -> str:
    """A path as it can be shown."""
    return one_line(str(path), 300)


def from_database(name: str, said: str, where: str, waited: float) -> LogTrouble:
    """The trouble behind an error of SQLite.

    `name` is its result code's name (sqlite.org/rescode.html), `said` its message, `where` the log's path as shown,
    `waited` the seconds that were waited for another program.
    """
    for start, made in _MEANING:
        if name.startswith(start):
            return LogTrouble(*(text.format(where=where, waited=f"{waited:g}") for text in made))
    if said.startswith("Could not decode"):
        return damaged(where)
    return LogTrouble(f"The log {where} cannot be used now: {one_line(said)}.", "Run `showday log check`.")


_LOCKED = (
    "Another program is writing to the log {where} and did not let go within {waited} s.",
    "Close the other program, or wait until it is done.",
)
_READ_ONLY = (
    "The log {where} is read-only.",
    "Allow writing to the file and its folder, or set SHOWDAY_HOME to a folder that can be written to.",
)
_NOT_A_LOG = ("{where} is not a showday log, or its beginning is damaged.", KEEP_AND_BEGIN)
_DAMAGED = ("The log {where} is damaged.", KEEP_AND_BEGIN)

_MEANING: tuple[tuple[str, tuple[str, str]], ...] = (
    ("SQLITE_BUSY", _LOCKED),
    ("SQLITE_LOCKED", _LOCKED),
    (
        "SQLITE_READONLY_DBMOVED",
        ("The log {where} was moved or deleted while it was in use.", "Put the file back where it was."),
    ),
    ("SQLITE_READONLY", _READ_ONLY),
    ("SQLITE_PERM", _READ_ONLY),
    ("SQLITE_FULL", ("The disk is full: the log {where} takes nothing more.", "Make room on the disk.")),
    ("SQLITE_CORRUPT", _DAMAGED),
    ("SQLITE_NOTADB", _NOT_A_LOG),
    (
        "SQLITE_CANTOPEN",
        ("The log {where} cannot be opened.", "Look whether its folder is there and can be written to."),
    ),
    (
        "SQLITE_IOERR",
        ("The disk did not do what was asked of it for the log {where}.", "Look whether the disk is still there."),
    ),
)


def moved(where: str) -> LogTrouble:
    """The file is not where it was when it was opened."""
    return from_database("SQLITE_READONLY_DBMOVED", "", where, 0)


def damaged(where: str) -> LogTrouble:
    """The file can no longer be read."""
    return from_database("SQLITE_CORRUPT", "", where, 0)


def not_a_log(where: str) -> LogTrouble:
    """The file is something else, or its beginning is gone."""
    return from_database("SQLITE_NOTADB", "", where, 0)


def newer(where: str, version: int, known: int) -> LogTrouble:
    """The file was written by a later program."""
    return LogTrouble(
        f"The log {where} was written by a newer showday (form {version}; this one knows {known}).",
        "Use the newer showday; this one leaves the file as it is.",
    )


def no_folder(where: str, reason: str) -> LogTrouble:
    """The folder of the file is not there and cannot be made."""
    return LogTrouble(
        f"The folder for {where} cannot be made: {one_line(reason)}.",
        "Set SHOWDAY_HOME to a folder that can be written to.",
    )


def unreadable(where: str, reason: str) -> LogTrouble:
    """The file cannot even be looked at."""
    return LogTrouble(f"{where} cannot be read: {one_line(reason)}.", "Look at the file's owner and permissions.")


def absent(where: str) -> LogTrouble:
    """There is no file."""
    return LogTrouble(f"There is no log at {where} yet.", "It begins with the first thing that is entered.")


def too_old(version: str) -> LogTrouble:
    """The SQLite of this Python lacks what the log needs."""
    return LogTrouble(
        f"This Python brings SQLite {version}; the log needs 3.37 or later.", "Use a newer Python, or a newer SQLite."
    )


def no_copy(where: str, reason: str) -> LogTrouble:
    """The copy could not be written; the log itself is as it was."""
    return LogTrouble(
        f"No copy was made at {where}: {one_line(reason)}.", "The log is as it was; copy to another place."
    )

"""The log for one sitting: opened at the start, and nothing that it did not take is lost.

While the log fails, what it did not take is put into a file of this sitting's own, at each answer; the next start takes
up every such file. A file is deleted only when all of it is in the log, and only by the sitting that took it up:
writing an entry twice changes nothing, so two sittings may take up the same file.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from showday import paths
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.text.safe import one_line

Tell = Callable[[str], None]


@contextmanager
def the_log(tell: Tell) -> Iterator[Keeper]:
    """This computer's log, with what earlier sittings could not save; `tell` says what is kept beside it."""
    beside = paths.unsaved_path(f"{os.getpid()}-{uuid.uuid4().hex[:8]}")
    keeper = Keeper(lambda: Log.open(paths.log_path()), lambda lines: _put_beside(beside, lines))
    taken, unread = _take_up(keeper, tell)
    try:
        try:
            yield keeper
        finally:
            keeper.make_words_ready()  # a sitting's notes take no time; without it a search had years to catch up with
    finally:
        saved = keeper.close()
        if not saved or unread:
            _keep(beside, keeper, unread, tell)
        if saved:
            for path in taken:
                path.unlink(missing_ok=True)


def _take_up(keeper: Keeper, tell: Tell) -> tuple[list[Path], tuple[str, ...]]:
    """Give the log what it did not take before: the files read, and the lines that nobody can read."""
    taken: list[Path] = []
    unread: list[str] = []
    for path in paths.unsaved_files():
        try:
            text = path.read_bytes().decode("utf-8", "replace")
        except OSError as error:
            reason = one_line(error.strerror or type(error).__name__)
            tell(f"{_shown(path)} holds unsaved entries and cannot be read ({reason}); it is left as it is.")
            continue
        unread += keeper.take_up(text)
        taken.append(path)
    return taken, tuple(unread)


def _put_beside(path: Path, lines: str) -> None:
    """Write what the log did not take; where even that fails, memory has it until the end of the sitting."""
    try:
        if lines:
            paths.write_whole(path, lines)
        else:
            path.unlink(missing_ok=True)
    except OSError:
        pass


def _keep(path: Path, keeper: Keeper, unread: tuple[str, ...], tell: Tell) -> None:
    lines = keeper.pending_as_text() + "".join(f"{line}\n" for line in unread)
    try:
        paths.write_whole(path, lines)
    except OSError as error:
        reason = one_line(error.strerror or type(error).__name__)
        tell(f"What was entered could not be saved anywhere ({reason}). Keep these lines in {_shown(path)}:")
        for line in lines.splitlines():
            tell(line)
        return
    if keeper.pending:
        tell(f"{keeper.warning} It is kept in {_shown(path)} and goes into the log at the next start.")


def _shown(path: Path) -> str:
    return one_line(str(path), 300)

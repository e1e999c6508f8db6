"""The log for one sitting: opened at the start, and at the end nothing that it did not take is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from showday import paths
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.text.safe import one_line


@contextmanager
def the_log(tell: Callable[[str], None]) -> Iterator[Keeper]:
    """This computer's log, with what an earlier sitting could not save.

    What cannot be saved at the end is put into a file beside, which the next sitting takes up; `tell` says so.
    """
    keeper = Keeper(lambda: Log.open(paths.log_path()))
    unread = _take_up(keeper)
    try:
        yield keeper
    finally:
        if not keeper.close() or unread:
            _put_aside(keeper, unread, tell)
        else:
            paths.unsaved_path().unlink(missing_ok=True)


def _take_up(keeper: Keeper) -> tuple[str, ...]:
    """Give the log what it did not take before; the lines that nobody can read are kept as they are."""
    path = paths.unsaved_path()
    if not path.exists():
        return ()
    try:
        text = path.read_bytes().decode("utf-8", "replace")
    except OSError:
        return ()
    return keeper.take_up(text)


def _put_aside(keeper: Keeper, unread: tuple[str, ...], tell: Callable[[str], None]) -> None:
    path = paths.unsaved_path()
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

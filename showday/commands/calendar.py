"""`showday calendar export` and `import`."""

from __future__ import annotations

import argparse
from datetime import tzinfo
from pathlib import Path

from showday import paths
from showday.calendar_file import MOST_BYTES, calendar_of, dates_in, shows_from
from showday.calendar_taking import taking
from showday.clockwork import SystemClock
from showday.commands.checking import many
from showday.commands.telling import show
from showday.errors import FileTrouble, LogTrouble, ShowdayError
from showday.log.store import Log
from showday.opening import reading_desk, show_day
from showday.run.touring import fold_book
from showday.saving import the_log
from showday.text.folded import bare
from showday.text.safe import one_line


def do_export(args: argparse.Namespace) -> int:
    """Write the shows into a calendar file."""
    path = Path(args.file)
    if path.exists() and not _is_calendar(path):
        raise FileTrouble(f"{_shown(path)} is another file, not a calendar.", "Choose another name.")
    with Log.open(paths.log_path(), create=False) as log:
        book = fold_book(log.touring())
    since = "" if args.all else show_day(SystemClock().now()).isoformat()
    shows = list(shows_from(book, since))
    data = calendar_of(book, shows, _zone(args.zone))
    try:
        paths.write_whole(path, data.decode("utf-8"))
    except OSError as error:
        why = one_line(error.strerror or type(error).__name__)
        raise FileTrouble(f"{_shown(path)} cannot be written ({why}).", "Choose another place.") from None
    older = "" if args.all else "; --all writes the past ones too"
    show(f"{many(len(shows), 'show')} {'is' if len(shows) == 1 else 'are'} in {_shown(path)}{older}.")
    return 0


def do_import(args: argparse.Namespace) -> int:
    """Take the dates of a calendar file over: all of them in one go, or none."""
    path = Path(args.file)
    found = dates_in(_read(path), _shown(path), _zone(args.zone))
    only = bare(" ".join(args.only)) if args.only else ""
    dates = [d for d in found.dates if only in bare(f"{d.title} {d.place} {d.town}")]
    with the_log(lambda sentence: show(one_line(sentence, 500))) as keeper:
        desk = reading_desk(keeper)
        made = taking(desk.book(), dates)
        if made.changes and not args.look:
            keeper.append(made.entries(desk.world))
            if keeper.warning:
                raise LogTrouble(keeper.warning, keeper.hint)
    for line in made.lines:
        show(one_line(line, 300))
    refused = [] if only else found.refused
    for sentence in refused:
        show(f"not taken: {one_line(sentence, 300)}")
    ending = " Nothing was changed: --look only looks." if args.look else ""
    show(f"{many(len(dates), 'date')} in {_shown(path)}, {len(refused)} not taken.{ending}")
    return 1 if refused or not dates else 0


def _zone(name: str) -> tzinfo | None:
    """The time zone of a name such as Europe/Oslo (the IANA time zone database); None for this laptop's."""
    if not name:
        return None
    from zoneinfo import ZoneInfo

    try:
        return ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        raise ShowdayError(
            f"'{one_line(name, 60)}' is not the name of a time zone.", "Write it such as Europe/Oslo."
        ) from None


def _read(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except OSError as error:
        why = one_line(error.strerror or type(error).__name__)
        raise FileTrouble(f"{_shown(path)} cannot be read ({why}).", "Look whether it is there.") from None


def _is_calendar(path: Path) -> bool:
    """Whether what is there may be replaced: only a calendar of one's own making or another's is."""
    return path.is_file() and _read(path).lstrip(b"\xef\xbb\xbf \r\n").startswith(b"BEGIN:VCALENDAR")


def _shown(path: Path) -> str:
    return one_line(str(path), 300)

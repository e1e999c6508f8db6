"""Commands that carry the log elsewhere: `log export`, `import`, `sync` and `restore`."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path

from showday import paths, sharing
from showday.commands.checking import many
from showday.commands.telling import show
from showday.errors import FileTrouble, ProblemsFound
from showday.log.records import EntryRefused
from showday.log.store import Log
from showday.opening import one_venue, place
from showday.run.touring import fold_book
from showday.text.safe import one_line


def log_export(args: argparse.Namespace) -> int:
    """Write a bundle."""
    with Log.open(paths.log_path(), create=False) as log:
        venue = one_venue(fold_book(log.touring()), args.venue) if args.venue else None
        count, file = sharing.export(log, Path(args.file), venue)
    about = f" about {place(venue)}" if venue else ""
    show(f"{_entries(count)}{about} {'is' if count == 1 else 'are'} in {file}.")
    return 0


def log_import(args: argparse.Namespace) -> int:
    """Take bundles in; each is taken whole or not at all, and a bad one among several stops none of the others."""
    refused = 0
    with Log.open(paths.log_path()) as log:
        for name in args.files:
            try:
                show(_taken(sharing.take_in(log, Path(name))))
            except (FileTrouble, EntryRefused) as trouble:
                if len(args.files) == 1:
                    raise
                show(f"warning: {one_line(str(trouble), 500)}")
                refused += 1
        _offer_merging(log)
    _tell_refused(refused)
    return 0


def _tell_refused(count: int) -> None:
    if count:
        raise ProblemsFound(f"{many(count, 'file')} could not be taken in.", "All the others were.")


def log_sync(args: argparse.Namespace) -> int:
    """Read the others' bundles in a folder and write this laptop's own."""
    with Log.open(paths.log_path()) as log:
        found = sharing.sync(log, Path(args.folder))
        for taken in found.taken:
            show(_taken(taken))
        for sentence in found.refused:
            show(f"warning: {one_line(sentence, 500)}")
        show("This laptop's file is written." if found.written else "This laptop's file was up to date.")
        _offer_merging(log)
    _tell_refused(len(found.refused))
    return 0


def log_restore(args: argparse.Namespace) -> int:
    """Put a backup in the log's place."""
    if not Path(args.file).exists():
        raise FileTrouble(f"{one_line(args.file, 300)} is not there.", "Name a copy made with `showday log backup`.")
    with Log.open(paths.log_path()) as log:
        before = log.count()
        kept = shlex.quote(sharing.restore(log, Path(args.file)))
        count = log.count()
    show(f"The log is as it was in the backup: {_entries(count)}; until now it had {before:,}.")
    show(f"Nothing newer is lost: the log until now is kept, and this puts it back: showday log restore {kept}")
    show("`showday log sync` takes from a shared folder again what is newer there.")
    return 0


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count:,} entries"


def _taken(taken: sharing.Taken) -> str:
    if taken.same_as_before:
        return f"{taken.file}: nothing new since last time."
    return f"{taken.file}: {_entries(taken.entries)}, {taken.new} of them new here."


def _offer_merging(log: Log) -> None:
    for venue, other in sharing.alike(fold_book(log.touring())):
        show(f"{place(venue)} and {place(other)} may be one place. If so, nothing of either is lost by:")
        show(f"  showday venue merge {shlex.quote(one_line(venue.name))} {shlex.quote(one_line(other.name))}")

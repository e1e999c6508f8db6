"""Commands that read and tell: `check`, `brief`, `log` and `where`."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from showday import paths
from showday.text.safe import one_line, plain


def show(text: str) -> None:
    """Print lines; foreign text in them is made harmless."""
    print(plain(text, len(text) + 1))


def show_json(data: Any) -> None:
    """Print data as JSON in ASCII, so that nothing in it can reach the terminal as a code (RFC 8259)."""
    print(json.dumps(data, indent=2, ensure_ascii=True, default=str))


def do_check(args: argparse.Namespace) -> int:
    """Every problem of every file."""
    from showday.commands import checking

    if args.schema:
        show_json(checking.schema(args.schema))
        return 0
    if args.order:
        return _print_order(args)
    files, empty = checking.named_files(map(Path, args.files))
    reports = [*empty, *checking.check_files(files if args.files else checking.usual_files())]
    prices = _prices(args.files)
    if args.json:
        show_json({**checking.as_data(reports), "prices": [data for _, data in prices]})
    else:
        show("\n".join([*checking.as_lines(reports), *(line for line, _ in prices)]))
    return checking.exit_code(reports)


def _prices(named: list[str]) -> list[tuple[str, dict[str, Any]]]:
    """Prices of the trees that were named one by one; whole folders are only read."""
    from showday.commands.pricing import priced

    found = (priced(path) for path in map(Path, named) if path.is_file())
    return [price for price in found if price is not None]


def _print_order(args: argparse.Namespace) -> int:
    from showday.commands.pricing import computed_order
    from showday.errors import ShowdayError

    if len(args.files) != 1:
        raise ShowdayError("Name one fault tree whose order is to be printed.")
    show(computed_order(Path(args.files[0]), args.order).rstrip("\n"))
    return 0


def do_brief(args: argparse.Namespace) -> int:
    """What to know about a venue."""
    from showday.log.keeper import Keeper
    from showday.log.store import Log
    from showday.memory import venue_brief
    from showday.opening import one_venue, reading_desk
    from showday.review.telling import brief_data, brief_text

    with Log.open(paths.log_path(), create=False) as log:
        desk = reading_desk(Keeper(lambda: log))
        book = desk.book()
        brief = venue_brief(desk.keeper, book, one_venue(book, " ".join(args.venue)), desk.plan_of)
    if args.json:
        show_json(brief_data(brief))
    else:
        show(brief_text(brief).rstrip("\n"))
    return 0


def do_notes(args: argparse.Namespace) -> int:
    """Find what was written down."""
    from showday.log.keeper import Keeper
    from showday.log.store import Log
    from showday.note_search import NoteSearch
    from showday.notes import note_lines
    from showday.run.touring import fold_book

    with Log.open(paths.log_path(), create=False) as log:
        keeper = Keeper(lambda: log)
        if left := keeper.make_words_ready():
            sys.stderr.write(f"showday: reading the log, this once: {left:,} notes to go\n")
        while left:
            left = keeper.make_words_ready()
        search = NoteSearch(keeper, fold_book(keeper.touring()))
        found = search.find(" ".join(args.words), max(args.limit, 0))
    if args.json:
        show_json([asdict(note) for note in found])
        return 0
    for line in note_lines(found):
        show(one_line(line, 500))
    if not found:
        show("Nothing that was written down is like that.")
    return 0 if found else 1


def do_log(args: argparse.Namespace) -> int:
    """Look after the log."""
    return _LOG_ACTIONS[args.action](args)


def _log_check(args: argparse.Namespace) -> int:
    from showday.commands.checking import many
    from showday.errors import ShowdayError
    from showday.log.keeper import Keeper
    from showday.log.store import Log
    from showday.opening import reading_desk
    from showday.run.events import Entry
    from showday.run.state import replay

    with Log.open(paths.log_path(), create=False) as log:
        desk = reading_desk(Keeper(lambda: log))

        def try_replay(run: str, entries: list[Entry]) -> str | None:
            try:
                replay(run, desk.plan_of(entries), entries)
            except ShowdayError as trouble:
                return str(trouble)
            return None

        said = log.check(try_replay)
        runs = len(log.runs())
    warnings = [f"{path} holds entries that the next start takes into the log." for path in paths.unsaved_files()]
    if warning := paths.synced_folder_warning(paths.log_path()):
        warnings.append(warning)
    if args.json:
        show_json({"problems": said, "warnings": warnings, "runs": runs})
        return 1 if said else 0
    for sentence in [*said, *(f"warning: {warning}" for warning in warnings)]:
        show(one_line(sentence, 500))
    if not said:
        show(f"The log is whole: {many(runs, 'run')}, each can be read.")
    return 1 if said else 0


def _log_backup(args: argparse.Namespace) -> int:
    from showday.log.store import Log

    target = Path(args.file)
    with Log.open(paths.log_path(), create=False) as log:
        log.backup(target)
    show(f"The log is copied to {one_line(str(target.absolute()), 300)}.")
    return 0


def _log_rebuild(_: argparse.Namespace) -> int:
    from showday.commands.checking import many
    from showday.log.store import Log

    with Log.open(paths.log_path(), create=False) as log:
        log.rebuild()
        runs = len(log.runs())
    show(f"The list of runs and the words of notes are made anew from the entries: {many(runs, 'run')}.")
    return 0


def _log_runs(args: argparse.Namespace) -> int:
    from showday.commands.checking import many
    from showday.log.store import Log
    from showday.opening import moment
    from showday.run.touring import fold_book

    with Log.open(paths.log_path(), create=False) as log:
        records = log.runs(limit=max(args.limit, 0))
        book = fold_book(log.touring())
    if args.json:
        show_json([asdict(record) for record in records])
        return 0
    for record in records:
        venue = book.venue(record.venue)
        where = f", {venue.name}" if venue else ""
        counted = ((record.answers, "answer"), (record.walks, "fault walk"), (record.notes, "note"))
        counts = ", ".join(many(count, what) for count, what in counted)
        begun = f"{moment(record.started).astimezone():%Y-%m-%d %H:%M}"
        show(one_line(f"{begun}  {record.title}{where}: {record.outcome or 'unfinished'}; {counts}", 300))
    if not records:
        show("The log holds no runs yet.")
    return 0


def _shared(action: str) -> Callable[[argparse.Namespace], int]:
    def do(args: argparse.Namespace) -> int:
        from showday.commands import sharing

        made: Callable[[argparse.Namespace], int] = getattr(sharing, f"log_{action}")
        return made(args)

    return do


_LOG_ACTIONS: dict[str, Callable[[argparse.Namespace], int]] = {
    "check": _log_check,
    "backup": _log_backup,
    "rebuild": _log_rebuild,
    "runs": _log_runs,
    **{action: _shared(action) for action in ("export", "import", "sync", "restore")},
}


def do_where(args: argparse.Namespace) -> int:
    """Which files and folders are used; nothing is made."""
    from showday.library import shipped

    found = [
        ("your playbooks", paths.own_playbooks()),
        ("your fault trees", paths.own_faults()),
        ("your rig", paths.own_rig()),
        ("settings", paths.settings_path()),
        ("log", paths.log_path()),
        ("unsaved entries", paths.state_folder()),
        ("shipped playbooks", shipped("playbooks")),
        ("example act", shipped("examples")),
    ]
    if args.json:
        show_json({name: {"path": str(path), "there": path.exists()} for name, path in found})
        return 0
    width = max(len(name) for name, _ in found)
    for name, path in found:
        there = "" if path.exists() else "  (not there yet)"
        show(f"{name:{width}}  {one_line(str(path), 500)}{there}")
    if warning := paths.synced_folder_warning(paths.log_path()):
        show(f"warning: {warning}")
    return 0

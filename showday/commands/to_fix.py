"""`showday to-fix` and `showday attach`: what is owed across all shows, by whom and when; photos and files."""

from __future__ import annotations

import argparse
from dataclasses import asdict

from showday.attachments import file_lines, is_there, named
from showday.clockwork import SystemClock
from showday.commands.telling import show, show_json
from showday.commands.venue import writing
from showday.desk import Desk
from showday.errors import ProblemsFound, ShowdayError
from showday.opening import a_day, one_venue, place, show_day
from showday.run.attached import FileAttached, FileDetached
from showday.run.events import Event
from showday.run.to_fix import ToFix, ToFixAssigned, ToFixClosed, ToFixNoted, ToFixOpened, ToFixReopened, item_words
from showday.run.touring import Book
from showday.text.safe import one_line


def do_list(args: argparse.Namespace) -> int:
    """What is open, or what was closed."""
    with writing() as desk:
        book = desk.book()
    items = book.closed_items() if args.closed else book.open_items()
    if args.json:
        show_json([asdict(i) | {"files": [asdict(f) for f in book.files_of(i.id)]} for i in items])
        return 0
    for number, item in enumerate(items, 1):
        for line in _lines(book, number, item):
            show(line)
    if not items:
        show("Nothing was closed yet." if args.closed else "Nothing is to be fixed.")
    return 0


def _lines(book: Book, number: int, item: ToFix) -> list[str]:
    """An item with its place and its files; the first line begins with its number."""
    venue = book.venue(book.venue_of(item))
    where = f"; from {place(venue)}" if venue else ""
    lines = [one_line(f"{number:>2} {item_words(item, _today())}{where}", 500)]
    return lines + [f"     file: {line}" for line in file_lines(book.files_of(item.id))]


def do_add(args: argparse.Namespace) -> int:
    """A new item."""
    with writing() as desk:
        venue = one_venue(desk.book(), args.venue).id if args.venue else ""
        due = a_day(args.due) if args.due else ""
        id = desk.world.new_id()
        desk.record(id, ToFixOpened(" ".join(args.words), venue=venue, about=args.about))
        if args.owner or due:
            desk.record(id, ToFixAssigned(args.owner, due))
        show(one_line(f"On the to-fix list: {item_words(desk.book().items[id], _today())}", 400))
    return 0


def do_note(args: argparse.Namespace) -> int:
    """Evidence in words."""
    return _change(args, ToFixNoted(" ".join(args.words)))


def do_assign(args: argparse.Namespace) -> int:
    """Who sees to it, by when; what is not said stays as it was."""
    due = a_day(args.due) if args.due else ""
    with writing() as desk:
        item = _item(desk.book().open_items(), args.number)
        desk.record(item.id, ToFixAssigned(args.owner or item.owner, due or item.due))
        _say(desk, item)
    return 0


def do_close(args: argparse.Namespace) -> int:
    """It is cured."""
    return _change(args, ToFixClosed(" ".join(args.how), args.by))


def do_reopen(args: argparse.Namespace) -> int:
    """It was not cured after all; numbers are those of the closed items."""
    with writing() as desk:
        item = _item(desk.book().closed_items(), args.number, "closed ")
        desk.record(item.id, ToFixReopened(" ".join(args.words)))
        _say(desk, item)
    return 0


def _change(args: argparse.Namespace, event: Event) -> int:
    with writing() as desk:
        item = _item(desk.book().open_items(), args.number)
        desk.record(item.id, event)
        _say(desk, item)
    return 0


def _say(desk: Desk, item: ToFix) -> None:
    show(one_line(item_words(desk.book().items[item.id], _today()), 400))


def _item(items: list[ToFix], number: int, of: str = "") -> ToFix:
    if not 1 <= number <= len(items):
        hint = "`showday to-fix list --closed` numbers them." if of else "`showday to-fix list` numbers them."
        raise ProblemsFound(f"There is no {of}item {number} on the to-fix list.", hint)
    return items[number - 1]


def _today() -> str:
    return show_day(SystemClock().now()).isoformat()


# -- files -------------------------------------------------------------------------------------------------------


def do_attach(args: argparse.Namespace) -> int:
    """A photo or file that belongs to a venue, a show or an item; only its path is kept."""
    path = named(args.file)
    event = FileDetached(path) if args.remove else FileAttached(path, args.about)
    with writing() as desk:
        stream, what = _meant(desk, args)
        if args.remove and path not in [file.path for file in desk.book().files.get(stream, ())]:
            raise ProblemsFound(f"{one_line(path, 300)} does not belong to {what}.")
        desk.record(stream, event)
    if args.remove:
        show(f"{one_line(path, 300)} no longer belongs to {what}. The file is as it was.")
        return 0
    gone = "" if is_there(path) else " It is not there now."
    show(f"{one_line(path, 300)} belongs to {what}; the file stays where it is.{gone}")
    return 0


def _meant(desk: Desk, args: argparse.Namespace) -> tuple[str, str]:
    """The id and the words of what a file belongs to."""
    book = desk.book()
    if args.item is not None:
        item = _item(book.open_items(), args.item)
        return item.id, f"the item '{one_line(item.text, 80)}'"
    if args.venue and not args.show:
        venue = one_venue(book, args.venue)
        return venue.id, place(venue)
    if not args.show:
        raise ShowdayError("Say what it belongs to.", "--venue NAME, --show YYYY-MM-DD or --item N.")
    day = a_day(args.show)
    here = book.same_place(one_venue(book, args.venue).id) if args.venue else None
    shows = [s for s in book.shows.values() if s.date == day and (here is None or s.venue in here)]
    if len(shows) != 1:
        hint = "Name its place with --venue." if shows else "`showday venue list` and the brief show the dates."
        raise ProblemsFound(f"{'Several shows are' if shows else 'No show is'} entered for {day}.", hint)
    return shows[0].id, f"the show of {day}"

"""`showday venue list`, `rename`, `merge`, `split` and `note`: places, and what they were called before."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict

from showday.commands.checking import many
from showday.commands.telling import show, show_json
from showday.desk import Desk
from showday.errors import LogTrouble, ProblemsFound
from showday.memory import CALLED_SO, find_venues
from showday.opening import one_venue, place, reading_desk
from showday.run.touring import Book, Venue, VenueMerged, VenueNoted, VenueRenamed, VenueUnmerged
from showday.saving import the_log
from showday.text.folded import bare
from showday.text.safe import one_line


@contextmanager
def writing() -> Iterator[Desk]:
    """A desk over the log that may write; LogTrouble when what was written is not in the log."""
    with the_log(lambda sentence: show(one_line(sentence, 500))) as keeper:
        yield reading_desk(keeper)
        if keeper.warning:
            raise LogTrouble(keeper.warning, keeper.hint)


def do_list(args: argparse.Namespace) -> int:
    """Every venue, or those like a few words."""
    with writing() as desk:
        book = desk.book()
    words = " ".join(args.words)
    found = [venue for venue, _ in find_venues(book, words)]
    if args.json:
        show_json([asdict(venue) | {"shows": len(_dates(book, venue))} for venue in found])
        return 0 if found else 1
    for venue in found:
        show(one_line(_line(book, venue), 400))
    if not found:
        show("No venue is like that." if words else "The log knows no venue yet.")
    return 0 if found else 1


def _line(book: Book, venue: Venue) -> str:
    former = f", formerly {', '.join(venue.former)}" if venue.former else ""
    country = f", {venue.country}" if venue.country else ""
    dates = _dates(book, venue)
    last = f", last {dates[-1]}" if dates else ""
    return f"{place(venue)}{country}{former}: {many(len(dates), 'show')}{last}, {many(len(venue.notes), 'note')}"


def _dates(book: Book, venue: Venue) -> list[str]:
    here = book.same_place(venue.id)
    return sorted(s.date for s in book.shows.values() if s.venue in here)


def do_rename(args: argparse.Namespace) -> int:
    """Another name; the old one still finds it."""
    with writing() as desk:
        venue = one_venue(desk.book(), args.venue)
        name = args.name.strip() or venue.name
        now = (name, args.town.strip() or venue.town, args.country.strip() or venue.country)
        if now == (venue.name, venue.town, venue.country):
            show(f"{place(venue)} is called that already.")
            return 0
        desk.record(venue.id, VenueRenamed(*now))
        show(f"{place(venue)} is {place(desk.book().venues[venue.id])} now; the old name still finds it.")
    return 0


def do_merge(args: argparse.Namespace) -> int:
    """One place under two names becomes one venue."""
    with writing() as desk:
        book = desk.book()
        venue, into = _two_of_one_name(book, args) or (one_venue(book, args.venue), one_venue(book, args.into))
        if venue.id == into.id:
            raise ProblemsFound(f"Both names mean {place(venue)}.", "`showday venue list` shows what it was called.")
        desk.record(venue.id, VenueMerged(into.id))
        show(f"{place(venue)} is part of {place(into)} now, with its shows, runs and notes.")
        show(f"`showday venue split {_quoted(venue.name)}` takes that back.")
    return 0


def _two_of_one_name(book: Book, args: argparse.Namespace) -> tuple[Venue, Venue] | None:
    """Two laptops entered one place by the same name; the one with more shows stays."""
    if bare(args.venue) != bare(args.into):
        return None
    same = [venue for venue, likeness in find_venues(book, args.venue) if likeness == CALLED_SO]
    if len(same) != 2:
        return None
    goes, stays = sorted(same, key=lambda venue: len(_dates(book, venue)))
    return goes, stays


def do_split(args: argparse.Namespace) -> int:
    """A venue that was merged is a place of its own again, with what belonged to it."""
    with writing() as desk:
        book = desk.book()
        part = _part(book, args.venue)
        desk.record(part.id, VenueUnmerged())
        now = desk.book()
        of = book.venue(part.id)
        show(f"{place(now.venues[part.id])} is a place of its own again; {place(of) if of else 'the other'} stays.")
    return 0


def _part(book: Book, typed: str) -> Venue:
    """The merged venue that is meant by a name."""
    parts = [venue for venue in book.venues.values() if venue.merged_into]
    same = [v for v in parts if bare(typed) in map(bare, (v.name, *v.former))]
    if len(same) == 1:
        return same[0]
    if not parts:
        raise ProblemsFound("No venue was merged into another one.")
    listed = "; ".join(place(venue) for venue in (same or parts)[:8])
    raise ProblemsFound(f"Which one is meant by '{one_line(typed, 60)}'? These were merged: {listed}.")


def do_note(args: argparse.Namespace) -> int:
    """Something to know about a place."""
    with writing() as desk:
        venue = one_venue(desk.book(), args.venue)
        desk.record(venue.id, VenueNoted(args.topic, " ".join(args.words).strip()))
        show(f"Noted at {place(venue)}.")
    return 0


def _quoted(name: str) -> str:
    import shlex

    return shlex.quote(one_line(name, 100))

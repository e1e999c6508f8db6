"""Declares the commands about venues, shows and the to-fix list; what they need is imported when they run."""

from __future__ import annotations

import argparse
from importlib import import_module
from typing import Any

from showday.commands import Add

TOPICS = ("note", "contact", "supply", "frequency", "access", "distance")


def add_touring(commands: Any, add: Add) -> None:
    """Declare `venue`, `to-fix`, `attach` and `calendar`; `args.do` does them."""
    _add_venue(commands, add)
    _add_to_fix(commands, add)
    _add_attach(commands, add)
    _add_calendar(commands, add)


def _does(parser: Any, module: str, name: str) -> None:
    def do(args: argparse.Namespace) -> int:
        return int(getattr(import_module(f"showday.commands.{module}"), name)(args))

    parser.set_defaults(do=do)


def _inside(commands: Any, add: Add, name: str, help: str, more: str = "") -> Any:
    return add(commands, name, help, more).add_subparsers(dest="action", metavar="ACTION", required=True)


def _json(parser: Any) -> None:
    parser.add_argument("--json", action="store_true", help="print them as JSON")


def _add_venue(commands: Any, add: Add) -> None:
    inside = _inside(commands, add, "venue", "list, rename and merge places; no history is ever lost")
    listed = add(inside, "list", "list the venues, or those like a few words")
    listed.add_argument("words", nargs="*", metavar="WORDS", help="of a name, an older one or a town, also misspelt")
    _json(listed)
    rename = add(inside, "rename", "give a venue another name; the old one still finds it")
    rename.add_argument("venue", metavar="VENUE", help="its name now, or a part of it")
    rename.add_argument("name", metavar="NAME", help="its new name")
    rename.add_argument("--town", metavar="TOWN", default="", help="its town")
    rename.add_argument("--country", metavar="COUNTRY", default="", help="its country")
    merge = add(inside, "merge", "say that two names mean one place; `venue split` takes it back")
    merge.add_argument("venue", metavar="VENUE", help="the name that goes")
    merge.add_argument("into", metavar="INTO", help="the venue that it is part of from now on")
    split = add(inside, "split", "take a merge back: a place of its own again, with its shows, runs and notes")
    split.add_argument("venue", metavar="VENUE", help="the name of the venue that was merged")
    note = add(inside, "note", "note something to know about a venue; the brief shows it")
    note.add_argument("venue", metavar="VENUE", help="its name, or a part of it")
    note.add_argument("words", nargs="+", metavar="WORDS", help="what to know")
    note.add_argument("--topic", choices=TOPICS, default="note", help="what it is about; `note` when not given")
    for parser, name in ((listed, "list"), (rename, "rename"), (merge, "merge"), (split, "split"), (note, "note")):
        _does(parser, "venue", f"do_{name}")


def _add_to_fix(commands: Any, add: Add) -> None:
    inside = _inside(
        commands, add, "to-fix", "what is owed, across all shows: owner, day, evidence, how it was cured"
    )
    listed = add(inside, "list", "list what is open, what is due first on top; the numbers are used by the others")
    listed.add_argument("--closed", action="store_true", help="what was closed instead: by whom, and how")
    _json(listed)
    new = add(inside, "add", "enter something that is to be fixed")
    new.add_argument("words", nargs="+", metavar="WORDS", help="what is to be fixed")
    new.add_argument("--about", metavar="LINE", default="", help="which line or thing it concerns")
    new.add_argument("--venue", metavar="NAME", default="", help="where it came up")
    note = add(inside, "note", "write down evidence in words")
    assign = add(inside, "assign", "say who sees to it, and by which day")
    close = add(inside, "close", "it is cured")
    reopen = add(inside, "reopen", "it was not cured after all")
    for parser, which in ((note, "list"), (assign, "list"), (close, "list"), (reopen, "list --closed")):
        parser.add_argument("number", type=int, metavar="N", help=f"its number in `to-fix {which}`")
    note.add_argument("words", nargs="+", metavar="WORDS", help="what was found out")
    for parser in (new, assign):
        parser.add_argument("--owner", metavar="NAME", default="", help="who sees to it")
        parser.add_argument("--due", metavar="YYYY-MM-DD", default="", help="by which day")
    close.add_argument("how", nargs="*", metavar="HOW", help="how it was cured")
    close.add_argument("--by", metavar="NAME", default="", help="who cured it")
    reopen.add_argument("words", nargs="*", metavar="WHY", help="why it is open again")
    named = ((listed, "list"), (new, "add"), (note, "note"), (assign, "assign"), (close, "close"), (reopen, "reopen"))
    for parser, name in named:
        _does(parser, "to_fix", f"do_{name}")


def _add_attach(commands: Any, add: Add) -> None:
    attach = add(
        commands,
        "attach",
        "a photo or file that belongs to a venue, a show or a to-fix item",
        "Only its path is kept; the file stays where it is and is never opened.",
    )
    attach.add_argument("file", metavar="FILE", help="where the file is")
    attach.add_argument("--venue", metavar="NAME", default="", help="the venue it belongs to")
    attach.add_argument("--show", metavar="YYYY-MM-DD", default="", help="the show of that day it belongs to")
    attach.add_argument("--item", metavar="N", type=int, help="the item of `to-fix list` it belongs to")
    attach.add_argument("--about", metavar="WORDS", default="", help="what is to be seen in it")
    attach.add_argument("--remove", action="store_true", help="it does not belong there after all")
    _does(attach, "to_fix", "do_attach")


def _add_calendar(commands: Any, add: Add) -> None:
    inside = _inside(commands, add, "calendar", "shows out to a calendar file (.ics), dates back from one")
    out = add(inside, "export", "write the shows from today on, with slot and changeover", "Taking it again updates.")
    out.add_argument("file", metavar="FILE", help="the file to write; an older calendar there is replaced")
    out.add_argument("--all", action="store_true", help="past shows too")
    back = add(
        inside,
        "import",
        "take dates, stage times and changeovers over from a calendar file",
        "Taking the same file again updates and doubles nothing. Entries need a place; those that repeat are named and "
        "not taken. Words such as 'stage time 21:30' and 'changeover 20 min' in an entry's description go before its "
        "own time, which may be the load-in.",
    )
    back.add_argument("file", metavar="FILE", help="a calendar file")
    back.add_argument("--only", metavar="WORDS", nargs="+", default=[], help="only entries with these words")
    back.add_argument("--look", action="store_true", help="say what would change, and change nothing")
    for parser in (out, back):
        parser.add_argument(
            "--zone",
            metavar="NAME",
            default="",
            help="the shows' time zone, such as Europe/Oslo; this laptop's when not given",
        )
    _does(out, "calendar", "do_export")
    _does(back, "calendar", "do_import")

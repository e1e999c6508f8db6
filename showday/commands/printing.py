"""`showday print`: the paper that works when the laptop does not."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showday.commands import Add
from showday.errors import FileTrouble, LogTrouble, ShowdayError
from showday.text.safe import one_line, plain

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.paper.model import Paper

TEXT, HTML, PDF = "text", "html", "pdf"
ENDINGS = {TEXT: (".txt", ""), HTML: (".html", ".htm"), PDF: (".pdf",)}
"""How the files of each form end, the usual one first: nothing else is ever written over."""
FEED = "\f"
"""Between the pages of a text: printers begin a new page there (form feed, ECMA-48)."""
MANY = 8
"""Sheets from which the PDF is worth a word of patience (a choice of this program)."""
_MORE = (
    "WHAT is a playbook by its name or file, or one of: patch (input list, outputs and power, label strips), labels, "
    "plan (the frequencies), tree NAME (all trees without a name), brief VENUE, contacts, to-fix, all. The paper is for "
    "today's show, or for the next one that is planned. `all` is the packet for a show day: what is open, contacts, "
    "brief, patch, labels, frequencies, the lists of the day with a table for what is done line by line, and every fault "
    "tree on one or two pages; some forty pages for an act of 22 lines, as one HTML file when nothing else is said. What "
    "is done at home, and the lists in large type with their reasons, are printed by their own names."
)


def add_print(commands: Any, add: Add) -> None:
    """Declare `print`; `args.do` does it."""
    printed = add(commands, "print", "the paper that works when the laptop does not", _MORE)
    printed.add_argument("what", metavar="WHAT", nargs="+", help="what to print, with the name behind it")
    printed.add_argument("--format", choices=tuple(ENDINGS), help="text when neither this nor the file's name says")
    printed.add_argument("--out", metavar="FILE", help="the file to write; the terminal when not given")
    printed.add_argument("--rig", metavar="FILE", help="the rig file to use instead of your own")
    printed.add_argument("--venue", metavar="NAME", default="", help="where the show is")
    printed.add_argument("--author", action="store_true", help="fault trees in the author's order")
    printed.add_argument("--demo", action="store_true", help="the example act's paper")
    printed.set_defaults(do=do_print)


def do_print(args: argparse.Namespace) -> int:
    """Print what is asked for."""
    from showday.commands.print_sheets import paper_of, settle, sheets_for

    what, words = args.what[0], " ".join(args.what[1:])
    form, out = form_and_file(args.format, args.out, what)
    with _desk(args) as desk:
        tonight = settle(desk, args.venue, author=args.author)
        paper = paper_of(tonight, what, sheets_for(tonight, what, words))
    if form == PDF and len(paper.sheets) > MANY:
        _tell("This many pages take a minute.")
    made = rendered(paper, form, feed=out is not None or not sys.stdout.isatty())
    if out is None:
        sys.stdout.write(made.decode("utf-8"))
        return 0
    _write(out, made)
    count = len(paper.sheets)
    print(plain(f"{count} {'sheet is' if count == 1 else 'sheets are'} in {out}."))
    return 0


def form_and_file(form: str | None, out: str | None, what: str) -> tuple[str, Path | None]:
    """The form and where it goes (None: to the terminal); ShowdayError when the file's ending says something else."""
    if out is None:
        from showday.text.fields import slug

        chosen = form or (HTML if what == "all" else TEXT)
        usual = f"showday-{slug(Path(what).stem) or 'paper'}{ENDINGS[chosen][0]}"
        return chosen, Path(usual) if what == "all" or chosen == PDF else None
    path = Path(out)
    ending = path.suffix.lower()
    meant = form or next((each for each, endings in ENDINGS.items() if ending in endings), None)
    if meant is None or ending not in ENDINGS[meant]:
        right = " or ".join(filter(None, ENDINGS[meant])) if meant else ".txt, .html or .pdf"
        raise ShowdayError(f"The paper cannot go into {one_line(out, 200)}.", f"Let the file's name end in {right}.")
    if path.is_dir():
        raise FileTrouble(f"{one_line(out, 200)} is a folder.", "Add a file name.")
    if not path.parent.is_dir():
        raise FileTrouble(f"There is no folder {one_line(str(path.parent), 200)}.", "Make it, or name another file.")
    return meant, path


def rendered(paper: Paper, form: str, *, feed: bool) -> bytes:
    """The paper in one form; `feed` puts page breaks between the pages of a text."""
    if form == TEXT:
        from showday.paper.text import text_pages

        pages = text_pages(paper)
        return ((FEED if feed else "\n\n").join(pages)).encode()
    from showday.paper.html import paper_html

    page = paper_html(paper)
    if form == HTML:
        return page.encode(
            "ascii", "xmlcharrefreplace"
        )  # the same page, whatever letters the terminal or a mailer has
    from showday.commands.print_pdf import pdf_bytes

    return pdf_bytes(page)


# -- what it is printed from -----------------------------------------------------------------------------------------


@contextmanager
def _desk(args: argparse.Namespace) -> Iterator[Desk]:
    """A desk over this computer's files that is only read from."""
    from showday.clockwork import SystemClock, new_id
    from showday.desk import Desk
    from showday.library import load_library
    from showday.log.keeper import Keeper
    from showday.opening import open_rig
    from showday.run.session import World

    if args.demo:
        from showday.demo import make_demo_desk

        yield make_demo_desk()
        return
    rig, source = open_rig(args.rig, _tell, needed=True)
    keeper = Keeper(_open_log)
    try:
        yield Desk(load_library(), rig, source, keeper, World(keeper, SystemClock(), new_id))
    finally:
        keeper.close()


def _open_log() -> Any:
    """The log, or an empty one in memory when there is none yet or it cannot be read: the rig can still be printed."""
    from showday import paths
    from showday.log.store import Log

    if not paths.log_path().exists():
        return Log.in_memory()
    try:
        return Log.open(paths.log_path(), create=False)
    except LogTrouble as trouble:
        _tell(f"{trouble} Printing without it.")
        return Log.in_memory()


def _tell(sentence: str) -> None:
    sys.stderr.write(f"showday: {one_line(sentence, 500)}\n")


def _write(path: Path, made: bytes) -> None:
    """Write the whole file or none of it."""
    import tempfile

    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(made)
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise

"""The commands. What a command needs is imported when it runs, so that the quick ones are quick."""

from __future__ import annotations

import argparse
import contextlib
import gc
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from showday import __version__
from showday.errors import ProblemsFound, ShowdayError

FINE, PROBLEMS, COULD_NOT, KEY = 0, 1, 2, 130
"""Exit status: fine; problems were found; it could not be done; ended by the interrupt key (128 + SIGINT)."""

ABOUT = "The show day of a small touring act: load in, check every line, find the fault, remember the venue."
EXIT = "Exit status: 0 fine, 1 problems were found, 2 it could not be done."


class _Parser(argparse.ArgumentParser):
    """Errors as one sentence."""

    def error(self, message: str) -> NoReturn:
        from showday.text.safe import one_line

        sys.stderr.write(f"showday: {one_line(message, 400)}. See `{self.prog} --help`.\n")
        raise SystemExit(COULD_NOT)


def make_parser() -> _Parser:
    """Every command with its options."""
    from showday.commands.listen import add_listen
    from showday.commands.printing import add_print
    from showday.commands.radio import add_radio
    from showday.commands.touring import add_touring

    parser = _Parser(prog="showday", description=ABOUT, epilog=f"Without a command the screens open. {EXIT}")
    parser.add_argument("--version", action="version", version=f"showday {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    _add(commands, "demo", "the example act in a log that is thrown away")
    _add_run(commands)
    _add_fault(commands)
    _add_check(commands)
    brief = _add(commands, "brief", "what to know about a venue before going back")
    brief.add_argument("venue", nargs="+", metavar="VENUE", help="its name or an older one, or a part of it")
    brief.add_argument("--json", action="store_true", help="print the facts as JSON")
    notes = _add(commands, "notes", "find what was ever written down, in any list and at any venue")
    notes.add_argument("words", nargs="*", metavar="WORDS", help="words of it, also misspelt; the newest when none")
    notes.add_argument("--limit", metavar="N", type=int, default=20, help="at most so many; 20 when not given")
    notes.add_argument("--json", action="store_true", help="print them as JSON")
    _add_log(commands)
    add_radio(commands, _add)
    add_touring(commands, _add)
    add_print(commands, _add)
    add_listen(commands, _add)
    where = _add(commands, "where", "which files and folders are used")
    where.add_argument("--json", action="store_true", help="print them as JSON")
    return parser


_Commands = argparse._SubParsersAction  # the library gives this type no public name


PLAIN = (
    "With --plain every prompt is one line that begins with a tag: [step ID], [must ID], [reading ID UNIT], "
    "[yes ID], [tree ID], [check ID], [fix ID], [cause ID] or [end]; `help` at any of them prints what may be "
    "answered, and the last line begins with complete or stopped. When the input ends, the walk can be gone on with."
)


def _add(commands: _Commands[_Parser], name: str, help: str, more: str = "") -> _Parser:
    description = f"{help[0].upper()}{help[1:]}. {more}"
    return commands.add_parser(name, help=help, description=description, epilog=EXIT)


def _add_run(commands: _Commands[_Parser]) -> None:
    run = _add(commands, "run", "walk a playbook; an unfinished run of it is gone on with", PLAIN)
    run.add_argument("playbook", metavar="PLAYBOOK", help="its id, its title, or a file")
    run.add_argument("--rig", metavar="FILE", help="the rig file to use instead of your own")
    run.add_argument("--venue", metavar="NAME", default="", help="where the show is")
    run.add_argument("--new-venue", action="store_true", help="enter NAME as a new venue, though another is like it")
    run.add_argument("--date", metavar="YYYY-MM-DD", default="", help="the day of the show; today when not given")
    run.add_argument("--slot", metavar="HH:MM", default="", help="stage time")
    run.add_argument("--changeover", metavar="MIN", default="", help="minutes available before it")
    run.add_argument(
        "--fact",
        metavar="WORD",
        nargs="+",
        action="extend",
        default=[],
        help="what holds here: festival, not indoors",
    )
    run.add_argument(
        "--away",
        metavar="NAME",
        nargs="+",
        action="extend",
        default=[],
        help="who is not here; their lines are not asked",
    )
    run.add_argument("--new", action="store_true", help="start afresh, though a run of it is unfinished")
    run.add_argument("--author", action="store_true", help="fault walks in the author's order")
    run.add_argument("--plain", action="store_true", help="line prompts instead of screens")
    run.add_argument("--demo", action="store_true", help="with the example act, in a log that is thrown away")


def _add_fault(commands: _Commands[_Parser]) -> None:
    fault = _add(commands, "fault", "walk the fault tree that matches what you hear", PLAIN)
    fault.add_argument(
        "words", nargs="*", metavar="WORDS", help="what you hear or see; without any, all trees are listed"
    )
    fault.add_argument("--rig", metavar="FILE", help="the rig file to use instead of your own")
    fault.add_argument("--new", action="store_true", help="start afresh, though such a walk was broken off")
    fault.add_argument("--items", action="store_true", help="list what is open on the to-fix list, numbered")
    fault.add_argument("--item", type=int, metavar="N", help="look for the cause of that item of the to-fix list")
    fault.add_argument("--author", action="store_true", help="fault walks in the author's order")
    fault.add_argument("--plain", action="store_true", help="line prompts instead of screens")


def _add_check(commands: _Commands[_Parser]) -> None:
    check = _add(commands, "check", "every problem in playbooks, fault trees and rigs")
    check.add_argument(
        "files", nargs="*", metavar="FILE", help="files or folders; your own and the shipped ones when none"
    )
    check.add_argument("--schema", choices=("playbook", "fault", "rig"), help="print the JSON Schema of such a file")
    check.add_argument("--order", choices=("text", "yaml"), help="print the computed order of one fault tree")
    check.add_argument("--json", action="store_true", help="print problems and prices as JSON")


def _add_log(commands: _Commands[_Parser]) -> None:
    log = _add(commands, "log", "look after the log of everything that was entered")
    inside = log.add_subparsers(dest="action", metavar="ACTION", required=True)
    check = _add(inside, "check", "say whether the log is whole and every run can be read")
    check.add_argument("--json", action="store_true", help="print the problems as JSON")
    backup = _add(inside, "backup", "copy the whole log into one file, also while it is used")
    backup.add_argument("file", metavar="FILE", help="where the copy goes; an older copy there is replaced")
    restore = _add(
        inside, "restore", "put a backup in the log's place; the log as it was until then is kept beside it"
    )
    restore.add_argument("file", metavar="FILE", help="a copy made with `log backup`")
    _add(inside, "rebuild", "make anew what is kept only to be quick: the list of runs, the words of notes")
    export = _add(inside, "export", "write the log, or what belongs to one venue, into a file for another laptop")
    export.add_argument("--venue", metavar="NAME", default="", help="only what belongs to this venue")
    export.add_argument("file", metavar="FILE", help="the file to write")
    taken = _add(inside, "import", "take in such files; what is here already is passed over")
    taken.add_argument("files", nargs="+", metavar="FILE", help="files made with `log export` or `log sync`")
    sync = _add(inside, "sync", "share one folder with the act's other laptops: read theirs, write this one's")
    sync.add_argument("folder", metavar="FOLDER", help="a folder that a file service or a stick carries around")
    runs = _add(inside, "runs", "list the runs, newest first")
    runs.add_argument("--limit", metavar="N", type=int, default=20, help="at most so many; 20 when not given")
    runs.add_argument("--json", action="store_true", help="print them as JSON")


def main(argv: Sequence[str] | None = None) -> int:
    """Do what the command line says; the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal that lacks a letter shows a question mark
    gc.disable()  # starting makes much that stays: looking through it for what can go costs a tenth of the start
    try:
        typed = sys.argv[1:] if argv is None else argv
        # Without a word the screens open, which need not wait for what every command takes.
        code = _do(make_parser().parse_args(typed) if typed else argparse.Namespace(command=None))
        sys.stdout.flush()
        return code
    except SystemExit as left:
        return left.code if isinstance(left.code, int) else FINE
    except ShowdayError as trouble:
        return _say_trouble(trouble)
    except KeyboardInterrupt:
        return KEY
    except BrokenPipeError:
        # Whoever read the output is gone; what is still in the buffer must not raise again at the end.
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return COULD_NOT
    except OSError as error:
        return _say_trouble(ShowdayError(f"The system refused: {error}."))
    finally:
        gc.enable()


def _say_trouble(trouble: ShowdayError) -> int:
    from showday.text.safe import plain

    with contextlib.suppress(OSError):
        sys.stderr.write(f"showday: {plain(str(trouble), 2_000)}\n")
    return PROBLEMS if isinstance(trouble, ProblemsFound) else COULD_NOT


def _do(args: argparse.Namespace) -> int:
    command = args.command or "screens"
    if command in ("screens", "demo", "run", "fault"):
        from showday.commands import walking

        do = getattr(walking, f"do_{command}")
    elif hasattr(args, "do"):
        do = args.do
    else:
        from showday.commands import telling

        do = getattr(telling, f"do_{command}")
    gc.enable()
    return int(do(args))


if __name__ == "__main__":
    sys.exit(main())

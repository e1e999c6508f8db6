"""`showday radio sweep`: what one or several sweep files show, as plain text of 60 columns or as JSON."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from showday.commands import Add
from showday.commands.radio_heard import add_reading
from showday.errors import FileTrouble, RadioTrouble


def add_sweep(commands: Any, add: Add) -> Any:
    """The parser of `sweep` below `radio`; `add` makes it as every other command is made."""
    sweep = add(
        commands,
        "sweep",
        "what a sweep shows: television, carriers, free stretches",
        "Two columns (frequency, level) or wide sweep rows; units are told by their size and said aloud. "
        "Several files are merged.",
    )
    sweep.add_argument(
        "files", nargs="+", metavar="FILE", help="sweep files, as an analyser or a receiver saved them"
    )
    sweep.add_argument("--rig", metavar="FILE", help="the rig file to use instead of your own")
    add_reading(sweep)
    sweep.add_argument("--mean", action="store_true", help="search the mean of all passes, not the strongest")
    sweep.add_argument("--keep", action="store_true", help="keep it in the log as tonight's")
    sweep.add_argument("--json", action="store_true", help="print the facts as JSON")
    return sweep


def do_sweep(args: argparse.Namespace) -> int:
    """Read, search, print; 1 when lines could not be used."""
    from showday.commands.radio_heard import tell_lines
    from showday.commands.radio_sweep_text import Told, as_data, as_lines
    from showday.commands.telling import show, show_json
    from showday.opening import open_rig
    from showday.radio.sweep_merge import merged
    from showday.sweep_files import find_occupied, read_each
    from showday.transmitters import carriers_of, own_of, region_of

    rig, _ = open_rig(args.rig, _tell, needed=False)
    theirs = carriers_of(rig)
    own = own_of(args.own, theirs)
    sweeps, problems = read_each(args.files, args.level.lower())
    if not sweeps:
        lines = "\n".join(map(str, problems))
        raise FileTrouble(f"There is no sweep to read; export it as text, frequency and level in columns.\n{lines}")
    region = args.region or region_of(rig)
    try:
        found = find_occupied(merged(sweeps), region=region, own=own, by_mean=args.mean)
    except RadioTrouble:
        tell_lines(problems, _tell)
        raise
    told = Told(found, region, tuple(problems), theirs if args.own is None else (), args.mean, _old_terminal())
    if args.json:
        show_json(as_data(told))
    else:
        show("\n".join(as_lines(told)))
    if args.keep:
        from showday.commands.radio_keep import keep_sweep_from_command

        _tell(keep_sweep_from_command(found, rig=args.rig, tell=_tell))
    return 1 if problems else 0


def _old_terminal() -> bool:
    """Whether what is printed cannot show the shapes of a drawing."""
    return not (sys.stdout.encoding or "").lower().startswith("utf")


def _tell(sentence: str) -> None:
    from showday.text.safe import plain

    sys.stderr.write(f"showday: {plain(sentence, 2_000)}\n")

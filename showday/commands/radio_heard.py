"""What the air is like beside our own carriers, as `radio verify` and `radio plan` are told it: sweeps, bands, others.

Everything that a sweep leaves open is said on the way, so that a plan on it is not believed more than the sweep.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from showday.commands.radio_typed import whole
from showday.errors import ShowdayError

if TYPE_CHECKING:
    from showday.radio.model import Band
    from showday.radio.sources import Sources
    from showday.rig.model import Rig
    from showday.text.problem import Problem

Tell = Callable[[str], None]
LEVELS = "dbm, dbuv (across 50 ohm), or db when nobody knows over what"
LINES_TOLD = 5
"""Lines of a sweep that could not be used are told up to so many (a choice of this program)."""


class Heard(NamedTuple):
    """What is kept off, which carriers of the sweep make products, and from where to where it was measured."""

    bands: tuple[Band, ...]
    sources: Sources
    measured: Band | None = None


def add_heard(parser: Any, add_list: Callable[[Any, str, str, str], None]) -> None:
    """Declare everything that says what others have on the air."""
    add_list(parser, "--foreign", "MHZ", "carriers of others that are on the air")
    add_list(parser, "--avoid", "MHZ|A-B", "frequencies and bands to keep off")
    add_list(parser, "--sweep", "FILE", "keep off what a sweep shows; its strong carriers make products too")
    add_reading(parser)
    parser.add_argument(
        "--sources",
        metavar="N",
        help="how many of the sweep's carriers make products, the strongest; 12 when not given, 0 for none",
    )


def add_reading(parser: Any) -> None:
    """Declare what a sweep file does not say by itself."""
    parser.add_argument("--region", metavar="NAME", default="", help="whose TV channels; the rig's when not given")
    parser.add_argument("--level", metavar="UNIT", default="", help=f"what a sweep's levels are: {LEVELS}")
    parser.add_argument(
        "--own",
        metavar="MHZ",
        nargs="*",
        help="your own transmitters were on in the sweep: at these MHz, or without any at those of the rig",
    )


def heard(args: argparse.Namespace, rig: Rig | None, foreign: Sequence[int], tell: Tell) -> Heard:
    """What the sweeps show as occupied, without what a person says was the act's own; nothing without a sweep."""
    from showday.radio.model import CARRIER, Band
    from showday.radio.sources import MOST_SOURCES, MOST_TAKEN, Sources, sources_in
    from showday.sweep_files import find_occupied, read_sweeps
    from showday.transmitters import carriers_of, own_of

    most = MOST_SOURCES if args.sources is None else whole(args.sources, "--sources", 0)
    if most > MOST_TAKEN:
        raise ShowdayError(f"--sources: {most} are too many.", f"Count the products of at most {MOST_TAKEN}.")
    if not args.sweep:
        _nothing_to_read(args)
        return Heard((), Sources())
    theirs = () if rig is None else carriers_of(rig)
    own = own_of(args.own, theirs)
    sweep, problems = read_sweeps(args.sweep, args.level.lower())
    tell_lines(problems, tell)
    for question in sweep.asked:
        tell(question)
    found = find_occupied(sweep, region=args.region, rig=rig, own=own)
    bands = found.bands()
    near = [name for name, at in theirs if any(band.kind == CARRIER and band.holds(at) for band in bands)]
    if near and args.own is None:
        tell(f"On the air in the sweep, and kept off: where {', '.join(near)} may be. Say --own if those were yours.")
    if not args.region and not (rig and rig.region):
        tell("Without a region no TV channel is known: what of one is seen is kept off. Say --region.")
    measured = Band(sweep.low, sweep.high)
    return Heard(found.kept_off(), sources_in(bands, found.floor_level, foreign, most), measured)


def tell_lines(problems: Sequence[Problem], tell: Tell) -> None:
    """The first lines that could not be used, and how many more there are."""
    for problem in problems[:LINES_TOLD]:
        tell(str(problem))
    if len(problems) > LINES_TOLD:
        tell(f"{len(problems) - LINES_TOLD} more lines of the sweep cannot be used.")


def _nothing_to_read(args: argparse.Namespace) -> None:
    """ShowdayError when something is said of a sweep that is not named."""
    said = {"--own": args.own is not None, "--sources": args.sources is not None}
    said |= {"--region": bool(args.region), "--level": bool(args.level)}
    if flag := next((flag for flag, given in said.items() if given), ""):
        raise ShowdayError(f"{flag} says something of a sweep, and none is named.", "Add --sweep FILE.")


def unmeasured(places: Sequence[int], measured: Band | None) -> str:
    """A sentence for carriers (Hz) that stand where the sweep says nothing; empty when there are none."""
    from showday.radio.units import band_text, mhz

    if measured is None:
        return ""
    outside = [mhz(at) for at in places if not measured.holds(at)]
    if not outside:
        return ""
    return (
        f"Outside of the sweep ({band_text(measured)}), so nobody knows who stands there: {', '.join(outside)} MHz."
    )

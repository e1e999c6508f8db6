"""`showday radio verify` and `showday radio plan`: what was typed, made into hertz, and the answer printed.

Everything that is typed comes in as text, so that a sign or a word gets a sentence about frequencies. Arrays are
imported when a command runs.
"""

from __future__ import annotations

import argparse
import re
import signal
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from showday.commands import Add
from showday.commands.radio_typed import SECONDS, orders, seconds, whole
from showday.errors import ShowdayError
from showday.text.safe import one_line

if TYPE_CHECKING:
    from showday.commands.radio_heard import Heard
    from showday.radio.model import Band, Widths
    from showday.radio.plan_ask import Ask, Progress
    from showday.rig.model import Rig

_NEGATIVE = re.compile(r"-[.,]?\d")
_VERIFY = "Exit status 1 when a carrier is hit or no transmitter can be set to it. Widths are inclusive."
_PLAN = (
    "Both ends of a range may be used. The largest smallest clearance is looked for; the interrupt key ends the "
    "search, and the best so far is printed with a bound. Exit status 1 when not as many fit as are asked for."
)


def add_radio(commands: Any, add: Add) -> None:
    """Declare `radio` with everything it can do; `args.do` does it."""
    from showday.commands.radio_antennas import add_antennas, do_antennas
    from showday.commands.radio_spare import add_spare, do_spare
    from showday.commands.radio_sweep import add_sweep, do_sweep

    radio = add(commands, "radio", "find and verify clear frequencies; a plan is advice, local rules decide")
    inside = radio.add_subparsers(dest="action", metavar="ACTION", required=True)
    doing = (
        (_add_verify, do_verify),
        (_add_plan, do_plan),
        (add_sweep, do_sweep),
        (add_spare, do_spare),
        (add_antennas, do_antennas),
    )
    for declare, do in doing:
        parser: Any = declare(inside, add)
        parser.set_defaults(do=do)
        # Whatever looks like a number is a value, however it goes on: '-606-614' has to reach the sentence about ranges.
        parser._negative_number_matcher = _NEGATIVE


def _add_verify(inside: Any, add: Add) -> Any:
    verify = add(inside, "verify", "say whether carriers are clean, and what is nearest to each", _VERIFY)
    verify.add_argument("mhz", nargs="*", metavar="MHZ", help="the carriers; those of the rig when none are named")
    _add_list(verify, "--range", "A-B", "where they have to lie, in MHz; again for more")
    _add_wishes(verify)
    return verify


def _add_plan(inside: Any, add: Add) -> Any:
    plan = add(inside, "plan", "find the clearest frequencies for so many carriers", _PLAN)
    plan.add_argument("--count", metavar="N", help="how many carriers; else one for each transmitter of the rig")
    _add_list(plan, "--range", "A-B", "where to look, in MHz; again for more")
    plan.add_argument("--step", metavar="KHZ", help="tuning step; 25 when neither this nor the rig says")
    _add_list(plan, "--hold", "MHZ", "carriers that stay where they are")
    plan.add_argument("--spares", metavar="K", default="0", help="so many more, clean while everything is on")
    plan.add_argument(
        "--seconds", metavar="S", default=f"{SECONDS:g}", help=f"how long to look; {SECONDS:g} when not given"
    )
    plan.add_argument("--keep", metavar="WHY", nargs="?", const="", help="keep the plan in the log as tonight's")
    _add_wishes(plan)
    return plan


def _add_wishes(parser: Any) -> None:
    from showday.commands.radio_heard import add_heard

    add_heard(parser, _add_list)
    parser.add_argument("--orders", metavar="LIST", default="3,5", help="orders of products: 3, 3,5 or 3,5,7")
    parser.add_argument("--spacing", metavar="KHZ", default="0", help="least distance between two carriers")
    parser.add_argument("--third", metavar="KHZ", default="0", help="width of trouble around third-order products")
    parser.add_argument("--fifth", metavar="KHZ", default="0", help="width of trouble around fifth-order products")
    parser.add_argument(
        "--seventh", metavar="KHZ", default="0", help="the same for seventh order, with --orders 3,5,7"
    )
    parser.add_argument("--edge", metavar="KHZ", default="0", help="how far to stay off what is occupied")
    parser.add_argument(
        "--rig",
        metavar="FILE",
        help="the rig file whose transmitters are to be set; your own where no carriers are counted",
    )
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


def _add_list(parser: Any, flag: str, metavar: str, help: str) -> None:
    parser.add_argument(flag, metavar=metavar, nargs="+", action="extend", default=[], help=help)


# -- what was typed ----------------------------------------------------------------------------------------------


def _widths(args: argparse.Namespace) -> Widths:
    from showday.radio.model import Widths
    from showday.radio.units import width

    return Widths(
        spacing=width(args.spacing, "spacing"),
        third=width(args.third, "width"),
        fifth=width(args.fifth, "width"),
        seventh=width(args.seventh, "width"),
        edge=width(args.edge, "distance"),
    )


def _frequencies(texts: Sequence[str]) -> tuple[int, ...]:
    from showday.radio.units import frequency

    return tuple(map(frequency, texts))


def _rig(named: str | None, *, own: bool) -> Rig | None:
    """The rig that was named, or with `own` one's own where there is one; None means no transmitter in particular."""
    from showday import paths
    from showday.opening import open_rig

    if named is None and not (own and paths.own_rig().exists()):
        return None
    rig, _ = open_rig(named, _tell, needed=True)
    return rig


def _tell(sentence: str) -> None:
    sys.stderr.write(f"showday: {one_line(sentence, 500)}\n")


# -- verify ------------------------------------------------------------------------------------------------------


def do_verify(args: argparse.Namespace) -> int:
    """Judge a set of carriers; 1 when it is not clean."""
    from showday.commands.radio_heard import heard, unmeasured
    from showday.commands.radio_telling import verdict_data, verdict_lines
    from showday.commands.telling import show, show_json
    from showday.radio.model import AVOID
    from showday.radio.products import kinds_of
    from showday.radio.units import band
    from showday.radio.verify import Air, verify
    from showday.transmitters import carriers_of, tuners_of

    own = _frequencies(args.mhz)
    rig = _rig(args.rig, own=not own)
    if not own and rig is not None:
        own = tuple(at for _, at in carriers_of(rig))
    if not own:
        hint = "Write MHz, such as `showday radio verify 606.7 607.1`, or name a rig whose transmitters state them."
        raise ShowdayError("No carriers are named.", hint)
    tuners = () if rig is None else tuners_of(rig)
    foreign = tuple(dict.fromkeys(_frequencies(args.foreign)))
    ranges, avoid = _merged(map(band, args.range)), [band(text, kind=AVOID) for text in args.avoid]
    kinds, widths = kinds_of(orders(args.orders)), _widths(args)
    there = heard(args, rig, foreign, _tell)
    found = there.sources.at
    occupied = (*there.bands, *avoid)
    air = Air((*foreign, *found), kinds, widths, occupied, ranges, tuners, found=frozenset(found))
    verdict = verify(own, air)
    said = [*filter(None, (there.sources.sentence, unmeasured(own, there.measured)))]
    if args.json:
        show_json(verdict_data(verdict, said))
    else:
        show("\n".join(verdict_lines(verdict, said, air.found)))
    return 0 if verdict.clean else 1


# -- plan --------------------------------------------------------------------------------------------------------


def do_plan(args: argparse.Namespace) -> int:
    """Look for a plan; 1 when not as many fit as were asked for."""
    from showday.commands.radio_heard import heard, unmeasured
    from showday.commands.radio_telling import plan_data, plan_lines
    from showday.commands.telling import show, show_json
    from showday.radio.plan import plan
    from showday.radio.plan_relax import with_advice

    longest = seconds(args.seconds)
    rig = _rig(args.rig, own=args.count is None)
    ask = _ask(args, rig)
    there = heard(args, rig, ask.foreign, _tell)
    ask = _on(ask, there)
    ask.check()
    with _stopping() as stop:
        found = plan(ask, stop.within(longest), _Line() if sys.stderr.isatty() else _nobody)
        if not found.fits and not stop.asked:
            found = with_advice(found, ask, stop.within(longest))
    _clear_line()
    everyone = [each.at for each in (*found.carriers, *found.spares)]
    said = [*filter(None, (there.sources.sentence, unmeasured(everyone, there.measured)))]
    if args.json:
        show_json(plan_data(found, said))
    else:
        show("\n".join(plan_lines(found, ask, said, stopped=stop.asked)))
    if args.keep is not None and found.carriers:
        from showday.commands.radio_keep import keep_plan_from_command

        _tell(keep_plan_from_command(ask, found, rig=args.rig, reason=args.keep, tell=_tell))
    return 0 if found.fits else 1


def _ask(args: argparse.Namespace, rig: Rig | None) -> Ask:
    from showday.radio.model import AVOID
    from showday.radio.plan_ask import Ask
    from showday.radio.units import band, width
    from showday.transmitters import tuners_of

    tuners = () if rig is None else tuners_of(rig)
    if rig is not None and not tuners:
        raise ShowdayError(
            "No transmitter of the rig says how far it can be tuned.", "Write its low and its high end into the file."
        )
    if args.count is None and rig is None:
        raise ShowdayError("How many carriers are wanted is not said.", "Add --count N, or name a rig with --rig.")
    count = len(tuners) if args.count is None else whole(args.count, "--count", 1)
    return Ask(
        count,
        whole(args.spares, "--spares", 0),
        _merged(band(text) for text in args.range),
        width(args.step, "step", least=1) if args.step is not None else 0,
        orders(args.orders),
        _widths(args),
        tuple(band(text, kind=AVOID) for text in args.avoid),
        tuple(dict.fromkeys(_frequencies(args.foreign))),
        _frequencies(args.hold),
        tuners,
    )


def _on(ask: Ask, there: Heard) -> Ask:
    """The same on what was heard; without a range, only where it was measured."""
    from dataclasses import replace

    from showday.radio.wishes import measured_reach

    ranges = ask.ranges or measured_reach(ask.tuners, there.measured)
    if there.measured is not None and not ranges:
        raise ShowdayError(
            "The sweep and your transmitters' ranges do not meet.",
            "Sweep where they can be tuned, or name a --range.",
        )
    return replace(ask, ranges=ranges, avoid=(*ask.avoid, *there.bands), found=there.sources.at)


def _merged(bands: Iterator[Band]) -> tuple[Band, ...]:
    """The same ranges, rising, those that overlap or touch as one."""
    from dataclasses import replace

    found: list[Band] = []
    for each in sorted(bands, key=lambda band: (band.low, band.high)):
        if found and each.low <= found[-1].high:
            found[-1] = replace(found[-1], high=max(found[-1].high, each.high))
        else:
            found.append(each)
    return tuple(found)


class _Stop:
    """Whether the interrupt key was pressed."""

    def __init__(self) -> None:
        self.asked = False

    def within(self, longest: float) -> Callable[[], bool]:
        """Goes on for so many seconds from now, or until the key is pressed."""
        end = time.monotonic() + longest
        return lambda: not self.asked and time.monotonic() < end


@contextmanager
def _stopping() -> Iterator[_Stop]:
    """The first interrupt only ends the search; a second one ends the program."""
    stop = _Stop()

    def ask(number: int, frame: object) -> None:
        if stop.asked:
            raise KeyboardInterrupt
        stop.asked = True

    try:
        before = signal.signal(signal.SIGINT, ask)
    except ValueError:  # not the main thread: the key is somebody else's
        yield stop
        return
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


_EVERY = 0.25


class _Line:
    """How far the search is, on one line of the terminal that is written over."""

    def __init__(self) -> None:
        self._next = 0.0

    def __call__(self, progress: Progress) -> None:
        from showday.commands.radio_telling import progress_line

        if time.monotonic() >= self._next:
            self._next = time.monotonic() + _EVERY
            sys.stderr.write(f"\r{progress_line(progress):<59.59}")
            sys.stderr.flush()


def _nobody(progress: Progress) -> None:
    """Tell nobody."""


def _clear_line() -> None:
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{'':<59}\r")

"""The command `radio antennas`: where antennas go, with the numbers of the rig's own band."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import Any

from showday.errors import RadioTrouble

DEFAULTS = "Without a range the rig's own is used. The power is a number to reckon with; it permits nothing."

USUAL_CABLE = "rg58"
"""The thinnest and most common: a choice of this program."""

_Parser = argparse.ArgumentParser


def add_antennas(subparsers: Any, add: Callable[..., _Parser]) -> _Parser:
    """Put `antennas` under `radio`; `add(subparsers, name, help, more)` makes the command's parser."""
    antennas = add(subparsers, "antennas", "where antennas go, with the numbers of your own band", DEFAULTS)
    antennas.add_argument("--rig", metavar="FILE", help="the rig file to use instead of your own")
    antennas.add_argument(
        "--range", metavar="A-B", action="append", default=[], help="MHz, instead of the rig's range"
    )
    antennas.add_argument("--distance", metavar="M", default="", help="m to the farthest player; 30 when not given")
    antennas.add_argument(
        "--cable", metavar="KIND", default="", help="rg58 (when not given), rg58-limit, rg213, foam6, foam10"
    )
    antennas.add_argument("--length", metavar="M", default="", help="m of antenna cable; 10 when not given")
    antennas.add_argument("--power", metavar="MW", default="", help="mW EIRP; 50 when not given")
    antennas.add_argument("--json", action="store_true", help="print the advice as JSON")
    return antennas


def do_antennas(args: argparse.Namespace) -> int:
    """Print the advice; RadioTrouble when there is no band or a number cannot be used."""
    from showday.commands.telling import show, show_json
    from showday.radio import antennas

    bands = antennas.bands_of(_tuners(args))
    wishes: dict[str, Any] = {
        "distance": _number(args.distance, "distance", antennas.DISTANCE),
        "length": _number(args.length, "length", antennas.LENGTH),
        "power": _number(args.power, "power", antennas.POWER),
        "cable": antennas.cable_of(args.cable or USUAL_CABLE),
    }
    if args.json:
        show_json(_data([antennas.Setup(band.low, band.high, **wishes) for band in bands]))
    else:
        show("\n".join(antennas.antenna_lines(bands, **wishes)))
    return 0


def _tuners(args: argparse.Namespace) -> Sequence[Any]:
    """The ranges asked for, or those of the rig."""
    from showday.radio.model import Tuner
    from showday.radio.units import band

    if args.range:
        return [Tuner("", found.low, found.high) for found in map(band, args.range)]
    from showday.opening import open_rig
    from showday.transmitters import tuners_of

    rig, _ = open_rig(args.rig, _tell, needed=False)
    if found := tuners_of(rig):
        return found
    raise RadioTrouble(
        "No rig says what its transmitters can be tuned to.", "Give low and high in the rig file, or --range 606-614."
    )


def _tell(sentence: str) -> None:
    from showday.text.safe import plain

    sys.stderr.write(f"showday: {plain(sentence, 2_000)}\n")


def _number(text: str, what: str, usual: float) -> float:
    from showday.radio.units import scaled
    from showday.text.safe import one_line

    if not text:
        return usual
    try:
        return scaled(text, 1_000) / 1_000
    except ValueError:
        raise RadioTrouble(f"'{one_line(text, 40)}' is not a {what}.", "Write a number, such as 12.5.") from None


def _data(setups: Sequence[Any]) -> dict[str, Any]:
    from showday.radio import antennas
    from showday.radio.units import mhz_number
    from showday.text.cautions import RADIO_LAW

    return {
        "bands": [
            {
                "low_mhz": mhz_number(setup.low),
                "high_mhz": mhz_number(setup.high),
                "distance_m": setup.distance,
                "cable": setup.cable.kind,
                "length_m": setup.length,
                "power_mw": setup.power,
                "advice": [each._asdict() for each in antennas.advice(setup)],
                "margin_db": [round(each, 1) for each in antennas.link(setup).margin],
            }
            for setup in setups
        ],
        "rules": RADIO_LAW,
    }

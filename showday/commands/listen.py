"""`showday listen`: its options. What it does is imported when it runs, and arrays and the libraries of sound with it."""

from __future__ import annotations

import argparse
import os
from typing import Any

from showday.commands import Add
from showday.errors import ShowdayError

_MORE = (
    "With --device and a rig every input is asked for in turn and ticked when it is right; the interrupt key ends it. "
    "With --walk it is known when each input is played: lines of start_s,end_s,input. Exit status 1 when something was "
    "found or arrives where it is not wanted."
)


def add_listen(commands: Any, add: Add) -> None:
    """Declare `listen`; `args.do` does it."""
    listen = add(commands, "listen", "hear a recording or a device: levels, hum, what arrived where", _MORE)
    listen.add_argument("file", nargs="?", metavar="FILE", help="a recording of all channels: WAV, RF64, BW64, FLAC")
    listen.add_argument(
        "--device", metavar="NAME", help="listen to this input instead: its name, a part, or a number"
    )
    listen.add_argument("--devices", action="store_true", help="list the sound devices of this computer")
    listen.add_argument("--rig", metavar="FILE", help="the rig file to use instead of your own")
    listen.add_argument("--walk", metavar="CSV", help="when each input is played")
    listen.add_argument("--seconds", metavar="S", help="listen to a device for so long")
    listen.add_argument("--channels", metavar="N", help="listen to so many channels of a device; all when not given")
    listen.add_argument("--rate", metavar="HZ", help="samples a second of a device; its own when not given")
    listen.add_argument(
        "--tick",
        nargs="?",
        const="line-check",
        metavar="PLAYBOOK",
        help="tick the steps of tonight's run of it (line-check when not given): the one under way, or a new one",
    )
    listen.add_argument("--tone", metavar="DEVICE", help="play short, quiet tones for good and not good there")
    listen.add_argument("--tone-output", metavar="N", default="1", help="which channel of it; 1 when not given")
    listen.add_argument("--json", action="store_true", help="print the facts as JSON")
    listen.set_defaults(do=do_listen)


def do_listen(args: argparse.Namespace) -> int:
    """List devices, or hear a recording or a device; 1 when there is something to see to."""
    # One thread for linear algebra: the matrices are small, and two threads take twice as long. Set before numpy loads.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    _check(args)
    from showday.commands import listening

    if args.devices:
        return listening.list_devices(args)
    return listening.hear_device(args) if args.device is not None else listening.hear_file(args)


def _check(args: argparse.Namespace) -> None:
    asked = (args.file is not None) + (args.device is not None) + args.devices
    if asked != 1:
        raise ShowdayError(
            "Only one can be heard at a time." if asked else "What is to be heard is not said.",
            "Name a recording, or a device with --device NAME; --devices lists them.",
        )
    for option in ("seconds", "channels", "rate", "tone", "tick"):
        if getattr(args, option) is not None and args.device is None:
            raise ShowdayError(f"--{option} is about a device.", "Name one with --device NAME, or leave it out.")

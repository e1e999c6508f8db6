"""Hearing a recording or a device from the command line, and what is printed of it."""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import asdict, dataclass

from showday.commands.listen_telling import as_lines, device_lines, fine
from showday.commands.listen_walk import Keys, walk
from showday.commands.radio_typed import seconds as seconds_of
from showday.commands.radio_typed import whole
from showday.commands.telling import show, show_json
from showday.commands.walking import ticking_run
from showday.errors import ShowdayError
from showday.hearing import pairs_of, wanted_inputs
from showday.opening import open_rig
from showday.rig.model import Rig
from showday.run.progress import progress
from showday.sound.listener import Listener
from showday.sound.pairs import Pair
from showday.sound.report import Report, to_json
from showday.sound.source_file import open_sound
from showday.sound.source_walk import open_walk
from showday.sound.verdict import Heard, Wanted
from showday.sound.walk_csv import Window, windows
from showday.sound_devices import INPUT, MOST_CHANNELS, Device, choose, devices
from showday.sound_live import DeviceSource, Live
from showday.text.safe import one_line
from showday.ticking import tick_input
from showday.tones_out import Tones, open_tones


def list_devices(args: argparse.Namespace) -> int:
    """Print every device of this computer."""
    known = devices()
    if args.json:
        show_json([asdict(one) for one in known])
    else:
        show("\n".join(device_lines(known)))
    return 0


# -- what is asked -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is wanted of the sound."""

    inputs: tuple[Wanted, ...]
    pairs: tuple[Pair, ...]
    walk: tuple[Window, ...]


def _asked(args: argparse.Namespace, rig: Rig, channels: int) -> _Asked:
    """The rig's inputs and pairs, as far as there are channels for them, and the walk; what does not fit is told."""
    inputs = tuple(wanted_inputs(rig))
    beyond = [one for one in inputs if one.channel is not None and one.channel >= channels]
    if beyond:
        are = f"{one_line(beyond[0].input, 40)} is" if len(beyond) == 1 else f"{len(beyond)} inputs of the rig are"
        _tell(f"{are} on channels above {channels}, which are not in this sound.")
    pairs = tuple(pair for pair in pairs_of(rig) if max(pair.left, pair.right) < channels)
    if args.walk is None:
        return _Asked(inputs, pairs, ())
    lines, problems = open_walk(args.walk)
    wanted = {one.input: one.channel for one in inputs if one.channel is not None}
    found, more = windows(lines, wanted, one_line(args.walk, 300))
    for problem in (*problems, *more)[:5]:
        _tell(str(problem))
    if len(problems) + len(more) > 5:
        _tell(f"{len(problems) + len(more) - 5} more lines of the walk are not as they should be.")
    if not found:
        raise ShowdayError("There is no line in the walk that can be used.", "Write start_s,end_s,input.")
    return _Asked(inputs, pairs, tuple(found))


def _rig(args: argparse.Namespace) -> Rig:
    return open_rig(args.rig, _tell, needed=False)[0]


def _tell(sentence: str) -> None:
    sys.stderr.write(f"showday: {one_line(sentence, 500)}\n")


def _answer(args: argparse.Namespace, report: Report, title: str, said: Sequence[str]) -> int:
    if args.json:
        for sentence in said:
            _tell(sentence)
        show_json(json.loads(to_json(report)))
    else:
        show("\n".join(as_lines(report, title, said, _rig(args).full_scale)))
    return 0 if fine(report) else 1


# -- a recording -------------------------------------------------------------------------------------------------


def hear_file(args: argparse.Namespace) -> int:
    """Hear a recording; 1 when there is something to see to."""
    source = open_sound(args.file)
    asked = _asked(args, _rig(args), source.channels)
    listener = Listener(source.rate, source.channels, asked.inputs, asked.walk, asked.pairs, source.full_scale)
    with _progress(source.seconds) as tell:
        for block in source.blocks():
            listener.feed(block)
            tell((block.first + len(block.samples)) / source.rate)
    return _answer(args, listener.report(), one_line(source.path.name, 80), source.said)


_EVERY = 0.25


@contextmanager
def _progress(seconds: float) -> Iterator[Callable[[float], None]]:
    """Says how far it is on one line of the terminal that is written over; nothing where nobody watches."""
    if not sys.stderr.isatty():
        yield lambda at: None
        return
    after = time.monotonic() + _EVERY

    def tell(at: float) -> None:
        nonlocal after
        if time.monotonic() >= after:
            after = time.monotonic() + _EVERY
            share = f"{min(1.0, at / seconds):4.0%} " if seconds else ""
            sys.stderr.write(f"\r{f'Listening: {share}{at:,.0f} s':<59.59}")
            sys.stderr.flush()

    try:
        yield tell
    finally:
        sys.stderr.write(f"\r{'':<59}\r")


# -- a device ----------------------------------------------------------------------------------------------------


def hear_device(args: argparse.Namespace) -> int:
    """Listen until everything was walked, the time is over, or somebody ends it; what was heard is printed in any case."""
    seconds = None if args.seconds is None else seconds_of(args.seconds)
    known, rig = devices(), _rig(args)
    device = choose(args.device, INPUT, known)
    source = DeviceSource(device, _channels(args, rig, device.inputs, device.name), _rate(args, device.rate))
    asked = _asked(args, rig, source.channels)
    if args.tick is None:
        return _hear(args, source, asked, seconds, known, lambda heard: ())
    with ticking_run(args.rig, args.tick, _tell) as (desk, session):

        def done(heard: Heard) -> Sequence[str]:
            try:
                return tick_input(session, desk.rig, heard)
            except ShowdayError as trouble:  # the walk goes on by ear, and the run by hand
                return [str(trouble)]

        code = _hear(args, source, asked, seconds, known, done)
        _tell(f"So far: {progress(session.state).counts()}. `showday` goes on with it; musts want your key.")
        return code


Done = Callable[[Heard], Sequence[str]]


def _hear(
    args: argparse.Namespace,
    source: DeviceSource,
    asked: _Asked,
    seconds: float | None,
    known: Sequence[Device],
    done: Done,
) -> int:
    listener = Listener(source.rate, source.channels, asked.inputs, asked.walk, asked.pairs)
    live = Live(source, listener, seconds=seconds)
    with ExitStack() as open_now:
        tones = _tones(args, known, open_now)
        live.start()
        open_now.callback(live.stop)
        _tell(
            f"Listening to {source.name}: {source.channels} channels, {source.rate:,} Hz. The interrupt key ends it."
        )
        _listen(args, live, asked, tones, done)
    code = _answer(args, live.ask(lambda heard: heard.report()), source.name, live.said())
    if live.trouble is not None:
        raise live.trouble
    return code


def _listen(args: argparse.Namespace, live: Live[Listener], asked: _Asked, tones: Tones | None, done: Done) -> None:
    def say(sentence: str) -> None:
        if args.json:
            _tell(sentence)
        else:
            show(sentence)
            sys.stdout.flush()

    try:
        if asked.inputs and not asked.walk:
            walk(live, asked.inputs, Keys(), say, tones, done)
        else:
            while live.wait(60):
                pass
    except KeyboardInterrupt:
        _tell("Ended by the interrupt key.")


def _tones(args: argparse.Namespace, known: Sequence[Device], open_now: ExitStack) -> Tones | None:
    if args.tone is None:
        return None
    tones = open_tones(args.tone, whole(args.tone_output, "--tone-output", 1) - 1, known)
    open_now.callback(tones.close)
    _tell(tones.caution)
    return tones


def _channels(args: argparse.Namespace, rig: Rig, has: int, name: str) -> int:
    """How many channels to listen to; ShowdayError when the rig needs more than there are and nobody asked for fewer."""
    if args.channels is not None:
        return whole(args.channels, "--channels", 1)
    need = max((one.channel + 1 for one in wanted_inputs(rig) if one.channel is not None), default=0)
    if need > has:
        raise ShowdayError(
            f"{one_line(name, 60)} has {has} input {'channel' if has == 1 else 'channels'}, and the rig needs {need}.",
            "Choose the mixer's device (--devices lists them), or hear only a part with --channels N.",
        )
    return min(has, MOST_CHANNELS)


def _rate(args: argparse.Namespace, own: int) -> int:
    return own if args.rate is None else whole(args.rate, "--rate", 1)

"""The example act: its rig, its past evenings played into a log that is thrown away, and tonight's show planned."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from pathlib import Path

from showday.demo.play import PlayedClock, play
from showday.demo.script import Evening, read_evening
from showday.desk import Desk
from showday.errors import FileTrouble
from showday.library import Source, load_library, load_rig, read_bytes, shipped, yaml_files
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.rig.model import Rig
from showday.run.session import World


def make_demo_desk(world: World | None = None) -> Desk:
    """A desk of the example act on the day of its show; nothing it writes outlives the program.

    `world` gives clock and ids, its sink is replaced by the log in memory; None is this computer's clock. Past
    evenings lie a fixed number of days before today, so tonight's show is always tonight. Only shipped playbooks
    are used, since the evenings were walked with those.
    """
    examples = shipped("examples")
    keeper = Keeper(Log.in_memory)
    outside = replace(world, sink=keeper) if world else _this_computer(keeper)
    here = outside.clock.now().astimezone()
    clock = PlayedClock(here)
    rig, source = _rig(examples / "rig.yaml")
    library = load_library(own=examples / "playbooks")
    desk = Desk(library, rig, source, keeper, replace(outside, clock=clock), example=True)
    for file, evening in load_evenings(examples / "evenings"):
        play(desk, clock, evening, file, here.date(), here.tzinfo or UTC)
    desk.world = outside
    return desk


def load_evenings(folder: Path) -> list[tuple[str, Evening]]:
    """Every scripted evening of a folder with its file's name, oldest first; FileTrouble for one with a problem."""
    found = []
    for path in yaml_files(folder):
        evening, problems = read_evening(read_bytes(path), str(path))
        if evening is None:
            raise FileTrouble(str(min(problems.errors, key=lambda p: p.place)))
        found.append((str(path), evening))
    return sorted(found, key=lambda pair: -pair[1].days_before)


def _rig(path: Path) -> tuple[Rig, Source | None]:
    rig, problems, source = load_rig(path)
    if rig is None or source is None:
        raise FileTrouble(str(problems[0]))
    return rig, replace(source, own=False)


def _this_computer(keeper: Keeper) -> World:
    from showday.clockwork import SystemClock, new_id

    return World(keeper, SystemClock(), new_id)


__all__ = ["load_evenings", "make_demo_desk"]

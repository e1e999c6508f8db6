"""The example act: its rig, two seasons and its past evenings in a log that is thrown away, and tonight's show planned."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta, tzinfo
from pathlib import Path

from showday.demo.play import PlayedClock, play
from showday.demo.script import Evening, read_evening
from showday.demo.seasons import read_seasons
from showday.desk import Desk
from showday.errors import FileTrouble
from showday.library import Source, load_library, load_rig, read_bytes, shipped, yaml_files
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.rig.model import Rig
from showday.run.session import World, stamp


def make_demo_desk(world: World | None = None) -> Desk:
    """A desk of the example act on the day of its show; nothing it writes outlives the program.

    `world` gives clock and ids, its sink is replaced by the log in memory; None is this computer's clock. Past
    evenings lie a fixed number of days before today, so tonight's show is always tonight. Only shipped playbooks
    are used, since the evenings were walked with those. What is stored of the two seasons goes into the log in its
    turn, so that each evening that is played finds the log as it was then.
    """
    examples = shipped("examples")
    keeper = Keeper(Log.in_memory)
    outside = replace(world, sink=keeper) if world else _this_computer(keeper)
    here = outside.clock.now().astimezone()
    clock = PlayedClock(here)
    rig, source = _rig(examples / "rig.yaml")
    library = load_library(own=examples / "playbooks")
    desk = Desk(library, rig, source, keeper, replace(outside, clock=clock), example=True)
    zone = here.tzinfo or UTC
    seasons = read_seasons(examples / "seasons" / "ferrymoth.bundle.jsonl", here.date(), zone)
    keeper.append([], seasons.snapshots)
    since = ""
    for file, evening in load_evenings(examples / "evenings"):
        until = _day_before(evening, here, zone)
        keeper.append(seasons.between(since, until))
        play(desk, clock, evening, file, here.date(), zone)
        since = until
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


def _day_before(evening: Evening, here: datetime, zone: tzinfo) -> str:
    """UTC of the beginning of the day before an evening, on which its first run may lie."""
    day = here.date() - timedelta(days=evening.days_before + 1)
    return stamp(datetime.combine(day, time(), zone))


def _rig(path: Path) -> tuple[Rig, Source | None]:
    rig, problems, source = load_rig(path)
    if rig is None or source is None:
        raise FileTrouble(str(problems[0]))
    return rig, replace(source, own=False)


def _this_computer(keeper: Keeper) -> World:
    from showday.clockwork import SystemClock, new_id

    return World(keeper, SystemClock(), new_id)


__all__ = ["load_evenings", "make_demo_desk"]

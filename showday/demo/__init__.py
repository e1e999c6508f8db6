"""The example act: its rig, two seasons and its past evenings in a log that is thrown away, and tonight's show planned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING

from showday.desk import Desk
from showday.errors import FileTrouble
from showday.library import Source, load_library, load_rig, read_bytes, shipped, yaml_files
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.opening import show_day
from showday.rig.model import Rig
from showday.run.session import World, stamp
from showday.run.slot import AFTER_MIDNIGHT, slot_time

if TYPE_CHECKING:
    from showday.demo.script import Evening

LATE_SLOT = timedelta(minutes=40)
"""How far ahead the example's slot is put when its own hour has passed (a choice of this program)."""


def make_demo_desk(world: World | None = None) -> Desk:
    """A desk of the example act on the day of its show; nothing it writes outlives the program.

    `world` gives clock and ids, its sink is replaced by the log in memory; None is this computer's clock. Past
    evenings lie a fixed number of days before today, so tonight's show is always tonight. Only shipped playbooks
    are used, since the evenings were walked with those. What is stored of the two seasons goes into the log in its
    turn, so that each evening that is played finds the log as it was then.
    """
    desk, rest = begin_demo_desk(world)
    for _ in rest:
        pass
    return desk


def begin_demo_desk(world: World | None = None) -> tuple[Desk, Iterator[None]]:
    """The same in parts, for a screen that is to stand before all of it is there: the desk with an empty log, and what
    makes it whole. Nothing may be asked of the desk but its files before that has come to its end."""
    examples = shipped("examples")
    keeper = Keeper(Log.in_memory)
    outside = replace(world, sink=keeper) if world else _this_computer(keeper)
    rig, source = _rig(examples / "rig.yaml")
    library = load_library(own=examples / "playbooks")
    desk = Desk(library, rig, source, keeper, outside, example=True)
    return desk, _make_whole(desk, examples)


def _make_whole(desk: Desk, examples: Path) -> Iterator[None]:
    from showday.demo.play import PlayedClock, playing
    from showday.demo.seasons import read_seasons

    outside, keeper = desk.world, desk.keeper
    here = outside.clock.now().astimezone()
    zone, today = here.tzinfo or UTC, show_day(here)
    clock = PlayedClock(here)
    while desk.library.read_some():
        yield
    seasons = read_seasons(examples / "seasons" / "ferrymoth.bundle.jsonl", today, zone)
    keeper.append([], seasons.snapshots)
    yield
    desk.world = replace(outside, clock=clock)
    since = ""
    for file, evening in load_evenings(examples / "evenings"):
        until = _day_before(evening, today, zone)
        keeper.append(seasons.between(since, until))
        yield
        yield from playing(desk, clock, evening, file, today, zone)
        since = until
    desk.world = outside
    _still_to_come(desk, here, zone)


def _still_to_come(desk: Desk, here: datetime, zone: tzinfo) -> None:
    """Whoever looks at the example late in the evening finds a changeover that lies ahead too, not one that is over."""
    show = desk.tonight()
    slot = slot_time(show, zone) if show else None
    if show is None or slot is None or here <= slot - timedelta(minutes=show.changeover or 0):
        return
    later = here + LATE_SLOT
    later += timedelta(minutes=-later.minute % 10)
    if here.hour < AFTER_MIDNIGHT <= later.hour:  # from then on an hour is one of the day before
        later = later.replace(hour=AFTER_MIDNIGHT - 1, minute=59)
    desk.plan_show(show.venue, show.date, f"{later:%H:%M}", show.changeover, show.facts)


def load_evenings(folder: Path) -> list[tuple[str, Evening]]:
    """Every scripted evening of a folder with its file's name, oldest first; FileTrouble for one with a problem."""
    from showday.demo.script import read_evening

    found = []
    for path in yaml_files(folder):
        evening, problems = read_evening(read_bytes(path), str(path))
        if evening is None:
            raise FileTrouble(str(min(problems.errors, key=lambda p: p.place)))
        found.append((str(path), evening))
    return sorted(found, key=lambda pair: -pair[1].days_before)


def _day_before(evening: Evening, today: date, zone: tzinfo) -> str:
    """UTC of the beginning of the day before an evening, on which its first run may lie."""
    day = today - timedelta(days=evening.days_before + 1)
    return stamp(datetime.combine(day, time(), zone))


def _rig(path: Path) -> tuple[Rig, Source | None]:
    rig, problems, source = load_rig(path)
    if rig is None or source is None:
        raise FileTrouble(str(problems[0]))
    return rig, replace(source, own=False)


def _this_computer(keeper: Keeper) -> World:
    from showday.clockwork import SystemClock, new_id

    return World(keeper, SystemClock(), new_id)


__all__ = ["begin_demo_desk", "load_evenings", "make_demo_desk"]

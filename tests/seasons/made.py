"""The two seasons as a bundle: every night walked in turn, then written in the form that `showday log export` writes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import count

from showday.demo.play import PlayedClock
from showday.desk import Desk
from showday.library import load_library, load_rig
from showday.log.bundle import Head, bundle_lines
from showday.log.keeper import Keeper
from showday.log.selection import everything
from showday.log.store import Log
from showday.run import touring as tour
from showday.run.session import World, stamp
from tests.seasons.evening import EveningWalked
from tests.seasons.pace import Pace
from tests.seasons.places import NIGHTS, Night
from tests.support.world import ROOT

TONIGHT = datetime(2026, 7, 18, tzinfo=UTC)
"""The day that the file's days are counted back from; the demo moves it to today."""
FIRST_DATES = 757
"""Days before tonight on which the venues were entered."""
SHIPPED = ROOT / "examples" / "seasons" / "ferrymoth.bundle.jsonl"


def make_seasons(nights: tuple[Night, ...] = NIGHTS) -> Iterator[bytes]:
    """The lines of the bundle. Times of day are those of a clock in UTC."""
    log = Log.in_memory()
    rig, _, source = load_rig(ROOT / "examples" / "rig.yaml")
    assert rig is not None
    clock = PlayedClock(TONIGHT - timedelta(days=FIRST_DATES) + timedelta(hours=12))
    numbers = count(1)
    keeper = Keeper(lambda: log)
    world = World(keeper, clock, lambda: f"s{next(numbers):04x}")
    desk = Desk(load_library(own=ROOT / "examples" / "playbooks"), rig, source, keeper, world)
    venues: dict[str, str] = {}
    for place in dict.fromkeys(night.place for night in nights):
        venues[place.name] = desk.add_venue(place.name, place.town)
        clock.wait(30)
    for night in nights:
        _play(desk, clock, night, venues[night.place.name])
    assert not keeper.warning, keeper.warning
    picked = everything(log)
    yield from bundle_lines(Head("ferrymoth", stamp(TONIGHT)), picked.snapshots(), picked.entries())


def _play(desk: Desk, clock: PlayedClock, night: Night, venue: str) -> None:
    """One night: entered, walked, noted, and what it left to fix mended."""
    day, place = TONIGHT - timedelta(days=night.before), night.place
    first = all(show.venue != venue for show in desk.book().shows.values())
    clock.at = day - timedelta(days=1) + timedelta(hours=9)
    desk.plan_show(venue, day.date().isoformat(), place.slot, place.changeover, place.facts)
    clock.wait(10)
    if night.away:
        desk.set_away(night.away)
    evening = EveningWalked(desk, Pace.of_evening(clock, f"{place.name} {night.before}", place.pace), night, day)
    for playbook in night.runs:
        evening.walk(playbook)
    for topic, text in place.notes if first else ():
        clock.wait(15)
        desk.record(venue, tour.VenueNoted(topic, text))
    evening.day_after()
    evening.workshop()

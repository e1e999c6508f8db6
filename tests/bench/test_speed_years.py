"""Twenty years of a hard-touring act beside an almost empty log, and beside one plain aggregate over its entries."""

from __future__ import annotations

import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from showday.clockwork import SystemClock, new_id
from showday.counsel import walks_of
from showday.desk import Desk
from showday.evening import evening
from showday.library import load_library, load_rig
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.memory import venue_brief
from showday.note_search import NoteSearch
from showday.opening import one_venue
from showday.review.telling import brief_text
from showday.run.session import World
from showday.timekeeping import Timekeeper
from tests.bench.conftest import Compare, Pair
from tests.bench.many_years import multiply

RUNS = 10_000
ROUNDS = 7
VENUE = "Lower Granary"


def timed(act: Callable[[], object]) -> float:
    """Seconds an act takes."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def desk_on(home: Path, log: Path) -> Desk:
    """The example act's desk over a log."""
    rig, _, source = load_rig(home / "config" / "rig.yaml")
    assert rig is not None
    keeper = Keeper(lambda: Log.open(log))
    return Desk(
        load_library(home / "config" / "playbooks"), rig, source, keeper, World(keeper, SystemClock(), new_id)
    )


@dataclass
class Years:
    """Two logs of one act: a few evenings, and the same among twenty years."""

    few: Path
    many: Path
    few_desk: Desk
    many_desk: Desk


@pytest.fixture(scope="module")
def years(home: Path, tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Iterator[Years]:
    folder = tmp_path_factory.mktemp("years")
    few, many = folder / "few.sqlite", folder / "many.sqlite"
    for log in (few, many):
        shutil.copy(home / "data" / "showday-log.sqlite", log)
        Log.open(log).close()
    measured = request.config.getoption("--benchmark-enable", default=False)
    multiply(many, RUNS if measured else 200)
    made = Years(few, many, desk_on(home, few), desk_on(home, many))
    yield made
    made.few_desk.keeper.close()
    made.many_desk.keeper.close()


def brief(desk: Desk) -> str:
    book = desk.book()
    return brief_text(venue_brief(desk.keeper, book, one_venue(book, VENUE), desk.plan_of))


def search(desk: Desk) -> NoteSearch:
    """What the screen has once it is open."""
    while desk.keeper.make_words_ready():
        pass
    return NoteSearch(desk.keeper, desk.book())


def letter_by_letter(notes: NoteSearch) -> None:
    """The keys of a search."""
    for asked in ("h", "hu", "hum", "hum g", "hum granery"):
        notes.find(asked, 60)


def start(log: Path) -> None:
    """What the first screen needs of the log."""
    keeper = Keeper(lambda: Log.open(log))
    keeper.touring()
    keeper.runs(unfinished=True)
    keeper.close()


def aggregate(log: Path) -> list[tuple[str, int, str]]:
    """One plain statement over every entry."""
    db = sqlite3.connect(log)
    try:
        return db.execute("SELECT kind, count(*), max(at) FROM entry GROUP BY kind").fetchall()
    finally:
        db.close()


def test_a_brief_among_twenty_years(compare: Compare, years: Years) -> None:
    """Aimed at: under 0.2 s."""
    assert VENUE in brief(years.many_desk)
    compare(
        Pair(
            "brief among 10,000 runs, beside 41",
            1.5,
            lambda: timed(lambda: brief(years.many_desk)),
            lambda: timed(lambda: brief(years.few_desk)),
        ),
        ROUNDS,
    )


def test_a_brief_beside_one_aggregate(compare: Compare, years: Years) -> None:
    assert sum(count for _, count, _ in aggregate(years.many)) > sum(count for _, count, _ in aggregate(years.few))
    compare(
        Pair(
            "brief among 10,000 runs, beside one aggregate",
            1.0,
            lambda: timed(lambda: brief(years.many_desk)),
            lambda: timed(lambda: aggregate(years.many)),
        ),
        ROUNDS,
    )


def test_opening_twenty_years(compare: Compare, years: Years) -> None:
    compare(
        Pair(
            "opening 10,000 runs, beside 41",
            2.0,
            lambda: timed(lambda: start(years.many)),
            lambda: timed(lambda: start(years.few)),
        ),
        ROUNDS,
    )


def test_what_is_before_the_person_tonight(compare: Compare, years: Years) -> None:
    for desk in (years.few_desk, years.many_desk):
        assert evening(desk)
    compare(
        Pair(
            "tonight among 10,000 runs, beside 41",
            2.0,
            lambda: timed(lambda: evening(years.many_desk)),
            lambda: timed(lambda: evening(years.few_desk)),
        ),
        ROUNDS,
    )


def test_opening_the_notes_of_twenty_years(compare: Compare, years: Years) -> None:
    """Beside the same of a few evenings; once a log has been gone through, which import and every sitting's end do."""
    assert [note.text for note in search(years.few_desk).find("hum")]
    assert [note.text for note in search(years.many_desk).find("hum")]
    compare(
        Pair(
            "notes of 10,000 runs opened, beside 41",
            10.0,
            lambda: timed(lambda: search(years.many_desk).find("", 60)),
            lambda: timed(lambda: search(years.few_desk).find("", 60)),
        ),
        ROUNDS,
    )


def test_searching_the_notes_of_twenty_years(compare: Compare, years: Years) -> None:
    """Five keys; aimed at: under 50 ms a key."""
    many = search(years.many_desk)
    assert many.find("hum granery") and not many.find("hum zzzzz")
    compare(
        Pair(
            "five keys in these notes, beside one aggregate",
            0.05,
            lambda: timed(lambda: letter_by_letter(many)),
            lambda: timed(lambda: aggregate(years.many)),
        ),
        ROUNDS,
    )


def test_what_is_read_when_something_is_wrong(compare: Compare, years: Years) -> None:
    """The log's walks of one fault tree, before its first step shows; aimed at: not felt."""
    assert len(walks_of(years.many_desk, "hum")) > len(walks_of(years.few_desk, "hum")) > 0
    compare(
        Pair(
            "past walks of a tree, beside one aggregate",
            0.05,
            lambda: timed(lambda: walks_of(years.many_desk, "hum")),
            lambda: timed(lambda: aggregate(years.many)),
        ),
        ROUNDS,
    )


def test_the_past_of_a_forecast(compare: Compare, years: Years) -> None:
    def learn(desk: Desk) -> None:
        session = desk.start_run("line-check")
        keeper = Timekeeper(desk, session)
        keeper.learn()
        session.finish("stopped")

    compare(
        Pair(
            "past of a forecast, 10,000 runs beside 41",
            12.0,
            lambda: timed(lambda: learn(years.many_desk)),
            lambda: timed(lambda: learn(years.few_desk)),
        ),
        3,
    )

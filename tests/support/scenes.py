"""The example act's evening, frozen at the moments that its screens are looked at: for pictures and for goldens.

Clock and ids stand still, the log is a file of its own, and times of day are read in UTC.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from textual.pilot import Pilot

from showday.demo import make_demo_desk
from showday.desk import Desk
from showday.fault.walk import NO_CHANGE
from showday.library import Library
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.playbook.reader import read_playbook
from showday.run import events as ev
from showday.run.progress import current
from showday.run.session import Session, World
from showday.run.state import RunState
from showday.tui.app import ShowdayApp
from tests.support.world import Clock, Sink

BEFORE_THE_SLOT = datetime(2031, 7, 5, 20, 25, tzinfo=UTC)
"""A quarter of an hour before the example act plays, inside its changeover."""


@contextmanager
def utc() -> Iterator[None]:
    """Times of day in UTC, whatever this computer's zone is."""
    held = os.environ.get("TZ")
    os.environ["TZ"] = "UTC"
    time.tzset()
    try:
        yield
    finally:
        os.environ.pop("TZ")
        if held is not None:
            os.environ["TZ"] = held
        time.tzset()


def _ids(first: str) -> Callable[[], str]:
    numbers = count(1)
    return lambda: f"{first}0000000-0000-4000-8000-{next(numbers):012d}"


class Act:
    """The example act; its past is played once and copied for each scene."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        # Before its changeover: an example that is opened later has a later slot.
        before = Clock(BEFORE_THE_SLOT - timedelta(hours=1))
        self._desk = make_demo_desk(World(Sink(), before, _ids("0")))
        self._copies = count(1)
        played = self._desk.keeper._log
        assert isinstance(played, Log)
        played.backup(folder / "past.sqlite")

    def evening(self) -> Evening:
        """A desk of its own on the evening of the show."""
        path = self._folder / f"evening-{next(self._copies)}.sqlite"
        shutil.copy(self._folder / "past.sqlite", path)
        keeper, clock = Keeper(lambda: Log.open(path)), Clock(BEFORE_THE_SLOT)
        world = World(keeper, clock, _ids("1"))
        return Evening(replace(self._desk, keeper=keeper, world=world), clock)


@dataclass
class Evening:
    """One desk, its clock, and the run that is walked."""

    desk: Desk
    clock: Clock

    def start(self, playbook: str) -> Session:
        """Begin a run."""
        session = self.desk.start_run(playbook)
        session.show_current()
        return session

    def walk_to(self, session: Session, here: Callable[[RunState], bool], result: str = ev.GOOD) -> Session:
        """Answer step after step in the usual time, until the run stands at the place wanted."""
        while not here(session.state):
            step = current(session.state)
            if step is None:
                break
            self.clock.advance(2.0)
            session.answer(result, confirmed=step.must and result == ev.GOOD)
            session.show_current()
        return session


def at(key: str) -> Callable[[RunState], bool]:
    """Whether the run stands at a step."""

    def here(state: RunState) -> bool:
        step = current(state)
        return step is not None and step.key == key

    return here


@dataclass(frozen=True)
class Scene:
    """One moment: how the evening came there, which keys are pressed then, and what must stand on the screen."""

    name: str
    shows: str
    keys: tuple[str, ...] = ()
    come: Callable[[Evening], Session | None] = lambda evening: None
    author: bool = False
    """Whether fault walks follow the author's order."""


def _begun(evening: Evening) -> Session:
    return evening.start("line-check")


def _at_must(evening: Evening) -> Session:
    return evening.walk_to(_begun(evening), at("packs-minimum"))


def _at_reading(evening: Evening) -> Session:
    session = evening.walk_to(_begun(evening), at("signal@4"))
    session.read(-6.0)
    return session


def _came_back(evening: Evening) -> Session:
    session = evening.walk_to(_begun(evening), at("scene"))
    session.record(ev.NoteAdded("the house engineer is at lunch", "scene"))
    session.answer(ev.LATER)
    session.show_current()
    return evening.walk_to(session, at("scene"))


def _at_pause(evening: Evening) -> Session:
    session = evening.walk_to(evening.start("during-the-set"), at("go-rescan"))
    session.answer(ev.LATER)
    session.show_current()
    return evening.walk_to(session, at("go-rescan"))


def _at_end(evening: Evening) -> Session:
    session = evening.walk_to(_begun(evening), at("phantom-on@5"))
    session.answer(ev.LEFT_OUT, reason="their desk has no phantom to spare")
    session.show_current()
    session = evening.walk_to(session, at("rest@8"))
    session.answer(ev.FAULT)
    session.show_current()
    return evening.walk_to(session, lambda state: current(state) is None)


def _interrupted(evening: Evening) -> Session:
    session = evening.walk_to(_begun(evening), at("signal@12"))
    session.interrupt("Sofie asked for her pack")
    evening.clock.advance(260.0)
    return evening.desk.resume_run(session.state.run)


def _lost_ears(evening: Evening) -> Session:
    session = evening.walk_to(evening.start("during-the-set"), at("first-faces"))
    session.answer(ev.FAULT)
    evening.desk.open_walk(session, "rf-dropouts", session.state.planned("first-faces"))
    return session


def _silent_line(evening: Evening) -> Session:
    session = evening.walk_to(_begun(evening), at("signal@7"))
    session.answer(ev.FAULT)
    evening.desk.open_walk(session, "no-signal", session.state.planned("signal@7"))
    session.answer_walk(evening.desk.ask(session.state, evening.desk.tree_of(session.state)), NO_CHANGE)
    return session


def _everyone_notices(evening: Evening) -> Session:
    """All of them lose it: the walk has come to what cannot be done without anybody noticing."""
    session = _lost_ears(evening)
    tree = evening.desk.tree_of(session.state)
    while not (ask := evening.desk.ask(session.state, tree)).irreversible and ask.kind != "help":
        evening.clock.advance(4.0)
        session.answer_walk(ask, ask.answers[-1] if ask.kind == "check" else NO_CHANGE)
    return session


SOUNDCHECK = """
playbook: soundcheck
title: Sound check
sections:
  - titel: First
    steps:
      - {id: a, do: Play}
"""


def _broken_file(evening: Evening) -> None:
    problems = read_playbook(SOUNDCHECK, "playbooks/soundcheck.yaml")[1].in_order()
    held = evening.desk.library
    evening.desk.library = Library(held.playbooks, held.trees, held.sources, problems)


def _left_half_way(evening: Evening) -> None:
    _at_reading(evening)
    evening.clock.advance(30.0)


SCENES = (
    Scene("tonight", "Brickworks Yard"),
    Scene("tonight-under-way", "Go on with", come=_left_half_way),
    Scene("run-caution", "Before you begin", come=_begun),
    Scene("run-step", "Start the clock", ("enter",), _begun),
    Scene("run-must", "! MUST", (), _at_must),
    Scene("run-reading", "OUTSIDE", (), _at_reading),
    Scene("run-came-back", "CAME BACK", (), _came_back),
    Scene("run-pause", "PAUSE POINT", (), _at_pause),
    Scene("run-end", "Say it aloud", (), _at_end),
    Scene("run-after-interruption", "AWAY", (), _interrupted),
    Scene("walk-check", "LOOK", ("enter",), _lost_ears),
    Scene("walk-everyone-notices", "EVERYONE NOTICES", (), _everyone_notices, author=True),
    Scene("walk-restored", "SOUND IS BACK", ("1", "1"), _silent_line, author=True),
    Scene("search", "Hum or buzz", ("w", "h", "u", "m")),
    Scene("brief", "Brickworks Yard", ("v",)),
    Scene("past", "Lower Granary", ("b",)),
    Scene("problems", "soundcheck.yaml", ("p",), _broken_file),
    Scene("help", "sun/stage", ("question_mark",)),
)


@asynccontextmanager
async def stage(act: Act, scene: Scene, size: tuple[int, int], theme: str = "stage") -> AsyncIterator[Pilot[int]]:
    """The app at that moment, in a terminal of (columns, rows)."""
    evening = act.evening()
    session = scene.come(evening)
    evening.desk.by_author = scene.author
    app = ShowdayApp(evening.desk, session=session, theme_name=theme)
    async with app.run_test(size=size, notifications=True) as pilot:
        await pilot.press(*scene.keys)
        await forecast(app, pilot)
        await until(pilot, scene.shows)
        yield pilot
    evening.desk.keeper.close()


async def forecast(app: ShowdayApp, pilot: Pilot[int]) -> None:
    """Wait for the forecast of the open run: what it rests on is read between the keys, and it is computed beside."""
    session = app.session
    if session is not None and session.state.plan.steps:
        while not app.timekeeper(session).ready:
            await pilot.pause(0.01)
    await app.workers.wait_for_complete()


async def until(pilot: Pilot[int], words: str) -> None:
    """Wait until the words stand on the screen and it has come to rest."""
    before: list[str] = []
    for _ in range(200):
        await pilot.pause()
        lines = lines_of(pilot)
        if lines == before and words in "\n".join(lines):
            return
        before = lines
    raise AssertionError(f"'{words}' never stood on the screen:\n" + "\n".join(before))


def lines_of(pilot: Pilot[int]) -> list[str]:
    """The screen as lines of text, without blanks at their ends."""
    strips = pilot.app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip).rstrip() for strip in strips]

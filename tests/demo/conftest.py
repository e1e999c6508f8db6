"""The example act's desk on a day of our own choosing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from itertools import count

import pytest

from showday.demo import make_demo_desk
from showday.desk import Desk
from showday.run.events import Entry
from showday.run.session import World

NOON = datetime(2031, 7, 5, 12, 0, tzinfo=UTC)


class StillClock:
    """A clock that stands at noon of a summer's day."""

    def now(self) -> datetime:
        return NOON

    def ticks(self) -> float:
        return 0.0


class NoSink:
    """The world's own sink, which the demo must never write to."""

    def append(self, entries: Sequence[Entry]) -> None:
        raise AssertionError("the demo wrote into the log of the world")


def counted_ids() -> Callable[[], str]:
    """Ids that count."""
    counter = count(1)
    return lambda: f"00000000-0000-4000-8000-{next(counter):012d}"


def still_world() -> World:
    """A world that always says the same."""
    return World(NoSink(), StillClock(), counted_ids())


@pytest.fixture(scope="session")
def make_world() -> Callable[[], World]:
    """Makes a world that has never been used."""
    return still_world


@pytest.fixture(scope="session")
def demo() -> Desk:
    """The demo, made once; tests read it and write nothing."""
    return make_demo_desk(still_world())

"""The small evening as fixtures."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import count
from typing import Any

import pytest

from showday.desk import Desk
from showday.library import Source
from showday.rig.model import Rig
from showday.run.session import Session, World
from showday.tui.app import ShowdayApp
from tests.tui.evening import RIG, FakeClock, FakeKeeper, library_of, rig_of


@pytest.fixture
def clock() -> FakeClock:
    return FakeClock()


@pytest.fixture
def keeper() -> FakeKeeper:
    return FakeKeeper()


@pytest.fixture
def rig() -> Rig:
    return rig_of(RIG)


@pytest.fixture
def make_desk(clock: FakeClock, keeper: FakeKeeper) -> Callable[..., Desk]:
    """A desk over given texts."""
    ids = (f"00000000-0000-4000-8000-{n:012d}" for n in count())

    def make(rig: str = RIG, **texts: Iterable[str]) -> Desk:
        fake: Any = keeper
        world = World(sink=keeper, clock=clock, new_id=lambda: next(ids))
        return Desk(
            library_of(**texts), rig_of(rig), Source("rig", "small", "rig.yaml", rig), fake, world, by_author=True
        )

    return make


@pytest.fixture
def desk(make_desk: Callable[..., Desk]) -> Desk:
    """The small evening: `line-check`, `no-signal`, `hum`, two inputs, nobody away, no show yet."""
    return make_desk()


@pytest.fixture
def session(desk: Desk) -> Session:
    return desk.start_run("line-check")


@pytest.fixture
def app(desk: Desk, session: Session) -> ShowdayApp:
    return ShowdayApp(desk, session=session)

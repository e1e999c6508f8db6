"""A small rig with transmitters, sweep files for it, and the frequencies screen over them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from textual.pilot import Pilot

from showday.desk import Desk
from showday.tui.app import ShowdayApp
from showday.tui.screens.radio import RadioScreen
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList
from tests.tui.evening import FakeClock, press, rig_of, until
from tests.tui.nights import a_desk, a_show

SIZE = (80, 24)

RIG = """
rig: small
region: europe
people: [{name: Ada}, {name: Ben}]
mixes:
  - {name: Front, transmitter: In-ear 1, people: [Ada]}
  - {name: Bass, transmitter: In-ear 2, people: [Ben]}
transmitters:
  - {name: In-ear 1, low: 606, high: 614, step: 25, width: 200, frequency: 607}
  - {name: In-ear 2, low: 606, high: 614, step: 25, width: 200, frequency: 610}
"""

HARD = "\n".join(
    ["rig: hard", "transmitters:"]
    + [f"  - {{name: T{n}, low: 606, high: 614, step: 25, frequency: {606 + n / 2}}}" for n in range(12)]
)
"""Twelve in 8 MHz: a proof that no test waits for."""

TUNED = [607.0, 610.0]


def radio_desk(clock: FakeClock, rig: str = RIG, *, show: bool = True) -> Desk:
    """A desk with that rig, and a show tonight."""
    desk = a_desk(clock)
    desk.rig = rig_of(rig)
    if show:
        a_show(desk)
    return desk


def sweep_file(
    path: Path,
    carriers: Sequence[float] = (),
    *,
    shift: float = 0.0,
    unit: str = "",
    first: int = 600_000_000,
    span: int = 20_000_000,
) -> Path:
    """A sweep of 20 MHz, or another `span`, from `first` on in steps of 25 kHz: noise at -100, carriers 200 kHz wide at
    -60, all raised by `shift`."""
    rng = np.random.default_rng(7)
    hz = np.arange(first, first + span + 1, 25_000)
    level = -100 + rng.normal(0, 1.0, len(hz))
    for mhz in carriers:
        level[np.abs(hz - mhz * 1e6) <= 75_000] = -60
    lines = [f"{at / 1e6:.4f},{value + shift:.1f}" for at, value in zip(hz, level, strict=True)]
    path.write_text("\n".join([*([unit] if unit else []), *lines]) + "\n", "utf-8")
    return path


async def open_radio(pilot: Pilot[Any]) -> RadioScreen:
    """F6, and the screen when it is there."""
    app: Any = pilot.app
    await press(pilot, "f6")
    await until(pilot, lambda: isinstance(app.screen, RadioScreen) and app.screen.query_one(PickList).rows)
    screen = app.screen
    assert isinstance(screen, RadioScreen)
    return screen


async def planned(pilot: Pilot[Any], screen: RadioScreen) -> None:
    """F9, and the plan when it is there."""
    await press(pilot, "f9")
    await until(pilot, lambda: screen.held.proof is not None and not screen.proving)


async def choose_file(pilot: Pilot[Any], name: str) -> None:
    """t, a name, Enter."""
    app: Any = pilot.app
    await press(pilot, "t")
    await until(pilot, lambda: app.screen.query("#field"))
    await pilot.press(*("full_stop" if char == "." else char for char in name), "enter")
    await until(pilot, lambda: not app.screen.query("#field"))


def tuned(screen: RadioScreen) -> list[float | None]:
    """Where every row stands, MHz."""
    return [None if row.hz is None else row.hz / 1e6 for row in screen.held.table.rows]


def place(app: ShowdayApp, id: str) -> str:
    """What stands at one place of the screen."""
    return "\n".join(line.text for line in app.screen.query_one(f"#{id}", Lines).lines)

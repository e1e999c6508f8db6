"""Evenings with a real log in memory, for the screens that read it back."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count
from typing import Any

from textual.pilot import Pilot

from showday.desk import Desk
from showday.library import Source
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.opening import show_day
from showday.run import events as ev
from showday.run.progress import current
from showday.run.session import Session, World
from showday.tui.app import ShowdayApp
from showday.tui.lines import Line
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList
from tests.tui.evening import HUM, LINE_CHECK, NO_SIGNAL, RIG, FakeClock, library_of, rig_of, screen_text

SIZES = [(80, 24), (60, 20), (140, 45)]

MARKUP = "[/] [SHIFT] [red] [@click=app.quit]x[/] :warning:"
HOSTILE = f"{MARKUP} \x1b[31m\u202e" + "n" * 10_000
"""What a file, a log or another person may put into any text."""

LOAD_IN = """
playbook: load-in
title: Load-in
phase: on arrival
order: 10
sections:
  - title: Power
    steps:
      - {id: meter, do: Meter the socket, until: all three readings fit, must: yes}
      - {id: plug, do: Plug in the rack}
"""


def a_desk(
    clock: FakeClock,
    playbooks: Iterable[str] = (LOAD_IN, LINE_CHECK),
    trees: Iterable[str] = (NO_SIGNAL, HUM),
    keeper: Keeper | None = None,
) -> Desk:
    """The small evening over a real log in memory: `load-in`, `line-check`, two trees, two people, no show yet."""
    ids = (f"00000000-0000-4000-8000-{n:012d}" for n in count())
    log = keeper or Keeper(Log.in_memory)
    world = World(sink=log, clock=clock, new_id=lambda: next(ids))
    return Desk(
        library_of(playbooks, trees), rig_of(RIG), Source("rig", "small", "rig.yaml", RIG), log, world, by_author=True
    )


def today(desk: Desk) -> str:
    """The day that tonight belongs to."""
    return show_day(desk.world.clock.now()).isoformat()


def a_show(desk: Desk, name: str = "Old Mill", town: str = "Aldford", day: str = "") -> str:
    """A venue with a show, which becomes tonight's; the venue's id."""
    venue = desk.add_venue(name, town)
    desk.plan_show(venue, day or today(desk), "21:30", 20)
    return venue


def answer_all(session: Session, clock: FakeClock, result: str = ev.GOOD) -> None:
    """Every step answered, half a minute each, and the run ended."""
    while (step := current(session.state)) is not None:
        session.show_current()
        clock.advance(30)
        session.answer(result, confirmed=step.must and result == ev.GOOD, reason="so it is")
    session.finish(ev.COMPLETE)


def touring_kinds(desk: Desk) -> list[str]:
    """Names of the events of venues, shows and to-fix items, in order."""
    return [type(entry.event).__name__ for entry in desk.keeper.touring()]


def head(app: ShowdayApp) -> str:
    """The standing lines, before any wrapping."""
    return "\n".join(line.text for place in app.screen.query("#standing").results(Lines) for line in place.lines)


def listed(app: ShowdayApp) -> list[str]:
    """The rows of the screen's list, each with what leads it."""
    return [f"{row.lead} {row.text}".strip() for pick in app.screen.query(PickList) for row in pick.rows]


def row_of(app: ShowdayApp, words: str) -> int:
    """The index of the first row with these words."""
    return next(n for n, text in enumerate(listed(app)) if words in text)


async def mark(pilot: Pilot[Any], words: str) -> None:
    """Put the mark on the first row with these words."""
    app: Any = pilot.app
    app.screen.query_one(PickList).highlighted = row_of(app, words)
    await pilot.pause()


def marked(app: ShowdayApp) -> str:
    """The text of the marked row."""
    row = app.screen.query_one(PickList).marked
    return row.text if row else ""


def trouble(app: ShowdayApp) -> list[Line]:
    """What a modal says is wrong."""
    return list(app.screen.query_one("#trouble", Lines).lines)


def harmless(app: ShowdayApp) -> None:
    """What stands on the screen is text: no escape sequence, no markup taken away."""
    shown = screen_text(app)
    assert "\x1b" not in shown and "\u202e" not in shown
    assert "[/] [SHIFT] [red]" in shown, shown

"""Tonight's line check of the example act, worked through the engine: what the program says at each moment."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import count

from showday.counsel import Counsel
from showday.demo import make_demo_desk
from showday.desk import Desk
from showday.memory import venue_brief
from showday.pace_words import about_words, dropped_lines, outlook_words, verdict_words
from showday.review.telling import brief_text
from showday.run import events as ev
from showday.run.plan import PlannedStep
from showday.run.progress import current, progress
from showday.run.session import Session, World
from showday.run.to_fix import item_words
from showday.timekeeping import Timekeeper
from showday.tui.walk_view import odds_lines, odds_rows
from tests.support.world import Clock, Sink

CHANGEOVER = datetime(2031, 7, 5, 20, 22, tzinfo=UTC)
"""When the stage is theirs: 18 minutes before the slot."""
READ = {"peak": -18.0, "battery": 5.0, "sample rate": 48.0}
HUMS = "laptop-loop"
ANSWERS = {
    "tingle": "nobody",
    "noise-kind": "hum or buzz",
    "where-hum": "on one strip",
    "transformer-di": "restored",
}
"""What Mira finds; every other fix that is offered changes nothing."""


MOST_ASKS = 12
"""More than that Mira does not try before the first song."""


@dataclass
class Told:
    """Lines in the order they were said, and how the night went."""

    lines: list[str] = field(default_factory=list)
    kept: tuple[str, ...] = ()
    """Steps that the proposal keeps."""
    asked: list[str] = field(default_factory=list)
    """Steps of the fault tree, in turn."""


def tell() -> Told:
    """The night. The clock is in UTC, so the program's idea of local time must be too."""
    numbers, clock, told = count(1), Clock(CHANGEOVER), Told()
    desk = make_demo_desk(World(Sink(), clock, lambda: f"00000000-0000-4000-8000-{next(numbers):012d}"))
    show, book = desk.tonight(), desk.book()
    venue = book.venue(show.venue) if show else None
    assert venue is not None
    told.lines += brief_text(venue_brief(desk.keeper, book, venue, desk.plan_of)).splitlines()
    told.lines += [item_words(item) for item in book.open_items()]
    session = desk.start_run("line-check")
    keeper = Timekeeper(desk, session)
    keeper.learn()
    keeper.draw()
    _forecast(keeper, told)
    proposal = keeper.proposal()
    assert proposal is not None
    told.lines += [verdict_words(proposal), *dropped_lines(proposal)]
    told.kept = proposal.kept
    keeper.take(proposal)
    _forecast(keeper, told)
    while (step := current(session.state)) is not None:
        if step.id == HUMS:
            _forecast(keeper, told)
            _hum(desk, session, step, clock, told)
            _forecast(keeper, told)
        _good(session, current(session.state) or step, clock)
    session.finish()
    told.lines += [progress(session.state).counts(), f"{clock.when:%H:%M}"]
    told.lines += [item_words(item) for item in desk.book().open_items()]
    return told


def _forecast(keeper: Timekeeper, told: Told) -> None:
    outlook = keeper.outlook()
    assert outlook is not None
    told.lines += [outlook_words(outlook), about_words(outlook)]


def _good(session: Session, step: PlannedStep, clock: Clock) -> None:
    session.show_current()
    clock.advance(step.takes or 15)
    if step.reading is not None:
        session.read(READ[step.reading.name])
    session.answer(ev.GOOD, confirmed=step.must)


def _hum(desk: Desk, session: Session, step: PlannedStep, clock: Clock, told: Told) -> None:
    session.show_current()
    clock.advance(step.takes or 15)
    session.answer(ev.FAULT, reason="playback hums")
    state = desk.open_walk(session, "hum", step)
    counsel = Counsel(desk, state, desk.tree_of(state))
    for _ in range(MOST_ASKS):
        if state.walk is None or state.walk.restored:
            break
        ask, advice = counsel.next(state)
        assert advice is not None
        told.asked.append(ask.id)
        told.lines += [ask.do, advice.reason, *(line.text for line in odds_lines(advice))]
        told.lines += [f"{row.lead} {row.text}" for row in odds_rows(advice)]
        clock.advance(ask.takes or 15)
        state = session.answer_walk(ask, ANSWERS.get(ask.id, "no change"))
    session.end_walk("laptop-supply", odds=counsel.odds(session.state, "laptop-supply"))
    session.go_to(step.key)

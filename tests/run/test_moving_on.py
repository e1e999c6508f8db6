"""A walk that goes on in another tree leaves nothing to fix; what the second one leaves is its own."""

from __future__ import annotations

from dataclasses import dataclass

from showday.run import events as ev
from showday.run.followups import followups
from showday.run.plan import NO_PLAN
from showday.run.state import RunState, apply, begin, replay
from showday.run.to_fix import ToFixOpened


def entry(number: int, event: ev.Event) -> ev.Entry:
    return ev.Entry(f"e{number}", "run", number, "2026-06-01T18:00:00.000Z", float(number), event)


def walked(*events: ev.Event) -> RunState:
    opened = ev.WalkOpened("w", "hum", "Hum", "hash", (("look", ("yes", "no")),))
    state = begin("run", NO_PLAN)
    for number, event in enumerate((ev.RunStarted("", "", "plan"), opened, *events)):
        state = apply(state, entry(number, event))
    return state


def test_moving_on_opens_no_item_and_leaving_does() -> None:
    before = walked(ev.WalkAnswered("w", "look", "no"))
    items = {}
    for outcome in (ev.MOVED_ON, ev.LEFT):
        event = ev.WalkEnded("w", outcome)
        after = apply(before, entry(9, event))
        made = [item for _, item in followups(before, after, event)]
        items[outcome] = [item.text for item in made if isinstance(item, ToFixOpened)]
    assert items == {ev.MOVED_ON: [], ev.LEFT: ["Hum: not solved"]}


@dataclass(frozen=True, slots=True)
class FromTomorrow(ev.Event):
    """An event that this program does not know yet."""

    what: str = ""


def test_an_event_of_a_newer_program_does_not_hide_the_rest_of_a_run() -> None:
    events = (ev.RunStarted("", "", "plan"), FromTomorrow("x"), ev.NoteAdded("still here"))
    state = replay("run", NO_PLAN, [entry(number, event) for number, event in enumerate(events)])
    assert state.notes == ("still here",)

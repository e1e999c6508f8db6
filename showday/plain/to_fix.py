"""The to-fix list as lines: what is open, and what was cured."""

from __future__ import annotations

from showday.desk import Desk
from showday.errors import NotAllowed
from showday.opening import show_day
from showday.plain.talk import Talk
from showday.playbook.model import TO_FIX
from showday.run.plan import PlannedStep
from showday.run.to_fix import ToFixClosed, item_words
from showday.text.safe import one_line

MOST_TOLD = 3
"""Items that are told when a run is opened; the word for the list tells all (a choice of this program)."""


def say_items(talk: Talk, desk: Desk, most: int | None = None) -> None:
    """Every open item with its number, or the first few and how many more there are."""
    items = desk.book().open_items()
    today = show_day(desk.world.clock.now()).isoformat()
    for number, item in enumerate(items[:most], 1):
        talk.part(f"To fix {number}", item_words(item, today))
    if most is not None and len(items) > most:
        talk.say(f"And {len(items) - most} more to fix; the words to fix say them all.")
    if most is None and not items:
        talk.say("Nothing is to be fixed.")


def say_of_step(talk: Talk, desk: Desk, step: PlannedStep) -> None:
    """At a step about the to-fix list: the item with its number, or all of them, and how to close one."""
    item = desk.item_of(step)
    if item is not None and not item.closed:
        talk.part("To fix", f"{desk.book().open_items().index(item) + 1}; cured and this number closes it")
    elif item is not None:
        talk.part("To fix", "it is closed")
    elif step.opens == TO_FIX:
        say_items(talk, desk)


def close_item(talk: Talk, desk: Desk, typed: str) -> None:
    """Close an item: its number, then how it was cured."""
    number, _, how = typed.partition(" ")
    items = desk.book().open_items()
    item = {str(n): item for n, item in enumerate(items, 1)}.get(number)
    if item is None:
        said = f"There is no open item '{one_line(number, 60)}'."
        raise NotAllowed(said, "The words to fix say them with their numbers.")
    desk.record(item.id, ToFixClosed(how.strip()))
    talk.part("Closed", item.text)
    if item is not items[-1]:
        talk.say(f"Items behind number {number} have moved up by one.")

"""What is known of one step and of one fault walk."""

from __future__ import annotations

from dataclasses import dataclass

from showday.run import events as ev


@dataclass(frozen=True, slots=True)
class StepState:
    """What is known of one step."""

    result: str = ""
    """One of the results, or empty while it is open."""
    reason: str = ""
    confirmed: bool = False
    source: str = ""
    reading: float | None = None
    inside: bool | None = None
    notes: tuple[str, ...] = ()
    due: int | None = None
    """For `later`: index of the section behind which it comes back; None when only the end is left."""
    recheck: bool = False
    """True after a fault walk restored sound: the step wants to be looked at again."""


@dataclass(frozen=True, slots=True)
class WalkState:
    """One fault walk."""

    walk: str
    fault: str
    title: str
    tree: str
    outline: tuple[tuple[str, tuple[str, ...]], ...]
    step: str = ""
    about: str = ""
    answers: tuple[tuple[str, str], ...] = ()
    restored: bool = False
    by: str = ""
    """The node that restored sound."""
    workaround: bool = False
    uses: str = ""
    cause: str = ""
    outcome: str = ""
    came_back: bool = False
    thing: tuple[str, str] = ("", "")
    """Kind and id of what it is about."""
    item: str = ""
    """The to-fix item whose cause is sought."""

    @classmethod
    def opened(cls, event: ev.WalkOpened) -> WalkState:
        """A walk that has just begun."""
        return cls(
            event.walk,
            event.fault,
            event.title,
            event.tree,
            event.outline,
            event.step,
            event.about,
            thing=event.thing,
            item=event.item,
        )

"""What a screen says, as plain lines of a kind; how a kind looks is for the style sheet alone."""

from __future__ import annotations

from dataclasses import dataclass

KINDS = (
    "do",
    "until",
    "why",
    "reason",
    "caution",
    "danger",
    "must",
    "about",
    "reading",
    "outside",
    "note",
    "banner",
    "title",
    "count",
    "time",
    "warning",
    "text",
    "big",
    "done",
    "at",
    "open",
    "opens",
    "gap",
)
"""Every kind of line; the widget has one component class for each."""

LONGEST = 400
"""Characters of one line that are shown; more fills a small screen for no use (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line, wrapped where it is too long. `text` may be foreign: it is cleaned where it is shown."""

    kind: str
    text: str = ""


GAP = Line("gap")


def say(kind: str, text: str) -> list[Line]:
    """The line, or none when there is no text."""
    return [Line(kind, text)] if text else []


@dataclass(frozen=True, slots=True)
class Card:
    """What fills the screen: the danger, then what to do and the state wanted, then the reason."""

    before: tuple[Line, ...] = ()
    core: tuple[Line, ...] = ()
    after: tuple[Line, ...] = ()

    @property
    def lines(self) -> tuple[Line, ...]:
        """All lines from top to bottom."""
        return (*self.before, *self.core, *self.after)


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer that can be given: the key to press, its words, and the action the key calls."""

    key: str
    text: str
    action: str
    kind: str = "text"

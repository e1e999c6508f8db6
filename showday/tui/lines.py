"""What a screen says, as plain lines of a kind; how a kind looks is for the style sheet alone."""

from __future__ import annotations

from dataclasses import dataclass

LOOKS = {
    "do": "strong",
    "big": "strong",
    "at": "strong",
    "until": "text",
    "time": "text",
    "reading": "text",
    "text": "text",
    "open": "text",
    "gap": "text",
    "title": "title",
    "why": "dim",
    "reason": "dim",
    "done": "dim",
    "count": "dim",
    "about": "accent",
    "note": "accent",
    "opens": "accent",
    "caution": "warning",
    "outside": "warning",
    "warning": "warning",
    "danger": "danger",
    "must": "danger",
    "banner": "banner",
}
"""Every kind of line, and which look it has: the widget has one component class for each look, as each has its price."""

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

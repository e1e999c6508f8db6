"""Sheets as data: what is said on paper, not how it looks. All texts are foreign: every renderer makes them harmless."""

from __future__ import annotations

from dataclasses import dataclass

PLAIN, CAUTION, SMALL = "plain", "caution", "small"
"""Kinds of `Words`."""


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph."""

    text: str
    kind: str = PLAIN


@dataclass(frozen=True, slots=True)
class Blank:
    """A line to fill in by hand."""

    label: str


@dataclass(frozen=True, slots=True)
class Reading:
    """A number to write down: a blank with its unit, and the wanted range in words (empty: none is given)."""

    name: str
    unit: str
    wanted: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """One thing to do, with a box to tick."""

    do: str
    until: str = ""
    note: str = ""
    """One line of reason."""
    cautions: tuple[str, ...] = ()
    """Said before it."""
    must: bool = False
    takes: str = ""
    reading: Reading | None = None
    absent: str = ""
    """Why there is nothing to tick, such as `not here: Ida`."""
    opens: bool = False
    """True for the first of several about the same thing."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; `share` is its part of the width, in parts of all shares."""

    title: str
    share: int = 1


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells; an empty cell leaves room to write."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    ticked: bool = True
    """Whether each row begins with a box to tick."""


@dataclass(frozen=True, slots=True)
class Label:
    """A piece of a strip: what stands big, the name in one or two lines, and what stands below."""

    big: str
    name: tuple[str, ...]
    below: str = ""


@dataclass(frozen=True, slots=True)
class Strip:
    """Labels side by side, to be cut along the lines."""

    labels: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class Way:
    """An answer to a check, and the number of the box that goes on from there; 0 is the call for help."""

    answer: str
    to: int


@dataclass(frozen=True, slots=True)
class Box:
    """One numbered place in a fault tree: fixes in turn, then a check with its ways, or where it goes on."""

    number: int
    fixes: tuple[Tick, ...] = ()
    check: Tick | None = None
    ways: tuple[Way, ...] = ()
    goes_on: int | None = None
    """The box behind the last fix when no check follows; 0 is the call for help."""


@dataclass(frozen=True, slots=True)
class Branch:
    """One line of a tree as its author wrote it: how deep it stands, and a step (`tick`) or an answer (`text`)."""

    depth: int
    text: str = ""
    tick: Tick | None = None


Block = Words | Blank | Tick | Table | Strip | Box | Branch


@dataclass(frozen=True, slots=True)
class Part:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """Something to print that begins on a page of its own."""

    title: str
    parts: tuple[Part, ...]
    about: str = ""
    wide: bool = False
    """True for landscape."""
    apart: bool = False
    """True when every part begins on a page of its own."""


@dataclass(frozen=True, slots=True)
class Paper:
    """Everything that is printed at one time."""

    sheets: tuple[Sheet, ...]
    act: str = ""
    venue: str = ""
    date: str = ""
    printed: str = ""
    """When it was printed, so that an old paper can be told from a new one."""
    letter: bool = False
    """True for the paper of North America, 8.5 by 11 inches; A4 otherwise (ISO 216)."""

    @property
    def heading(self) -> str:
        """Act, venue and date in one line, as far as they are known."""
        return ", ".join(part for part in (self.act, self.venue, self.date) if part)


LETTER_REGIONS = ("us", "canada")
"""Where paper is 8.5 by 11 inches (ANSI/ASME Y14.1 A; elsewhere ISO 216)."""

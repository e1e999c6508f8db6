"""Sheets as data: what is said on paper, not how it looks. All texts are foreign: every renderer makes them harmless."""

from __future__ import annotations

from dataclasses import dataclass

PLAIN, CAUTION, SMALL = "plain", "caution", "small"
"""Kinds of `Words`."""
DENSE, SHORT, TREE = "dense", "short", "tree"
"""Kinds of `Sheet`: looked up, so in two columns; steps without reasons, two columns beside full tables; a fault tree."""


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
    letter: str = ""
    """Said in the place of the box: the boxes stand in a table, in the column of that letter."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; `share` is its part of the width, in parts of all shares."""

    title: str
    share: int = 1
    boxed: bool = False
    """True when an empty cell is a box to tick; one with words is not for ticking."""


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
    """What to take in turn: numbers of steps. The last one is the call for help, or a step with a letter behind its
    number, which leads on by the answer given to it."""

    answer: str
    """The answer that leads here; for the first of all ways, where to begin."""
    then: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Numbered:
    """One step of a fault tree, which stands on the sheet once however often it is sent to."""

    number: str
    """A figure, or `help`."""
    tick: Tick
    ways: tuple[tuple[str, tuple[Way, ...]], ...] = ()
    """For each place the step can stand at: its number with a letter, and a way for every answer."""


Block = Words | Blank | Tick | Table | Strip | Way | Numbered


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
    kind: str = ""
    """How much paper it may take: `DENSE`, `SHORT`, `TREE`, or as much as large letters need."""


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
    rest: str = ""
    """What is not in it, and how to get that."""

    @property
    def heading(self) -> str:
        """Act, venue and date in one line, as far as they are known."""
        return ", ".join(part for part in (self.act, self.venue, self.date) if part)


LETTER_REGIONS = ("us", "canada")
"""Where paper is 8.5 by 11 inches (ANSI/ASME Y14.1 A; elsewhere ISO 216)."""

CONTENTS = "In this packet"
MOST_WITHOUT_CONTENTS = 4
"""With more sheets the first one ends with a list of all of them (a choice of this program)."""

LONG = 60.0
"""Seconds from which the time of a step is worth the room on short sheets: nobody plans by less (a choice)."""

"""Sheets as plain text, for a printer that only knows letters and for the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from showday.paper.harmless import harmless
from showday.paper.labels import LONGEST
from showday.paper.model import (
    CAUTION,
    CONTENTS,
    MOST_WITHOUT_CONTENTS,
    Blank,
    Block,
    Column,
    Numbered,
    Paper,
    Part,
    Reading,
    Sheet,
    Strip,
    Table,
    Tick,
    Way,
    Words,
)

WIDTH = 78
"""Letters in a line: 80 fit on A4 and Letter at the usual 10 to an inch, less two for the margin."""
BOX, LINE = "[ ] ", "_"
GAP = "  "
MARGIN = 5
"""Letters for the numbers of a tree's steps."""


def text_pages(paper: Paper) -> list[str]:
    """One text for each page that must begin anew, each headed with act, venue, date and its number."""
    bodies = [body for sheet in paper.sheets for body in _bodies(sheet)]
    if len(paper.sheets) > MOST_WITHOUT_CONTENTS:
        bodies[0] = (bodies[0][0], [*bodies[0][1], *_contents(paper, [title for title, _ in bodies])])
    pages = []
    for number, (title, lines) in enumerate(bodies, 1):
        head = [_line(paper.heading)] if paper.heading else []
        right = f"{number} of {len(bodies)}"
        head.append(f"{_line(title)[: WIDTH - len(right) - 2]:{WIDTH - len(right)}}{right}")
        head.append("=" * WIDTH)
        last = ["", _line(f"Printed {paper.printed}")] if paper.printed and number == len(bodies) else []
        pages.append("\n".join([*head, *lines, *last]).rstrip() + "\n")
    return pages


def _contents(paper: Paper, titles: Sequence[str]) -> Iterator[str]:
    """Every sheet with its first page, and what is not here."""
    yield from ("", CONTENTS.upper())
    for title in dict.fromkeys(titles):
        yield from _wrapped(f"{title}, page {titles.index(title) + 1}", "  ")
    if paper.rest:
        yield from _wrapped(paper.rest, "  ")


def _line(text: str) -> str:
    return harmless(text)


def _bodies(sheet: Sheet) -> Iterator[tuple[str, list[str]]]:
    about = list(_wrapped(sheet.about, "")) if sheet.about else []
    if not sheet.apart:
        yield sheet.title, [*about, *(line for part in sheet.parts for line in _part(part))]
        return
    for index, part in enumerate(sheet.parts):
        yield sheet.title, [*(about if not index else []), *_part(part)]


def _part(part: Part) -> Iterator[str]:
    if part.title:
        yield ""
        yield _line(part.title).upper()
    for block in part.blocks:
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Words):
        yield from _wrapped(block.text, "  " if block.kind != CAUTION else "! ")
    elif isinstance(block, Blank):
        label = f"{_line(block.label)}: " if block.label else ""
        yield ""
        yield f"  {label}{LINE * max(20, WIDTH - 2 - len(label))}"
    elif isinstance(block, Tick):
        yield from _tick(block, "")
    elif isinstance(block, Table):
        yield from _table(block)
    elif isinstance(block, Strip):
        yield from _strip(block)
    elif isinstance(block, Way):
        yield from _way(block, "")
    else:
        yield from _numbered(block)


def _wrapped(text: str, first: str, rest: str | None = None) -> Iterator[str]:
    behind = " " * len(first) if rest is None else rest
    yield from textwrap.wrap(
        _line(text), WIDTH, initial_indent=first, subsequent_indent=behind, break_on_hyphens=False
    ) or [first.rstrip()]


def _tick(tick: Tick, indent: str, box: str = BOX) -> Iterator[str]:
    if tick.opens:
        yield ""
    for caution in tick.cautions:
        yield from _wrapped(f"! {caution}", f"{indent}    ")
    box = f"{tick.letter:<{len(BOX)}}" if tick.letter else box
    inside = " " * (len(indent) + len(box))
    must = "MUST " if tick.must else ""
    takes = f" ({tick.takes})" if tick.takes else ""
    yield from _wrapped(f"{must}{tick.do}{takes}", indent + ("--- " if tick.absent else box), inside)
    if tick.until:
        yield from _wrapped(f"until: {tick.until}", inside)
    if tick.note:
        yield from _wrapped(tick.note, inside)
    if tick.reading:
        yield from _wrapped(_reading(tick.reading, blank=not tick.letter), inside)
    if tick.absent:
        yield from _wrapped(tick.absent, inside)


def _reading(reading: Reading, *, blank: bool) -> str:
    wanted = f", {reading.wanted}" if reading.wanted else ""
    return f"{reading.name} {f'{LINE * 8} ' if blank else ''}{reading.unit}{wanted}"


def _numbered(step: Numbered) -> Iterator[str]:
    yield ""
    lines = list(_tick(step.tick, " " * MARGIN))
    # The number stands in the margin of the first line, which may be a caution.
    yield f"{_line(step.number):<{MARGIN}}{lines[0][MARGIN:]}"
    yield from lines[1:]
    for named, ways in step.ways:
        for way in ways:
            yield from _way(way, f"{' ' * (MARGIN + len(BOX))}{_line(named)}, ")


def _way(way: Way, first: str) -> Iterator[str]:
    yield from _wrapped(f"{way.answer}: {', '.join(way.then)}", first, " " * (MARGIN + len(BOX) + 2))


def _strip(strip: Strip) -> Iterator[str]:
    edge = "+" + "+".join("-" * LONGEST for _ in strip.labels) + "+"
    rows = [[_line(label.big) for label in strip.labels]]
    rows += [[_line(label.name[at]) if at < len(label.name) else "" for label in strip.labels] for at in (0, 1)]
    rows.append([_line(label.below) for label in strip.labels])
    yield edge
    for row in rows:
        yield "|" + "|".join(f"{cell[:LONGEST]:^{LONGEST}}" for cell in row) + "|"
    yield edge


def _table(table: Table) -> Iterator[str]:
    box = BOX if table.ticked else ""
    cells = [[_cell(column, cell) for column, cell in zip(table.columns, row, strict=True)] for row in table.rows]
    widths = _widths(table.columns, cells, WIDTH - len(box))
    yield ""
    for number, row in enumerate([[column.title for column in table.columns], *cells]):
        wrapped = [textwrap.wrap(cell, width) or [""] for cell, width in zip(row, widths, strict=True)]
        for at in range(max(map(len, wrapped), default=1)):
            said = (
                f"{lines[at] if at < len(lines) else '':{width}}"
                for lines, width in zip(wrapped, widths, strict=True)
            )
            yield f"{box if number and not at else ' ' * len(box)}{GAP.join(said)}".rstrip()
        if not number:
            yield "-" * WIDTH
    yield ""


def _cell(column: Column, cell: str) -> str:
    return BOX.strip() if column.boxed and not cell else _line(cell)


def _widths(columns: Sequence[Column], cells: Sequence[Sequence[str]], room: int) -> list[int]:
    """As wide as what stands in them, empty ones as wide as their share; the widest gives way when it is too much."""
    shares = sum(column.share for column in columns)
    widths = []
    for index, column in enumerate(columns):
        longest = max((len(row[index]) for row in cells), default=0)
        wanted = longest or room * column.share // shares
        title = max(map(len, column.title.split()), default=0) if column.boxed else len(column.title)
        widths.append(max(wanted, title, 3))
    while sum(widths) + len(GAP) * (len(widths) - 1) > room and max(widths) > 3:
        widths[widths.index(max(widths))] -= 1
    return widths

"""Sheets as one HTML page: no scripts, nothing from outside, every text escaped. A browser prints it as it should look."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape
from itertools import groupby

from showday.paper.harmless import LONGEST, harmless
from showday.paper.model import (
    CAUTION,
    CONTENTS,
    DENSE,
    MOST_WITHOUT_CONTENTS,
    SHORT,
    SMALL,
    Blank,
    Block,
    Column,
    Numbered,
    Paper,
    Part,
    Sheet,
    Strip,
    Table,
    Tick,
    Way,
    Words,
)
from showday.paper.style import style_sheet

POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""Content Security Policy: the browser itself refuses scripts and anything from outside."""
MARK = '<span class="mark"></span>'
IN_A_CELL = 160
"""Letters of a table's cell that are printed: a row stays on one page (a choice of this program)."""
NARROW = 28
"""Shares of its columns up to which a table is set in two halves side by side (a choice of this program)."""
ON_A_PAGE = 24
"""Rows of tables beside which what a section says fits on one page (a choice of this program)."""
LONG = 12
"""Rows from which a table is set closer, so that it stays on one page (a choice of this program)."""


def paper_html(paper: Paper) -> str:
    """The whole page."""
    title = ", ".join(
        part for part in (paper.sheets[0].title if len(paper.sheets) == 1 else "", paper.heading) if part
    )
    out = [
        "<!doctype html>",
        '<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{_say(title or 'Showday')}</title>",
        f"<style>{style_sheet(paper)}</style></head><body>",
    ]
    for number, sheet in enumerate(paper.sheets, 1):
        out += _sheet(paper, sheet, number)
    return "\n".join([*out, "</body></html>"]) + "\n"


def _say(text: str, limit: int = LONGEST) -> str:
    return escape(harmless(text, limit))


def _sheet(paper: Paper, sheet: Sheet, number: int) -> Iterator[str]:
    turned, apart = "wide" if sheet.wide else "", "apart" if sheet.apart else ""
    kinds = " ".join(filter(None, ("sheet", turned, apart, sheet.kind)))
    yield f'<section class="{kinds}" id="s{number}">'
    if sheet.kind == SHORT:
        yield from (*_head(paper, sheet), *_short(sheet))
    elif sheet.kind == DENSE:
        yield from (*_head(paper, sheet), '<div class="columns">', *_parts(sheet), "</div>")
    else:
        yield from _parts(sheet, _head(paper, sheet))
    if number == 1 and len(paper.sheets) > MOST_WITHOUT_CONTENTS:
        yield from _contents(paper)
    yield "</section>"


def _parts(sheet: Sheet, head: Iterable[str] = ()) -> Iterator[str]:
    """Every part; the head is inside of the first one, so that the break before the second is between two parts."""
    for index, part in enumerate(sheet.parts):
        yield '<div class="part">'
        yield from head if not index else ()
        yield from _part(part)
        yield "</div>"


def _head(paper: Paper, sheet: Sheet) -> Iterator[str]:
    if paper.heading:
        yield f'<p class="of">{_say(paper.heading)}</p>'
    yield f"<h1>{_say(sheet.title)}</h1>"
    if sheet.about:
        yield f'<p class="small">{_say(sheet.about)}</p>'


def _contents(paper: Paper) -> Iterator[str]:
    yield f'<div class="part"><h2>{CONTENTS}</h2><ol class="contents">'
    for number, sheet in enumerate(paper.sheets, 1):
        yield f'<li><a href="#s{number}">{_say(sheet.title)}</a></li>'
    rest = f'<p class="small">{_say(paper.rest)}</p>' if paper.rest else ""
    yield f"</ol>{rest}</div>"


def _part(part: Part, around: str = "") -> Iterator[str]:
    """A heading and its blocks; `around` is how blocks are set that have no setting of their own."""
    if part.title:
        yield f"<h2>{_say(part.title)}</h2>"
    for kind, run in groupby(part.blocks, key=lambda block: _setting(block, around)):
        lines = [line for block in run for line in _block(block)]
        yield from (f'<div class="{kind}">', *lines, "</div>") if kind else lines


def _short(sheet: Sheet) -> Iterator[str]:
    """Parts without a table run on in two columns of the page; in the others all but the tables does."""
    for tables, run in groupby(sheet.parts, key=lambda part: any(isinstance(block, Table) for block in part.blocks)):
        if tables:
            yield from (
                line for part in run for line in (f'<div class="{_kept(part)}">', *_part(part, "flow"), "</div>")
            )
        else:
            yield from ('<div class="flow">', *(line for part in run for line in _part(part)), "</div>")


def _kept(part: Part) -> str:
    """A part stays on one page, so that the words of its table stand above it, unless it is too long for one."""
    tables = (block for block in part.blocks if isinstance(block, Table))
    rows = sum(len(table.rows) / (2 if _narrow(table) else 1) for table in tables)
    return "part whole" if rows <= ON_A_PAGE else "part"


def _setting(block: Block, around: str) -> str:
    """How blocks in a row are set: what belongs to a tree, and narrow tables, in two columns of the page."""
    if isinstance(block, Way | Numbered):
        return "flow"
    if not isinstance(block, Table):
        return around
    return "halves" if _narrow(block) else ""


def _narrow(table: Table) -> bool:
    return not table.ticked and sum(column.share for column in table.columns) <= NARROW


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Words):
        kind = block.kind if block.kind in (CAUTION, SMALL) else "words"
        yield f'<p class="{kind}">{_say(block.text)}</p>'
    elif isinstance(block, Blank):
        yield f'<p class="fill">{_say(block.label)}</p>'
    elif isinstance(block, Tick):
        yield from _tick(block)
    elif isinstance(block, Table):
        yield from _table(block)
    elif isinstance(block, Strip):
        yield from _strip(block)
    elif isinstance(block, Way):
        yield f'<p class="ways">{_way(block)}</p>'
    else:
        yield from _numbered(block)


def _tick(tick: Tick, mark: str = MARK) -> Iterator[str]:
    yield from (f'<p class="caution">{_say(text)}</p>' for text in tick.cautions)
    kinds = "tick" + (" opens" if tick.opens else "") + (" absent" if tick.absent else "")
    must = '<span class="must">MUST</span> ' if tick.must else ""
    takes = f' <span class="takes">({_say(tick.takes)})</span>' if tick.takes else ""
    shown = f'<span class="letter">{_say(tick.letter)}</span>' if tick.letter else mark
    yield f'<div class="{kinds}">{shown}<p class="do"><b>{must}{_say(tick.do)}</b>{takes}'
    if tick.until:
        yield f'<span class="until">{_say(tick.until)}</span>'
    if tick.reading:
        wanted = f", {_say(tick.reading.wanted)}" if tick.reading.wanted else ""
        name, unit = _say(tick.reading.name), _say(tick.reading.unit)
        blank = "" if tick.letter else '<span class="write"></span> '
        yield f"<span>{name} {blank}{unit}{wanted}</span>"
    yield "</p>"
    yield from (f'<p class="small">{_say(text)}</p>' for text in (tick.note, tick.absent) if text)
    yield "</div>"


def _table(table: Table) -> Iterator[str]:
    shares = sum(column.share for column in table.columns)
    room = 94 if table.ticked else 100
    kind = ' class="close"' if len(table.rows) >= LONG else ""
    yield f"<table{kind}><colgroup>" + ('<col style="width: 6%">' if table.ticked else "")
    yield "".join(f'<col style="width: {room * column.share / shares:.2f}%">' for column in table.columns)
    heads = "".join(f"<th>{_say(column.title)}</th>" for column in table.columns)
    yield f"</colgroup><thead><tr>{'<th></th>' if table.ticked else ''}{heads}</tr></thead><tbody>"
    for row in table.rows:
        pairs = zip(table.columns, row, strict=True)
        cells = "".join(f"<td>{_cell(column, cell)}</td>" for column, cell in pairs)
        yield f"<tr>{f'<td>{MARK}</td>' if table.ticked else ''}{cells}</tr>"
    yield "</tbody></table>"


def _cell(column: Column, cell: str) -> str:
    return MARK if column.boxed and not cell else _say(cell, IN_A_CELL)


def _strip(strip: Strip) -> Iterator[str]:
    yield '<div class="strip">'
    for label in strip.labels:
        below = f'<span class="below">{_say(label.below)}</span>' if label.below else ""
        name = "<br>".join(map(_say, label.name))
        yield f'<div class="label"><span class="big">{_say(label.big)}</span>{name}{below}</div>'
    yield "</div>"


def _numbered(step: Numbered) -> Iterator[str]:
    """The number in the place of the box, to be struck out, and below it where each answer leads."""
    yield '<div class="step">'
    kinds = "number" if step.number.isdecimal() else "number call"
    yield from _tick(step.tick, f'<span class="{kinds}">{_say(step.number)}</span>')
    for named, ways in step.ways:
        yield '<div class="ways">'
        yield from (f"<p><b>{_say(named)}</b> {_way(way)}</p>" for way in ways)
        yield "</div>"
    yield "</div>"


def _way(way: Way) -> str:
    return f'{_say(way.answer)}: <span class="to">{_say(", ".join(way.then))}</span>'

"""Sheets as one HTML page: no scripts, nothing from outside, every text escaped. A browser prints it as it should look."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from itertools import groupby

from showday.paper.harmless import LONGEST, harmless
from showday.paper.model import (
    CAUTION,
    SMALL,
    Blank,
    Block,
    Box,
    Branch,
    Paper,
    Part,
    Sheet,
    Strip,
    Table,
    Tick,
    Words,
)
from showday.paper.style import style_sheet

POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""Content Security Policy: the browser itself refuses scripts and anything from outside."""
MARK = '<span class="mark"></span>'
IN_A_CELL = 160
"""Letters of a table's cell that are printed: a row stays on one page (a choice of this program)."""
IN = 5.0
"""Millimetres that a branch stands in for each step of depth, up to `DEEPEST` steps."""
DEEPEST = 8
MANY = 20
"""Paragraphs in a row from which they stand in two columns (a choice of this program)."""


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
    if len(paper.sheets) > MOST_WITHOUT_CONTENTS:
        out += _contents(paper)
    for number, sheet in enumerate(paper.sheets, 1):
        out += _sheet(paper, sheet, number)
    return "\n".join([*out, "</body></html>"]) + "\n"


def _say(text: str, limit: int = LONGEST) -> str:
    return escape(harmless(text, limit))


def _sheet(paper: Paper, sheet: Sheet, number: int) -> Iterator[str]:
    kinds = "sheet" + (" wide" if sheet.wide else "") + (" apart" if sheet.apart else "")
    yield f'<section class="{kinds}" id="s{number}">'
    for index, part in enumerate(sheet.parts):
        yield '<div class="part">'
        if not index:
            # Inside of the first part, so that the break before the second one is between two parts.
            if paper.heading:
                yield f'<p class="of">{_say(paper.heading)}</p>'
            yield f"<h1>{_say(sheet.title)}</h1>"
            if sheet.about:
                yield f'<p class="small">{_say(sheet.about)}</p>'
        yield from _part(part)
        yield "</div>"
    yield "</section>"


MOST_WITHOUT_CONTENTS = 4
"""With more sheets a page in front lists them all (a choice of this program)."""


def _contents(paper: Paper) -> Iterator[str]:
    yield f'<section class="sheet"><h1>{_say(paper.heading or "Everything on paper")}</h1><ol class="contents">'
    for number, sheet in enumerate(paper.sheets, 1):
        yield f'<li><a href="#s{number}">{_say(sheet.title)}</a></li>'
    yield "</ol></section>"


def _part(part: Part) -> Iterator[str]:
    if part.title:
        yield f"<h2>{_say(part.title)}</h2>"
    for kind, run in groupby(part.blocks, key=type):
        blocks = list(run)
        columns = "flow" if kind is Box else "many" if kind is Words and len(blocks) >= MANY else ""
        lines = [line for block in blocks for line in _block(block)]
        yield from (f'<div class="{columns}">', *lines, "</div>") if columns else lines


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
    elif isinstance(block, Box):
        yield from _box(block)
    else:
        yield from _branch(block)


def _tick(tick: Tick) -> Iterator[str]:
    yield from (f'<p class="caution">{_say(text)}</p>' for text in tick.cautions)
    kinds = "tick" + (" opens" if tick.opens else "") + (" absent" if tick.absent else "")
    must = '<span class="must">MUST</span> ' if tick.must else ""
    takes = f' <span class="takes">({_say(tick.takes)})</span>' if tick.takes else ""
    yield f'<div class="{kinds}">{MARK}<p class="do">{must}{_say(tick.do)}{takes}</p>'
    if tick.until:
        yield f'<p class="inline">{_say(tick.until)}</p>'
    if tick.reading:
        wanted = f", {_say(tick.reading.wanted)}" if tick.reading.wanted else ""
        name, unit = _say(tick.reading.name), _say(tick.reading.unit)
        yield f'<p class="inline">{name} <span class="write"></span> {unit}{wanted}</p>'
    yield from (f'<p class="small">{_say(text)}</p>' for text in (tick.note, tick.absent) if text)
    yield "</div>"


def _table(table: Table) -> Iterator[str]:
    shares = sum(column.share for column in table.columns)
    room = 94 if table.ticked else 100
    yield "<table><colgroup>" + ('<col style="width: 6%">' if table.ticked else "")
    yield "".join(f'<col style="width: {room * column.share / shares:.2f}%">' for column in table.columns)
    heads = "".join(f"<th>{_say(column.title)}</th>" for column in table.columns)
    yield f"</colgroup><thead><tr>{'<th></th>' if table.ticked else ''}{heads}</tr></thead><tbody>"
    for row in table.rows:
        cells = "".join(f"<td>{_say(cell, IN_A_CELL)}</td>" for cell in row)
        yield f"<tr>{f'<td>{MARK}</td>' if table.ticked else ''}{cells}</tr>"
    yield "</tbody></table>"


def _strip(strip: Strip) -> Iterator[str]:
    yield '<div class="strip">'
    for label in strip.labels:
        below = f'<span class="below">{_say(label.below)}</span>' if label.below else ""
        name = "<br>".join(map(_say, label.name))
        yield f'<div class="label"><span class="big">{_say(label.big)}</span>{name}{below}</div>'
    yield "</div>"


def _box(box: Box) -> Iterator[str]:
    yield f'<div class="box"><span class="number">{box.number}</span>'
    for tick in (*box.fixes, *([box.check] if box.check else [])):
        yield from _tick(tick)
    if box.ways:
        yield '<div class="ways">'
        yield from (f"<p>{_say(way.answer)}: {_to(way.to)}</p>" for way in box.ways)
        yield "</div>"
    if box.goes_on is not None:
        yield f'<p class="ways">Then {_to(box.goes_on)}</p>'
    yield "</div>"


def _to(number: int) -> str:
    return f'<span class="to">go to {number}</span>' if number else '<span class="to">call for help</span>'


def _branch(branch: Branch) -> Iterator[str]:
    kinds = "branch" if branch.tick is not None else "branch answer"
    yield f'<div class="{kinds}" style="margin-left: {IN * min(DEEPEST, branch.depth):.0f}mm">'
    if branch.tick is not None:
        yield from _tick(branch.tick)
    else:
        yield f'<p class="words">{_say(branch.text)}</p>'
    yield "</div>"

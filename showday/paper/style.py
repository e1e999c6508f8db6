"""How sheets look: black on white, large type, boxes drawn as borders, a page for each sheet."""

from __future__ import annotations

from showday.paper.model import Paper, Sheet
from showday.text.safe import one_line

FONTS = '"DejaVu Sans", "Noto Sans", "Noto Sans CJK JP", Verdana, Arial, Helvetica, sans-serif'
"""Wide letters with open shapes that most systems have; what one lacks the next may know."""

LOOKS = f"""
:root {{ color-scheme: only light; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0 auto; padding: 0 4mm; max-width: 190mm; background: #fff; color: #000;
  font: 13pt/1.35 {FONTS}; overflow-wrap: anywhere; }}
h1 {{ font-size: 21pt; line-height: 1.15; margin: 0 0 2mm; padding-bottom: 1.5mm; border-bottom: 1mm solid #000; }}
h2 {{ font-size: 15.5pt; line-height: 1.2; margin: 6mm 0 2mm; break-after: avoid; }}
p {{ margin: 1.5mm 0; }}
.of {{ font-size: 10.5pt; margin: 0 0 1mm; }}
.small {{ font-size: 10.5pt; }}
.caution {{ font-weight: bold; border-left: 1.2mm solid #000; padding-left: 2.5mm;
  break-inside: avoid; break-after: avoid; }}
.words {{ orphans: 3; widows: 3; }}
.tick {{ position: relative; padding-left: 9mm; margin: 2.4mm 0; break-inside: avoid; }}
.tick .do {{ font-weight: bold; margin: 0; }}
.tick p {{ margin: 0.4mm 0; }}
.mark {{ position: absolute; left: 0.5mm; top: 0.6mm; width: 5mm; height: 5mm;
  border: 0.5mm solid #000; background: #fff; }}
.opens {{ border-top: 0.2mm solid #000; padding-top: 2mm; }}
.opens > .mark {{ top: 2.6mm; }}
.absent .do {{ font-weight: normal; }}
.absent > .mark {{ border: none; border-top: 0.5mm solid #000; top: 3mm; }}
.opens.absent > .mark {{ top: 5mm; }}
.must {{ border: 0.4mm solid #000; padding: 0 1.2mm; font-size: 10pt; }}
.takes {{ font-weight: normal; font-size: 10.5pt; white-space: nowrap; }}
.tick .inline {{ display: inline; margin-right: 3mm; }}
.write {{ display: inline-block; width: 28mm; height: 1.1em; border-bottom: 0.4mm solid #000; }}
.fill {{ border-bottom: 0.4mm solid #000; margin: 0; padding: 3.5mm 0 0.8mm; min-height: 9.5mm;
  break-inside: avoid; }}
table {{ width: 100%; border-collapse: collapse; table-layout: fixed; margin: 2.5mm 0; font-size: 12pt; }}
th, td {{ border: 0.25mm solid #000; padding: 1.4mm 1.4mm; text-align: left; vertical-align: top; height: 9mm; }}
th {{ font-size: 10.5pt; line-height: 1.15; border-bottom-width: 0.7mm; overflow-wrap: normal; }}
thead {{ display: table-header-group; }}
tr {{ break-inside: avoid; }}
td .mark, th .mark {{ position: static; display: block; margin: 0.4mm auto 0; }}
.flow {{ columns: 2; column-gap: 7mm; font-size: 11pt; line-height: 1.25; }}
.many {{ columns: 2; column-gap: 7mm; font-size: 11pt; }}
.box {{ position: relative; border-top: 0.4mm solid #000; padding: 0.6mm 0 1.4mm 9mm; }}
.box > .number {{ position: absolute; left: 0; top: 1.2mm; font-size: 14pt; font-weight: bold; line-height: 1; }}
.branch {{ font-size: 11pt; line-height: 1.25; }}
.answer {{ font-style: italic; break-after: avoid; }}
.box .tick, .branch .tick {{ padding-left: 7mm; margin: 1.2mm 0; }}
.box .tick p, .branch .tick p {{ display: inline; }}
.box .mark, .branch .mark {{ width: 4mm; height: 4mm; }}
.box .caution, .branch .caution {{ margin: 1mm 0; }}
.flow .takes, .flow .small, .branch .takes, .branch .small {{ font-size: 9.5pt; }}
.ways {{ margin: 0.6mm 0 0.6mm 7mm; break-inside: avoid; break-before: avoid; }}
.ways p {{ margin: 0.4mm 0; }}
.to {{ font-weight: bold; white-space: nowrap; }}
.strip {{ display: table; border-collapse: collapse; margin: 0 0 5mm; break-inside: avoid; }}
.label {{ display: table-cell; width: 22mm; height: 16mm; border: 0.25mm dashed #000; text-align: center;
  vertical-align: middle; font-size: 10pt; line-height: 1.1; padding: 0.5mm; }}
.label .big {{ display: block; font-size: 14pt; font-weight: bold; }}
.label .below {{ display: block; font-size: 7.5pt; }}
.contents {{ padding-left: 8mm; }}
.contents a {{ color: #000; text-decoration: none; }}
.contents a::after {{ content: ", page " target-counter(attr(href), page); }}
@media screen {{ body {{ max-width: 275mm; }} .sheet {{ max-width: 190mm; margin: 0 auto; padding: 8mm 0; }}
  .sheet + .sheet {{ border-top: 2mm solid #000; }} .sheet.wide {{ max-width: none; }}
  .part {{ overflow-x: auto; }} table {{ min-width: 150mm; }} .wide table {{ min-width: 240mm; }} }}
@media screen and (max-width: 170mm) {{ .flow, .many {{ columns: 1; }} }}
@media print {{ body {{ max-width: none; padding: 0; }} .of {{ display: none; }} .sheet {{ break-before: page; }}
  .sheet:first-child {{ break-before: auto; }} .apart > .part + .part {{ break-before: page; }} }}
"""
"""Sizes: 13 pt for what is read at arm's length in poor light (print is usually 10 to 12 pt; a choice)."""


def style_sheet(paper: Paper) -> str:
    """The whole style: looks, the paper's size, and what stands on every page."""
    size = "letter" if paper.letter else "A4"
    head = f"@top-left {{ content: {css_text(paper.heading)}; font: 9.5pt {FONTS}; }}"
    printed = css_text(f"Printed {paper.printed}" if paper.printed else "")
    foot = (
        f"@bottom-left {{ content: {printed}; font: 9.5pt {FONTS}; }}"
        f' @bottom-right {{ content: "Page " counter(page) " of " counter(pages); font: 9.5pt {FONTS}; }}'
    )
    rules = [LOOKS, f"@page {{ size: {size}; margin: 17mm 14mm 15mm; {head} {foot} }}"]
    rules += [_sheet_rule(number, sheet, size) for number, sheet in enumerate(paper.sheets, 1)]
    return "\n".join(rules)


def _sheet_rule(number: int, sheet: Sheet, size: str) -> str:
    """Each sheet has pages of its own kind, which say its title and may lie on their side."""
    turned = f"size: {size} landscape; " if sheet.wide else ""
    title = f"@top-right {{ content: {css_text(one_line(sheet.title, 60))}; font: 9.5pt {FONTS}; }}"
    return f"@page s{number} {{ {turned}{title} }}\n#s{number} {{ page: s{number}; }}"


def css_text(text: str) -> str:
    """Foreign text as a CSS string: all but ASCII letters, figures and spaces escaped (CSS Syntax 3, section 4.3.7)."""
    plain = one_line(text, 200)
    escaped = (c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):x} " for c in plain)
    return f'"{"".join(escaped)}"'

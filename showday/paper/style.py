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
.tick p {{ margin: 0.4mm 0; }}
.tick .do {{ margin: 0; }}
.until {{ margin-right: 3mm; }}
.tick .do > .until::before {{ content: "\\a"; white-space: pre; }}
.mark {{ position: absolute; left: 0.5mm; top: 0.6mm; width: 5mm; height: 5mm;
  border: 0.5mm solid #000; background: #fff; }}
.opens {{ border-top: 0.2mm solid #000; padding-top: 2mm; }}
.opens > .mark {{ top: 2.6mm; }}
.absent .do b {{ font-weight: normal; }}
.absent > .mark {{ border: none; border-top: 0.5mm solid #000; top: 3mm; }}
.opens.absent > .mark {{ top: 5mm; }}
.must {{ border: 0.4mm solid #000; padding: 0 1.2mm; font-size: 10pt; }}
.takes {{ font-weight: normal; font-size: 10.5pt; white-space: nowrap; }}
.write {{ display: inline-block; width: 28mm; height: 1.1em; border-bottom: 0.4mm solid #000; }}
.fill {{ border-bottom: 0.4mm solid #000; margin: 0; padding: 3.5mm 0 0.8mm; min-height: 9.5mm;
  break-inside: avoid; }}
table {{ width: 100%; border-collapse: collapse; table-layout: fixed; margin: 2.5mm 0; font-size: 12pt; }}
th, td {{ border: 0.25mm solid #000; padding: 1.4mm 1.4mm; text-align: left; vertical-align: top; height: 9mm; }}
th {{ font-size: 10.5pt; line-height: 1.15; border-bottom-width: 0.7mm; overflow-wrap: normal; }}
thead {{ display: table-header-group; }}
tr {{ break-inside: avoid; }}
td .mark, th .mark {{ position: static; display: block; margin: 0.4mm auto 0; }}
.letter {{ position: absolute; left: 0.5mm; top: 0; font-weight: bold; font-size: 14pt; line-height: 1.2; }}
table:not(.close), .whole {{ break-inside: avoid; }}
.close th, .close td {{ padding: 0.4mm 1.2mm; height: 6.4mm; font-size: 11pt; }}
.apart .close td {{ height: 7.4mm; font-size: 12pt; }}
.columns, .flow {{ columns: 2; column-gap: 3.5mm; font-size: 11pt; line-height: 1.1; font-stretch: condensed; }}
.columns h2 {{ font-size: 12.5pt; margin: 3mm 0 1mm; }}
.step {{ border-top: 0.2mm solid #000; padding: 0.2mm 0; break-inside: avoid; }}
.step .tick {{ padding-left: 8.6mm; margin: 0.1mm 0; }}
.number {{ position: absolute; left: 0; top: 0.2mm; min-width: 7mm; padding: 0; border: 0.4mm solid #000;
  text-align: center; font-weight: bold; line-height: 1.15; }}
.call {{ position: static; display: inline-block; padding: 0 1mm; margin: 0 1mm 0 -8.6mm; }}
.call + .do {{ display: inline; }}
.step .caution {{ margin: 0.3mm 0; padding-left: 1.4mm; border-left-width: 1mm; }}
.flow .takes, .flow .small {{ font-size: 9.5pt; }}
.ways {{ margin: 0.2mm 0; }}
.step .ways {{ margin-left: 8.6mm; }}
.ways p {{ margin: 0.1mm 0; }}
.halves {{ columns: 2; column-gap: 5mm; }}
.halves table {{ margin: 0; break-inside: auto; table-layout: auto; font-stretch: condensed; }}
.short h1, .tree h1 {{ font-size: 17pt; margin-bottom: 1mm; padding-bottom: 0.8mm; }}
.tree p {{ line-height: 1.1; }}
.tree .part > p {{ margin: 0.7mm 0; font-size: 11pt; }}
.tree .part > .small {{ font-size: 10pt; }}
.short .flow {{ font-size: 11.5pt; line-height: 1.16; }}
.short .until::before, .step .until::before {{ content: none !important; }}
.short .tick {{ margin: 1mm 0; }}
.short h2 {{ margin: 2.5mm 0 0.8mm; font-size: 14pt; }}
.short table, .halves table {{ font-size: 11pt; }}
.short th, .short td, .halves th, .halves td {{ padding: 0.3mm 1.2mm; height: 6.4mm; }}
.short .close td {{ height: 6.4mm; }}
.to {{ font-weight: bold; }}
.strip {{ display: table; border-collapse: collapse; margin: 0 0 5mm; break-inside: avoid; }}
.label {{ display: table-cell; width: 22mm; height: 16mm; border: 0.25mm dashed #000; text-align: center;
  vertical-align: middle; font-size: 10pt; line-height: 1.1; padding: 0.5mm; }}
.label .big {{ display: block; font-size: 14pt; font-weight: bold; }}
.label .below {{ display: block; font-size: 7.5pt; }}
.contents {{ columns: 3; column-gap: 4mm; padding: 0; margin: 0; list-style-position: inside;
  font-size: 10pt; line-height: 1.2;
  font-stretch: condensed; }}
.contents a {{ color: #000; text-decoration: none; }}
.contents a::after {{ content: ", p. " target-counter(attr(href), page); }}
@media screen {{ body {{ max-width: 275mm; }} .sheet {{ max-width: 190mm; margin: 0 auto; padding: 8mm 0; }}
  .sheet + .sheet {{ border-top: 2mm solid #000; }} .sheet.wide {{ max-width: none; }}
  .part {{ overflow-x: auto; }} table {{ min-width: 150mm; }} .wide table {{ min-width: 240mm; }}
  .halves table {{ min-width: 0; }} }}
@media screen and (max-width: 170mm) {{ .flow, .columns, .halves, .contents {{ columns: 1; }} }}
@media print {{ body {{ max-width: none; padding: 0; }} .of {{ display: none; }} .sheet {{ break-before: page; }}
  .sheet:first-child {{ break-before: auto; }} .apart > .part + .part {{ break-before: page; }} }}
"""
"""Sizes: 13 pt for what is read at arm's length in poor light, 11 pt at least where many steps must fit on a sheet (the
body of print is usually 10 to 12 pt: common practice)."""


def style_sheet(paper: Paper) -> str:
    """The whole style: looks, the paper's size, and what stands on every page."""
    size = "letter" if paper.letter else "A4"
    head = f"@top-left {{ content: {css_text(paper.heading)}; font: 9.5pt {FONTS}; }}"
    printed = css_text(f"Printed {paper.printed}" if paper.printed else "")
    foot = (
        f"@bottom-left {{ content: {printed}; font: 9.5pt {FONTS}; }}"
        f' @bottom-right {{ content: "Page " counter(page) " of " counter(pages); font: 9.5pt {FONTS}; }}'
    )
    rules = [LOOKS, f"@page {{ size: {size}; margin: 12mm 10mm 11mm; {head} {foot} }}"]
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

"""The page in a real browser: nothing runs, nothing runs off the page, and it breaks where it should."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from PIL import Image
from pypdf import PdfReader

from showday.paper.html import POLICY, paper_html
from tests.paper.browser import Browser
from tests.paper.made import HOSTILE, RAN, hostile_paper, small_paper

pytestmark = pytest.mark.slow

A4_AT_96 = 794
"""Pixels of 210 mm at 96 to an inch (CSS Values 3, section 6.2)."""
UPRIGHT, ON_ITS_SIDE = 688, 1016
"""Pixels between the margins of 14 mm: 182 and 269 mm."""
PHONE = 500
"""Pixels; the narrowest window that this browser opens."""
_POLICY = re.compile(r"<meta http-equiv=.Content-Security-Policy.[^>]*>")
MEASURE = """<script>addEventListener('load', () => {
  const right = document.documentElement.clientWidth + 1;
  const wide = [...document.querySelectorAll('body *')].filter(
    e => e.getBoundingClientRect().right > right || e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0);
  document.title = 'too wide: ' + wide.length + ' ' + wide.map(e => e.className + e.textContent.slice(0, 40)).join('|');
})</script>"""


class Tags(HTMLParser):
    """Names of all elements, and the names of all attributes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.attributes: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.attributes |= {name for name, _ in attrs}


def unguarded(page: str) -> str:
    """The page without its policy, so that only the escaping keeps scripts from running."""
    assert POLICY in page.replace("&#x27;", "'")
    bare = _POLICY.sub("", page)
    assert bare != page
    return bare


def title(dom: str) -> str:
    found = re.search(r"<title>(.*?)</title>", dom, re.S)
    assert found
    return found.group(1)


def test_a_script_that_is_no_text_would_run(browser: Browser) -> None:
    assert title(browser.dom(f"<!doctype html><title>still</title><script>{RAN}</script>")) == "ran"


def test_hostile_names_stay_text(browser: Browser) -> None:
    page = paper_html(hostile_paper())
    dom = browser.dom(unguarded(page))
    assert title(dom) != "ran"
    tags = Tags(dom)
    assert not tags.names & {"script", "img", "iframe", "link", "object", "form"}
    assert not [name for name in tags.attributes if name.startswith("on") or name == "src"]
    assert HOSTILE[0].replace("<", "&lt;").replace(">", "&gt;") in dom


def test_the_policy_alone_also_keeps_scripts_from_running(browser: Browser) -> None:
    page = paper_html(small_paper()).replace("</body>", f"<script>{RAN}</script></body>")
    assert title(browser.dom(page)) != "ran"


@pytest.mark.parametrize("wide", [False, True], ids=["upright", "on its side"])
def test_nothing_is_wider_than_the_paper(browser: Browser, wide: bool) -> None:
    """Laid out as it is printed, in a window as wide as the paper between its margins."""
    paper = hostile_paper()
    sheets = tuple(sheet for sheet in paper.sheets if sheet.wide == wide)
    page = unguarded(paper_html(replace(paper, sheets=sheets)))
    page = page.replace("@media print", "@media all").replace("@media screen", "@media none")
    width = ON_ITS_SIDE if wide else UPRIGHT
    dom = browser.dom(page.replace("</head>", f"{MEASURE}</head>"), f"--window-size={width},1000")
    assert title(dom).startswith("too wide: 0"), title(dom)


def test_on_a_phone_it_is_read_without_moving_it_sideways(browser: Browser) -> None:
    script = "<script>onload = () => document.title = document.documentElement.scrollWidth</script>"
    page = unguarded(paper_html(hostile_paper())).replace("</head>", f"{script}</head>")
    assert int(title(browser.dom(page, f"--window-size={PHONE},900"))) <= PHONE


def test_the_measure_finds_what_is_too_wide(browser: Browser) -> None:
    page = f"<!doctype html><title>x</title>{MEASURE}<body><p style='width: 900px'>wide</p>"
    assert "wide: 1" in title(browser.dom(page, f"--window-size={UPRIGHT},1000"))


def test_every_sheet_and_every_section_begins_a_page(browser: Browser) -> None:
    pages = [page.extract_text() for page in PdfReader(browser.pdf(paper_html(small_paper()))).pages]
    assert len(pages) == 4
    for page, said in zip(
        pages, ("Kick", "channel (ch) moves", "Call it complete", "cut along the lines"), strict=True
    ):
        assert said in page
        assert "Three Lines, Yard, 2031-07-05" in page
    assert [f"Page {n} of 4" in page for n, page in enumerate(pages, 1)] == [True] * 4


def test_the_input_list_lies_on_its_side(browser: Browser) -> None:
    boxes = [page.mediabox for page in PdfReader(browser.pdf(paper_html(small_paper()))).pages]
    assert [box.width > box.height for box in boxes] == [True, False, False, False]


def test_black_on_white_with_clear_margins(browser: Browser) -> None:
    seen = Image.open(browser.picture(paper_html(hostile_paper()), A4_AT_96, 4000)).convert("RGB")
    shades = seen.convert("L").histogram()
    assert sum(shades[250:]) > 0.8 * seen.width * seen.height
    assert sum(shades[:40]) > 1000
    colours = [max(map(max, zip(*(abs_difference(p) for _, p in seen.getcolors(1 << 24) or ()), strict=True)))]
    assert colours == [0]
    edge = seen.crop((seen.width - 8, 0, seen.width, seen.height)).convert("L")
    assert edge.getextrema() == (255, 255)


def abs_difference(pixel: object) -> tuple[int, int]:
    assert isinstance(pixel, tuple)
    red, green, blue = pixel[:3]
    return abs(red - green), abs(green - blue)

"""The plain text, line by line."""

from __future__ import annotations

from pathlib import Path

from showday.paper.text import WIDTH, text_pages
from tests.paper.made import HOSTILE, hostile_paper, small_paper

EXPECTED = Path(__file__).with_name("three_lines.txt")


def test_three_lines_give_exactly_this() -> None:
    assert "\f".join(text_pages(small_paper())) == EXPECTED.read_text("utf-8").replace("<new page>\n", "\f")


def test_no_line_is_longer_than_the_paper_is_wide() -> None:
    """But for labels and headings of hostile length, all is wrapped."""
    lines = [line for page in text_pages(hostile_paper()) for line in page.splitlines()[1:]]
    assert max(map(len, lines)) <= WIDTH


def test_codes_are_made_visible() -> None:
    text = "".join(text_pages(hostile_paper()))
    assert "\x1b" in "".join(HOSTILE)
    assert all(char == "\n" or char.isprintable() for char in text)

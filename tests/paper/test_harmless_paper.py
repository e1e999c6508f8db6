"""Foreign text on paper: no markup, no style, no formula."""

from __future__ import annotations

import pytest
import tinycss2  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from showday.paper.harmless import harmless
from showday.paper.html import paper_html
from showday.paper.style import css_text
from showday.text.safe import one_line
from tests.paper.made import HOSTILE, hostile_paper, small_paper

FORMULAS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "=cmd|' /C calc'!A0")
"""Beginnings that spreadsheets read as formulas: OWASP, CSV Injection."""


@pytest.mark.parametrize("text", FORMULAS)
def test_no_text_begins_like_a_formula(text: str) -> None:
    made = harmless(text)
    assert made[0] == "'"
    assert made[1:] == one_line(text)


@pytest.mark.parametrize("text", ["Kick", "3 dB", "(=1)", "a=b", ""])
def test_other_text_stays(text: str) -> None:
    assert harmless(text) == text


@given(st.text(max_size=80))
def test_a_style_string_means_its_text_and_ends_where_it_should(text: str) -> None:
    """By an independent parser of CSS."""
    tokens = tinycss2.parse_component_value_list(css_text(text))
    assert [token.type for token in tokens] == ["string"]
    assert tokens[0].value == one_line(text)
    assert "<" not in css_text(text)


def test_nothing_hostile_stands_in_the_page_as_it_was_written() -> None:
    page = paper_html(hostile_paper())
    assert not [text for text in HOSTILE if not text.startswith("W") and f">{text}<" in page]
    assert "<script" not in page
    assert "<img" not in page


def test_nothing_comes_from_outside() -> None:
    page = paper_html(small_paper())
    assert not [word for word in ("http:", "https:", "url(", "@import", "src=", "<link") if word in page]

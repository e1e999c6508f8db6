"""Foreign text cannot reach the terminal as anything but text."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.text.safe import one_line, plain

C0 = [chr(c) for c in range(0x20) if chr(c) not in "\t\n\r\x0b\x0c"]
C1 = [chr(c) for c in range(0x80, 0xA0) if c != 0x85]
BIDI = list("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
ZERO_WIDTH = list("\u200b\u2060\u2061\u2062\u2063\u2064\ufeff\u00ad\u180e")
SEQUENCES = {
    "colour": "\x1b[31mred\x1b[0m",
    "clear the screen": "\x1b[2J\x1b[H",
    "title of the window": "\x1b]0;owned\x07",
    "clipboard": "\x1b]52;c;cm0gLXJm\x07",
    "link": "\x1b]8;;http://example.org\x1b\\text\x1b]8;;\x1b\\",
    "C1 CSI": "\x9b31mred",
    "device control": "\x1bP$q\x1b\\",
    "answerback": "\x05\x1b[c",
}


@pytest.mark.parametrize("char", [*C0, "\x7f", *C1, *BIDI, *ZERO_WIDTH], ids=lambda c: f"U+{ord(c):04X}")
def test_no_such_character_gets_through(char: str) -> None:
    said = plain(f"a{char}b")
    assert char not in said
    assert said[0] == "a" and said[-1] == "b" and len(said) == 3


@pytest.mark.parametrize(("text"), [pytest.param(text, id=name) for name, text in SEQUENCES.items()])
def test_escape_sequences_become_pictures(text: str) -> None:
    for said in (plain(text), one_line(text)):
        assert said.isprintable()
        assert "\x1b" not in said and "\x9b" not in said


def test_escape_is_shown_as_its_picture() -> None:
    assert plain("\x1b[31m") == "\u241b[31m"
    assert plain("\x7f\x00") == "\u2421\u2400"


@pytest.mark.parametrize(
    "text", ["Grüße, 漢字, עברית, हिन्दी", "👩\u200d🎤 ❤\ufe0f", "می\u200cخواهم", "e\u0301", "[/] [red] {x}"]
)
def test_ordinary_text_of_any_script_stays(text: str) -> None:
    assert plain(text) == text
    assert one_line(text) == text


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\u2028", "\u2029", "\x85", "\x0b", "\x0c"], ids=ascii)
def test_every_line_end_is_a_line_end(end: str) -> None:
    assert plain(f"a{end}b") == "a\nb"
    assert one_line(f"a{end}b") == "a b"


def test_long_text_is_cut_and_says_so() -> None:
    assert plain("x" * 30_000) == "x" * 19_999 + "…"
    assert one_line("x" * 300) == "x" * 199 + "…"
    assert one_line("ab", 2) == "ab" and one_line("abc", 2) == "a…"


@given(st.text(st.characters(), max_size=200))
def test_nothing_but_text_and_line_ends_comes_out(text: str) -> None:
    for char in plain(text):
        assert (
            char == "\n" or char in "\u200c\u200d" or unicodedata.category(char) not in ("Cc", "Cf", "Cs", "Co", "Cn")
        )
    line = one_line(text)
    assert "\n" not in line and len(line) <= 200 and line == line.strip()


@given(st.text(st.characters(), max_size=80))
def test_what_is_safe_stays_as_it_is(text: str) -> None:
    assert plain(plain(text)) == plain(text)
    assert one_line(one_line(text)) == one_line(text)

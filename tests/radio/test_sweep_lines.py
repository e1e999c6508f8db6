"""What is no text is told as what it is; every kind of line end counts lines alike."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.errors import FileTrouble
from showday.radio import sweep_lines
from showday.radio.sweep_lines import blocks
from tests.radio.sweep_texts import read


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (bytes(range(256)), "field.csv is not a text file."),
        ("470,-100\n".encode("utf-16-le"), "field.csv is not a text file."),
        (b"PK\x03\x04" + b"x" * 99, "field.csv is a spreadsheet or an archive, not a sweep."),
        (b"\xd0\xcf\x11\xe0" + b"x" * 99, "field.csv is a spreadsheet, not a sweep."),
        (b"\x1f\x8b" + b"x" * 99, "field.csv is a compressed file, not a sweep."),
        (b"%PDF-1.7", "field.csv is a PDF, not a sweep."),
        (b"\x89PNG\r\n", "field.csv is a picture, not a sweep."),
        (b"470,-100\n" * 300_000 + b"\0", "field.csv is not a text file."),
    ],
)
def test_what_is_no_text(content: bytes, sentence: str) -> None:
    with pytest.raises(FileTrouble) as trouble:
        read(content)
    assert trouble.value.message == sentence
    assert trouble.value.hint == "Export the sweep as text: frequency and level in two columns."


def test_a_line_without_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sweep_lines, "LONGEST", 1000)
    with pytest.raises(FileTrouble, match=r"field\.csv, line 2: this line does not end\."):
        read(b"470,-100\n" + b"9" * 3_000_000)


lines = st.lists(st.text("0123456789,.-;e \t\N{MINUS SIGN}é", max_size=12), max_size=20)


@given(lines, st.sampled_from(["\n", "\r\n", "\r"]), st.integers(1, 9), st.booleans())
def test_blocks_hold_every_line_once(texts: list[str], end: str, size: int, ended: bool) -> None:
    content = end.join(texts).encode() + (end.encode() if ended else b"")
    found = list(blocks([content[at : at + size] for at in range(0, len(content), size)], "file"))
    whole = b"".join(block.text for block in found)
    wanted = "\n".join(texts).replace("\N{MINUS SIGN}", "-") + ("\n" if ended else "")
    assert whole == (wanted + ("" if wanted.endswith("\n") or not wanted else "\n")).encode()
    line = 1
    for block in found:
        assert block.line == line
        assert block.text.endswith(b"\n")
        line += block.text.count(b"\n")


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_with_a_sentence(content: bytes) -> None:
    try:
        sweep, problems = read(content)
    except FileTrouble as trouble:
        assert trouble.message.startswith("field.csv")
        return
    assert sweep is not None or problems


@given(st.text("0123456789,.;:-+ \t\n\"'einfaMHzdBm#", max_size=300))
def test_any_text_is_read_or_told(text: str) -> None:
    sweep, problems = read(text)
    if sweep is None:
        assert problems
    else:
        assert (sweep.hz[1:] > sweep.hz[:-1]).all()
        assert len(sweep.hz) == len(sweep.peak) == len(sweep.mean) >= 2
        assert (sweep.mean <= sweep.peak + 1e-9).all()

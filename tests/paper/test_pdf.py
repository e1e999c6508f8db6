"""The PDF, read back by another library."""

from __future__ import annotations

import importlib
import io
from types import ModuleType

import pytest
from pypdf import PdfReader

from showday.commands import print_pdf
from showday.commands.print_pdf import pdf_bytes
from showday.errors import ShowdayError
from showday.paper.html import paper_html
from showday.paper.model import Paper
from showday.paper.patch import input_sheet
from tests.paper.made import THREE_LINES, rig_of, small_paper

A4 = (210 / 25.4 * 72, 297 / 25.4 * 72)
"""Points (ISO 216)."""
LETTER = (612, 792)
"""Points: 8.5 by 11 inches."""
ABROAD = ("Grosse Trommel für Ödön", "Гитара", "Βιολί", "Čembalo łódź")


def read(paper: Paper) -> PdfReader:
    return PdfReader(io.BytesIO(pdf_bytes(paper_html(paper))))


def test_every_input_is_in_it() -> None:
    pages = [page.extract_text() for page in read(small_paper()).pages]
    assert len(pages) == 4
    for name in ("Kick", "Bass", "Vocal"):
        assert name in pages[0]
        assert name in pages[1]
        assert name in pages[3]
    assert "Make a sound into (input)" in pages[1]


def test_letters_of_other_scripts_come_with_their_fonts() -> None:
    rig = rig_of("rig: rig\ninputs:\n" + "\n".join(f"  - {{name: {name}}}" for name in ABROAD))
    made = read(Paper((input_sheet(rig),)))
    text = " ".join(made.pages[0].extract_text().split())
    for name in ABROAD:
        assert name in text
    fonts = [font.get_object() for font in made.pages[0]["/Resources"]["/Font"].values()]  # type: ignore[index]
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        assert any(key.startswith("/FontFile") for key in inner["/FontDescriptor"].get_object())


@pytest.mark.parametrize(("letter", "size"), [(False, A4), (True, LETTER)], ids=["A4", "letter"])
def test_the_size_of_the_paper(letter: bool, size: tuple[float, float]) -> None:
    paper = Paper((input_sheet(rig_of(THREE_LINES)),), letter=letter)
    box = read(paper).pages[0].mediabox
    assert (float(box.height), float(box.width)) == pytest.approx(size, abs=0.5)  # this sheet lies on its side


@pytest.mark.parametrize(
    ("error", "words"), [(ImportError, "showday[paper]"), (OSError, "Pango")], ids=["no library", "no Pango"]
)
def test_what_is_missing_is_said_in_one_sentence(
    error: type[Exception], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(name: str) -> ModuleType:
        raise error(name)

    monkeypatch.setattr(importlib, "import_module", missing)
    with pytest.raises(ShowdayError, match=r"^No PDF can be made here") as told:
        print_pdf.pdf_bytes("<p>")
    assert words in str(told.value)
    assert "--format html" in told.value.hint

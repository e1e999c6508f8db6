"""`showday print`, called as a shell calls it."""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from showday.paths import log_path
from tests.cli.calling import GOOD_RIG, Called, own_files, put

Call = Callable[..., Called]


@pytest.fixture
def there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to stand in."""
    folder = tmp_path / "there"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


def test_a_playbook_by_its_name(call: Call, home: Path) -> None:
    own_files(home)
    called = call("print", "mine")
    assert (called.code, called.err) == (0, "")
    assert "[ ] Do it" in called.out
    assert "[ ] Do the other" in called.out


@pytest.mark.parametrize("words", [("line-check",), ("Line", "check,", "alone")], ids=["id", "title"])
def test_the_line_check_asks_every_input(call: Call, home: Path, words: tuple[str, ...]) -> None:
    own_files(home)
    called = call("print", *words)
    assert called.code == 0
    assert "Make a sound into Bass" in called.out
    assert "Make a sound into Voice" in called.out
    assert "\f" in called.out


def test_nothing_is_written_into_the_log(call: Call, home: Path) -> None:
    own_files(home)
    assert call("print", "patch", "--venue", "Nowhere").code == 0
    assert not log_path().exists()


def test_it_is_for_the_next_show_that_is_planned(call: Call, home: Path) -> None:
    own_files(home)
    call("run", "mine", "--plain", "--venue", "Old Mill", "--date", "2031-07-05")
    call("run", "mine", "--plain", "--venue", "New Mill", "--new-venue", "--date", "2031-07-06")
    assert "Old Mill, 2031-07-05" in call("print", "patch").out
    assert "New Mill, 2031-07-06" in call("print", "patch", "--venue", "new mill").out


def test_a_place_that_the_log_does_not_know_is_printed_as_typed(call: Call, home: Path) -> None:
    own_files(home)
    call("run", "mine", "--plain", "--venue", "Old Mill", "--date", "2031-07-05")
    first = call("print", "contacts", "--venue", "Castle Yard").out.splitlines()[0]
    assert first.startswith("Castle Yard, ")
    assert "2031-07-05" not in first
    called = call("print", "brief", "--venue", "Castle Yard")
    assert (called.code, "anything like 'Castle Yard'" in called.err) == (1, True)


def test_the_patch_sheet_names_venue_inputs_and_labels(call: Call, home: Path) -> None:
    own_files(home)
    out = call("print", "patch", "--venue", "Old Mill").out
    assert "Old Mill" in out
    assert "Input list" in out
    assert "Label strips" in out
    assert "Bass" in out


def test_without_a_rig_there_is_no_patch_sheet(call: Call) -> None:
    called = call("print", "patch")
    assert called.code == 2
    assert "no rig to print a patch sheet of" in called.err


def test_another_rig(call: Call, tmp_path: Path) -> None:
    put(tmp_path, other=GOOD_RIG.replace("Bass", "Tuba"))
    assert "Tuba" in call("print", "patch", "--rig", str(tmp_path / "other.yaml")).out


def test_a_tree_by_what_is_heard(call: Call) -> None:
    computed, author = call("print", "tree", "mains", "noise").out, call("print", "tree", "hum", "--author").out
    assert "Fault: Hum or buzz" in computed
    assert "The computed order: take the numbers in turn" in computed
    assert "The author's order: take the numbers in turn" in author
    assert [line for line in computed.splitlines() if ":" in line] != [
        line for line in author.splitlines() if ":" in line
    ]


def test_the_plan_says_who_decides(call: Call, home: Path) -> None:
    own_files(home)
    assert "Local rules and the licence holder decide." in call("print", "plan").out


def test_the_brief_of_the_next_show(call: Call) -> None:
    """The example act plays its show today, at a place where it was before."""
    out = call("print", "brief", "--demo").out
    assert "Brief: Brickworks Yard" in out
    assert "CONTACTS" in out


def test_a_brief_without_a_venue_is_asked_for(call: Call) -> None:
    called = call("print", "brief")
    assert called.code == 2
    assert "print brief VENUE" in called.err


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("line-chek",), "Did you mean line-check?"),
        (("tree", "xyzzyx"), "There are:"),
        (("patch", "of", "all"), "Leave it out."),
        (("plan", "--out", "plan.yaml"), "Let the file's name end in"),
        (("plan", "--format", "html", "--out", "plan.pdf"), "Let the file's name end in .html or .htm."),
        (("plan", "--out", "."), "Add a file name."),
        (("plan", "--out", "not/here.html"), "There is no folder not."),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_what_cannot_be_printed_is_said(call: Call, there: Path, words: tuple[str, ...], hint: str) -> None:
    called = call("print", *words)
    assert called.code == 2
    assert hint in called.err
    assert not list(there.iterdir())


@pytest.mark.parametrize(("name", "begins"), [("p.txt", b"Two"), ("p.html", b"<!doctype html>"), ("p.pdf", b"%PDF-")])
def test_the_files_name_says_the_form(call: Call, home: Path, there: Path, name: str, begins: bytes) -> None:
    put(home / "config", rig=f"{GOOD_RIG}act: Two\n")
    called = call("print", "labels", "--out", name)
    assert (called.code, called.out) == (0, f"1 sheet is in {name}.\n")
    assert (there / name).read_bytes().startswith(begins)
    assert [path.name for path in there.iterdir()] == [name]


def test_without_the_extra_html_and_text_still_work(
    call: Call, home: Path, there: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = importlib.import_module

    def without(name: str, package: str | None = None) -> object:
        if name == "weasyprint":
            raise ModuleNotFoundError(name)
        return real(name, package)

    own_files(home)
    monkeypatch.setattr(importlib, "import_module", without)
    called = call("print", "plan", "--out", "plan.pdf")
    assert called.code == 2
    assert called.err.startswith("showday: No PDF can be made here: the extra 'paper' is not installed.")
    assert "pip install 'showday[paper]'" in called.err
    assert called.err.count("\n") == 1
    assert not list(there.iterdir())
    assert call("print", "plan", "--format", "html").out.startswith("<!doctype html>")
    assert "Frequency plan" in call("print", "plan").out


def test_a_pdf_without_a_name_gets_one(call: Call, home: Path, there: Path) -> None:
    own_files(home)
    assert call("print", "mine", "--format", "pdf").code == 0
    assert [path.name for path in there.iterdir()] == ["showday-mine.pdf"]


@pytest.mark.slow
def test_all_is_one_file_with_everything(call: Call, there: Path) -> None:
    called = call("print", "all", "--demo")
    assert called.code == 0
    assert [path.name for path in there.iterdir()] == ["showday-all.html"]
    page = (there / "showday-all.html").read_text("utf-8")
    for said in (
        "Emergency contacts",
        "To fix",
        "Brief: Brickworks Yard",
        "Input list",
        "Power",
        "Label strips",
        "Frequency plan",
        "Local rules and the licence holder decide.",
        "Line check, alone",
        "Teardown",
        "Fault: Hum or buzz",
        "Fault: In-ear signal drops out",
        "Make a sound into (input) at (box, socket)",
        "Vocal Sofie",
        "Not in here: what is done at home",
    ):
        assert said in page
    assert "Bench check" not in page


def test_a_log_that_cannot_be_read_does_not_keep_the_rig_from_the_paper(call: Call, home: Path) -> None:
    own_files(home)
    log_path().parent.mkdir(parents=True)
    log_path().write_text("no log at all, but long enough to be looked at as one")
    called = call("print", "labels")
    assert called.code == 0
    assert "Printing without it." in called.err
    assert "Bass" in called.out


@pytest.mark.slow
def test_the_packet_is_what_a_person_carries(call: Call, there: Path) -> None:
    """A fault tree is one leaf of paper at most; the whole packet stays near the forty pages that the help promises."""
    assert call("print", "all", "--demo", "--out", "all.pdf").code == 0
    first, *pages = [" ".join(page.extract_text().split()) for page in PdfReader(there / "all.pdf").pages]
    assert 30 <= len(pages) <= 48
    titles = re.findall(r"Fault: (.+?),? p\. \d+", first)
    assert len(titles) >= 13
    leaves = {title: sum(f"Fault: {title}" in page for page in pages) for title in titles}
    assert set(leaves.values()) <= {1, 2}

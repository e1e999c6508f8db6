"""Venues, the to-fix list, files and calendars from a shell."""

from __future__ import annotations

from pathlib import Path

import pytest

from showday import paths
from showday.log.store import Log
from showday.run.events import Entry
from showday.run.touring import Book, VenueAdded, fold_book
from tests.cli.calling import Caller


def book() -> Book:
    with Log.open(paths.log_path(), create=False) as log:
        return fold_book(log.touring())


def count() -> int:
    with Log.open(paths.log_path(), create=False) as log:
        return log.count()


@pytest.fixture
def mill(call: Caller, tmp_path: Path) -> str:
    """Two venues and a show, from a calendar."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:x"]
    for uid, day, where in (("1", "20310704", "Café Öresund\\, Landby"), ("2", "20310705", "Old Mill\\, Aldford")):
        lines += ["BEGIN:VEVENT", f"UID:{uid}", f"DTSTART:{day}T213000", f"LOCATION:{where}", "SUMMARY:Gig"]
        lines += ["DESCRIPTION:Changeover: 15 min", "END:VEVENT"]
    path = tmp_path / "tour.ics"
    path.write_text("\r\n".join([*lines, "END:VCALENDAR", ""]), "utf-8")
    assert call("calendar", "import", str(path)).code == 0
    return str(path)


class TestVenues:
    def test_a_name_is_found_despite_accents_and_slips_and_renamed(self, call: Caller, mill: str) -> None:
        said = call("venue", "rename", "cafe oresnd", "The Sound", "--town", "Landby")
        assert said.code == 0 and "the old name still finds it" in said.out
        listed = call("venue", "list", "cafe oresund")
        assert listed.out == "The Sound (Landby), formerly Café Öresund: 1 show, last 2031-07-04, 0 notes\n"

    def test_a_merge_is_taken_back_with_all_that_belonged_to_it(self, call: Caller, mill: str) -> None:
        before = call("venue", "list").out
        merged = call("venue", "merge", "old mill", "oresund")
        assert merged.code == 0 and "venue split 'Old Mill'" in merged.out
        assert call("venue", "list").out == (
            "Café Öresund (Landby), formerly Old Mill: 2 shows, last 2031-07-05, 0 notes\n"
        )
        assert call("venue", "split", "old mill").code == 0
        assert call("venue", "list").out == before

    def test_one_place_that_two_laptops_entered_by_the_same_name_is_made_one(self, call: Caller, mill: str) -> None:
        with Log.open(paths.log_path()) as log:
            log.append(
                [Entry("twin-0", "twin", 0, "2026-05-01T18:00:00.000Z", 0.0, VenueAdded("Old Mill", "Aldford"))]
            )
        said = call("brief", "old mill")
        assert said.code == 1 and "venue merge" in said.err
        assert call("venue", "merge", "old mill", "old mill").code == 0
        listed = call("venue", "list", "old mill")
        assert listed.out == "Old Mill (Aldford): 1 show, last 2031-07-05, 0 notes\n"
        assert call("venue", "split", "old mill").code == 0

    @pytest.mark.parametrize(
        ("words", "said"),
        [
            (("merge", "old mill", "Old Mill"), "Both names mean"),
            (("merge", "zzz", "old mill"), "No venue is called"),
            (("split", "old mill"), "No venue was merged"),
            (("rename", "zzz", "x"), "No venue is called"),
        ],
    )
    def test_what_cannot_be_is_a_sentence_and_changes_nothing(
        self, call: Caller, mill: str, words: tuple[str, ...], said: str
    ) -> None:
        before = count()
        called = call("venue", *words)
        assert called.code == 1 and said in called.err
        assert count() == before

    def test_a_note_has_its_topic_in_the_brief(self, call: Caller, mill: str) -> None:
        assert call("venue", "note", "old mill", "40 m to the socket", "--topic", "distance").code == 0
        assert "Distances\n  40 m to the socket" in call("brief", "old mill").out

    def test_as_data(self, call: Caller, mill: str) -> None:
        assert [(v["name"], v["shows"]) for v in call("venue", "list", "--json").data] == [
            ("Café Öresund", 1), ("Old Mill", 1),
        ]  # fmt: skip


class TestToFix:
    def test_from_opened_to_cured_and_open_again(self, call: Caller, mill: str) -> None:
        added = call("to-fix", "add", "DI", "hums", "--about", "input 3", "--venue", "mill", "--owner", "Ben",
                     "--due", "2020-01-01")  # fmt: skip
        assert "DI hums (input 3); Ben; OVERDUE since 2020-01-01" in added.out
        assert call("to-fix", "note", "1", "only", "with", "the", "laptop").code == 0
        assert call("to-fix", "assign", "1", "--due", "2099-01-01").code == 0
        listed = call("to-fix", "list").out
        for words in ("1 ", "Ben; due 2099-01-01", "only with the laptop", "from Old Mill (Aldford)"):
            assert words in listed
        assert "by Ada: new plug" in call("to-fix", "close", "1", "new", "plug", "--by", "Ada").out
        assert call("to-fix", "list").out == "Nothing is to be fixed.\n"
        assert "by Ada: new plug" in call("to-fix", "list", "--closed").out
        assert call("to-fix", "reopen", "1", "hums", "again").code == 0
        (item,) = book().open_items()
        assert (item.notes, item.by) == (("only with the laptop", "hums again"), "")

    @pytest.mark.parametrize(
        ("words", "said", "code"),
        [
            (("close", "1"), "There is no item 1", 1),
            (("close", "0"), "There is no item 0", 1),
            (("reopen", "1"), "There is no closed item 1", 1),
            (("add", "x", "--due", "soon"), "'soon' is not a date", 2),
        ],
    )
    def test_what_cannot_be_is_a_sentence(self, call: Caller, words: tuple[str, ...], said: str, code: int) -> None:
        called = call("to-fix", *words)
        assert (called.code, said in called.err) == (code, True)
        assert book().items == {}


class TestFiles:
    def test_a_path_is_kept_shown_and_said_to_be_missing(self, call: Caller, mill: str, tmp_path: Path) -> None:
        photo = tmp_path / "socket.jpg"
        photo.write_bytes(b"\xff\xd8")
        photo.chmod(0)
        there = call("attach", str(photo), "--venue", "mill", "--about", "the left socket")
        assert there.code == 0 and "not there" not in there.out
        gone = call("attach", str(tmp_path / "gone.jpg"), "--show", "2031-07-05")
        assert "It is not there now." in gone.out
        told = call("brief", "old mill").out
        assert f"  {photo}: the left socket\n" in told
        assert f"  2031-07-05 {tmp_path}/gone.jpg (not there now)\n" in told
        assert call("attach", str(photo), "--venue", "mill", "--remove").code == 0
        assert "socket.jpg" not in call("brief", "old mill").out

    def test_a_file_of_an_item_is_listed_with_it(self, call: Caller, mill: str) -> None:
        call("to-fix", "add", "DI hums")
        assert call("attach", "/nowhere/di.jpg", "--item", "1").code == 0
        assert "file: /nowhere/di.jpg (not there now)" in call("to-fix", "list").out

    @pytest.mark.parametrize(
        ("words", "said"),
        [
            (("/x.jpg",), "Say what it belongs to"),
            (("/x.jpg", "--show", "2031-01-01"), "No show is entered"),
            (("", "--venue", "mill"), "no path of a file"),
            (("/x.jpg", "--venue", "mill", "--remove"), "does not belong to"),
        ],
    )
    def test_what_cannot_be_is_a_sentence(self, call: Caller, mill: str, words: tuple[str, ...], said: str) -> None:
        before = count()
        assert said in call("attach", *words).err
        assert count() == before


class TestCalendar:
    def test_again_and_out_and_in_change_nothing(self, call: Caller, mill: str, tmp_path: Path) -> None:
        before = count()
        assert call("calendar", "import", mill).out.count("as it was") == 2
        out = str(tmp_path / "out.ics")
        assert "2 shows are in" in call("calendar", "export", out).out
        assert call("calendar", "import", out).out.count("as it was") == 2
        assert count() == before

    def test_a_change_updates(self, call: Caller, mill: str) -> None:
        path = Path(mill)
        path.write_text(path.read_text("utf-8").replace("20310705T213000", "20310706T220000"), "utf-8", newline="")
        assert "changed, was 2031-07-05 21:30" in call("calendar", "import", mill).out
        assert sorted((s.date, s.slot) for s in book().shows.values())[-1] == ("2031-07-06", "22:00")
        assert len(book().shows) == 2

    def test_looking_and_choosing(self, call: Caller, mill: str, tmp_path: Path) -> None:
        path = tmp_path / "more.ics"
        path.write_text(Path(mill).read_text("utf-8").replace("UID:", "UID:x"), "utf-8", newline="")
        before = count()
        assert "Nothing was changed" in call("calendar", "import", str(path), "--look").out
        assert count() == before
        assert "1 date in" in call("calendar", "import", str(path), "--only", "oresund").out

    @pytest.mark.parametrize("raw", [b"", b"\xff\x00", b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n"])
    def test_a_damaged_file_changes_nothing(self, call: Caller, mill: str, tmp_path: Path, raw: bytes) -> None:
        path = tmp_path / "bad.ics"
        path.write_bytes(raw)
        before = count()
        called = call("calendar", "import", str(path))
        assert called.code == 2 and called.err.count("\n") == 1 and "bad.ics" in called.err
        assert count() == before

    def test_another_file_is_not_overwritten(self, call: Caller, mill: str, tmp_path: Path) -> None:
        path = tmp_path / "letter.txt"
        path.write_text("dear", "utf-8")
        assert call("calendar", "export", str(path)).code == 2
        assert path.read_text("utf-8") == "dear"

    def test_an_unknown_zone_is_a_sentence(self, call: Caller, mill: str) -> None:
        assert "not the name of a time zone" in call("calendar", "import", mill, "--zone", "../../etc/passwd").err

"""Words once written are found again: in any list, at any venue, however they were spelt."""

from __future__ import annotations

import pytest

from showday.errors import LogTrouble
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.notes import Note, every_note, find_notes
from showday.run import events as ev
from showday.run import touring as tour
from showday.run.events import Entry
from showday.run.touring import fold_book
from tests.log.made import entry, started, story

LOGGED: list[Entry] = [
    *story([tour.VenueAdded("The Old Mill"), tour.VenueNoted("supply", "Two rings; ask for the left one.")], "v1"),
    *story([tour.VenueAdded("Café Lune"), tour.VenueNoted("contact", "Ring the bell at the yard")], "v2"),
    *story(
        [
            started("v1"),
            ev.NoteAdded("the stage box is behind the curtain", "signal@3"),
            ev.StepAnswered("a", ev.LEFT_OUT, "no time, the doors were early"),
            ev.StepAnswered("b", ev.GOOD),
            ev.NoteAdded("taken back"),
            ev.Undone("r1-4"),
        ],
        "r1",
    ),
    *story(
        [tour.ToFixOpened("cable 7 crackles", "v2", about="input 7"), tour.ToFixClosed("new plug")],
        "i1",
    ),
]


@pytest.fixture
def notes() -> list[Note]:
    with Log.in_memory() as log:
        log.append(LOGGED)
        return every_note(Keeper(lambda: log), fold_book(log.touring()))


def test_every_word_that_counts_is_there_with_its_place(notes: list[Note]) -> None:
    assert {(note.venue, note.about, note.text) for note in notes} == {
        ("The Old Mill", "supply", "Two rings; ask for the left one."),
        ("Café Lune", "contact", "Ring the bell at the yard"),
        ("The Old Mill", "Line check", "the stage box is behind the curtain"),
        ("The Old Mill", "Line check", "no time, the doors were early"),
        ("Café Lune", "to fix: input 7", "cable 7 crackles"),
        ("Café Lune", "to fix: input 7", "closed: new plug"),
    }


@pytest.mark.parametrize(
    ("asked", "text"),
    [
        ("curtain", "the stage box is behind the curtain"),
        ("CURTAN", "the stage box is behind the curtain"),
        ("box mill", "the stage box is behind the curtain"),
        ("early", "no time, the doors were early"),
        ("cafe ring", "Ring the bell at the yard"),
        ("crack", "cable 7 crackles"),
        ("plug", "closed: new plug"),
    ],
)
def test_found_by_words_beginnings_and_near_misses(notes: list[Note], asked: str, text: str) -> None:
    assert find_notes(notes, asked)[0].text == text


@pytest.mark.parametrize("asked", ["zebra", "curtain zebra"])
def test_what_nobody_wrote_is_not_found(notes: list[Note], asked: str) -> None:
    assert find_notes(notes, asked) == []


def test_nothing_asked_gives_all_newest_first(notes: list[Note]) -> None:
    found = find_notes(notes, "")
    assert len(found) == len(notes)
    assert [note.at for note in found] == sorted((note.at for note in notes), reverse=True)


def test_an_unsaved_note_is_found_too(monkeypatch: pytest.MonkeyPatch) -> None:
    with Log.in_memory() as log:
        log.append(LOGGED)
        keeper = Keeper(lambda: log)

        def full(*_: object) -> None:
            raise LogTrouble("The disk is full.")

        monkeypatch.setattr(log, "append", full)
        keeper.append([entry(ev.NoteAdded("lamp left of the door"), 9, "r1")])
        found = find_notes(every_note(keeper, fold_book(keeper.touring())), "lamp")
        assert [note.text for note in found] == ["lamp left of the door"]

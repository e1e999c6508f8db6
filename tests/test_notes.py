"""Words once written are found again: in any list, at any venue, however they were spelt."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showday.errors import LogTrouble
from showday.log.keeper import Keeper
from showday.log.store import Log
from showday.note_search import NoteSearch
from showday.run import events as ev
from showday.run import touring as tour
from showday.run.events import Entry
from showday.run.touring import fold_book
from tests.log.made import entry, started, story
from tests.support.plain_notes import all_notes, search

LOGGED: list[Entry] = [
    *story(
        [
            tour.VenueAdded("Watermill"),
            tour.VenueRenamed("The Old Mill"),
            tour.VenueNoted("supply", "Two rings; ask for the left one."),
        ],
        "v1",
    ),
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


def searched(keeper: Keeper) -> NoteSearch:
    """Every note of a log, made ready as the screens do it."""
    while keeper.make_words_ready():
        pass
    return NoteSearch(keeper, fold_book(keeper.touring()))


@pytest.fixture
def notes() -> Iterator[NoteSearch]:
    with Log.in_memory() as log:
        log.append(LOGGED)
        yield searched(Keeper(lambda: log))


def test_every_word_that_counts_is_there_with_its_place(notes: NoteSearch) -> None:
    assert {(note.venue, note.about, note.text) for note in notes.find("")} == {
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
        ("watermill box", "the stage box is behind the curtain"),
    ],
)
def test_found_by_words_beginnings_and_near_misses(notes: NoteSearch, asked: str, text: str) -> None:
    assert notes.find(asked)[0].text == text


@pytest.mark.parametrize("asked", ["zebra", "curtain zebra"])
def test_what_nobody_wrote_is_not_found(notes: NoteSearch, asked: str) -> None:
    assert notes.find(asked) == []


def test_nothing_asked_gives_all_newest_first(notes: NoteSearch) -> None:
    found = notes.find("")
    assert len(found) == 6
    assert [note.at for note in found] == sorted((note.at for note in found), reverse=True)


def test_an_unsaved_note_is_found_too(monkeypatch: pytest.MonkeyPatch) -> None:
    with Log.in_memory() as log:
        log.append(LOGGED)
        keeper = Keeper(lambda: log)

        def full(*_: object) -> None:
            raise LogTrouble("The disk is full.")

        monkeypatch.setattr(log, "append", full)
        keeper.append([entry(ev.NoteAdded("lamp left of the door"), 9, "r1")])
        assert [note.text for note in searched(keeper).find("lamp")] == ["lamp left of the door"]
        keeper.append([entry(ev.Undone("r1-1"), 10, "r1")])
        assert searched(keeper).find("curtain") == []


# -- the same as reading everything ----------------------------------------------------------------------------

WORDS = (
    "hum",
    "hums",
    "humming",
    "Brücke",
    "brucke",
    "crackle",
    "crakle",
    "box",
    "bocks",
    "Saal",
    "saale",
    "e",
    "é",
    "the",
)
ASKED = (
    *WORDS,
    "hu",
    "brueck",
    "crackel",
    "bx",
    "s",
    "t",
    "line",
    "chek",
    "lune",
    "café",
    "mil",
    "old mill",
    "7",
    "--",
)
VENUES = [
    *story([tour.VenueAdded("The Old Mill"), tour.VenueNoted("note", "hum at the box")], "v1"),
    *story([tour.VenueAdded("Café Lune")], "v2"),
    *story([tour.VenueAdded("Saal 7"), tour.VenueMerged("v2")], "v3"),
    *story([tour.ShowPlanned("v3", "2026-05-01")], "s1"),
]


@st.composite
def years(draw: st.DrawFn) -> list[Entry]:
    """Runs with notes, reasons and what takes some of them back."""
    texts = st.lists(st.sampled_from(WORDS), max_size=4).map(" ".join)
    made: list[Entry] = []
    for number in range(draw(st.integers(0, 4))):
        at = f"2026-05-{draw(st.integers(1, 3)):02d}T20:00:00.000Z"
        show, venue = draw(st.sampled_from(["", "s1"])), draw(st.sampled_from(["", "v1", "v2", "v3", "lost"]))
        title = draw(st.sampled_from(["Line check", "Hum hunt", ""]))
        events: list[ev.Event] = [ev.RunStarted("line-check", title, "", venue=venue, show=show)]
        for _ in range(draw(st.integers(0, 5))):
            words = draw(texts)
            events.append(draw(st.sampled_from([ev.NoteAdded(words), ev.StepAnswered("a", ev.LEFT_OUT, words)])))
            if draw(st.integers(0, 3)) == 0:
                events.append(ev.Undone(f"n{number}-{draw(st.integers(1, 6))}"))
        made += [entry(event, seq, f"n{number}", at=at) for seq, event in enumerate(events)]
    return made


@given(years(), st.data())
@settings(deadline=None, max_examples=150)
def test_the_words_find_what_reading_everything_finds(made: list[Entry], data: st.DataObject) -> None:
    """Whatever the order of arrival, and wherever the tables stopped in between."""
    arrived = data.draw(st.permutations(made))
    cut = data.draw(st.integers(0, len(made)))
    asked = " ".join(data.draw(st.lists(st.sampled_from(ASKED), max_size=3)))
    limit = data.draw(st.integers(1, 8))
    with Log.in_memory() as log:
        keeper = Keeper(lambda: log)
        for piece in (VENUES, arrived[:cut], arrived[cut:]):
            log.append(piece)
            log.make_words_ready(data.draw(st.integers(1, 5)))
        book = fold_book(log.touring())
        wanted = search(all_notes(log), book, asked, limit)
        assert NoteSearch(keeper, book).find(asked, limit) == wanted
        assert searched(keeper).find(asked, limit) == wanted
        assert log.check() == []


def test_many_notes_of_one_word_come_newest_first() -> None:
    """More than are looked up one by one, and more than one chunk of them."""
    with Log.in_memory() as log:
        days = [f"2026-{month:02d}-{day:02d}T20:00:00.000Z" for month in range(1, 13) for day in range(1, 29)]
        events = [ev.NoteAdded(f"hum {'old ' if number % 3 else ''}{number}") for number in range(4 * len(days))]
        log.append(VENUES)
        log.append([entry(started(), 0, "r", at=days[0])])
        log.append(entry(e, n, "r", at=days[(n * 89) % len(days)]) for n, e in enumerate(events, 1))
        search_all = searched(Keeper(lambda: log))
        for asked in ("hum", "old hum", "hum 77", "mill"):
            assert search_all.find(asked, 30) == search(all_notes(log), fold_book(log.touring()), asked, 30)

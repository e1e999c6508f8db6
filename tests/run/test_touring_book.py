"""Venues, shows and the to-fix list as they stand after two laptops have told their halves of the story."""

from __future__ import annotations

from itertools import count, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.run import touring as tour
from showday.run.events import Entry, Event
from showday.run.to_fix import ToFix, item_words
from showday.run.touring import Book, VenueNote, fold_book

_NUMBERS = count()


def at(stream: str, event: Event, when: str = "") -> Entry:
    """An entry of a stream, later than those before."""
    number = next(_NUMBERS)
    return Entry(
        f"t{number}",
        stream,
        number,
        when or f"2026-05-02T18:{number // 60 % 60:02d}:{number % 60:02d}.000Z",
        0.0,
        event,
    )


def named(book: Book) -> dict[str, str]:
    """Each place that is listed: its name."""
    return {venue.id: venue.name for venue in book.places()}


A, B, C = (
    at(id, tour.VenueAdded(name, f"{name}town")) for id, name in (("a", "Anchor"), ("b", "Barn"), ("c", "Cellar"))
)


def test_places_are_listed_by_name() -> None:
    book = fold_book([B, at("d", tour.VenueAdded("anvil")), A])
    assert list(named(book)) == ["a", "d", "b"]


def test_a_second_opening_is_passed_over() -> None:
    assert named(fold_book([A, at("a", tour.VenueAdded("Other"))])) == {"a": "Anchor"}


def test_a_renamed_place_keeps_its_old_names_and_what_is_not_said_anew() -> None:
    book = fold_book([A, at("a", tour.VenueRenamed("New")), at("a", tour.VenueRenamed("Newer", "Town", "NO"))])
    venue = book.venues["a"]
    assert (venue.name, venue.town, venue.country, venue.former) == ("Newer", "Town", "NO", ("Anchor", "New"))
    back = fold_book([A, at("a", tour.VenueRenamed("New")), at("a", tour.VenueRenamed("Anchor"))]).venues["a"]
    assert (back.name, back.town, back.former) == ("Anchor", "Anchortown", ("New",))


def test_notes_are_kept_in_order() -> None:
    book = fold_book([A, at("a", tour.VenueNoted("note", "x"), "d1"), at("a", tour.VenueNoted("access", "y"), "d2")])
    assert book.venues["a"].notes == (VenueNote("note", "x", "d1"), VenueNote("access", "y", "d2"))


@pytest.mark.parametrize(
    "event",
    [
        tour.VenueRenamed("x"), tour.VenueMerged("a"), tour.VenueNoted("note", "x"),
        tour.ShowChanged("a", "2026-05-02"), tour.ShowAwayChanged(("Ada",)),
        tour.VenueUnmerged(), tour.ShowLinked("u"), tour.ToFixAssigned("Ada"),
        tour.ToFixNoted("x"), tour.ToFixClosed(), tour.ToFixReopened(),
    ],
    ids=lambda event: type(event).__name__,
)  # fmt: skip
def test_what_belongs_to_something_that_is_not_here_is_passed_over(event: Event) -> None:
    assert fold_book([A, at("gone", event)]) == fold_book([A])


class TestMerging:
    def test_a_merged_place_lends_its_names_and_notes(self) -> None:
        note_a, note_b = at("a", tour.VenueNoted("note", "x"), "d1"), at("b", tour.VenueNoted("note", "y"), "d2")
        book = fold_book([A, B, note_b, note_a, at("b", tour.VenueRenamed("Byre")), at("b", tour.VenueMerged("a"))])
        assert named(book) == {"a": "Anchor"}
        assert book.venues["a"].former == ("Byre", "Barn")
        assert [note.text for note in book.venues["a"].notes] == ["x", "y"]
        found = book.venue("b")
        assert found is not None and found.id == "a"
        assert book.same_place("a") == book.same_place("b") == {"a", "b"}

    def test_merges_are_followed_to_the_end(self) -> None:
        book = fold_book([A, B, C, at("a", tour.VenueMerged("b")), at("b", tour.VenueMerged("c"))])
        assert named(book) == {"c": "Cellar"}
        assert book.same_place("a") == {"a", "b", "c"}
        assert set(book.venues["c"].former) == {"Anchor", "Barn"}

    def test_merging_twice_adds_nothing_twice(self) -> None:
        note = at("a", tour.VenueNoted("note", "x"))
        book = fold_book([A, B, note, at("a", tour.VenueMerged("b")), at("a", tour.VenueMerged("b"))])
        assert [n.text for n in book.venues["b"].notes] == ["x"] and book.venues["b"].former == ("Anchor",)

    def test_the_last_merge_of_a_place_counts(self) -> None:
        book = fold_book([A, B, C, at("a", tour.VenueMerged("b")), at("a", tour.VenueMerged("c"))])
        assert named(book) == {"b": "Barn", "c": "Cellar"}
        assert book.venues["b"].former == () and book.venues["c"].former == ("Anchor",)

    def test_a_place_merged_into_itself_stays(self) -> None:
        book = fold_book([A, at("a", tour.VenueMerged("a"))])
        assert named(book) == {"a": "Anchor"} and book.venues["a"].former == ()

    def test_a_merge_into_a_place_that_is_not_here_counts_for_nothing_yet(self) -> None:
        merge = at("a", tour.VenueMerged("b"))
        assert named(fold_book([A, merge])) == {"a": "Anchor"}
        assert named(fold_book([A, merge, B])) == {"b": "Barn"}

    def test_two_places_merged_into_each_other_are_one(self) -> None:
        merges = [at("a", tour.VenueMerged("b")), at("b", tour.VenueMerged("a"))]
        for order in permutations([A, B, *merges]):
            book = fold_book(order)
            if order.index(A) < order.index(merges[0]) and order.index(B) < order.index(merges[1]):
                assert named(book) == {"a": "Anchor"}
                assert book.same_place("b") == {"a", "b"} and book.venues["a"].former == ("Barn",)

    def test_a_circle_of_three_with_a_tail_is_one_place(self) -> None:
        way = [("a", "b"), ("b", "c"), ("c", "a"), ("d", "b")]
        book = fold_book([A, B, C, at("d", tour.VenueAdded("Den")), *(at(x, tour.VenueMerged(y)) for x, y in way)])
        assert named(book) == {"a": "Anchor"}
        assert all(book.same_place(id) == {"a", "b", "c", "d"} for id in "abcd")

    def test_nothing_is_at_an_unknown_place(self) -> None:
        book = fold_book([A])
        assert book.venue("gone") is None and book.venue("") is None and book.same_place("gone") == set()

    @given(st.lists(st.tuples(st.sampled_from("abcde"), st.sampled_from("abcdef")), max_size=12))
    def test_however_places_are_merged_every_one_is_somewhere(self, merges: list[tuple[str, str]]) -> None:
        added = [at(id, tour.VenueAdded(id.upper())) for id in "abcde"]
        book = fold_book([*added, *(at(x, tour.VenueMerged(y)) for x, y in merges)])
        listed = set(named(book))
        for id in "abcde":
            found = book.venue(id)
            assert found is not None and found.id in listed
        groups = [book.same_place(id) for id in listed]
        assert sorted(id for group in groups for id in group) == list("abcde")


class TestShows:
    PLANNED = at("s", tour.ShowPlanned("a", "2026-05-02", "21:00", 20.0, ("festival",)))

    def test_a_show_is_as_it_was_last_planned(self) -> None:
        show = fold_book([self.PLANNED, at("s", tour.ShowChanged("b", "2026-05-03", "22:00"))]).shows["s"]
        assert (show.venue, show.date, show.slot, show.changeover, show.facts) == (
            "b",
            "2026-05-03",
            "22:00",
            None,
            (),
        )

    def test_who_is_away_is_kept_when_the_plan_changes(self) -> None:
        away = at("s", tour.ShowAwayChanged(("Ada",)))
        show = fold_book([self.PLANNED, away, at("s", tour.ShowChanged("a", "2026-05-02"))]).shows["s"]
        assert (show.away, show.away_said) == (("Ada",), True)

    def test_nobody_away_is_not_the_same_as_nothing_said(self) -> None:
        assert not fold_book([self.PLANNED]).shows["s"].away_said
        show = fold_book([self.PLANNED, at("s", tour.ShowAwayChanged(()))]).shows["s"]
        assert (show.away, show.away_said) == ((), True)


class TestToFix:
    OPENED = at("i", tour.ToFixOpened("Hum: not solved", "a", "s", "r", "w", "input 1", "spare DI"), "d1")

    def test_an_item_keeps_where_it_comes_from(self) -> None:
        item = fold_book([self.OPENED]).items["i"]
        assert (item.text, item.opened, item.venue, item.show, item.run) == ("Hum: not solved", "d1", "a", "s", "r")
        assert (item.walk, item.about, item.uses, item.closed) == ("w", "input 1", "spare DI", "")

    def test_it_is_noted_closed_and_opened_again(self) -> None:
        noted, closed = at("i", tour.ToFixNoted("odd")), at("i", tour.ToFixClosed("soldered"), "d2")
        book = fold_book([self.OPENED, noted, closed])
        assert book.open_items() == []
        assert (book.items["i"].closed, book.items["i"].how, book.items["i"].notes) == ("d2", "soldered", ("odd",))
        again = fold_book(
            [self.OPENED, noted, closed, at("i", tour.ToFixReopened("hums")), at("i", tour.ToFixReopened())]
        )
        item = again.items["i"]
        assert (item.closed, item.how, item.notes) == ("", "", ("odd", "hums"))

    def test_a_second_opening_does_not_open_it_again(self) -> None:
        book = fold_book([self.OPENED, at("i", tour.ToFixClosed(), "d2"), at("i", tour.ToFixOpened("again"))])
        assert book.items["i"].text == "Hum: not solved" and book.open_items() == []

    def test_open_items_are_told_oldest_first(self) -> None:
        later, earlier = at("x", tour.ToFixOpened("later"), "d9"), at("y", tour.ToFixOpened("earlier"), "d0")
        assert [item.id for item in fold_book([later, self.OPENED, earlier]).open_items()] == ["y", "i", "x"]


def test_events_of_runs_are_not_the_books_business() -> None:
    from showday.run.events import NoteAdded

    assert fold_book([A, at("a", NoteAdded("x"))]) == fold_book([A])


class TestTakingApart:
    MERGED = (A, B, at("b", tour.VenueNoted("note", "y"), "d2"), at("b", tour.VenueMerged("a")))

    def test_a_merge_that_was_taken_back_leaves_no_trace(self) -> None:
        book = fold_book([*self.MERGED, at("b", tour.VenueUnmerged())])
        assert book == fold_book(self.MERGED[:3])
        assert book.parts("a") == []

    def test_what_was_noted_meanwhile_stays_with_the_place_that_was_left(self) -> None:
        book = fold_book([*self.MERGED, at("a", tour.VenueNoted("note", "both")), at("b", tour.VenueUnmerged())])
        assert [note.text for note in book.venues["a"].notes] == ["both"]
        assert [note.text for note in book.venues["b"].notes] == ["y"]

    def test_it_can_be_merged_again(self) -> None:
        book = fold_book([*self.MERGED, at("b", tour.VenueUnmerged()), at("b", tour.VenueMerged("a"))])
        assert named(book) == {"a": "Anchor"} and [v.id for v in book.parts("a")] == ["b"]

    def test_taking_apart_what_was_never_merged_changes_nothing(self) -> None:
        assert fold_book([A, at("a", tour.VenueUnmerged()), at("gone", tour.VenueUnmerged())]) == fold_book([A])

    def test_only_the_named_part_leaves(self) -> None:
        book = fold_book([*self.MERGED, C, at("c", tour.VenueMerged("a")), at("b", tour.VenueUnmerged())])
        assert named(book) == {"a": "Anchor", "b": "Barn"} and book.venues["a"].former == ("Cellar",)


class TestWhoAndWhen:
    OPENED = at("i", tour.ToFixOpened("Hum", "a", "s"), "d1")

    def test_the_last_word_on_owner_and_day_counts(self) -> None:
        item = fold_book(
            [self.OPENED, at("i", tour.ToFixAssigned("Ada", "2026-05-08")), at("i", tour.ToFixAssigned("Ben"))]
        )
        assert (item.items["i"].owner, item.items["i"].due) == ("Ben", "")

    def test_who_closed_it_is_kept_until_it_is_open_again(self) -> None:
        closed = at("i", tour.ToFixClosed("soldered", "Ada"), "d2")
        assert fold_book([self.OPENED, closed]).items["i"].by == "Ada"
        assert fold_book([self.OPENED, closed, at("i", tour.ToFixReopened())]).items["i"].by == ""

    def test_what_is_due_first_stands_first_then_the_oldest(self) -> None:
        entries = [
            at("old", tour.ToFixOpened("old"), "2026-01-01"),
            at("late", tour.ToFixOpened("late"), "2026-01-03"),
            at("late", tour.ToFixAssigned("", "2026-09-01")),
            at("soon", tour.ToFixOpened("soon"), "2026-01-02"),
            at("soon", tour.ToFixAssigned("", "2026-05-01")),
        ]
        assert [item.id for item in fold_book(entries).open_items()] == ["soon", "late", "old"]

    def test_closed_items_are_told_last_closed_first(self) -> None:
        entries = [at(id, tour.ToFixOpened(id), "d0") for id in "xyz"]
        entries += [at("y", tour.ToFixClosed(), "d2"), at("x", tour.ToFixClosed(), "d5")]
        assert [item.id for item in fold_book(entries).closed_items()] == ["x", "y"]

    @pytest.mark.parametrize(
        ("due", "closed", "today", "late"),
        [
            ("2026-05-01", "", "2026-05-02", True),
            ("2026-05-01", "", "2026-05-01", False),
            ("2026-05-01", "d9", "2026-05-02", False),
            ("", "", "2026-05-02", False),
            ("2026-05-01", "", "", False),
        ],
    )
    def test_overdue_is_open_after_its_day(self, due: str, closed: str, today: str, late: bool) -> None:
        item = ToFix("i", "Hum", "d1", due=due, closed=closed)
        assert item.overdue(today) is late
        assert ("OVERDUE" in item_words(item, today)) is late

    def test_an_item_belongs_to_the_place_of_its_show(self) -> None:
        planned = at("s", tour.ShowPlanned("a", "2026-05-02"))
        moved = at("s", tour.ShowChanged("b", "2026-05-02"))
        book = fold_book([A, B, planned, self.OPENED, moved])
        assert book.venue_of(book.items["i"]) == "b"


class TestFiles:
    def test_a_file_named_again_has_new_words_and_one_taken_away_is_gone(self) -> None:
        book = fold_book(
            [A, at("a", tour.FileAttached("/x.jpg", "door"), "d1"), at("a", tour.FileAttached("/y.jpg"), "d2")]
        )
        assert [(f.path, f.about) for f in book.files_of("a")] == [("/y.jpg", ""), ("/x.jpg", "door")]
        again = fold_book(
            [A, at("a", tour.FileAttached("/x.jpg", "door")), at("a", tour.FileAttached("/x.jpg", "stairs"))]
        )
        assert [f.about for f in again.files_of("a")] == ["stairs"]
        gone = fold_book([A, at("a", tour.FileAttached("/x.jpg")), at("a", tour.FileDetached("/x.jpg"))])
        assert gone.files_of("a") == []

    def test_a_merged_place_lends_its_files_and_takes_them_back(self) -> None:
        story = [A, B, at("b", tour.FileAttached("/x.jpg")), at("b", tour.VenueMerged("a"))]
        assert [f.path for f in fold_book(story).files_of("a")] == ["/x.jpg"]
        assert fold_book([*story, at("b", tour.VenueUnmerged())]).files_of("a") == []

    def test_shows_and_items_have_their_own(self) -> None:
        entries = [at("s", tour.FileAttached("/plot.pdf")), at("i", tour.FileAttached("/burnt.jpg"))]
        book = fold_book(entries)
        assert [f.path for f in book.files_of("s")] == ["/plot.pdf"] and [f.path for f in book.files_of("i")] == [
            "/burnt.jpg"
        ]


def test_a_show_knows_its_calendar_entries_and_how_often_it_changed() -> None:
    planned = at("s", tour.ShowPlanned("a", "2026-05-02"), "t1")
    linked = [
        at("s", tour.ShowLinked("1@fest")),
        at("s", tour.ShowLinked("1@fest")),
        at("s", tour.ShowLinked("2@fest")),
    ]
    show = fold_book([planned, *linked, at("s", tour.ShowChanged("a", "2026-05-03"), "t2")]).shows["s"]
    assert (show.uids, show.changes, show.changed) == (("1@fest", "2@fest"), 1, "t2")

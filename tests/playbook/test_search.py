"""A stressed person types half a word and finds the right tree."""

from __future__ import annotations

import pytest

from showday.playbook.search import Entry, search

ENTRIES = [
    Entry("fault", "hum", "Hum or buzz", ("hum", "buzz", "low drone", "mains noise"), 15.0),
    Entry("fault", "rf-dropouts", "Dropouts in the ears", ("drop out", "cuts out", "hiss bursts"), 15.0),
    Entry("fault", "no-signal", "No signal", ("silent", "nothing comes"), 15.0),
    Entry("step", "packing/stick", "Pack the thumb drive", ("songs on it",)),
    Entry("playbook", "line-check", "Line check, alone", ("before the first song",), 5.0),
]


@pytest.mark.parametrize(
    ("query", "first"),
    [
        ("hum", "hum"), ("HUM", "hum"), ("buzz", "hum"), ("humm", "hum"), ("dropout", "rf-dropouts"),
        ("it cuts out", "rf-dropouts"), ("silent", "no-signal"), ("nothing", "no-signal"),
        ("line check", "line-check"), ("thumb drive", "packing/stick"),
    ],
)  # fmt: skip
def test_what_is_typed_is_found(query: str, first: str) -> None:
    assert search(ENTRIES, query)[0].entry.id == first


def test_a_word_inside_of_another_is_no_find() -> None:
    found = search(ENTRIES, "hum")
    assert found[0].entry.id == "hum" and found[0].score > 1.4 * max((h.score for h in found[1:]), default=0)


def test_the_words_that_matched_are_told() -> None:
    assert search(ENTRIES, "low drone")[0].by == "low drone"


def test_nothing_typed_lists_all_in_their_order() -> None:
    assert [hit.entry.id for hit in search(ENTRIES, "  ")] == [entry.id for entry in ENTRIES]
    assert len(search(ENTRIES, "", limit=2)) == 2


@pytest.mark.parametrize("query", ["xyzzy", "!!!", "[/]", "漢", "q" * 5000])
def test_whatever_is_typed_does_no_harm(query: str) -> None:
    assert len(search(ENTRIES, query)) <= len(ENTRIES)

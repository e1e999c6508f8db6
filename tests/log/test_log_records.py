from __future__ import annotations

import hashlib
import random

import pytest

from showday.log.records import RunRecord, dangling, in_order, snapshot_hash, storable, summarise
from showday.run import events as ev
from showday.run.events import Event
from tests.log.made import EVERY_EVENT, HOSTILE, an_evening, entry, good, started, story


def test_a_snapshot_is_named_by_what_it_holds() -> None:
    assert snapshot_hash("plan", "a\nb") == hashlib.sha256(b"plan\na\nb").hexdigest()
    assert snapshot_hash("plan", "a") != snapshot_hash("rig", "a")


@pytest.mark.parametrize("name", list(HOSTILE))
def test_any_text_has_a_hash(name: str) -> None:
    assert len(snapshot_hash("plan", HOSTILE[name])) == 64


def test_order_does_not_depend_on_where_entries_come_from() -> None:
    wanted = in_order(an_evening())
    mixed = an_evening()
    random.Random(1).shuffle(mixed)
    assert in_order(mixed) == wanted
    for stream in ("r1", "r2", "v2"):
        places = [e.seq for e in wanted if e.stream == stream]
        assert places == sorted(places)
    assert [e.stream for e in wanted] == sorted([e.stream for e in wanted], key=[e.stream for e in wanted].index)


def test_equal_places_are_ordered_by_time_and_then_by_id() -> None:
    late, b, a = (entry(good(), 1, id=id, at=at) for id, at in (("a", "2"), ("b", "1"), ("a2", "1")))
    assert in_order([late, b, a]) == [a, b, late]


COUNTS: dict[str, tuple[list[Event], RunRecord]] = {
    "only begun": ([], RunRecord("r1", "line-check", "Line check", "v1", "s1", "", "", "", 0, 0, 0)),
    "answers, a walk and notes": (
        [good(), good(), EVERY_EVENT["walk-opened"], ev.NoteAdded("a"), ev.NoteAdded("b"), ev.NoteAdded("c")],
        RunRecord("r1", "line-check", "Line check", "v1", "s1", "", "", "", 2, 1, 3),
    ),
    "complete": (
        [good(), ev.RunFinished(ev.COMPLETE)],
        RunRecord("r1", "line-check", "Line check", "v1", "s1", "", "", "complete", 1, 0, 0),
    ),
    "an answer undone": (
        [good(), ev.Undone("r1-1")],
        RunRecord("r1", "line-check", "Line check", "v1", "s1", "", "", "", 0, 0, 0),
    ),
    "its end undone": (
        [good(), ev.RunFinished(ev.STOPPED), ev.Undone("r1-2")],
        RunRecord("r1", "line-check", "Line check", "v1", "s1", "", "", "", 1, 0, 0),
    ),
    "its end undone and set again": (
        [ev.RunFinished(ev.STOPPED), ev.Undone("r1-1"), ev.RunFinished(ev.COMPLETE)],
        RunRecord("r1", "line-check", "Line check", "v1", "s1", "", "", "complete", 0, 0, 0),
    ),
    "an undo undone": (
        [good(), ev.Undone("r1-1"), ev.Undone("r1-2")],
        RunRecord("r1", "line-check", "Line check", "v1", "s1", "", "", "", 1, 0, 0),
    ),
}


@pytest.mark.parametrize("name", list(COUNTS))
def test_a_run_in_one_line(name: str) -> None:
    events, wanted = COUNTS[name]
    entries = story([started(), *events])
    found = summarise(entries)
    assert found is not None
    assert (found.started, found.last) == (entries[0].at, entries[-1].at)
    assert found == RunRecord(
        **{**{f: getattr(wanted, f) for f in RunRecord.__slots__}, "started": entries[0].at, "last": entries[-1].at}
    )


def test_last_is_the_latest_time_even_when_the_clock_went_back() -> None:
    found = summarise([entry(started(), 0, at="2026-05-01"), entry(good(), 1, at="2026-04-01")])
    assert found is not None
    assert found.last == "2026-05-01"


def test_what_starts_no_run_has_no_record() -> None:
    assert summarise([]) is None
    assert summarise(story([good()])) is None


def test_an_undo_of_what_is_not_here_is_dangling() -> None:
    assert not dangling(story([started(), good(), ev.Undone("r1-1")]))
    assert dangling(story([started(), good(), ev.Undone("elsewhere")]))


def test_half_a_pair_is_replaced_in_a_record() -> None:
    assert storable("a\ud83d") == "a\ufffd"
    assert storable("🎤") == "🎤"

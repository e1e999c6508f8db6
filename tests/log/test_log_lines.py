from __future__ import annotations

import pytest

from showday.log.lines import Lines, from_lines, to_lines
from showday.run import events as ev
from tests.log.made import EVERY_EVENT, HOSTILE, UNKNOWN, an_evening, entry, snapshot, story


def test_entries_and_snapshots_come_back_as_they_were() -> None:
    entries = (*an_evening(), *story([*EVERY_EVENT.values(), UNKNOWN], "r9"))
    kept = (snapshot("a"), snapshot("b", "rig"))
    assert from_lines(to_lines(entries, kept)) == Lines(entries, kept)


def test_nothing_is_no_lines() -> None:
    assert to_lines([]) == ""
    assert from_lines("\n\n") == Lines()


@pytest.mark.parametrize("name", list(HOSTILE))
def test_hostile_text_is_one_line_of_ascii(name: str) -> None:
    entries = (entry(ev.NoteAdded(HOSTILE[name])),)
    kept = (snapshot(HOSTILE[name], name=HOSTILE[name]),)
    text = to_lines(entries, kept)
    assert text.isascii()
    assert text.count("\n") == len(text.splitlines()) == 2
    assert "\x1b" not in text
    assert from_lines(text) == Lines(entries, kept)


def test_whole_seconds_are_read_again() -> None:
    assert from_lines(to_lines([entry(EVERY_EVENT["came-back"], elapsed=3)])).entries[0].elapsed == 3


WHOLE = to_lines([entry(EVERY_EVENT["came-back"])]).strip()

BROKEN = {
    "cut short": WHOLE[:-5],
    "not JSON": "hello",
    "not an object": "[1, 2]",
    "another object": '{"song": {}}',
    "two things": '{"entry": {}, "snapshot": {}}',
    "a field is missing": WHOLE.replace('"elapsed": 0.0, ', ""),
    "a field too many": WHOLE.replace('"elapsed": 0.0, ', '"elapsed": 0.0, "extra": 1, '),
    "a field of another type": WHOLE.replace('"seq": 0', '"seq": "0"'),
    "a damaged event": WHOLE.replace('\\"w1\\"', "5"),
    "nested without end": "[" * 100_000,
}


@pytest.mark.parametrize("name", list(BROKEN))
def test_a_line_that_is_not_whole_is_set_apart(name: str) -> None:
    line = BROKEN[name]
    assert line != WHOLE
    assert from_lines(f"{line}\n{WHOLE}\n") == Lines((entry(EVERY_EVENT["came-back"]),), (), (line,))

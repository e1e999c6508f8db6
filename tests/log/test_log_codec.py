from __future__ import annotations

import json
import math
import typing
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.log.codec import KINDS, WORDS, Unknown, decode, encode, family, readable
from showday.run import air
from showday.run import events as ev
from showday.run import touring as tour
from showday.run.events import Event
from tests.log.made import EVERY_EVENT, HOSTILE, UNKNOWN


def joined(text: str) -> str:
    """Two halves of a pair that stand side by side are one character in JSON (RFC 8259, section 7)."""
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "surrogatepass")


TEXTS = st.text(st.characters(exclude_categories=())).map(joined)


def values(hint: Any) -> st.SearchStrategy[Any]:
    if hint is str:
        return TEXTS
    if hint is float:
        return st.floats(allow_nan=False)
    inner = typing.get_args(hint)
    if typing.get_origin(hint) is tuple:
        each = [values(i) for i in inner if i is not ...]
        return st.lists(each[0], max_size=4).map(tuple) if ... in inner else st.tuples(*each)
    if inner:
        return st.one_of(*map(values, inner))
    return st.from_type(hint)


def events() -> st.SearchStrategy[Event]:
    def of(made: type[Event]) -> st.SearchStrategy[Event]:
        hints = typing.get_type_hints(made)
        return st.builds(made, **{f.name: values(hints[f.name]) for f in fields(made)})

    return st.sampled_from(list(KINDS.values())).flatmap(of)


@given(events())
def test_every_event_comes_back_equal(event: Event) -> None:
    kind, body = encode(event)
    assert decode(kind, body) == event
    assert hash(decode(kind, body)) == hash(event)
    assert encode(decode(kind, body)) == (kind, body)


@given(events())
def test_every_body_is_json_with_sorted_keys_that_utf_8_takes(event: Event) -> None:
    body = encode(event)[1]
    body.encode("utf-8")

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is not JSON")

    data = json.loads(body, parse_constant=refuse)
    assert list(data) == sorted(data)


def test_every_event_has_a_word_and_every_word_an_event() -> None:
    assert set(WORDS) == {*ev.RUN_EVENTS, *tour.TOURING_EVENTS, *air.AIR_EVENTS}
    assert len(WORDS) == len(KINDS)


@pytest.mark.parametrize("word", list(EVERY_EVENT))
def test_the_words_of_the_log_stay(word: str) -> None:
    event = EVERY_EVENT[word]
    kind, body = encode(event)
    assert kind == word
    assert decode(word, body) == event


def test_every_word_of_the_log_is_listed_here() -> None:
    assert list(EVERY_EVENT) == list(KINDS)


def test_the_form_of_a_body_stays() -> None:
    assert encode(EVERY_EVENT["step-answered"]) == (
        "step-answered",
        '{"confirmed":true,"reason":"no time","result":"left out","source":"meter","step":"signal@3"}',
    )
    assert encode(ev.NoteAdded("é漢🎤"))[1] == '{"step":"","text":"é漢🎤"}'


@pytest.mark.parametrize("name", list(HOSTILE))
def test_hostile_text_comes_back_as_it_was(name: str) -> None:
    event = ev.NoteAdded(HOSTILE[name])
    kind, body = encode(event)
    assert "\x00" not in body
    assert "\x1b" not in body
    body.encode("utf-8")
    assert decode(kind, body) == event


@pytest.mark.parametrize("value", [math.inf, -math.inf, -0.0, 5e-324, 0.1])
def test_readings_of_any_size_come_back(value: float) -> None:
    event = ev.ReadingTaken("level", value, "dBFS")
    back = decode(*encode(event))
    assert back == event
    assert isinstance(back, ev.ReadingTaken)
    assert math.copysign(1, back.value) == math.copysign(1, value)


def test_a_reading_that_is_no_number_comes_back() -> None:
    back = decode(*encode(ev.ReadingTaken("level", math.nan, "dBFS")))
    assert isinstance(back, ev.ReadingTaken)
    assert math.isnan(back.value)


def test_a_whole_number_is_read_as_a_float() -> None:
    back = decode("run-resumed", '{"gap": 3}')
    assert isinstance(back, ev.RunResumed)
    assert type(back.gap) is float


def test_fields_that_an_older_program_did_not_write_get_their_defaults() -> None:
    assert decode("step-answered", '{"step": "a", "result": "good"}') == ev.StepAnswered("a", "good")


DAMAGED = {
    "nothing": ("note-added", ""),
    "cut short": ("note-added", '{"text": "ab'),
    "not an object": ("note-added", '["text"]'),
    "a number": ("note-added", "5"),
    "a field is missing": ("note-added", '{"step": "a"}'),
    "text is a number": ("note-added", '{"text": 5}'),
    "text is null": ("note-added", '{"text": null}'),
    "truth is a number": ("step-answered", '{"step": "a", "result": "good", "confirmed": 1}'),
    "a number is truth": ("run-resumed", '{"gap": true}'),
    "a number is text": ("run-resumed", '{"gap": "5"}'),
    "a number too large": ("run-resumed", '{"gap": 1' + "0" * 400 + "}"),
    "a list is text": ("away-changed", '{"away": "Ada"}'),
    "a list of numbers": ("away-changed", '{"away": [1]}'),
    "a short row": (
        "walk-opened",
        '{"walk": "", "fault": "", "title": "", "tree": "", "outline": [["a"]]}',
    ),
    "nested without end": ("note-added", "[" * 100_000),
    "unknown and damaged": ("lamp-lit", '{"where": '),
    "unknown and not an object": ("lamp-lit", "[]"),
}


@pytest.mark.parametrize("name", list(DAMAGED))
def test_a_damaged_body_is_refused_and_can_be_carried(name: str) -> None:
    kind, body = DAMAGED[name]
    with pytest.raises(ValueError):
        decode(kind, body)
    assert encode(readable(kind, body)) == (kind, body)


NEWER = {
    "a newer kind": (UNKNOWN.kind, UNKNOWN.body),
    "a newer field": ("note-added", '{"text":"a","step":"","mood":"calm"}'),
}


@pytest.mark.parametrize("name", list(NEWER))
def test_what_a_newer_program_wrote_is_carried_unchanged(name: str) -> None:
    kind, body = NEWER[name]
    event = decode(kind, body)
    assert event == Unknown(kind, body)
    assert encode(event) == (kind, body)


def test_venues_shows_items_and_the_air_are_touring_and_the_rest_is_of_runs() -> None:
    outside = (*tour.TOURING_EVENTS, *air.AIR_EVENTS)
    assert {kind for kind in KINDS if family(kind) == "touring"} == {WORDS[made] for made in outside}
    assert family("lamp-lit") == "run"


OLDER = {
    "walk-opened": ('{"walk":"w","fault":"hum","title":"Hum","tree":"t","outline":[]}', "item", ""),
    "walk-ended": ('{"walk":"w","outcome":"restored"}', "odds", ()),
    "to-fix-opened": ('{"text":"hum","walk":"w","uses":"spare DI"}', "odds", ()),
    "to-fix-closed": ('{"how":"new plug"}', "by", ""),
}


@pytest.mark.parametrize("word", list(OLDER))
def test_entries_from_before_a_field_was_there_have_its_default(word: str) -> None:
    body, name, default = OLDER[word]
    assert getattr(decode(word, body), name) == default

"""Sentences with fields: what the rig knows is filled in, what it does not know never breaks the sentence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showday.text.sentence import fields_in, fill, stray_braces

KNOWN = {"input.name": "Kick", "input.number": "1", "input.box": "", "rig.act": "The {input.name} [Band]"}
WORDS = {"input.box": "its box", "input.person": "its player"}

SENTENCES = [
    pytest.param("Plug {input.name}", "Plug Kick", id="known"),
    pytest.param("Plug into {input.box}", "Plug into its box", id="empty is unknown"),
    pytest.param("Ask {input.person}", "Ask its player", id="plain words"),
    pytest.param("See {mix.wall_side}", "See wall side", id="no words for it"),
    pytest.param("Plug {input.name} [into {input.box}]", "Plug Kick", id="a part vanishes"),
    pytest.param("Plug {input.name} [into {input.box}].", "Plug Kick.", id="no gap before the stop"),
    pytest.param("Plug [{input.name} ]in", "Plug Kick in", id="a part stays"),
    pytest.param("[{input.box}: ]plug it", "plug it", id="a part vanishes in front"),
    pytest.param("a [{input.box} ]and [{input.box} ]b", "a and b", id="two parts vanish"),
    pytest.param("one [x {input.name} y {input.box}] two", "one two", id="all fields of a part must be known"),
    pytest.param("Press [SHIFT]", "Press [SHIFT]", id="brackets without a field stay"),
    pytest.param("[outer [in {input.name}] part]", "[outer in Kick part]", id="brackets in brackets"),
    pytest.param("{input.name} {input.name}", "Kick Kick", id="twice"),
    pytest.param("For {rig.act}", "For The {input.name} [Band]", id="a value is not read again"),
    pytest.param("For [{rig.act}]", "For The {input.name} [Band]", id="nor inside of a part"),
    pytest.param("{input.__class__} {x.y.z} {0} {}", "class {x.y.z} {0} {}", id="no attributes, no formats"),
    pytest.param("", "", id="empty"),
]


@pytest.mark.parametrize(("text", "said"), SENTENCES)
def test_a_sentence_is_filled(text: str, said: str) -> None:
    assert fill(text, KNOWN, WORDS) == said


def test_words_may_be_empty_on_purpose() -> None:
    assert fill("12..{load.high}", {}, {"load.high": ""}) == "12.."


def test_fields_are_found_in_order() -> None:
    assert list(fields_in("{a.b} [c {d.e}] {F.g} {h}")) == ["a.b", "d.e", "h"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        pytest.param("{input.name} and [{input.box}]", [], id="fields alone"),
        pytest.param("{Input.name}", ["Input.name"], id="a capital"),
        pytest.param("{ input.name }", [" input.name "], id="spaces"),
        pytest.param("{input name}", ["input name"], id="no dot"),
        pytest.param("{input.name", [""], id="not closed"),
        pytest.param("a } b", [""], id="never opened"),
        pytest.param("{}", [""], id="nothing inside"),
    ],
)
def test_braces_that_hold_no_field_are_found(text: str, found: list[str]) -> None:
    assert list(stray_braces(text)) == found


FOREIGN = st.text(st.sampled_from("{}[]\x00 0123456789abc.,input.name"), max_size=20)


@given(name=FOREIGN, box=FOREIGN)
def test_foreign_values_are_never_read_again(name: str, box: str) -> None:
    known = {"input.name": name, "input.box": box}
    said = fill("<{input.name}|{input.box}>[ ({input.name})]", known, {"input.name": "N", "input.box": "B"})
    whole = f"<{name or 'N'}|{box or 'B'}>{f' ({name})' if name else ''}"
    assert "".join(said.split()) == "".join(whole.split())


@given(st.text(max_size=60))
def test_any_text_can_be_filled(text: str) -> None:
    fill(text, {"input.name": "Kick"}, {})

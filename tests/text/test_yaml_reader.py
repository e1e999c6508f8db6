"""Nothing in a file is guessed, every place is kept, and no file can do anything but be refused."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from showday.text import reader
from showday.text.problem import Place
from showday.text.reader import Listing, Mapping, Node, Scalar, read_yaml

LOADERS = [pytest.param(yaml.SafeLoader, id="python")]
if hasattr(yaml, "CSafeLoader"):
    LOADERS.append(pytest.param(yaml.CSafeLoader, id="libyaml"))


@pytest.fixture(params=LOADERS)
def loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Each of the parsers that an installation may have."""
    monkeypatch.setattr(reader, "_Loader", request.param)
    return request.param


def bare(node: Node | None) -> Any:
    """The node as texts, lists and dicts."""
    if isinstance(node, Mapping):
        return {str(key): bare(value) for key, value in node.entries}
    if isinstance(node, Listing):
        return [bare(item) for item in node.items]
    return node.text if isinstance(node, Scalar) else None


def problems_of(source: bytes | str) -> list[str]:
    """The problems as `line:column: text`."""
    _, problems = read_yaml(source, "f")
    return [str(p).removeprefix("f:") for p in problems.in_order()]


YAML_11_WORDS = {
    "bool (yaml.org/type/bool.html)": """
        y Y yes Yes YES n N no No NO true True TRUE false False FALSE on On ON off Off OFF""",
    "int (yaml.org/type/int.html)": """
        685230 +685_230 02472256 0x_0A_74_AE 0b1010_0111_0100_1010_1110 190:20:30 010 0777 1_000 19:30 12:30""",
    "float (yaml.org/type/float.html)": """
        6.8523015e+5 685.230_15e+03 685_230.15 190:20:30.15 -.inf .NaN .inf 1e3 1.10 1:30:00""",
    "null (yaml.org/type/null.html)": "~ null Null NULL",
    "timestamp (yaml.org/type/timestamp.html)": "2001-12-15T02:59:43.1Z 2001-12-14t21:59:43.10-05:00 2002-12-14",
    "value (yaml.org/type/value.html)": "=",
}
BOOLS = next(iter(YAML_11_WORDS.values())).split()
TYPED = [pytest.param(word, id=f"{kind} {word}") for kind, words in YAML_11_WORDS.items() for word in words.split()]


@pytest.mark.usefixtures("loader")
class TestAsTyped:
    @pytest.mark.parametrize("word", TYPED)
    def test_a_value_stays_as_typed(self, word: str) -> None:
        node, problems = read_yaml(f"key: {word}\n", "f")
        assert not problems
        assert bare(node) == {"key": word}

    @pytest.mark.parametrize("word", TYPED)
    def test_a_list_item_stays_as_typed(self, word: str) -> None:
        assert bare(read_yaml(f"- {word}\n- [{word}]\n", "f")[0]) == [word, [word]]

    @pytest.mark.parametrize("word", TYPED)
    def test_a_key_stays_as_typed(self, word: str) -> None:
        node, problems = read_yaml(f"{word}: value\n", "f")
        assert not problems
        assert bare(node) == {word: "value"}

    def test_all_the_words_for_yes_and_no_are_different_keys(self) -> None:
        node, problems = read_yaml("\n".join(f"{word}: {n}" for n, word in enumerate(BOOLS)), "f")
        assert not problems
        assert bare(node) == {word: str(n) for n, word in enumerate(BOOLS)}

    def test_quotes_make_no_difference(self) -> None:
        assert bare(read_yaml("'no': \"no\"\nyes: 'yes'", "f")[0]) == {"no": "no", "yes": "yes"}

    def test_folded_and_literal_texts_are_read(self) -> None:
        assert bare(read_yaml("a: >\n  one\n  two\nb: |\n  one\n  two\n", "f")[0]) == {
            "a": "one two\n",
            "b": "one\ntwo\n",
        }

    @pytest.mark.parametrize("breaks", ["\n", "\r\n", "\r"], ids=["lf", "crlf", "cr"])
    def test_every_line_ending_is_the_same(self, breaks: str) -> None:
        node, problems = read_yaml(f"a: 1{breaks}b:{breaks}  - 2{breaks}".encode(), "f")
        assert not problems and bare(node) == {"a": "1", "b": ["2"]}
        assert isinstance(node, Mapping) and node.entries[1][0].place == Place(2, 1)

    def test_a_byte_order_mark_is_no_text(self) -> None:
        node, problems = read_yaml("\ufeffa: 1".encode(), "f")
        assert not problems
        assert isinstance(node, Mapping) and node.entries[0][0].place == Place(1, 1)

    @pytest.mark.parametrize(
        "char", ["\x85", "\u2028", "\u2029"], ids=["nel", "line-separator", "paragraph-separator"]
    )
    def test_breaks_that_no_editor_counts_are_spaces(self, char: str) -> None:
        node, problems = read_yaml(f"a: one{char}two\nb: 3", "f")
        assert not problems and bare(node) == {"a": "one two", "b": "3"}
        assert isinstance(node, Mapping) and node.entries[1][0].place == Place(2, 1)


POSITIONS = [
    pytest.param("a: 1\nb: 2", "b", Place(2, 1), Place(2, 4), id="ascii"),
    pytest.param("é: 1\né漢🎤: ü", "é漢🎤", Place(2, 1), Place(2, 6), id="one character each"),
    pytest.param("# 漢🎤\n\n  é: 漢", "é", Place(3, 3), Place(3, 6), id="behind a comment"),
    pytest.param('{"🎤🎤": x, é: y}', "é", Place(1, 11), Place(1, 14), id="inside of braces"),
    pytest.param("'漢 é': \"🎤\"", "漢 é", Place(1, 1), Place(1, 8), id="in quotes"),
]


@pytest.mark.usefixtures("loader")
@pytest.mark.parametrize(("source", "key", "at", "value_at"), POSITIONS)
def test_lines_and_columns_count_characters_from_one(source: str, key: str, at: Place, value_at: Place) -> None:
    node, problems = read_yaml(source.encode(), "f")
    assert not problems and isinstance(node, Mapping)
    found = next((name.place, value.place) for name, value in node.entries if name == key)
    assert found == (at, value_at)


REFUSED = [
    pytest.param("", "1:1: the file is empty", id="empty"),
    pytest.param("\n \n# only a comment\n", "1:1: the file is empty", id="only comments"),
    pytest.param("---\n...\n", "1:1: the file is empty", id="an empty document"),
    pytest.param("a: 1\nb: 2\na: 3", "3:1: the key 'a' stands twice (first on line 1)", id="a key twice"),
    pytest.param("x:\n  é: 1\n  é: 2", "3:3: the key 'é' stands twice (first on line 2)", id="a key twice, inside"),
    pytest.param("a: &x b", "1:4: an anchor (&x) is not allowed", id="anchor"),
    pytest.param("a: *x", "1:4: an alias (*x) is not allowed", id="alias"),
    pytest.param("<<: {a: 1}", "1:1: a merge key (<<) is not allowed", id="merge key"),
    pytest.param("a: !!python/object/apply:os.system [ls]", "1:4: a tag (!…) is not allowed", id="tag that runs"),
    pytest.param("a: !!str 1", "1:4: a tag (!…) is not allowed", id="tag of a type"),
    pytest.param("a: ! 1", "1:4: a tag (!…) is not allowed", id="tag without a name"),
    pytest.param("a: !<x", "1:7: a value cannot begin with '!'", id="half a tag"),
    pytest.param("a: 1\n---\nb: 2", "2:1: a second document begins here", id="two documents"),
    pytest.param("a: 1\n...\nb: 2", "3:1: nothing can stand here", id="text behind the end"),
    pytest.param("? [a]\n: b", "1:3: a key must be plain text", id="a list as key"),
    pytest.param("? {a: b}\n: c", "1:3: a key must be plain text", id="a mapping as key"),
    pytest.param("a:\n\tb: c", "2:1: a tab stands in this line; indent with spaces", id="tab"),
    pytest.param("a: b: c", "1:5: a second ': ' stands in this line; put the value in quotes", id="two colons"),
    pytest.param("-a\nb: 1", "2:2: this line does not fit its neighbours", id="a dash without its space"),
    pytest.param("a:\n  b: 1\n c: 2", "3:2: this line does not fit its neighbours", id="indent"),
    pytest.param("a: - b", "1:4: a list item ('- ') cannot stand here", id="list item inside a line"),
    pytest.param("a: 1\nb\nc: 2", "3:1: this line has no ': '", id="key without a colon"),
    pytest.param("a: %x", "1:4: a value cannot begin with this character; put it in quotes", id="percent"),
    pytest.param("a: @x", "1:4: a value cannot begin with this character; put it in quotes", id="at"),
    pytest.param("a: `x", "1:4: a value cannot begin with this character; put it in quotes", id="backtick"),
    pytest.param("a: }", "1:4: a value cannot begin with this character; put it in quotes", id="closing brace"),
    pytest.param("a: |x", "1:5: '|' or '>' cannot begin a value in this way", id="pipe"),
    pytest.param("a: &", "1:5: a value cannot begin with '&' or '*'", id="lone ampersand"),
    pytest.param("a: 1\nb: 'x\nc: 2\n", "2:4: a quoted text begins here and never ends", id="open quote"),
    pytest.param("a: 1\nb: [x\nc: 2\n", "2:4: a '[' or '{' is not closed", id="open bracket"),
    pytest.param("a: 1\nb: {x: 1\n", "2:4: a '[' or '{' is not closed", id="open brace"),
    pytest.param("%YAML 1.1\na: 1", "2:1: nothing can stand here; check the lines above", id="directive"),
    pytest.param("%YAML 9.9\n---\na: 1", "1:1: a line cannot begin with '%'", id="other YAML"),
    pytest.param(
        "a: 1\nb: \x1b[31mred", "2:4: a control character (U+001B) stands here; delete it", id="escape code"
    ),
    pytest.param("é\x00", "1:2: a control character (U+0000) stands here; delete it", id="nul"),
    pytest.param("a: b\x9bc", "1:5: a control character (U+009B) stands here; delete it", id="C1"),
    pytest.param('a: "\\e[31mred"', "1:4: a control character (U+001B) stands here", id="escape code, written"),
    pytest.param('a: "x\\0"', "1:4: a control character (U+0000) stands here", id="nul, written"),
    pytest.param('"\\a": 1', "1:1: a control character (U+0007) stands here", id="bell in a key"),
    pytest.param(b"a: 1\nb\xc3\xa9: \xff", "2:5: this is not UTF-8 text; save the file as UTF-8", id="not UTF-8"),
    pytest.param(b"\xef\xbb\xbfa: \xff", "1:4: this is not UTF-8 text", id="not UTF-8, with a mark"),
    pytest.param("a: 1".encode("utf-16"), "1:1: this is not UTF-8 text", id="UTF-16"),
    pytest.param(b"PK\x03\x04\x14\x00", "1:3: a control character (U+0003)", id="an archive"),
    pytest.param(b"\x89PNG\r\n\x1a\n", "1:1: this is not UTF-8 text", id="a picture"),
    pytest.param("a: \ud800", "1:4: this is not UTF-8 text", id="half a surrogate pair"),
    pytest.param("a: " + "b" * 1_000_000, "1:1: the file is larger than 1,000,000 bytes; split it", id="a megabyte"),
]


@pytest.mark.usefixtures("loader")
@pytest.mark.parametrize(("source", "said"), REFUSED)
def test_refused_with_its_place_and_what_to_do(source: bytes | str, said: str) -> None:
    assert problems_of(source)[0].startswith(said)


@pytest.mark.usefixtures("loader")
class TestProblems:
    @pytest.mark.parametrize("escape", ["\\q", "\\UFFFFFFFF", "\\U00110000"], ids=["unknown", "huge", "too large"])
    def test_an_escape_that_is_none_is_refused(self, escape: str) -> None:
        assert "'\\' in double quotes" in problems_of(f'a: "{escape}"')[0]

    def test_half_a_pair_in_an_escape_never_becomes_text(self) -> None:
        node, problems = read_yaml('a: "\\uD800"', "f")
        assert problems
        assert bare(node) in (None, {"a": ""})

    def test_all_problems_are_told_at_once(self) -> None:
        said = problems_of("a: &x 1\nb: *x\na: !!int 2\n<<: 3\n")
        assert [line.split(":")[0] for line in said] == ["1", "2", "3", "3", "4"]

    @pytest.mark.parametrize("source", ["[" * 100_000, "{a: " * 100_000, "- " * 50_000], ids=["[", "{a:", "-"])
    def test_depth_is_limited_whatever_the_parser_can_take(self, source: str) -> None:
        assert problems_of(source)[0].endswith("nested more than 40 deep; make it flatter")

    def test_forty_deep_is_still_read(self) -> None:
        assert problems_of("[" * 40 + "]" * 40) == []

    def test_an_alias_bomb_is_only_refused(self) -> None:
        levels = "\n".join(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 10))
        node, problems = read_yaml(f"a0: &a0 x\n{levels}", "f")
        assert len(problems) == 10 + 81
        assert len(str(bare(node))) < 1000

    def test_a_lost_comment_is_told(self) -> None:
        assert problems_of("note: use #3 mic\nb: x # a real one\nc: 'use #3'\nd: a#b") == [
            "1:10: warning: what follows ' #' is a comment and is lost; put the whole value in quotes to keep it"
        ]

    def test_too_many_values(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(reader, "MAX_VALUES", 5)
        assert problems_of("[a, b, c, d, e]") == ["1:14: more than 5 values; split the file"]
        assert problems_of("[a, b, c, d]") == []


@pytest.mark.skipif(not hasattr(yaml, "CSafeLoader"), reason="PyYAML was built without libyaml")
def test_a_hundred_thousand_values_are_the_limit() -> None:
    assert problems_of("[" + "a," * 99_999 + "]") == []
    assert problems_of("[" + "a," * 100_000 + "]")[0].endswith("more than 100,000 values; split the file")


YAML_BITS = st.sampled_from(
    [*"[]{}:,-?&*!|>'\"%@`#\\ \t\n\r~=", ": ", "- ", " #", "---\n", "...", "<<: ", '"\\u', "é", "🎤"]
)
YAMLISH = st.lists(st.one_of(YAML_BITS, st.text(max_size=4)), max_size=40).map("".join)


@pytest.mark.parametrize("parser", LOADERS)
class TestAnything:
    @given(source=st.one_of(YAMLISH, st.text(max_size=80), st.binary(max_size=80)))
    def test_reading_never_raises_and_never_fails_in_silence(self, parser: Any, source: bytes | str) -> None:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(reader, "_Loader", parser)
            node, problems = read_yaml(source, "f")
        assert node is not None or problems.errors
        for problem in problems:
            assert problem.place.line >= 1 and problem.place.column >= 1
            assert str(problem).isprintable()

    @given(
        texts=st.dictionaries(st.from_regex(r"\A[a-z]{1,6}\Z"), st.text(st.characters(codec="ascii"), max_size=20))
    )
    def test_quoted_texts_come_back_whole(self, parser: Any, texts: dict[str, str]) -> None:
        kept = {key: "".join(c for c in text if c.isprintable()) for key, text in texts.items()}
        lines = "\n".join(f"{key}: '{text.replace(chr(39), chr(39) * 2)}'" for key, text in kept.items()) or "{}"
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(reader, "_Loader", parser)
            assert bare(read_yaml(lines, "f")[0]) == kept

"""What a playbook may not be, each with file, line and column, and the nearest right word."""

from __future__ import annotations

import pytest

from showday.playbook.reader import read_playbook, walk_steps

HEAD = "playbook: p\ntitle: T\nsections:\n- title: S\n  steps:\n"
TREES = {"hum", "no-signal"}


def step(id: str, more: str = "") -> str:
    """One step in one line."""
    return f"  - {{id: {id}, do: Do it{more}}}\n"


def problems_of(text: str) -> list[str]:
    """All problems as `file:line:column: text`."""
    return [str(p) for p in read_playbook(text, "p.yaml", TREES)[1].in_order()]


def test_a_playbook_of_five_lines() -> None:
    book, problems = read_playbook(HEAD + step("a"), "p.yaml", TREES)
    assert not problems and book is not None
    assert (book.playbook, book.title, book.mode) == ("p", "T", "read-do")
    assert [(section.title, s.id) for section, s in walk_steps(book)] == [("S", "a")]


WRONG = [
    pytest.param(
        HEAD + step("a") + step("b") + step("a"), "8:10: the step id 'a' is used twice (first on line 6)", id="id"
    ),
    pytest.param(
        HEAD + step("a") + "- title: S2\n  steps:\n" + step("a"),
        "9:10: the step id 'a' is used twice (first on line 6)",
        id="id in another section",
    ),
    pytest.param(HEAD + step("a", ", mus: yes"), "6:24: 'mus' is not a key of a step (did you mean must?)", id="key"),
    pytest.param(
        HEAD + step("a", ", when: festval"),
        "6:30: 'festval' is not a condition (did you mean festival?)",
        id="condition",
    ),
    pytest.param(
        HEAD + step("a", ", when: [uk, not indors]"),
        "6:35: 'indors' is not a condition (did you mean indoors?)",
        id="condition in a list",
    ),
    pytest.param(
        HEAD + step("a", ", where: phantom"),
        "6:31: `where` needs `for_each`: it picks among what is repeated",
        id="where",
    ),
    pytest.param(
        HEAD + step("a", ", for_each: input, where: fantom"),
        "6:48: 'fantom' is not a field of input (did you mean phantom?)",
        id="where of no field",
    ),
    pytest.param(
        HEAD + step("a", ", for_each: input, where: source is"), "6:48: `is` needs a value behind it", id="is nothing"
    ),
    pytest.param(
        HEAD + step("a", ", for_each: input, where: source is not mik"),
        "6:48: 'mik' is not one of mic, di, line, wireless, playback (did you mean mic?)",
        id="is no such source",
    ),
    pytest.param(
        HEAD + step("a", ', until: "{input.name} moves"'),
        "6:31: '{input.name}' has no input here; add `for_each: input`",
        id="field without for_each",
    ),
    pytest.param(
        HEAD + step("a", ', for_each: pack, why: "{input.name}"'),
        "6:45: '{input.name}' has no input here; add `for_each: input`",
        id="field of another kind",
    ),
    pytest.param(
        HEAD + step("a", ', for_each: input, caution: "{input.nam}"'),
        "6:50: '{input.nam}' is not a field of the rig (did you mean input.name?)",
        id="no such field",
    ),
    pytest.param(
        HEAD + step("a", ', for_each: input, until: "{Input name}"'),
        "6:48: braces hold a field such as {input.name}, and nothing else (did you mean input.name?)",
        id="braces with no field",
    ),
    pytest.param(
        HEAD + step("a", ', basis: "{rig.act}"'),
        "6:31: no field is filled in here; write it without braces",
        id="basis",
    ),
    pytest.param(
        HEAD.replace("title: T", "title: '{rig.act}'") + step("a"),
        "2:8: no field is filled in here; write it without braces",
        id="title",
    ),
    pytest.param(
        HEAD.replace("title: S", "title: S\n  for_each: input\n  caution: '{input.name}'") + step("a"),
        "6:12: '{input.name}' has no input here; add `for_each: input`",
        id="caution of a section",
    ),
    pytest.param(
        HEAD.replace("title: S", "title: S\n  for_each: input") + step("a", ", for_each: pack"),
        "7:34: 'a' repeats inside a section that repeats; keep one for_each",
        id="repeats twice",
    ),
    pytest.param(
        HEAD + step("a", ", if_wrong: humm"), "6:34: there is no fault tree 'humm' (did you mean hum?)", id="no tree"
    ),
    pytest.param(
        HEAD + step("a", ", if_wrong: [hum, no-sound]"),
        "6:40: there is no fault tree 'no-sound'",
        id="no such tree in a list",
    ),
    pytest.param(
        HEAD + step("a", ", reading: {unit: V, wanted: high}"),
        "6:51: 'high' is not a range such as -24..-12, 12.. or ..3",
        id="no range",
    ),
    pytest.param(
        HEAD + step("a", ", reading: {unit: V, wanted: 9..3}"), "6:51: '9..3' is not a range", id="range backwards"
    ),
    pytest.param(
        HEAD + step("a", ', reading: {unit: V, name: "{rig.act}"}'),
        "6:49: no field is filled in here",
        id="reading name",
    ),
    pytest.param(HEAD + "    []\n", "6:5: the list is empty; at least 1 is needed", id="no steps"),
    pytest.param(
        "playbook: p\ntitle: T\nsections: []\n", "3:11: the list is empty; at least 1 is needed", id="no sections"
    ),
    pytest.param(
        HEAD.replace("title: T", "mode: redo\ntitle: T") + step("a"), "2:7: 'redo' is not one of", id="mode"
    ),
]


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_what_is_wrong_is_told_where_it_stands(text: str, said: str) -> None:
    found = problems_of(text)
    assert any(line.startswith(f"p.yaml:{said}") for line in found), found
    assert read_playbook(text, "p.yaml", TREES)[0] is None


def test_all_of_it_is_told_at_once_and_in_order() -> None:
    text = HEAD + step("a", ", mus: yes, when: festval") + step("a", ", if_wrong: humm")
    assert [line.split(": ")[0] for line in problems_of(text)] == [
        f"p.yaml:{at}" for at in ("6:24", "6:40", "7:10", "7:34")
    ]


def test_trees_are_only_looked_for_when_they_are_known() -> None:
    book, problems = read_playbook(HEAD + step("a", ", if_wrong: anything"), "p.yaml")
    assert book is not None and not problems


def section(count: int, more: str = "", head: str = "") -> str:
    """A playbook with one section of so many steps."""
    return HEAD.replace("title: S", f"title: S{head}") + "".join(step(f"s{n}", more) for n in range(count))


WARNED = [
    # Gawande, The Checklist Manifesto (2009), chapter 6: five to nine items, 60 to 90 seconds.
    pytest.param(section(9), "", id="nine steps"),
    pytest.param(section(10), "the section 'S' has 10 steps; split it (9 at most)", id="ten steps"),
    pytest.param(section(9, ", takes: 10s"), "", id="90 seconds"),
    pytest.param(section(7, ", takes: 13s"), "the section 'S' takes 91 s; split it (90 s at most)", id="91 seconds"),
    pytest.param(section(7, ", takes: 13s", "\n  work: yes"), "", id="91 seconds of work"),
    pytest.param(section(3, ", must: yes"), "", id="three musts"),
    pytest.param(
        section(4, ", must: yes"), "the section 'S' has 4 musts; more than 3 do not stand out", id="four musts"
    ),
]


@pytest.mark.parametrize(("text", "said"), WARNED)
def test_long_sections_are_warned_about_and_still_work(text: str, said: str) -> None:
    book, problems = read_playbook(text, "p.yaml")
    assert book is not None
    assert [str(p) for p in problems if not str(p).startswith(f"p.yaml:4:3: warning: {said}")] == []
    assert len(problems) == bool(said)


@pytest.mark.parametrize(
    "wanted",
    [
        "-24..-12",
        "12..",
        "..3",
        "5",
        "{mains.low}..{mains.high}",
        "{mains.low}..",
        "2000..{mains.high}",
        "{mains.low}..-5",
    ],
)
def test_ranges_that_are_right_whatever_the_rig_says(wanted: str) -> None:
    assert problems_of(HEAD + step("a", f', reading: {{unit: V, wanted: "{wanted}"}}')) == []

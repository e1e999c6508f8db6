"""The page about the format names every key there is, and none that is not."""

from __future__ import annotations

import re

import pytest

from showday.fault import reader as faults
from showday.fault.walk import CANT_NOW, DONT_KNOW, HELP
from showday.playbook import reader as books
from showday.playbook.model import CONDITIONS, MODES, MOST_MUSTS, MOST_SECONDS, MOST_STEPS, TOOLS
from showday.rig import reader as rigs
from showday.rig.model import KINDS
from showday.rig.words import OF_THE_PLAN, UNKNOWN
from showday.text.fields import Choice, Table
from tests.support.world import PLAYBOOKS

PAGE = (PLAYBOOKS / "README.md").read_text("utf-8")
ROW = re.compile(r"^\| (?P<keys>`[^|]*) \|(?P<rest>.*)\|$", re.M)
TICKED = re.compile(r"`([^`]+)`")


def part(title: str) -> str:
    """The text under a heading, to the next one."""
    found = re.search(rf"^##+ {re.escape(title)}\n(.*?)(?=^##|\Z)", PAGE, re.M | re.S)
    assert found, title
    return found.group(1)


def rows(title: str) -> dict[str, str]:
    """Each key in the table under a heading, with the rest of its row."""
    found: dict[str, str] = {}
    for row in ROW.finditer(part(title)):
        found |= dict.fromkeys(TICKED.findall(row.group("keys")), row.group("rest"))
    return found


SECTIONS = {
    "Playbook": books.PLAYBOOK,
    "Section": books.SECTION,
    "Step": books.STEP,
    "Fault tree": faults.TREE,
    "Node: check": faults.CHECK,
    "Node: fix": faults.FIX,
    "Node: again": faults.AGAIN,
    "Cause": faults.CAUSE,
    "Rig": rigs.RIG,
}
INSIDE = {
    ("Step", "reading"): books.READING,
    ("Fault tree", "groups"): faults.GROUP,
    ("Fault tree", "help"): faults.HELP,
    ("Rig", "mains"): rigs.MAINS,
    ("Rig", "people"): rigs.PERSON,
    ("Rig", "inputs"): rigs.INPUT,
    ("Rig", "mixes"): rigs.MIX,
    ("Rig", "transmitters"): rigs.TRANSMITTER,
    ("Rig", "packs"): rigs.PACK,
    ("Rig", "loads"): rigs.LOAD,
    ("Rig", "spares"): rigs.SPARE,
}


def keys(table: Table) -> set[str]:
    return {field.name for field in table.fields}


def words(table: Table) -> set[str]:
    """The values that a table's choices may take."""
    return {word for field in table.fields if isinstance(field.kind, Choice) for word in field.kind.words}


@pytest.mark.parametrize("title", SECTIONS)
def test_the_table_names_every_key_and_no_other(title: str) -> None:
    assert set(rows(title)) == keys(SECTIONS[title])


@pytest.mark.parametrize("title", SECTIONS)
def test_the_table_says_which_keys_are_needed(title: str) -> None:
    if title == "Rig":
        assert "id (needed)" in rows(title)["rig"]
        return
    said = {key for key, rest in rows(title).items() if rest.strip().startswith("yes |")}
    assert said == {field.name for field in SECTIONS[title].fields if field.needed}


@pytest.mark.parametrize(("title", "key"), INSIDE)
def test_the_row_names_every_key_inside_and_no_other(title: str, key: str) -> None:
    table = INSIDE[title, key]
    assert set(TICKED.findall(rows(title)[key])) - words(table) == keys(table)


def test_no_table_of_keys_is_forgotten() -> None:
    documented = {table.name for table in (*SECTIONS.values(), *INSIDE.values())}
    tables = {*books.TABLE_NAMES, *faults.TABLE_NAMES, "rig", "mains", *(table.name for table in rigs.LISTS.values())}
    assert tables - documented == {"leaf", "item"}
    assert "`{cause: id}`" in PAGE


@pytest.mark.parametrize("title", [*SECTIONS])
def test_every_word_of_a_choice_is_named(title: str) -> None:
    for field in SECTIONS[title].fields:
        if isinstance(field.kind, Choice):
            missing = [word for word in field.kind.words if f"`{word}`" not in PAGE]
            assert not missing, field.name


def test_every_condition_is_named_and_no_other() -> None:
    listed = part("Conditions").partition("and the word:")[2]
    assert set(TICKED.findall(listed)) == set(CONDITIONS)


def test_words_that_tables_do_not_hold_are_named() -> None:
    for word in (*MODES, *TOOLS, *KINDS, *rigs.REGIONS, *rigs.SOURCES):
        assert f"`{word}`" in PAGE, word
    for answer in (DONT_KNOW, CANT_NOW):
        assert f'"{answer}"' in PAGE.replace('"Don', '"don')
    assert f"not `{HELP}`" in PAGE


def test_the_limits_of_a_section_are_those_of_the_program() -> None:
    assert (
        f"more than {MOST_STEPS} steps, more than {MOST_SECONDS} s (unless `work`), or more than {MOST_MUSTS} musts"
        in PAGE
    )


ROW_OF = {
    "input": "inputs", "mix": "mixes", "transmitter": "transmitters", "pack": "packs", "load": "loads",
    "spare": "spares", "person": "people", "mains": "mains",
}  # fmt: skip


@pytest.mark.parametrize("name", UNKNOWN)
def test_every_field_of_a_sentence_is_named(name: str) -> None:
    kind, _, field = name.partition(".")
    if kind in ROW_OF and name not in OF_THE_PLAN:
        assert f"`{field}`" in rows("Rig")[ROW_OF[kind]]
    else:
        assert f"`{{{name}}}`" in PAGE


def test_every_field_in_braces_exists() -> None:
    assert set(re.findall(r"\{([a-z]+\.[a-z]+)\}", PAGE)) <= set(UNKNOWN)

"""The JSON Schemas made of the field tables agree with the readers."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from showday.fault.reader import TREE, read_tree
from showday.playbook.reader import PLAYBOOK, read_playbook
from showday.rig.reader import RIG, read_rig
from showday.text.fields import json_schema
from tests.support.world import shipped_playbooks, shipped_rigs, shipped_trees

TABLES = {"playbook": PLAYBOOK, "fault": TREE, "rig": RIG}
READERS: dict[str, Callable[[str, str], Any]] = {"playbook": read_playbook, "fault": read_tree, "rig": read_rig}
VALIDATORS = {kind: Draft202012Validator(json_schema(table, kind)) for kind, table in TABLES.items()}


class _Core(yaml.SafeLoader):
    """What an editor's YAML 1.2 parser gives: numbers and null, but `yes` and `12:30` as text."""


_CORE = {
    "tag:yaml.org,2002:int": (r"^[-+]?[0-9]+$", "-+0123456789"),
    "tag:yaml.org,2002:float": (r"^[-+]?([0-9]+\.[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?$", "-+0123456789."),
    "tag:yaml.org,2002:bool": (r"^(true|True|TRUE|false|False|FALSE)$", "tTfF"),
    "tag:yaml.org,2002:null": (r"^(~|null|Null|NULL|)$", ["~", "n", "N", ""]),
}
_Core.yaml_implicit_resolvers = {}
for _tag, (_pattern, _first) in _CORE.items():
    _Core.add_implicit_resolver(_tag, re.compile(_pattern), list(_first))


@pytest.mark.parametrize("kind", TABLES)
def test_the_schema_is_valid_draft_2020_12(kind: str) -> None:
    schema = json_schema(TABLES[kind], kind)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)


FILES = [("playbook", p) for p in shipped_playbooks()] + [("fault", p) for p in shipped_trees()]
FILES += [("rig", p) for p in shipped_rigs()]


@pytest.mark.parametrize("loader", [yaml.BaseLoader, _Core], ids=["texts", "yaml-1.2"])
@pytest.mark.parametrize(("kind", "path"), [pytest.param(k, p, id=f"{k} {p.name}") for k, p in FILES])
def test_shipped_files_fit_the_schema(kind: str, path: Path, loader: Any) -> None:
    errors = VALIDATORS[kind].iter_errors(yaml.load(path.read_text("utf-8"), Loader=loader))
    assert [f"{e.json_path}: {e.message[:200]}" for e in errors] == []


STEP = "playbook: p\ntitle: T\nsections: [{{title: S, steps: [{{id: a, do: Do it, {}}}]}}]"
CHECK = (
    "fault: f\ntitle: T\nheard_as: [x]\nhelp: Ask\ncauses: {{c: {{what: W, cure: C}}}}\n"
    "walk: [{{check: Look, id: k, answers: {{a: {{cause: c}}, b: {{cause: c}}}}, {}}}]"
)
FIX = "fault: f\ntitle: T\nheard_as: x\nhelp: Ask\ncauses: {{c: {{what: W, cure: C}}}}\nwalk: {{fix: Do, id: k, {}}}"
CAUSE = "fault: f\ntitle: T\nheard_as: x\nhelp: Ask\ncauses: {{c: {{what: W, {}}}}}\nwalk: {{cause: c}}"
GOOD = [
    pytest.param("playbook", STEP.format("takes: 15s"), id="time with a unit"),
    pytest.param("playbook", STEP.format("takes: 15"), id="time as a number"),
    pytest.param("playbook", STEP.format("must: yes, for_each: input, where: [phantom, not spare]"), id="where"),
    pytest.param("playbook", STEP.format("if_wrong: hum, when: not festival"), id="one for a list"),
    pytest.param("fault", CHECK.format("sure: 0.8, takes: 1 min 30 s"), id="check"),
    pytest.param("fault", FIX.format("cures: c, workaround: yes"), id="fix for one cause"),
    pytest.param("fault", FIX.format("cures: {c: 0.5}"), id="fix with a chance"),
    pytest.param("fault", CAUSE.format("cure: C, odds: common"), id="odds as a word"),
    pytest.param("fault", CAUSE.format("cure: C, odds: 2.5"), id="odds as a number"),
    pytest.param("rig", "rig: small\nact: Us\ninputs: [Kick, Bass, Voice]", id="three lines of rig"),
    pytest.param("rig", "rig: r\nmains: 230\npeople: [{name: A, away: no}]", id="mains as a number"),
]
BROKEN = [
    pytest.param("playbook", "title: T\nsections: [{title: S, steps: [{id: a, do: D}]}]", id="no id"),
    pytest.param("playbook", "playbook: p\ntitle: T", id="no sections"),
    pytest.param("playbook", "playbook: p\ntitle: T\nsections: []", id="empty sections"),
    pytest.param("playbook", "playbook: p\ntitle: T\nsections: [{title: S, steps: []}]", id="empty steps"),
    pytest.param("playbook", "playbook: P q\ntitle: T\nsections: [{title: S, steps: [{id: a, do: D}]}]", id="bad id"),
    pytest.param("playbook", STEP.format("colour: red"), id="unknown key"),
    pytest.param("playbook", STEP.format("takes: soon"), id="no time"),
    pytest.param("playbook", STEP.format("takes: 0"), id="no time at all"),
    pytest.param("playbook", STEP.format("takes: 90000"), id="more than a day"),
    pytest.param("playbook", STEP.format("must: maybe"), id="neither yes nor no"),
    pytest.param("playbook", STEP.format("opens: kettle"), id="no tool"),
    pytest.param("playbook", STEP.format("for_each: guitar"), id="no kind"),
    pytest.param("playbook", STEP.format("until: ''"), id="empty text"),
    pytest.param("playbook", STEP.format("until: [a]"), id="list for a text"),
    pytest.param("playbook", STEP.format("reading: {wanted: 1..2}"), id="reading without a unit"),
    pytest.param("fault", CHECK.format("sure: 0.2"), id="less sure than a guess"),
    pytest.param("fault", CHECK.format("sure: very"), id="sure in words"),
    pytest.param("fault", CHECK.format("pin: perhaps"), id="pin"),
    pytest.param("fault", FIX.format("cures: {c: 2}"), id="chance above one"),
    pytest.param("fault", FIX.format("takes: 5s"), id="fix without cures"),
    pytest.param("fault", CAUSE.format("cure: C, odds: 0"), id="odds of nothing"),
    pytest.param("fault", CAUSE.format("cure: C, odds: often"), id="odds in other words"),
    pytest.param("fault", CAUSE.format("odds: rare"), id="cause without a cure"),
    pytest.param("fault", CHECK.format("sure: 1").replace(", b: {cause: c}", ""), id="one answer"),
    pytest.param("fault", CHECK.format("sure: 1").replace("heard_as: [x]", "heard_as: []"), id="heard as nothing"),
    pytest.param("fault", CHECK.format("sure: 1").replace("{cause: c}, b", "{caus: c}, b"), id="no node"),
    pytest.param("rig", "act: Us", id="rig without an id"),
    pytest.param("rig", "rig: r\ninputs: [{number: 0, name: A}]", id="input 0"),
    pytest.param("rig", "rig: r\ninputs: {a: b}", id="mapping for a list"),
    pytest.param("rig", "rig: r\nregion: atlantis", id="no region"),
    pytest.param("rig", "rig: r\nmains: {volts: lots}", id="no volts"),
    pytest.param("rig", "rig: r\ninputs: [{name: A, source: horn}]", id="no source"),
    pytest.param("rig", "rig: r\nspares: [{have: 1}]", id="thing without a name"),
]


@pytest.mark.parametrize(("kind", "text"), GOOD)
def test_what_the_reader_takes_the_schema_takes(kind: str, text: str) -> None:
    assert [str(p) for p in READERS[kind](text, "f")[1].errors] == []
    assert [e.message for e in VALIDATORS[kind].iter_errors(yaml.load(text, Loader=_Core))] == []


@pytest.mark.parametrize(("kind", "text"), BROKEN)
def test_what_the_reader_refuses_the_schema_refuses(kind: str, text: str) -> None:
    assert READERS[kind](text, "f")[1].errors
    assert list(VALIDATORS[kind].iter_errors(yaml.load(text, Loader=_Core)))


def test_every_key_is_described() -> None:
    for kind, table in TABLES.items():
        for name, made in json_schema(table, kind)["$defs"].items():
            body = made["anyOf"][-1] if "anyOf" in made else made
            for key, described in body["properties"].items():
                assert described["description"].strip(), f"{name}.{key}"

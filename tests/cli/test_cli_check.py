"""`showday check`: every problem of every file with its place, whatever the file is."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from showday.commands.checking import as_lines, check_files, exit_code, kind_of
from tests.cli.calling import GOOD_PLAYBOOK, GOOD_RIG, GOOD_TREE, Called, own_files, put

Call = Callable[..., Called]


def test_shipped_files_have_no_problems(call: Call) -> None:
    called = call("check")
    assert called.code == 0
    assert called.last.endswith(": no problems.")
    assert int(called.last.split()[0]) > 10


def test_without_names_your_own_files_are_checked_too(call: Call, home: Path) -> None:
    before = int(call("check").last.split()[0])
    own_files(home)
    assert int(call("check").last.split()[0]) == before + 3


def test_every_problem_has_file_line_column_and_the_nearest_word(call: Call, tmp_path: Path) -> None:
    steps = "[{title: All, steps: [{id: one, do: Do it, muts: yes}]}]"
    path = put(tmp_path / "playbooks", mine=f"playbook: mine\ntitel: My own\nsections: {steps}\n") / "mine.yaml"
    called = call("check", str(path))
    assert called.code == 1
    lines = called.out.splitlines()
    assert f"{path}:2:1: 'titel' is not a key of a playbook (did you mean title?)" in lines
    assert f"{path}:1:1: the key 'title' is missing: what stands on top of the screen" in lines
    assert any(line.startswith(f"{path}:3:{11 + steps.index('muts')}: 'muts' is not a key") for line in lines)
    assert called.last == "1 file: 3 problems."


def test_a_tree_may_be_named_that_stands_nearby_or_is_given_or_ships(call: Call, tmp_path: Path) -> None:
    folder = put(tmp_path, playbooks_mine=GOOD_PLAYBOOK, playbooks_faults_buzz=GOOD_TREE)
    assert call("check", str(folder / "playbooks" / "mine.yaml")).code == 0
    (folder / "playbooks" / "faults" / "buzz.yaml").rename(tmp_path / "buzz.yaml")
    alone = call("check", str(folder / "playbooks" / "mine.yaml"))
    assert alone.code == 1
    column = GOOD_PLAYBOOK.splitlines()[2].index("buzz") + 1
    assert f":3:{column}: there is no fault tree 'buzz'" in alone.out
    assert call("check", str(folder / "playbooks" / "mine.yaml"), str(tmp_path / "buzz.yaml")).code == 0
    shipped = put(tmp_path / "other", mine=GOOD_PLAYBOOK.replace("buzz", "hum")) / "mine.yaml"
    assert call("check", str(shipped)).code == 0


def test_a_misspelt_tree_is_told_with_the_nearest(call: Call, tmp_path: Path) -> None:
    path = put(tmp_path, mine=GOOD_PLAYBOOK.replace("buzz", "no-signl")) / "mine.yaml"
    assert "there is no fault tree 'no-signl' (did you mean no-signal?)" in call("check", str(path)).out


def test_a_broken_tree_does_not_make_its_playbook_wrong(call: Call, tmp_path: Path) -> None:
    broken = GOOD_TREE.replace("cause: di", "cause: dj")
    folder = put(tmp_path / "playbooks", mine=GOOD_PLAYBOOK, faults_buzz=broken)
    called = call("check", str(folder))
    assert "there is no fault tree" not in called.out
    assert "there is no cause 'dj' under `causes`" in called.out


def test_a_folder_is_checked_with_the_folders_in_it_and_without_hidden_files(call: Call, tmp_path: Path) -> None:
    folder = put(tmp_path / "x", mine=GOOD_PLAYBOOK, faults_buzz=GOOD_TREE, rig=GOOD_RIG)
    (folder / ".hidden.yaml").write_text("nonsense: [", "utf-8")
    (folder / "mine.yaml~").write_text("nonsense: [", "utf-8")
    (folder / ".git").mkdir()
    (folder / ".git" / "x.yaml").write_text("nonsense: [", "utf-8")
    called = call("check", str(folder), str(folder / "rig.yaml"))
    assert (called.code, called.last) == (0, "3 files: no problems.")


def test_warnings_alone_are_fine(call: Call, tmp_path: Path) -> None:
    path = put(tmp_path, other=GOOD_PLAYBOOK.replace("buzz", "hum")) / "other.yaml"
    called = call("check", str(path))
    assert called.code == 0
    assert f"{path}:1:1: warning: the id 'mine' is not the file's name, which counts" in called.out
    assert called.last == "1 file: no problems, 1 warning."


def test_what_cannot_be_read_is_said_and_the_rest_is_checked(call: Call, tmp_path: Path) -> None:
    good = put(tmp_path, rig=GOOD_RIG) / "rig.yaml"
    (tmp_path / "empty").mkdir()
    called = call("check", str(tmp_path / "absent.yaml"), str(tmp_path / "empty"), str(good))
    assert called.code == 2
    assert f"{tmp_path / 'absent.yaml'} is not there." in called.out
    assert f"There is no .yaml file in {tmp_path / 'empty'}." in called.out
    assert called.last == "3 files: no problems, 2 could not be read."


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="this system has no such device")
def test_a_device_without_end_is_too_large(call: Call) -> None:
    called = call("check", "/dev/zero")
    assert called.code == 2
    assert called.out.startswith("/dev/zero is larger than 1,000,000 bytes.")


def test_json_says_the_same(call: Call, tmp_path: Path) -> None:
    path = put(tmp_path, mine="playbook: mine\ntitle: x\nsections: []\nmuts: 1\n") / "mine.yaml"
    called = call("check", "--json", str(path), str(tmp_path / "absent.yaml"))
    assert called.code == 2
    data = called.data
    assert (data["errors"], data["warnings"], data["unreadable"]) == (2, 0, 1)
    assert data["files"][0]["kind"] == "playbook"
    wrong = next(p for p in data["files"][0]["problems"] if p["line"] == 4)
    assert (wrong["column"], wrong["warning"]) == (1, False)


@pytest.mark.parametrize("kind", ["playbook", "fault", "rig"])
def test_schemas_are_valid_and_fit_good_files(call: Call, kind: str) -> None:
    schema = call("check", "--schema", kind).data
    Draft202012Validator.check_schema(schema)
    good: dict[str, dict[str, object]] = {
        "playbook": {"playbook": "a", "title": "b", "sections": [{"title": "c", "steps": [{"id": "d", "do": "e"}]}]},
        "fault": {
            "fault": "a",
            "title": "b",
            "heard_as": "c",
            "walk": {"check": "d", "id": "e", "answers": {"f": {"cause": "x"}, "g": {"cause": "x"}}},
            "causes": {"x": {"what": "h", "cure": "i"}},
            "help": "j",
        },
        "rig": {"rig": "a", "inputs": ["Bass"]},
    }
    assert Draft202012Validator(schema).is_valid(good[kind])
    assert not Draft202012Validator(schema).is_valid({**good[kind], "unknown": 1})


@pytest.mark.parametrize(
    ("text", "path", "kind"),
    [
        ("playbook: x\n", "x.yaml", "playbook"),
        ("# a comment\n\nfault: x\n", "x.yaml", "fault"),
        ("title: x\nrig: x\n", "x.yaml", "rig"),
        ("'playbook': x\n", "x.yaml", "playbook"),
        ("{fault: x, title: y}\n", "x.yaml", "fault"),
        ("\ufeffrig: x\n", "x.yaml", "rig"),
        ("title: x\r\nfault: x\r\n", "x.yaml", "fault"),
        ("playbok: x\n", "playbooks/x.yaml", "playbook"),
        ("falt: x\n", "playbooks/faults/x.yaml", "fault"),
        ("act: x\n", "rig.yaml", "rig"),
        ("sections: []\n", "x.yaml", "playbook"),
        ("causes: {}\n", "x.yaml", "fault"),
        ("packs: []\n", "x.yaml", "rig"),
        ("  playbook: x\n", "x.yaml", "playbook"),
        ("a: b\n", "x.yaml", ""),
        ("", "x.yaml", ""),
    ],
)
def test_the_kind_of_a_file(text: str, path: str, kind: str) -> None:
    assert kind_of(text.encode(), Path(path)) == kind


def test_a_file_of_no_kind_says_what_its_first_line_should_be(call: Call, tmp_path: Path) -> None:
    path = put(tmp_path, x="a: b\n") / "x.yaml"
    called = call("check", str(path))
    assert called.code == 1
    assert f"{path}:1:1: cannot tell what this file is; let its first line be 'playbook: ID'" in called.out


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=300), st.sampled_from([b"", b"playbook: x\n", b"fault: x\n", b"rig: x\n"]))
def test_no_bytes_make_it_fail(tmp_path: Path, raw: bytes, start: bytes) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(start + raw)
    reports = check_files([path])
    assert exit_code(reports) in (0, 1)
    assert as_lines(reports)


def test_escape_codes_in_files_and_names_do_not_reach_the_terminal(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "x\x1b[31m.yaml"
    path.write_text("playbook: 'x\u202e'\n\"t\\e[31m\": [1]\n", "utf-8")
    called = call("check", str(path))
    assert called.code == 1
    for text in (called.out, call("check", "--json", str(path)).out):
        assert "\x1b" not in text
        assert "\u202e" not in text
    assert json.loads(call("check", "--json", str(path)).out)["files"][0]["file"] == str(path)

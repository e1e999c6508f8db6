"""`showday check`: which kind a file is, its reader, and every problem of every file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from showday import paths
from showday.errors import FileTrouble
from showday.library import SUFFIXES, read_bytes, shipped, yaml_files
from showday.text.problem import Place, Problem, Problems
from showday.text.safe import one_line

KINDS = ("playbook", "fault", "rig")
"""Kinds of files, each named by its first key."""

_NAMED = re.compile(rb"""^\{?\s*["']?(playbook|fault|rig|evening)["']?[ \t]*:""", re.M)
_HINT = re.compile(rb"^(sections|walk|causes|heard_as|inputs|mixes|transmitters|packs|people|loads)[ \t]*:", re.M)
_HINTS = {b"sections": "playbook", b"walk": "fault", b"causes": "fault", b"heard_as": "fault"}
_NOT_TOLD = "cannot tell what this file is; let its first line be 'playbook: ID', 'fault: ID' or 'rig: ID'"


@dataclass(frozen=True, slots=True)
class Report:
    """What was found in one file."""

    file: str
    kind: str
    """`playbook`, `fault`, `rig`, `evening` (a script of the example act), or empty when it cannot be told."""
    problems: tuple[Problem, ...] = ()
    unreadable: str = ""
    """Why the file could not even be read; empty when it was."""

    @property
    def errors(self) -> int:
        """Problems that keep the file from being used."""
        return sum(not p.warning for p in self.problems)

    @property
    def warnings(self) -> int:
        """Problems with which the file still works."""
        return sum(p.warning for p in self.problems)


def kind_of(source: bytes, path: Path) -> str:
    """The kind of a file: from its first key, else its folder or name, else the keys it has; empty when unknown."""
    source = source.removeprefix(b"\xef\xbb\xbf").replace(b"\r", b"\n")
    if found := _NAMED.search(source):
        return found.group(1).decode()
    if path.parent.name == "faults":
        return "fault"
    if path.parent.name == "playbooks":
        return "playbook"
    if path.stem == "rig":
        return "rig"
    hint = _HINT.search(source)
    return _HINTS.get(hint.group(1), "rig") if hint else ""


def usual_files() -> list[Path]:
    """The shipped files and the person's own."""
    folders = [shipped("playbooks"), shipped("playbooks") / "faults", paths.own_playbooks(), paths.own_faults()]
    found = [path for folder in folders for path in yaml_files(folder)]
    return [*found, paths.own_rig()] if paths.own_rig().exists() else found


def named_files(named: Iterable[Path]) -> tuple[list[Path], list[Report]]:
    """The files meant by files and folders, each once, and a report for every folder without any."""
    files: dict[Path, None] = {}
    empty: list[Report] = []
    for path in named:
        if not path.is_dir():
            files[path] = None
            continue
        inside = _below(path)
        files |= dict.fromkeys(inside)
        if not inside:
            empty.append(Report(str(path), "", unreadable=f"There is no .yaml file in {path}."))
    return list(files), empty


def _below(folder: Path) -> list[Path]:
    """YAML files of a folder and the folders in it; hidden ones are passed over."""
    found = (p for p in folder.rglob("*") if p.suffix in SUFFIXES and p.is_file())
    return sorted(p for p in found if not any(part.startswith(".") for part in p.relative_to(folder).parts))


def check_files(files: Sequence[Path]) -> list[Report]:
    """One report a file. Fault trees may be named that ship, that are the person's own, or that stand nearby."""
    read: list[tuple[Path, bytes | FileTrouble]] = []
    for path in files:
        try:
            read.append((path, read_bytes(path)))
        except FileTrouble as trouble:
            read.append((path, trouble))
    known = _known_trees(read)
    return [_report(path, source, known) for path, source in read]


def _known_trees(read: Sequence[tuple[Path, bytes | FileTrouble]]) -> set[str]:
    """Ids of all trees in reach: a tree that is itself broken counts, for its own report says so."""
    folders = {shipped("playbooks") / "faults", paths.own_faults()}
    known = set()
    for path, source in read:
        if isinstance(source, bytes):
            kind = kind_of(source, path)
            folders |= {path.parent / "faults"} if kind == "playbook" else {path.parent} if kind == "fault" else set()
            known |= {path.stem} if kind == "fault" else set()
    return known | {path.stem for folder in folders for path in yaml_files(folder)}


def _report(path: Path, source: bytes | FileTrouble, known: set[str]) -> Report:
    if isinstance(source, FileTrouble):
        return Report(str(path), "", unreadable=str(source))
    kind = kind_of(source, path)
    return Report(str(path), kind, tuple(_problems(kind, source, path, known)))


def _problems(kind: str, source: bytes, path: Path, known: set[str]) -> list[Problem]:
    """The problems of one file, by the reader of its kind."""
    id: str | None = None
    place = Place()
    problems: Problems
    if kind == "playbook":
        from showday.playbook.reader import read_playbook

        book, problems = read_playbook(source, str(path), known)
        id, place = (book.playbook, book.place) if book else (None, place)
    elif kind == "fault":
        from showday.fault.reader import read_tree

        tree, problems = read_tree(source, str(path), known)
        id, place = (tree.fault, tree.place) if tree else (None, place)
    elif kind == "rig":
        from showday.rig.reader import read_rig

        problems = read_rig(source, str(path))[1]
    elif kind == "evening":
        from showday.demo.script import read_evening

        problems = read_evening(source, str(path))[1]
    else:
        from showday.text.reader import read_yaml

        node, problems = read_yaml(source, str(path))
        if node is not None:
            problems.add(place, _NOT_TOLD)
    if id is not None and id != path.stem:
        problems.add(place, f"the id '{id}' is not the file's name, which counts", warning=True)
    return problems.in_order()


def schema(kind: str) -> dict[str, Any]:
    """The JSON Schema of a kind of file, for editors that check while one types."""
    from showday.fault.reader import TREE
    from showday.playbook.reader import PLAYBOOK
    from showday.rig.reader import RIG
    from showday.text.fields import json_schema

    table, title = {
        "playbook": (PLAYBOOK, "Playbook"),
        "fault": (TREE, "Fault tree"),
        "rig": (RIG, "Rig"),
    }[kind]
    return json_schema(table, title)


def as_lines(reports: Sequence[Report]) -> list[str]:
    """Every problem on its line, and the sum of them last."""
    lines = []
    for report in reports:
        if report.unreadable:
            lines.append(one_line(report.unreadable, 600))
        lines += [str(problem) for problem in report.problems]
    errors, warnings = sum(r.errors for r in reports), sum(r.warnings for r in reports)
    lost = sum(bool(r.unreadable) for r in reports)
    found = [many(errors, "problem") if errors else "no problems"]
    found += [many(warnings, "warning")] if warnings else []
    found += [f"{lost} could not be read"] if lost else []
    return [*lines, f"{many(len(reports), 'file')}: {', '.join(found)}."]


def as_data(reports: Sequence[Report]) -> dict[str, Any]:
    """The same as plain data for JSON."""
    return {
        "files": [
            {
                "file": r.file,
                "kind": r.kind,
                "unreadable": r.unreadable,
                "problems": [
                    {
                        "line": p.place.line,
                        "column": p.place.column,
                        "text": p.text,
                        "meant": p.meant,
                        "warning": p.warning,
                    }
                    for p in r.problems
                ],
            }
            for r in reports
        ],
        "errors": sum(r.errors for r in reports),
        "warnings": sum(r.warnings for r in reports),
        "unreadable": sum(bool(r.unreadable) for r in reports),
    }


def exit_code(reports: Sequence[Report]) -> int:
    """0 fine (warnings alone too), 1 problems, 2 when a file could not be read."""
    if any(r.unreadable for r in reports):
        return 2
    return 1 if any(r.errors for r in reports) else 0


def many(count: int, what: str) -> str:
    """`1 file`, `2 files`."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"

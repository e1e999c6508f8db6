"""The shelf: what ships, shadowed by the person's own files, and never taken away by a broken one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from showday.errors import FileTrouble
from showday.library import Library, load_library, load_rig, read_bytes, shipped, yaml_files
from showday.playbook.reader import read_head

BOOK = (
    "playbook: {id}\ntitle: {title}\norder: {order}\nsections: [{{title: S, steps: [{{id: a, do: Do it{more}}}]}}]\n"
)
TREE = """fault: {id}
title: {title}
heard_as: x
help: Ask
causes: {{c: {{what: W, cure: C}}}}
walk: {{cause: c}}
"""


def book(folder: Path, name: str, title: str = "T", id: str = "", more: str = "", order: int = 50) -> Path:
    """A playbook file."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_text(BOOK.format(id=id or path.stem, title=title, more=more, order=order), "utf-8")
    return path


def tree(folder: Path, name: str, title: str = "T", id: str = "") -> Path:
    """A fault tree file."""
    (folder / "faults").mkdir(parents=True, exist_ok=True)
    path = folder / "faults" / name
    path.write_text(TREE.format(id=id or path.stem, title=title), "utf-8")
    return path


class Folders:
    """The shipped folder and the person's own."""

    def __init__(self, base: Path) -> None:
        self.shipped, self.own = base / "shipped", base / "own"

    def load(self) -> Library:
        """The library of both."""
        return load_library(self.own, self.shipped)


@pytest.fixture
def folders(tmp_path: Path) -> Folders:
    return Folders(tmp_path)


def said(library: Library) -> list[str]:
    """The problems, each with its file's name only."""
    return [f"{Path(p.file).name}:{p.place.line}: {p.text}" for p in library.problems]


def test_nothing_anywhere_is_an_empty_shelf(folders: Folders) -> None:
    library = folders.load()
    assert (library.playbooks, library.trees, library.problems) == ({}, {}, [])
    assert library.source("playbook", "x") is None


def test_playbooks_come_in_the_order_of_the_day(folders: Folders) -> None:
    for name, title, order in (("b.yaml", "B", 20), ("a.yaml", "A", 20), ("c.yml", "C", 10)):
        book(folders.shipped, name, title, order=order)
    assert [found.title for found in folders.load().in_order()] == ["C", "A", "B"]


def test_an_own_file_is_used_instead_of_the_shipped_one(folders: Folders) -> None:
    book(folders.shipped, "p.yaml", "shipped")
    tree(folders.shipped, "hum.yaml", "shipped")
    path = book(folders.own, "p.yaml", "own", more=", if_wrong: hum")
    tree(folders.own, "hum.yaml", "own")
    library = folders.load()
    assert library.problems == []
    assert (library.playbooks["p"].title, library.trees["hum"].title) == ("own", "own")
    source = library.source("playbook", "p")
    assert source is not None and (source.path, source.own) == (str(path), True)
    assert source.text == path.read_text("utf-8")


def test_an_own_file_that_is_broken_leaves_the_shipped_one_and_is_told(folders: Folders) -> None:
    book(folders.shipped, "p.yaml", "shipped")
    tree(folders.shipped, "hum.yaml", "shipped")
    book(folders.own, "p.yaml", "own", more=", mus: yes")
    tree(folders.own, "hum.yaml").write_text("fault: hum\nwalk: [", "utf-8")
    library = folders.load()
    assert (library.playbooks["p"].title, library.trees["hum"].title) == ("shipped", "shipped")
    assert len(library.problems) == 2 and all(
        problem.file.startswith(str(folders.own)) for problem in library.problems
    )
    source = library.source("fault", "hum")
    assert source is not None and not source.own


def test_a_broken_tree_does_not_take_the_playbooks_that_name_it(folders: Folders) -> None:
    tree(folders.own, "odd.yaml").write_text("fault: odd", "utf-8")
    book(folders.own, "p.yaml", more=", if_wrong: odd")
    library = folders.load()
    assert "p" in library.playbooks and "odd" not in library.trees
    assert {Path(problem.file).name for problem in library.problems} == {"odd.yaml"}


def test_a_tree_that_is_nowhere_is_told(folders: Folders) -> None:
    book(folders.own, "p.yaml", more=", if_wrong: nowhere")
    library = folders.load()
    assert library.playbooks == {} and "there is no fault tree 'nowhere'" in said(library)[0]


def test_the_files_name_counts_when_the_id_differs(folders: Folders) -> None:
    book(folders.own, "p.yaml", id="q")
    tree(folders.own, "hum.yaml", id="buzz")
    library = folders.load()
    assert library.playbooks["p"].playbook == "p" and library.trees["hum"].fault == "hum"
    assert said(library) == [
        "hum.yaml:1: the id 'buzz' is not the file's name, which counts",
        "p.yaml:1: the id 'q' is not the file's name, which counts",
    ]
    assert all(problem.warning for problem in library.problems)


def test_of_two_files_with_one_name_one_is_used_and_the_other_told(folders: Folders) -> None:
    book(folders.own, "p.yaml", "first")
    book(folders.own, "p.yml", "second")
    library = folders.load()
    assert library.playbooks["p"].title == "first"
    assert said(library) == ["p.yml:1: not used: p.yaml stands beside it; keep one"]


@pytest.mark.parametrize("name", [".p.yaml", "p.yaml~", "p.yaml.bak", "p.txt", "README.md", "#p.yaml#"])
def test_other_files_are_not_read(folders: Folders, name: str) -> None:
    book(folders.own, name).write_text("not a playbook", "utf-8")
    assert folders.load().problems == []


def test_a_folder_called_like_a_file_is_told(folders: Folders) -> None:
    (folders.own / "p.yaml").mkdir(parents=True)
    assert "is a folder. Name a file in it." in said(folders.load())[0]


def test_a_link_to_nothing_is_told(folders: Folders) -> None:
    folders.own.mkdir()
    (folders.own / "p.yaml").symlink_to(folders.own / "gone.yaml")
    assert "is not there." in said(folders.load())[0]


def test_a_folder_that_cannot_be_read_leaves_the_other(folders: Folders, monkeypatch: pytest.MonkeyPatch) -> None:
    book(folders.shipped, "p.yaml")
    folders.own.mkdir()
    whole = Path.iterdir

    def refuse(path: Path) -> object:
        if path == folders.own:
            raise PermissionError(13, "Permission denied")
        return whole(path)

    monkeypatch.setattr(Path, "iterdir", refuse)
    library = folders.load()
    assert "p" in library.playbooks
    assert said(library) == ["own:1: this folder cannot be read: Permission denied; check its permissions"]


@pytest.mark.parametrize(
    "raw", [b"", b"\xff\xfe", b"PK\x03\x04", b"[" * 5000, b"x" * 1_000_001], ids=lambda raw: repr(raw[:8])
)
def test_a_file_of_anything_is_told_and_nothing_is_lost(folders: Folders, raw: bytes) -> None:
    book(folders.shipped, "p.yaml")
    book(folders.own, "q.yaml").write_bytes(raw)
    library = folders.load()
    assert set(library.playbooks) == {"p"} and len(library.problems) >= 1


def test_a_byte_order_mark_is_not_kept_in_the_text(folders: Folders) -> None:
    path = book(folders.own, "p.yaml")
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    source = folders.load().source("playbook", "p")
    assert source is not None and source.text.startswith("playbook:")


class TestRigs:
    def test_a_rig_with_its_text(self, tmp_path: Path) -> None:
        path = tmp_path / "rig.yaml"
        path.write_text("rig: r\nact: Us\ninputs: [Kick]\n", "utf-8")
        rig, problems, source = load_rig(path)
        assert rig is not None and problems == [] and source is not None
        assert (rig.act, source.kind, source.name, source.text) == ("Us", "rig", "r", path.read_text("utf-8"))

    def test_a_rig_with_slips_is_used_and_they_are_told(self, tmp_path: Path) -> None:
        path = tmp_path / "rig.yaml"
        path.write_text("rig: r\nregion: moon\n", "utf-8")
        rig, problems, _ = load_rig(path)
        assert rig is not None and len(problems) == 1

    def test_what_is_no_rig_is_none(self, tmp_path: Path) -> None:
        path = tmp_path / "rig.yaml"
        path.write_text("just words", "utf-8")
        rig, problems, source = load_rig(path)
        assert rig is None and source is None and problems

    def test_no_file_is_one_clear_sentence(self, tmp_path: Path) -> None:
        with pytest.raises(FileTrouble, match=r"rig\.yaml is not there\. Check the name"):
            load_rig(tmp_path / "rig.yaml")


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    path.write_bytes(b"x" * 1_000_001)
    with pytest.raises(FileTrouble, match="larger than 1,000,000 bytes"):
        read_bytes(path)


def test_a_folder_that_is_not_there_has_no_files(tmp_path: Path) -> None:
    assert yaml_files(tmp_path / "gone") == []


@pytest.mark.parametrize("folder", ["playbooks", "examples"])
def test_what_ships_is_found(folder: str) -> None:
    assert yaml_files(shipped(folder))


# -- no more is read than is asked for -----------------------------------------------------------------------------


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the files that were parsed whole, in order."""
    from showday.fault import reader as fault_reader
    from showday.playbook import reader as playbook_reader

    names: list[str] = []

    def noting(whole: Callable[..., Any]) -> Callable[..., Any]:
        def parse(source: bytes, file: str, *more: Any) -> Any:
            names.append(Path(file).name)
            return whole(source, file, *more)

        return parse

    monkeypatch.setattr(playbook_reader, "read_playbook", noting(playbook_reader.read_playbook))
    monkeypatch.setattr(fault_reader, "read_tree", noting(fault_reader.read_tree))
    return names


def test_titles_of_what_ships_are_known_without_steps_and_trees(folders: Folders, read: list[str]) -> None:
    book(folders.shipped, "p.yaml", "shipped", order=7)
    book(folders.shipped, "q.yaml", "hidden")
    book(folders.own, "q.yaml", "own")
    book(folders.shipped, "r.yaml", "stands")
    book(folders.own, "r.yaml").write_text("playbook: r", "utf-8")
    tree(folders.shipped, "hum.yaml")
    library = folders.load()
    assert {id: head.title for id, head in library.heads().items()} == {"p": "shipped", "q": "own", "r": "stands"}
    assert library.heads()["p"].order == 7
    assert sorted(set(read)) == ["q.yaml", "r.yaml"], "the user's own files may be broken"
    assert not library.is_read


def test_one_playbook_or_tree_costs_no_other(folders: Folders, read: list[str]) -> None:
    for folder in (folders.shipped, folders.own):
        tree(folder, "hum.yaml", folder.name)
        tree(folder, "buzz.yaml")
        book(folder, "p.yaml", folder.name)
        book(folder, "q.yaml")
    library = folders.load()
    found, hum, source = library.playbook("p"), library.tree("hum"), library.source("playbook", "p")
    assert found is not None and hum is not None and source is not None
    assert (found.title, hum.title, source.own) == ("own", "own", True)
    assert read == ["p.yaml", "hum.yaml"]
    assert library.playbook("nothing") is None and library.tree("p") is None


def test_read_file_by_file_it_is_the_same_library(folders: Folders) -> None:
    tree(folders.shipped, "hum.yaml")
    tree(folders.own, "odd.yaml").write_text("fault: odd", "utf-8")
    book(folders.shipped, "p.yaml", more=", if_wrong: odd")
    book(folders.own, "p.yaml").write_text("playbook: p", "utf-8")
    whole, slowly = folders.load(), folders.load()
    parts = 1
    while slowly.read_some():
        parts += 1
    assert parts >= 4 and slowly.is_read
    assert (slowly.playbooks, slowly.trees, slowly.sources) == (whole.playbooks, whole.trees, whole.sources)
    assert slowly.problems == whole.problems != []


def test_heads_of_the_shipped_playbooks_are_what_the_whole_files_say() -> None:
    heads, whole = load_library().heads(), load_library().playbooks
    assert heads.keys() == whole.keys()
    for id, head in heads.items():
        assert not head.sections, "read alone"
        assert head == replace(whole[id], sections=())


def test_a_head_with_something_below_its_sections_is_not_read_alone() -> None:
    assert read_head(b"playbook: p\ntitle: T\nsections:\n- title: S\nwhen: indoors\n") is None
    assert read_head(b"playbook: p\ntitle: T\nwhen: indoors\n# end\nsections:\n- title: S\n") is not None

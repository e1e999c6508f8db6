"""The shelf: shipped playbooks and fault trees, shadowed by the user's own files of the same name.

A file that cannot be used never hides the others: its problems are kept beside it, and when a user's file is
broken the shipped one of the same name is used instead, with the problem said.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from importlib import resources
from pathlib import Path

import showday
from showday import paths
from showday.errors import FileTrouble
from showday.fault.model import Tree
from showday.fault.reader import read_tree
from showday.playbook.model import Playbook
from showday.playbook.reader import read_playbook
from showday.rig.model import Rig
from showday.rig.reader import read_rig
from showday.text.problem import Place, Problem
from showday.text.reader import MAX_BYTES

SUFFIXES = (".yaml", ".yml")


@dataclass(frozen=True, slots=True)
class Source:
    """One file as it was read: what a snapshot keeps."""

    kind: str
    """`playbook`, `fault` or `rig`."""
    name: str
    path: str
    text: str
    own: bool = False
    """True for a file of the user's."""


@dataclass
class Library:
    """Everything that can be walked, and every problem found on the way."""

    playbooks: dict[str, Playbook] = field(default_factory=dict)
    trees: dict[str, Tree] = field(default_factory=dict)
    sources: dict[tuple[str, str], Source] = field(default_factory=dict)
    """By kind and id."""
    problems: list[Problem] = field(default_factory=list)

    def in_order(self) -> list[Playbook]:
        """Playbooks by their place in the day."""
        return sorted(self.playbooks.values(), key=lambda b: (b.order, b.title))

    def source(self, kind: str, name: str) -> Source | None:
        """The file of a playbook or tree."""
        return self.sources.get((kind, name))


def shipped(folder: str) -> Path:
    """A folder that ships with the program: `playbooks` or `examples`; in a wheel or beside the package."""
    inside = Path(str(resources.files("showday"))) / f"_{folder}"
    if inside.is_dir():
        return inside
    return Path(showday.__file__).parent.parent / folder


def yaml_files(folder: Path) -> list[Path]:
    """YAML files of a folder by name, without hidden and backup files; empty when there is no such folder."""
    if not folder.is_dir():
        return []
    found = (p for p in folder.iterdir() if p.suffix in SUFFIXES and not p.name.startswith("."))
    return sorted(found, key=lambda p: p.name)


def read_bytes(path: Path) -> bytes:
    """A file's content; FileTrouble with one sentence when it cannot be read or is far too large."""
    try:
        if path.is_dir():
            raise FileTrouble(f"{path} is a folder.", "Name a file in it.")
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)  # what is no file has no size to ask for first, and may have no end
        if len(raw) > MAX_BYTES:
            raise FileTrouble(f"{path} is larger than {MAX_BYTES:,} bytes.", "Split it.")
        return raw
    except FileNotFoundError:
        raise FileTrouble(f"{path} is not there.", "Check the name, or run `showday where`.") from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise FileTrouble(f"{path} cannot be read: {reason}.", "Check its permissions.") from None


def load_library(own: Path | None = None, shipped_folder: Path | None = None) -> Library:
    """All playbooks and trees. `own` is the user's playbook folder, `shipped_folder` replaces the shipped one."""
    base = shipped_folder or shipped("playbooks")
    mine = own or paths.own_playbooks()
    library = Library()
    known: set[str] = set()
    for folder, is_own in ((base / "faults", False), (mine / "faults", True)):
        for path in _files(library, folder):
            known.add(path.stem)  # a tree that is broken must not take the playbooks that name it with it
            _add_tree(library, path, is_own)
    for folder, is_own in ((base, False), (mine, True)):
        for path in _files(library, folder):
            _add_playbook(library, path, is_own, known)
    return library


def _files(library: Library, folder: Path) -> list[Path]:
    """The folder's files, one of each name; what cannot be used is noted."""
    try:
        found = yaml_files(folder)
    except OSError as error:
        text = f"this folder cannot be read: {error.strerror or type(error).__name__}; check its permissions"
        library.problems.append(Problem(str(folder), Place(), text))
        return []
    kept: dict[str, Path] = {}
    for path in found:
        if path.stem in kept:
            text = f"not used: {kept[path.stem].name} stands beside it; keep one"
            library.problems.append(Problem(str(path), Place(), text, warning=True))
        kept.setdefault(path.stem, path)
    return list(kept.values())


def _text(library: Library, path: Path) -> bytes | None:
    try:
        return read_bytes(path)
    except FileTrouble as trouble:
        library.problems.append(Problem(str(path), Place(), str(trouble)))
        return None


def _add_tree(library: Library, path: Path, own: bool) -> None:
    raw = _text(library, path)
    if raw is None:
        return
    tree, problems = read_tree(raw, str(path))
    if tree is not None and path.stem != tree.fault:
        problems.add(tree.place, f"the id '{tree.fault}' is not the file's name, which counts", warning=True)
    library.problems.extend(problems.in_order())
    if tree is not None:
        library.trees[path.stem] = replace(tree, fault=path.stem)
        library.sources["fault", path.stem] = Source("fault", path.stem, str(path), raw.decode("utf-8-sig"), own)


def _add_playbook(library: Library, path: Path, own: bool, known: set[str]) -> None:
    raw = _text(library, path)
    if raw is None:
        return
    book, problems = read_playbook(raw, str(path), known)
    if book is not None and path.stem != book.playbook:
        text = f"the id '{book.playbook}' is not the file's name, which counts"
        problems.add(book.place, text, warning=True)
    library.problems.extend(problems.in_order())
    if book is not None:
        library.playbooks[path.stem] = replace(book, playbook=path.stem)
        library.sources["playbook", path.stem] = Source(
            "playbook", path.stem, str(path), raw.decode("utf-8-sig"), own
        )


def load_rig(path: Path) -> tuple[Rig | None, list[Problem], Source | None]:
    """A rig file: the rig, its problems and its text. FileTrouble when it cannot be read."""
    raw = read_bytes(path)
    rig, problems = read_rig(raw, str(path))
    if rig is None:
        return None, problems.in_order(), None
    return rig, problems.in_order(), Source("rig", str(rig.rig), str(path), raw.decode("utf-8-sig"), True)

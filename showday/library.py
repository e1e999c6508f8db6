"""The shelf: shipped playbooks and fault trees, shadowed by the user's own files of the same name.

A file that cannot be used never hides the others: its problems are kept beside it, and when a user's file is
broken the shipped one of the same name is used instead, with the problem said. Files are read when somebody asks for
what is in them, so that the first screen, which wants titles alone, need not wait for every fault tree.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import showday
from showday import paths
from showday.errors import FileTrouble
from showday.text.problem import Place, Problem

if TYPE_CHECKING:
    from showday.fault.model import Tree
    from showday.playbook.model import Playbook
    from showday.rig.model import Rig

SUFFIXES = (".yaml", ".yml")
PLAYBOOK, FAULT = "playbook", "fault"
"""Kinds of files, by the key that their ids stand under."""


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

    def playbook(self, id: str) -> Playbook | None:
        """One playbook."""
        return self.playbooks.get(id)

    def tree(self, id: str) -> Tree | None:
        """One fault tree."""
        return self.trees.get(id)

    def source(self, kind: str, name: str) -> Source | None:
        """The file of a playbook or tree."""
        return self.sources.get((kind, name))

    def heads(self) -> Mapping[str, Playbook]:
        """Every playbook by its id, as far as its title, its place in the day and its conditions go: the sections of
        some may not be read."""
        return self.playbooks

    def problems_in(self, folder: Path) -> list[Problem]:
        """The problems of a folder and of the files in it."""
        return [problem for problem in self.problems if problem.file.startswith(str(folder))]

    @property
    def is_read(self) -> bool:
        """Whether nothing is left to be read."""
        return True

    def read_some(self) -> bool:
        """Read one more file, so that a key may come between; whether there is more to read."""
        return False


def shipped(folder: str) -> Path:
    """A folder that ships with the program: `playbooks` or `examples`; in a wheel or beside the package."""
    inside = Path(showday.__file__).parent / f"_{folder}"
    return inside if inside.is_dir() else inside.parent.parent / folder


def yaml_files(folder: Path) -> list[Path]:
    """YAML files of a folder by name, without hidden and backup files; empty when there is no such folder."""
    if not folder.is_dir():
        return []
    found = (p for p in folder.iterdir() if p.suffix in SUFFIXES and not p.name.startswith("."))
    return sorted(found, key=lambda p: p.name)


def read_bytes(path: Path) -> bytes:
    """A file's content; FileTrouble with one sentence when it cannot be read or is far too large."""
    from showday.text.reader import MAX_BYTES

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
    return _Shelf(shipped_folder or shipped("playbooks"), own or paths.own_playbooks())


@dataclass(frozen=True, slots=True)
class _File:
    """A file of the shelf that may be read."""

    path: Path
    kind: str
    own: bool


@dataclass(frozen=True, slots=True)
class _Found:
    """What one file holds; `made` and `source` are None when it cannot be used."""

    problems: tuple[Problem, ...]
    made: Any = None
    source: Source | None = None


class _Shelf(Library):
    """A library whose files are read one by one as they are wanted: all of them when any of its fields is."""

    def __init__(self, base: Path, mine: Path) -> None:
        # The fields come to be in `_put_together`; until then `__getattr__` is asked for them.
        self._listed: list[tuple[Path, list[Problem], list[_File]]] = []
        """Each folder with the problems of listing it and its files, in the order in which they are told."""
        self._read: dict[Path, _Found] = {}
        for folder, kind, own in (
            (base / "faults", FAULT, False),
            (mine / "faults", FAULT, True),
            (base, PLAYBOOK, False),
            (mine, PLAYBOOK, True),
        ):
            problems: list[Problem] = []
            self._listed.append((folder, problems, [_File(p, kind, own) for p in _files(folder, problems)]))
        files = [file for _, _, files in self._listed for file in files]
        # A tree that is broken must not take the playbooks that name it with it.
        self._known = {file.path.stem for file in files if file.kind == FAULT}
        self._left = files

    def __getattr__(self, name: str) -> Any:
        if name not in Library.__dataclass_fields__:
            raise AttributeError(name)
        while self.read_some():
            pass
        return self.__dict__[name]

    def playbook(self, id: str) -> Playbook | None:
        """One playbook, with no other file read for it."""
        if self.is_read:
            return super().playbook(id)
        book: Playbook | None = self._one(PLAYBOOK, id).made
        return book

    def tree(self, id: str) -> Tree | None:
        """One fault tree, with no other file read for it."""
        if self.is_read:
            return super().tree(id)
        tree: Tree | None = self._one(FAULT, id).made
        return tree

    def source(self, kind: str, name: str) -> Source | None:
        """The file of a playbook or tree, with no other file read for it."""
        return super().source(kind, name) if self.is_read else self._one(kind, name).source

    def _one(self, kind: str, name: str) -> _Found:
        """What the last usable file of a name holds."""
        files = (file for _, _, files in reversed(self._listed) for file in files)
        named = (self._found(file) for file in files if (file.kind, file.path.stem) == (kind, name))
        return next((found for found in named if found.made is not None), _Found(()))

    def heads(self) -> Mapping[str, Playbook]:
        """Titles and conditions; of the shipped files no more than that is read, of the user's everything."""
        if self.is_read:
            return self.playbooks
        made: dict[str, Playbook] = {}
        for file in (file for _, _, files in self._listed for file in files if file.kind == PLAYBOOK):
            head = None if file.own or file.path in self._read else _head(file.path)
            head = head or self._found(file).made
            if head is not None:
                made[file.path.stem] = replace(head, playbook=file.path.stem)
        return made

    def problems_in(self, folder: Path) -> list[Problem]:
        """The problems of a folder; files elsewhere are not read for that."""
        if self.is_read:
            return super().problems_in(folder)
        found: list[Problem] = []
        for at, problems, files in self._listed:
            if at.is_relative_to(folder):
                found += [*problems, *(p for file in files for p in self._found(file).problems)]
        return found

    @property
    def is_read(self) -> bool:
        """Whether the fields stand."""
        return "problems" in self.__dict__

    def read_some(self) -> bool:
        """Read one more file; with the last one the fields stand."""
        while self._left and self._left[0].path in self._read:
            del self._left[0]
        if self._left:
            self._found(self._left[0])
        elif not self.is_read:
            self._put_together()
        return not self.is_read

    def _found(self, file: _File) -> _Found:
        if file.path not in self._read:
            self._read[file.path] = _read(file, self._known)
        return self._read[file.path]

    def _put_together(self) -> None:
        super().__init__()
        for _, problems, files in self._listed:
            self.problems += problems
            for file in files:
                found, name = self._found(file), file.path.stem
                self.problems += found.problems
                if found.source is not None:
                    self.sources[file.kind, name] = found.source
                    if file.kind == FAULT:
                        self.trees[name] = found.made
                    else:
                        self.playbooks[name] = found.made


def _files(folder: Path, problems: list[Problem]) -> list[Path]:
    """The folder's files, one of each name; what cannot be used is noted."""
    try:
        found = yaml_files(folder)
    except OSError as error:
        text = f"this folder cannot be read: {error.strerror or type(error).__name__}; check its permissions"
        problems.append(Problem(str(folder), Place(), text))
        return []
    kept: dict[str, Path] = {}
    for path in found:
        if path.stem in kept:
            text = f"not used: {kept[path.stem].name} stands beside it; keep one"
            problems.append(Problem(str(path), Place(), text, warning=True))
        kept.setdefault(path.stem, path)
    return list(kept.values())


def _head(path: Path) -> Playbook | None:
    """A playbook's head; None when it has none that can be read alone."""
    from showday.playbook.reader import read_head

    try:
        return read_head(read_bytes(path))
    except FileTrouble:
        return None


def _read(file: _File, known: set[str]) -> _Found:
    path, name = str(file.path), file.path.stem
    try:
        raw = read_bytes(file.path)
    except FileTrouble as trouble:
        return _Found((Problem(path, Place(), str(trouble)),))
    made: Any
    if file.kind == FAULT:
        from showday.fault.reader import read_tree

        made, problems = read_tree(raw, path)
    else:
        from showday.playbook.reader import read_playbook

        made, problems = read_playbook(raw, path, known)
    if made is None:
        return _Found(tuple(problems.in_order()))
    id = getattr(made, file.kind)
    if id != name:
        problems.add(made.place, f"the id '{id}' is not the file's name, which counts", warning=True)
    made = replace(made, **{file.kind: name})
    source = Source(file.kind, name, path, raw.decode("utf-8-sig"), file.own)
    return _Found(tuple(problems.in_order()), made, source)


def load_rig(path: Path) -> tuple[Rig | None, list[Problem], Source | None]:
    """A rig file: the rig, its problems and its text. FileTrouble when it cannot be read."""
    from showday.rig.reader import read_rig

    raw = read_bytes(path)
    rig, problems = read_rig(raw, str(path))
    if rig is None:
        return None, problems.in_order(), None
    return rig, problems.in_order(), Source("rig", str(rig.rig), str(path), raw.decode("utf-8-sig"), True)

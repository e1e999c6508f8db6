"""Every problem of the files in use: file, line, column, what is wrong, and what is used instead."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from showday import paths
from showday.desk import Desk
from showday.errors import FileTrouble
from showday.library import load_rig
from showday.rig.reader import read_rig
from showday.text.problem import Place, Problem
from showday.text.safe import one_line
from showday.tui import commands as cmd
from showday.tui.lines import Line
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.listing import PAGE_UP, Listing, choice
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row, heading


@dataclass(frozen=True, slots=True)
class FileProblems:
    """One file with its problems."""

    file: str
    problems: tuple[Problem, ...]
    so: str = ""
    """What follows for tonight, in one sentence."""

    @property
    def errors(self) -> int:
        """Problems that keep the file from being used as it is."""
        return sum(not problem.warning for problem in self.problems)


def file_problems(desk: Desk) -> list[FileProblems]:
    """Problems of the playbooks, the fault trees and the rig, by file; files with errors first."""
    found = [*desk.library.problems, *_rig_problems(desk)]
    files = dict.fromkeys(problem.file for problem in found)
    made = [_of_file(desk, file, [p for p in found if p.file == file]) for file in files]
    return sorted(made, key=lambda f: (not f.errors, f.file))


def _of_file(desk: Desk, file: str, problems: Iterable[Problem]) -> FileProblems:
    listed = tuple(sorted(problems, key=lambda p: (p.warning, p.place)))
    if all(problem.warning for problem in listed):
        return FileProblems(file, listed, "It works as it is.")
    if any(source.path == file for source in desk.library.sources.values()):
        return FileProblems(file, listed, "What can be read of it is used.")
    if desk.rig_source is not None and desk.rig_source.path == file:
        return FileProblems(file, listed, "What can be read of it is used.")
    if file == str(paths.own_rig()):
        return FileProblems(file, listed, "It is not used: playbooks run without the rig's lines.")
    kind = "fault" if Path(file).parent.name == "faults" else "playbook"
    instead = desk.library.source(kind, Path(file).stem)
    if instead is not None and not instead.own:
        return FileProblems(file, listed, "The shipped file of this name is used instead.")
    return FileProblems(file, listed, "It is not used.")


def _rig_problems(desk: Desk) -> list[Problem]:
    """The rig in use, else the person's own rig that could not be used."""
    source = desk.rig_source
    if source is not None:
        return read_rig(source.text, source.path)[1].in_order()
    own = paths.own_rig()
    if not own.exists():
        return []
    try:
        return load_rig(own)[1]
    except FileTrouble as trouble:
        return [Problem(str(own), Place(), str(trouble))]


class ProblemsScreen(Listing, ShowdayScreen[None]):
    """Problems by file."""

    WHERE = cmd.PROBLEMS
    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.PROBLEMS), PAGE_UP]

    def compose(self) -> ComposeResult:
        """How many, the list, keys."""
        yield Lines(id="standing")
        yield PickList(id="list")
        yield Lines(id="said")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Show them; they change only when the program is started anew."""
        found = file_problems(self.desk)
        errors = sum(file.errors for file in found)
        warnings = sum(len(file.problems) for file in found) - errors
        lines = [Line("title", f"Problems in files | {errors} problems, {warnings} warnings")]
        lines.append(Line("count", "Mend a file, then start again. `showday check FILE` says the same."))
        self.query_one("#standing", Lines).show(lines)
        self.list.show(problem_rows(found))
        keys = [
            choice("next"),
            choice("previous"),
            choice("more", "page"),
            choice("light"),
            choice("help"),
            choice("back"),
        ]
        self.query_one(KeyBar).show(keys)


def problem_rows(found: Iterable[FileProblems]) -> list[Row]:
    """Under each file what follows for tonight, then each problem with its place."""
    made: list[Row] = []
    for file in found:
        made += heading(file.file)
        made.append(Row(file.so, "strong" if file.errors else "dim"))
        made += [_row(problem) for problem in file.problems]
    return made or [Row("No file has a problem.")]


def _row(problem: Problem) -> Row:
    meant = f" (did you mean {one_line(problem.meant, 60)}?)" if problem.meant else ""
    word = "warning: " if problem.warning else ""
    where = f"{problem.place.line}:{problem.place.column}"
    kind = "row" if problem.warning else "warning"
    return Row(f"{word}{one_line(problem.text, 400)}{meant}", kind, f"{where:>7}")

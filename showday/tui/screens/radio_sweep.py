"""Taking a sweep in: which file, what it leaves open, whether our own transmitters were on."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input

from showday.errors import NotAllowed
from showday.radio.sweep import Sweep
from showday.sweep_files import find_occupied, read_sweeps
from showday.sweep_shelf import sweep_files, typed_file, usual_folders
from showday.text.problem import Problem
from showday.text.safe import one_line
from showday.tui import radio_view as view
from showday.tui.lines import Choice, Line
from showday.tui.radio_state import Seen
from showday.tui.screens.base import ShowdayModal
from showday.tui.screens.listing import WHILE_TYPING, Listing
from showday.tui.screens.modals import ChoiceModal
from showday.tui.screens.radio_base import RadioBase
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row

if TYPE_CHECKING:
    from showday.radio.occupancy import Occupancy

LONGEST_PATH = 1000
"""Characters of a path that can be typed (a choice of this program)."""


class SweepModal(Listing, ShowdayModal[Path | None]):
    """A sweep file: one that lies about, narrowed by typing, or any by its path."""

    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "cancel", "back", show=False), *WHILE_TYPING]

    def __init__(self, files: Sequence[Path], folders: Sequence[Path]) -> None:
        super().__init__()
        self._files = files
        self._folders = folders

    def compose(self) -> ComposeResult:
        """Title, field, files, keys."""
        with Vertical(classes="question -tall"):
            yield Lines([Line("title", "Which sweep file?")])
            yield Input(max_length=LONGEST_PATH, placeholder="type a part of its name, or its path", id="field")
            yield PickList(id="found", focusable=False)
            yield Lines(id="trouble")
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Begin with every file."""
        keys = [("Enter", "open", "go_on"), ("Down", "next", "next"), ("Up", "before", "previous")]
        self.query_one(KeyBar).show([Choice(*key) for key in [*keys, ("Esc", "back", "cancel")]])
        self._find("")

    def on_input_changed(self, event: Input.Changed) -> None:
        """Every letter narrows the list."""
        event.stop()
        self._find(event.value)

    def _find(self, typed: str) -> None:
        self.query_one("#trouble", Lines).show([])
        wanted = typed.strip().casefold()
        named = typed_file(typed)
        rows = [Row(f"this file: {named}", "strong", value=named)] if named is not None else []
        found = [path for path in self._files if wanted in path.name.casefold() and path != named]
        rows += [Row(f"{one_line(path.name, 60)}, in {path.parent}", value=path) for path in found]
        if not rows:
            folders = ", ".join(one_line(str(folder), 200) for folder in self._folders)
            said = "No such file." if wanted else f"No text file lies in any of {folders}: type a path."
            rows = [Row(said, "dim")]
        self.list.show(rows, rows[0].value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter takes the marked row."""
        event.stop()
        if self.list.marked is None or self.list.marked.value is None:
            said = (
                f"There is no file '{one_line(event.value, 100)}'." if event.value.strip() else "No file is marked."
            )
            self.query_one("#trouble", Lines).show([Line("warning", f"! {said}")])
        else:
            self.action_go_on()

    def take(self, value: object) -> None:
        """A file was chosen."""
        if isinstance(value, Path):
            self.dismiss(value)

    def action_cancel(self) -> None:
        """No file."""
        self.dismiss(None)


class Sweeping(RadioBase):
    """The keys that have to do with sweeps."""

    _files: tuple[Path, ...] = ()
    _sweep: Sweep | None = None
    """The sweep of this sitting; one of the log has no bins any more, only its line."""

    def action_show_list(self) -> None:
        """Choose a file."""
        with self.saying_why():
            self.must_rest()
            folders = usual_folders(self.desk.example)
            self.showday.push_screen(SweepModal(sweep_files(folders), folders), self._chosen)

    def _chosen(self, path: Path | None) -> None:
        if path is None:
            return
        if not self._files or path in self._files:
            self._read((path,))
            return

        def told(key: str | None) -> None:
            if key is not None:
                self._read((*self._files, path) if key == "2" else (path,))

        lines = [Line("title", "There is a sweep already"), Line("about", path.name)]
        choices = [("1", "this one instead"), ("2", "both as one: the strongest of each counts")]
        self.showday.push_screen(ChoiceModal(lines, choices, "leave it as it is"), told)

    def _read(self, files: tuple[Path, ...], level: str = "") -> None:
        self.showday.say(f"Reading {', '.join(path.name for path in files)} …")
        names: list[str | os.PathLike[str]] = [str(path) for path in files]

        def then(read: tuple[Sweep, list[Problem]]) -> None:
            sweep, problems = read
            if sweep.asked and not level:
                self._ask_level(files, sweep)
            else:
                self._ask_mine(files, sweep, problems)

        self.beside(lambda: read_sweeps(names, level), then)

    def _ask_level(self, files: tuple[Path, ...], sweep: Sweep) -> None:
        def told(key: str | None) -> None:
            if key is not None:
                self._read(files, {"1": "dbm", "2": "dbuv", "3": "db"}[key])
            else:
                self.showday.say("No sweep was taken in.")

        asked = sweep.asked[0].partition(" Say --")[0]
        lines = [Line("title", "What are the levels in this file?"), Line("about", asked)]
        choices = [("1", "dBm"), ("2", "dBuV, across 50 ohm"), ("3", "neither: only the differences count")]
        self.showday.push_screen(ChoiceModal(lines, choices, "leave the file"), told)

    def _ask_mine(self, files: tuple[Path, ...], sweep: Sweep, problems: list[Problem]) -> None:
        if not self.held.own_on():
            self._find(files, sweep, problems, mine_on=False)
            return
        lines = [
            Line("title", "Were your own transmitters on during this sweep?"),
            Line("about", "Then what stands on their frequencies is taken for yours, not for others'."),
        ]
        choices = [("1", "no, they were off"), ("2", "yes, on the frequencies of the table")]
        self.showday.push_screen(
            ChoiceModal(lines, choices, "not known: as if they were off"),
            lambda key: self._find(files, sweep, problems, mine_on=key == "2"),
        )

    def _find(self, files: tuple[Path, ...], sweep: Sweep, problems: list[Problem], *, mine_on: bool) -> None:
        rig, own = self.desk.rig, self.held.own_on() if mine_on else ()

        def then(found: Occupancy) -> None:
            self._files, self._sweep, self.mine_on = files, sweep, mine_on
            self._take(found, problems)

        self.beside(lambda: find_occupied(sweep, rig=rig, own=own), then)

    def _take(self, found: Occupancy, problems: Sequence[Problem]) -> None:
        seen = Seen.of_found(found, self.keep_sweep(found))
        self.held.look_at(seen)
        self.show_sweep()
        said = [view.found_words(seen, self.held.sources)]
        said += ["More carriers than are counted."] if found.crowded else []
        said += [] if self.desk.rig.region else ["The rig file names no region, so no TV channel is known."]
        if problems:
            more = f" and {len(problems) - 1} more" if len(problems) > 1 else ""
            said.insert(0, f"{problems[0]}{more}.")
        self.showday.say(" ".join(said), warning=bool(problems))

    def keep_sweep(self, found: Occupancy) -> str:
        """Keep a sweep in the log; its id there."""
        from showday.radio_desk import keep_sweep

        return keep_sweep(self.desk, found, run=self.run_to_note).id

    def show_sweep(self) -> None:
        """Another sweep was taken in: show it from end to end."""
        raise NotImplementedError

    def mine_on_or_off(self) -> None:
        """Our transmitters were on during the sweep, or off: look again."""
        with self.saying_why():
            self.must_rest()
            if self._sweep is None:
                what = "There is no sweep yet." if self.held.seen is None else "That sweep is from the log."
                raise NotAllowed(what, "t opens a file.")
            self._find(self._files, self._sweep, [], mine_on=not self.mine_on)
            self.showday.say("Yours were on." if not self.mine_on else "Yours were off.")

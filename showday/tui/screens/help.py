"""Every key in words, the cautions of the work, and where the files are."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from showday import paths
from showday.tui import commands as cmd
from showday.tui.lines import Line
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.listing import PAGE_UP, Listing, choice
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row, heading

TITLES = {
    cmd.RUN: "In a run",
    cmd.WALK: "In a fault walk",
    cmd.INTERRUPTED: "While interrupted",
    cmd.TONIGHT: "Tonight",
    cmd.SEARCH: "What do you hear, and find",
    cmd.BRIEF: "What is known of a venue",
    cmd.PAST: "Runs of the past",
    cmd.PAST_RUN: "A past run",
    cmd.TO_FIX: "The to-fix list",
    cmd.PROBLEMS: "Problems in files",
    cmd.RADIO: "Frequencies",
    cmd.LISTEN: "Listening",
    cmd.HELP: "Help",
    cmd.EVERYWHERE: "Everywhere",
}
"""What each part of the table of commands is called here."""

EXTRA = {
    cmd.TONIGHT: [("1-9", "Take the playbook of that number.")],
    cmd.RUN: [("0-9", "Begin to type the reading of this step.")],
    cmd.WALK: [("1-9", "Give the answer of that number.")],
    cmd.RADIO: [
        ("1-9", "Mark the carrier of that number."),
        (", .", "The marked carrier one step of its transmitter lower or higher."),
        ("<- ->", "The cursor one column lower or higher; + and - zoom too."),
        ("1 a *", "On the drawing: a carrier, a spare, several of yours in one column."),
        ("x f", "On the drawing: in use by others, as the sweep shows; a carrier of another act, as you said."),
        (": .", "On the drawing: products of third order; of higher orders, once you are close enough."),
    ],
    cmd.SEARCH: [
        ("a-z", "Type what you hear or look for; digits are typed too."),
        ("Down", "Choose a row, also with Up; Enter takes it, Esc goes back to the same step."),
    ],
}
"""Keys that are no commands of the table."""

CAUTIONS = (
    "Electricity: never lift or defeat the protective earth. If anything tingles, hands off, power off, and have a "
    "qualified person see to the supply before you go on.",
    "Hearing: levels in ears cannot be known from a meter on stage. Begin at minimum; ears out while plugs are "
    "pulled.",
    "Weight: carry racks and cases with two people; look at the stairs first.",
    "Radio: a frequency plan is advice. Local rules, the licence holder and the site's coordinator decide.",
)
"""The usual cautions of the trade, in few words."""


class HelpScreen(Listing, ShowdayScreen[None]):
    """Help, with the keys of the screen it was opened from first."""

    WHERE = cmd.HELP
    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.HELP), PAGE_UP]

    def __init__(self, where: str) -> None:
        super().__init__()
        self._where = where if where in TITLES else cmd.EVERYWHERE

    def compose(self) -> ComposeResult:
        """The list between title and keys."""
        yield Lines(id="standing")
        yield PickList(id="list")
        yield Lines(id="said")
        yield KeyBar(id="keys")

    def on_mount(self) -> None:
        """Show it all."""
        self.query_one("#standing", Lines).show([Line("title", f"Help | {TITLES[self._where]}")])
        self.list.show(help_rows(self._where, self._files()))
        keys = [choice("next"), choice("previous"), choice("more", "page"), choice("light"), choice("back")]
        self.query_one(KeyBar).show(keys)

    def _files(self) -> list[tuple[str, str]]:
        rig = self.desk.rig_source
        return [
            ("log", str(paths.log_path())),
            ("rig", rig.path if rig else f"{paths.own_rig()} (not there yet)"),
            ("own playbooks", str(paths.own_playbooks())),
            ("own fault trees", str(paths.own_faults())),
        ]

    def action_help(self) -> None:
        """Help is open already: leave it."""
        self.showday.go_back()


def help_rows(where: str, files: Iterable[tuple[str, str]]) -> list[Row]:
    """This screen's keys, those of everywhere, cautions, files, then the keys of every other screen."""
    made = _keys(where) if where != cmd.EVERYWHERE else []
    made += _keys(cmd.EVERYWHERE)
    made += heading("Take care")
    made += [Row(text, "warning", " !") for text in CAUTIONS]
    made += heading("Where files live")
    made += [Row(path, lead=f"{name:>16}") for name, path in files]
    made.append(Row("`showday where` says all of them; SHOWDAY_HOME puts them all in one folder.", "dim"))
    for other in TITLES:
        if other not in (where, cmd.EVERYWHERE, cmd.HELP):
            made += _keys(other)
    return made


def _keys(where: str) -> list[Row]:
    made = heading(TITLES[where])
    made += [Row(text, lead=f"{keys:>5}") for keys, text in EXTRA.get(where, ())]
    for command in cmd.commands(where):
        also = " ".join(cmd.shown(key) for key in command.keys[1:])
        label = f"{command.label} (also {also})" if also else command.label
        made.append(Row(f"{label}: {command.help}", lead=f"{command.key:>5}"))
    return made

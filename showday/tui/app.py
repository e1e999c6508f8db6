"""The app: themes, the table of keys, signals, and which screen opens what."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from textual.app import App, SystemCommand
from textual.binding import Binding
from textual.screen import Screen

from showday.errors import ShowdayError
from showday.text.safe import one_line
from showday.tui import commands as cmd
from showday.tui.themes import STAGE, THEMES, other

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.playbook.search import Entry as Findable
    from showday.run.plan import PlannedStep
    from showday.run.session import Session


class ShowdayApp(App[int]):
    """The screens over one desk.

    `theme_name` is the remembered theme and `remember` is called with the new one when it is changed. With `session` the
    app opens on that run, with `fault` on a fault walk of its own, else on tonight's show.
    """

    CSS_PATH = "app.tcss"
    TITLE = "showday"
    COMMAND_PALETTE_BINDING = "f2"
    BINDINGS = [*cmd.bindings(cmd.EVERYWHERE), Binding("ctrl+z", "suspend_process", show=False)]

    def __init__(
        self,
        desk: Desk,
        *,
        session: Session | None = None,
        fault: str = "",
        theme_name: str = STAGE,
        remember: Callable[[str], None] | None = None,
    ) -> None:
        super().__init__()
        self.desk = desk
        self.session = session
        """The run that is open, if any; a fault walk belongs to it."""
        self._fault = fault
        self._remember = remember
        for theme in THEMES.values():
            self.register_theme(theme)
        self.theme = theme_name if theme_name in THEMES else STAGE

    def on_mount(self) -> None:
        """Open the first screen, and leave the terminal as it was when the program is told to end."""
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, getattr(signal, "SIGHUP", None)):
            if number is not None:
                try:
                    loop.add_signal_handler(number, self.exit, None, 128 + number)
                except (NotImplementedError, RuntimeError, ValueError):
                    pass  # not on this system, or not in the main thread
        if self.session is not None:
            self.open_run(self.session)
        elif self._fault:
            self.open_walk(self._fault)
        else:
            self.open_tonight()

    # -- which screen opens what -------------------------------------------------------------------------------

    def open_tonight(self) -> None:
        """The first screen: tonight's show, runs to go on with, playbooks."""
        from showday.tui.screens.tonight import TonightScreen

        self.push_screen(TonightScreen())

    def open_run(self, session: Session) -> None:
        """Walk a run, new or resumed; its open fault walk is shown on top of it."""
        from showday.tui.screens.run import RunScreen

        self.session = session
        self.push_screen(RunScreen(session))

    def start_playbook(self, playbook: str) -> None:
        """Start a new run of a playbook and open it."""
        self._or_say(lambda: self.open_run(self.desk.start_run(playbook)))

    def resume_run(self, run: str) -> None:
        """Go on with a run of the log and open it."""
        self._or_say(lambda: self.open_run(self.desk.resume_run(run)))

    def open_walk(self, fault: str, step: PlannedStep | None = None) -> None:
        """Walk a fault tree: inside the open run, or in a run of its own when there is none."""
        from showday.tui.screens.run import RunScreen
        from showday.tui.screens.walk import WalkScreen

    def open_search(self, faults: bool = False) -> None:
        """Search everything, or only the faults; what is chosen is opened. `SearchScreen` ends with an entry or None."""
        from showday.tui.screens.search import SearchScreen

        self.push_screen(SearchScreen(faults=faults), self._open_found)

    def _open_found(self, found: Findable | None) -> None:
        if found is None:
            return
        if found.kind == "fault":
            self.open_walk(found.id)
        elif found.kind == "playbook":
            self.start_playbook(found.id)
        elif found.kind == "step":
            self.start_playbook(found.id.partition("/")[0])
        elif found.kind == "venue":
            self.open_brief(found.id)

    def open_brief(self, venue: str) -> None:
        """What to know about a venue before going back."""
        from showday.tui.screens.brief import BriefScreen

        self.push_screen(BriefScreen(venue))

    def open_past(self) -> None:
        """Runs of the past."""
        from showday.tui.screens.past import PastScreen

        self.push_screen(PastScreen())

    def open_problems(self) -> None:
        """Problems found in files."""
        from showday.tui.screens.problems import ProblemsScreen

        self.push_screen(ProblemsScreen())

    def open_help(self, where: str) -> None:
        """Every key of one screen."""
        from showday.tui.screens.help import HelpScreen

        self.push_screen(HelpScreen(where))

    def go_back(self) -> None:
        """Close the screen on top; the last one closes the program."""
        if len(self.screen_stack) > 2:
            self.pop_screen()
        else:
            self.exit(0)

    # -- saying things -----------------------------------------------------------------------------------------

    def say(self, text: str, *, warning: bool = False) -> None:
        """A toast in plain text."""
        self.notify(one_line(text), severity="warning" if warning else "information", markup=False)

    def _or_say(self, act: Callable[[], None]) -> None:
        try:
            act()
        except ShowdayError as trouble:
            self.say(str(trouble), warning=True)

    # -- commands of everywhere --------------------------------------------------------------------------------

    def action_wrong(self) -> None:
        """The list of faults."""
        self.open_search(faults=True)

    def action_find(self) -> None:
        """Search everything."""
        self.open_search()

    def action_light(self) -> None:
        """The other theme."""
        self.theme = other(self.theme)
        if self._remember is not None:
            self._remember(self.theme)

    def action_help(self) -> None:
        """Every key of this screen."""
        self.open_help(str(getattr(self.screen, "WHERE", "")))

    def action_back(self) -> None:
        """Back to where one came from."""
        self.go_back()

    def action_palette(self) -> None:
        """Commands by name."""
        self.action_command_palette()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """The commands of the screen on top, and of everywhere."""
        where = str(getattr(screen, "WHERE", ""))
        for command in (*cmd.commands(where), *cmd.commands(cmd.EVERYWHERE)):
            if command.id == "palette":
                continue
            yield SystemCommand(f"{command.label} ({command.all_keys})", command.help, self._runner(screen, command))

    def _runner(self, screen: Screen[object], command: cmd.Command) -> Callable[[], None]:
        def run() -> None:
            target = screen if hasattr(screen, f"action_{command.action}") else self
            self.call_later(getattr(target, f"action_{command.action}"))

        return run

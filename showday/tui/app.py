"""The app: themes, the table of keys, signals, and which screen opens what."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import traceback
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.events import ScreenResume
from textual.screen import Screen

from showday.run.phases import FINISHED, READY
from showday.run.progress import completion_call, current
from showday.text.safe import one_line, plain
from showday.tui import commands as cmd
from showday.tui.themes import STAGE, THEMES, other
from showday.tui.tools import PAINTED, Tools

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.playbook.search import Entry as Findable
    from showday.run.plan import PlannedStep
    from showday.run.session import Session
    from showday.run.touring import ToFix

SORRY = "A fault of the program. Every answer that was given is in the log: start it again, and it goes on there."
RETRY = 10.0
"""Seconds between two tries to write what the log did not take (a choice of this program)."""


class ShowdayApp(Tools):
    """The screens over one desk, which may still be in the making: `rest` makes it whole, part by part.

    `theme_name` is the remembered theme and `remember` is called with the new one when it is changed; `remember_order` with
    whether fault walks follow the author's order; `begun` once when the first screen stands. With `session`
    the app opens on that run, with `fault` on a fault walk of its own, else on tonight's show.
    """

    AUTO_FOCUS = None
    CSS_PATH = "app.tcss"
    TITLE = "showday"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (80, "-usual"), (110, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-short"), (24, "-high")]  # noqa: RUF012
    COMMAND_PALETTE_BINDING = "f2"
    BINDINGS: ClassVar[list[BindingType]] = [
        *cmd.bindings(cmd.EVERYWHERE),
        Binding("ctrl+z", "suspend_process", show=False),
    ]

    def __init__(
        self,
        desk: Desk,
        *,
        rest: Iterator[None] | None = None,
        session: Session | None = None,
        fault: str = "",
        theme_name: str = STAGE,
        remember: Callable[[str], None] | None = None,
        remember_order: Callable[[bool], None] | None = None,
        begun: Callable[[], None] | None = None,
    ) -> None:
        super().__init__()
        self._desk, self._rest = desk, rest
        self.session = session
        self._below: Session | None = None
        """The ended run whose screen is below a fault walk of its own."""
        self._fault = fault
        self._remember = remember
        self._remember_order = remember_order
        self._begun = begun
        for theme in THEMES.values():
            self.register_theme(theme)
        self._begin_with(theme_name if theme_name in THEMES else STAGE)

    def _begin_with(self, theme_name: str) -> None:
        """Have a theme from the start, as a change of theme would but without reading the style sheet twice."""
        self.set_reactive(App.theme, theme_name)
        dark = self.current_theme.dark
        self.set_class(dark, "-dark-mode", update=False)
        self.set_class(not dark, "-light-mode", update=False)
        self.stylesheet.set_variables(self.get_css_variables())

    def on_mount(self) -> None:
        """Open the first screen, and leave the terminal as it was when the program is told to end."""
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, getattr(signal, "SIGHUP", None)):
            if number is not None:
                # Not on every system, and only in the main thread.
                with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                    loop.add_signal_handler(number, self.exit, None, 128 + number)
        self.set_interval(RETRY, self.retry)
        if self.session is not None:
            self.open_run(self.session)
        elif self._fault:
            self.open_walk(self._fault)
        else:
            self.open_tonight()
        if self.session is not None or self._fault:
            self.set_timer(PAINTED, self.read_on)
        if self._begun is not None:
            self.set_timer(PAINTED, self._begun)

    def retry(self) -> None:
        """Try again to write what the log did not take."""
        if self.desk.keeper.pending:
            self.desk.keeper.retry()

    def _fatal_error(self) -> None:
        """A fault of the program: say so at once, and that nothing is lost.

        The library would draw every local value instead, for many seconds of a blank terminal on a slow laptop.
        """
        trace = plain(traceback.format_exc())
        self.panic(Text(f"{trace}\n{SORRY}"))

    # -- which screen opens what -------------------------------------------------------------------------------

    def open_tonight(self) -> None:
        """The first screen: tonight's show, runs to go on with, playbooks."""
        from showday.tui.screens.tonight import TonightScreen

        self.push_screen(TonightScreen())

    def open_demo(self) -> None:
        """The example act instead of one's own files and log; the next start has those again."""
        from showday.demo import begin_demo_desk
        from showday.tui.screens.choosing import leave_open_run

        def swap() -> None:
            made = begin_demo_desk(self.desk.world)
            leave_open_run(self)
            self._desk, self._rest = made
            while len(self.screen_stack) > 2:
                self.pop_screen()
            self.screen.post_message(ScreenResume())

        self.or_say(swap)

    def open_run(self, session: Session) -> None:
        """Walk a run, new or resumed; its open fault walk is shown on top of it."""
        from showday.tui.screens.run import RunScreen

        self.session = session
        if session.state.plan.steps:
            self.push_screen(RunScreen(session))
        if session.state.walk is not None:
            self.show_walk(session)
        elif not session.state.plan.steps:
            self.or_say(session.finish)
            self.say("That fault walk was over.")
            self.session = None

    def start_playbook(self, playbook: str) -> None:
        """Start a new run of a playbook and open it."""
        self.or_say(lambda: self.open_run(self.desk.start_run(playbook)))

    def resume_run(self, run: str) -> None:
        """Go on with a run of the log and open it."""
        self.or_say(lambda: self.open_run(self.desk.resume_run(run)))

    def open_walk(self, fault: str, step: PlannedStep | None = None) -> None:
        """Walk a fault tree: inside the open run, or in a run of its own when there is none.

        `step` is the step it happened at; without one it is the current step, if that names the tree. A walk that is
        open already is ended as it stands.
        """
        self.or_say(lambda: self._open_walk(fault, step))

    def _open_walk(self, fault: str, step: PlannedStep | None) -> None:
        from showday.tui.screens.walk import WalkScreen

        session = self.session
        if session is None or session.state.phase in (READY, FINISHED):
            self._start_walk(self._bare_session(), fault, None)
            return
        walk = session.state.walk
        if walk is not None:
            step = session.state.planned(walk.step) if walk.step else None
            session.end_walk(moved_on=True)
            if isinstance(self.screen, WalkScreen):
                self.pop_screen()
        if walk is not None and walk.item:
            self.desk.open_walk(session, fault, item=walk.item, like=walk)
            self.show_walk(session)
            return
        if step is None:
            now = current(session.state)
            step = now if now is not None and fault in now.if_wrong else None
        self._start_walk(session, fault, step)

    def _bare_session(self) -> Session:
        """A run without a playbook; the one that was open comes back when its walk ends."""
        self._below = self.session
        self.session = self.desk.start_bare()
        return self.session

    def open_hunt(self, item: ToFix) -> None:
        """Look for the cause of a to-fix item, from what was found out then."""
        from showday.counsel import open_hunt

        def begin() -> None:
            self._below, self.session = self.session, open_hunt(self.desk, item)
            self.show_walk(self.session)

        self.or_say(begin)

    def _start_walk(self, session: Session, fault: str, step: PlannedStep | None) -> None:
        from showday.tui.screens.whose import ask_first

        def begin(thing: tuple[str, str]) -> None:
            self.desk.open_walk(session, fault, step, thing=thing)
            self.show_walk(session)

        ask_first(self, session, fault, step, lambda thing: self.or_say(lambda: begin(thing)))

    def show_walk(self, session: Session) -> None:
        """Show the open fault walk of a session on top of what stands there."""
        from showday.tui.screens.walk import WalkScreen

        tree = self.desk.tree_of(session.state)
        self.answer_what_was_heard(session, tree)
        self.push_screen(WalkScreen(session, tree))

    def walk_ended(self, session: Session, said: str) -> None:
        """Close the screen of a fault walk that has ended; a run that held nothing else ends with it."""
        if not session.state.plan.steps:
            self.or_say(session.finish)
            self.session, self._below = self._below, None
        self.go_back(said)

    def leave_run(self) -> None:
        """Close the screens of a run; the next start offers to go on with it."""
        from showday.tui.screens.run import RunScreen
        from showday.tui.screens.walk import WalkScreen

        said = _parting(self.session)
        self.session = self._below = None
        while any(isinstance(s, (RunScreen, WalkScreen)) for s in self.screen_stack[2:]):
            self.pop_screen()
        if isinstance(self.screen, (RunScreen, WalkScreen)):
            self._leave(said)

    def open_faults(self, step: PlannedStep) -> None:
        """The list of faults, for a step that is not as wanted."""
        from showday.tui.screens.search import SearchScreen

        def found(entry: Findable | None) -> None:
            if entry is not None and entry.kind == "fault":
                self.open_walk(entry.id, step)

        self.push_screen(SearchScreen(faults=True, step=step), found)

    def open_search(self, faults: bool = False) -> None:
        """Search everything, or only the faults; what is chosen is opened."""
        from showday.tui.screens.search import SearchScreen

        self.push_screen(SearchScreen(faults=faults), self._open_found)

    def _open_found(self, found: Findable | None) -> None:
        from showday.tui.screens.choosing import open_found

        if found is not None:
            self.or_say(lambda: open_found(self, found))

    def open_brief(self, venue: str) -> None:
        """What to know about a venue before going back."""
        from showday.tui.screens.brief import BriefScreen

        self.push_screen(BriefScreen(venue))

    def open_past(self) -> None:
        """Runs of the past."""
        from showday.tui.screens.past import PastScreen

        self.push_screen(PastScreen())

    def open_to_fix(self) -> None:
        """The to-fix list of all shows."""
        from showday.tui.screens.to_fix import ToFixScreen

        self.push_screen(ToFixScreen())

    def open_notes(self, asked: str = "") -> None:
        """Everything that was ever noted; `asked` is looked for already."""
        from showday.tui.screens.notes import NotesScreen

        self.push_screen(NotesScreen(asked))

    def open_problems(self) -> None:
        """Problems found in files."""
        from showday.tui.screens.problems import ProblemsScreen

        self.push_screen(ProblemsScreen())

    def open_help(self, where: str) -> None:
        """Every key of one screen."""
        from showday.tui.screens.help import HelpScreen

        self.push_screen(HelpScreen(where))

    def go_back(self, said: str = "") -> None:
        """Close the screen on top; the last one closes the program. `said` is shown where one gets to."""
        if len(self.screen_stack) > 2:
            self.pop_screen()
            if said:
                self.say(said)
        else:
            self._leave(said)

    def _leave(self, said: str) -> None:
        self.exit(0, message=Text(one_line(said)) if said else None)

    # -- saying things -----------------------------------------------------------------------------------------

    def say(self, text: str, *, warning: bool = False) -> None:
        """Say something in plain text: at the place the screen has for it, else in a toast."""
        hear = getattr(self.screen, "hear", None)
        if hear is None or not hear(text, warning):
            self.notify(one_line(text), severity="warning" if warning else "information", markup=False)

    # -- commands of everywhere --------------------------------------------------------------------------------

    def action_wrong(self) -> None:
        """The list of faults; a screen may have its own way there."""
        own = getattr(self.screen, "action_wrong", None)
        own() if own else self.open_search(faults=True)

    def action_find(self) -> None:
        """Search everything."""
        self.open_search()

    def action_light(self) -> None:
        """The other theme."""
        self.theme = other(self.theme)
        if self._remember is not None:
            self._remember(self.theme)

    def order_by(self, author: bool) -> None:
        """Follow the author's order in fault walks from now on, or the computed one."""
        self.desk.by_author = author
        if self._remember_order is not None:
            self._remember_order(author)

    def action_help(self) -> None:
        """Every key of this screen; on the help itself, back to the screen."""
        own = getattr(self.screen, "action_help", None)
        own() if own else self.open_help(str(getattr(self.screen, "WHERE", "")))

    async def action_back(self) -> None:
        """Back to where one came from; a screen may have its own way."""
        own = getattr(self.screen, "action_back", None)
        own() if own else self.go_back()

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


def _parting(session: Session | None) -> str:
    """The last line, on the person's own terminal."""
    if session is None:
        return ""
    if session.state.phase == FINISHED:
        return completion_call(session.state)
    return "Everything is kept; `showday` goes on at the same step."

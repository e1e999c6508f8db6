"""What all screens share: the desk, toasts in plain text, clicks that do what their key does."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual import events
from textual.css.query import NoMatches
from textual.screen import ModalScreen, Screen

from showday.errors import ShowdayError
from showday.tui.lines import Line
from showday.tui.messages import ActionPressed
from showday.tui.widgets.lines import Lines

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.tui.app import ShowdayApp

Result = TypeVar("Result")


class ShowdayScreen(Screen[Result]):
    """A screen of this program. Nothing is focused by itself, so that every plain key reaches its command."""

    AUTO_FOCUS = ""
    WHERE: ClassVar[str] = ""
    """Name of the screen in the table of commands."""

    def on_compose(self) -> None:
        """Know the size before the widgets are made."""
        know_size(self)

    @property
    def showday(self) -> ShowdayApp:
        """The app, by its own type."""
        return cast("ShowdayApp", self.app)

    @property
    def desk(self) -> Desk:
        """Where all facts come from and go to."""
        return self.showday.desk

    def hear(self, text: str, warning: bool) -> bool:
        """Show what the program has to say at this screen's own place; False when it has none."""
        try:
            place = self.query_one("#said", Lines)
        except NoMatches:
            return False
        place.show([Line("warning" if warning else "text", text)] if text else [])
        return True

    @contextmanager
    def saying_why(self) -> Iterator[None]:
        """What cannot be done is said in plain text and changes nothing."""
        try:
            yield
        except ShowdayError as trouble:
            self.showday.say(str(trouble), warning=True)

    def action_notes(self) -> None:
        """Everything that was ever noted."""
        self.showday.open_notes()

    def action_listen(self) -> None:
        """The channels as meters."""
        self.showday.open_listen()

    def action_radio(self) -> None:
        """The frequencies."""
        self.showday.open_radio()

    def on_key(self, event: events.Key) -> None:
        """What was said belongs to the key before."""
        self.hear("", False)

    async def on_action_pressed(self, message: ActionPressed) -> None:
        """A click does what the key does."""
        message.stop()
        self.hear("", False)
        await press_action(self, message.action)


class ShowdayModal(ModalScreen[Result]):
    """A question over a screen; the keys of the screen and the app below it rest."""

    AUTO_FOCUS = ""

    def on_compose(self) -> None:
        """Know the size before the widgets are made."""
        know_size(self)

    async def on_action_pressed(self, message: ActionPressed) -> None:
        """A click does what the key does."""
        message.stop()
        await press_action(self, message.action)


def know_size(screen: Screen[Result]) -> None:
    """Give a screen the classes of the terminal's size before the library does: its widgets are then styled once."""
    app = screen.app
    for breakpoints, cells in (
        (app.HORIZONTAL_BREAKPOINTS, app.size.width),
        (app.VERTICAL_BREAKPOINTS, app.size.height),
    ):
        reached = [name for least, name in breakpoints or () if cells >= least]
        screen.set_class(True, *reached[-1:], update=False)


async def press_action(screen: Screen[Result], action: str) -> None:
    """Run one of our own actions on the screen, or on the app when the screen has none of that name."""
    name = action.partition("(")[0]
    await screen.run_action(action if hasattr(screen, f"action_{name}") else f"app.{action}")

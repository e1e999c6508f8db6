"""What all screens share: the desk, toasts in plain text, and the bindings of their part of the table."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual.screen import Screen

from showday.errors import ShowdayError

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.tui.app import ShowdayApp

Result = TypeVar("Result")


class ShowdayScreen(Screen[Result]):
    """A screen of this program. Nothing is focused by itself, so that every plain key reaches its command."""

    AUTO_FOCUS = None
    WHERE: ClassVar[str] = ""
    """Name of the screen in the table of commands."""

    @property
    def showday(self) -> ShowdayApp:
        """The app, by its own type."""
        return cast("ShowdayApp", self.app)

    @property
    def desk(self) -> Desk:
        """Where all facts come from and go to."""
        return self.showday.desk

    @contextmanager
    def saying_why(self) -> Iterator[None]:
        """What cannot be done is said in plain text and changes nothing."""
        try:
            yield
        except ShowdayError as trouble:
            self.showday.say(str(trouble), warning=True)

"""The current step: danger above, what to do beside a bar that is seen without colour, the reason below."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical

from showday.tui.lines import Card
from showday.tui.widgets.lines import Lines


class StepCard(Vertical):
    """Shows one card in place; a part without lines takes no room."""

    DEFAULT_CSS = "StepCard { height: auto; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._parts = (Lines(classes="card--before"), Lines(classes="card--core"), Lines(classes="card--after"))
        self._card = Card()

    @property
    def card(self) -> Card:
        """What is shown."""
        return self._card

    def compose(self) -> ComposeResult:
        """Three blocks of lines."""
        yield from self._parts

    def show(self, card: Card) -> None:
        """Show another card."""
        self._card = card
        for part, lines in zip(self._parts, (card.before, card.core, card.after), strict=True):
            part.show(lines)
            part.display = bool(lines)

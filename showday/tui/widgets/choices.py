"""Rows and bars to press: every action has a place to click beside its key."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from textual import events
from textual.content import Content
from textual.style import Style
from textual.widget import Widget

from showday.text.safe import one_line
from showday.tui.lines import LONGEST, Choice
from showday.tui.messages import ActionPressed

NO_BREAK = "\u00a0"
"""Keeps a key and its word on one line."""


class Pressable(Widget):
    """Text whose parts call actions when they are clicked. Actions are ours, texts may be foreign."""

    COMPONENT_CLASSES = {"press--key", "press--text", "press--strong", "press--dim"}
    DEFAULT_CSS = "Pressable { height: auto; }"

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._choices: tuple[Choice, ...] = ()

    @property
    def choices(self) -> tuple[Choice, ...]:
        """What can be pressed."""
        return self._choices

    def show(self, choices: Sequence[Choice]) -> None:
        """Offer other choices."""
        new = tuple(choices)
        if new != self._choices:
            self._choices = new
            self.refresh(layout=True)

    def _part(self, choice: Choice, gap: str, text: str) -> Content:
        meta = Style.from_meta({"press": choice.action})
        key = self.get_visual_style("press--key", partial=True) + meta
        kind = choice.kind if choice.kind in ("strong", "dim") else "text"
        words = self.get_visual_style(f"press--{kind}", partial=True) + meta
        return Content.assemble((f" {choice.key} ", key), (f"{gap}{text}", words))

    def on_click(self, event: events.Click) -> None:
        """Tell the screen what was pressed; a click behind the end of a row counts for the row."""
        meta: dict[str, Any] = event.style.meta
        action = meta.get("press") or self.get_style_at(0, event.y).meta.get("press")
        if action:
            event.stop()
            self.post_message(ActionPressed(str(action)))


class Choices(Pressable):
    """Answers, one a row."""

    def render(self) -> Content:
        """One row for each choice."""
        return Content("\n").join([self._part(c, " ", one_line(c.text, LONGEST)) for c in self._choices])


class KeyBar(Pressable):
    """Keys beside each other, as many as the rows hold; the last `KEEP` are always there."""

    KEEP = 2

    def __init__(self, rows: int = 1, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._rows = rows

    def on_resize(self) -> None:
        """Another width holds other keys."""
        self.refresh(layout=True)

    def render(self) -> Content:
        """As many keys as fit, in their order."""
        width = self.content_size.width or self.app.size.width
        parts = [self._part(c, NO_BREAK, c.text.replace(" ", NO_BREAK)) for c in self._fitting(width)]
        return Content("  ").join(parts)

    def _fitting(self, width: int) -> list[Choice]:
        for least in range(len(self._choices), self.KEEP, -1):
            shown = [*self._choices[: least - self.KEEP], *self._choices[-self.KEEP :]]
            if _rows_of([len(c.key) + len(c.text) + 3 for c in shown], width) <= self._rows:
                return shown
        return list(self._choices[-self.KEEP :])


def _rows_of(widths: Sequence[int], width: int) -> int:
    rows, at = 1, 0
    for part in widths:
        if at and at + 2 + part > width:
            rows, at = rows + 1, 0
        at += part + (2 if at else 0)
    return rows

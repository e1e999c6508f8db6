"""Rows and bars to press: every action has a place to click beside its key."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

from rich.cells import cell_len
from textual import events
from textual.content import Content
from textual.geometry import Size
from textual.style import Style

from showday.text.safe import one_line
from showday.tui.lines import LONGEST, Choice
from showday.tui.messages import ActionPressed
from showday.tui.widgets.lines import Fitting


class Pressable(Fitting):
    """Text whose parts call actions when they are clicked. Actions are ours, texts may be foreign."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"press--key", "press--text", "press--strong", "press--dim"}

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
            self.changed()

    def _part(self, choice: Choice, gap: str, text: str) -> Content:
        meta = Style.from_meta({"press": choice.action})
        key = self.get_visual_style("press--key") + meta
        kind = choice.kind if choice.kind in ("strong", "dim") else "text"
        words = self.get_visual_style(f"press--{kind}") + meta
        return Content.assemble((f" {choice.key} ", key), (f"{gap}{text}", words))

    def on_click(self, event: events.Click) -> None:
        """Tell the screen what was pressed; a click behind the end of a row counts for the row."""
        meta: dict[str, Any] = event.style.meta
        action = meta.get("press") or self.get_style_at(self.gutter.left, event.y).meta.get("press")
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

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Rows in the width there will be: while it is laid out anew, the one it has is another."""
        return len(self._fitting(width))

    def render(self) -> Content:
        """As many keys as fit, in their order."""
        width = self.content_size.width or self.app.size.width
        rows = [Content(" ").join([self._part(c, " ", c.text) for c in row]) for row in self._fitting(width)]
        return Content("\n").join(rows)

    def _fitting(self, width: int) -> list[list[Choice]]:
        rows: list[list[Choice]] = []
        for first in range(max(0, len(self._choices) - self.KEEP), -1, -1):
            rows = _in_rows([*self._choices[:first], *self._choices[-self.KEEP :]], width)
            if len(rows) <= self._rows:
                break
        return rows[: self._rows]


def _in_rows(choices: Sequence[Choice], width: int) -> list[list[Choice]]:
    rows: list[list[Choice]] = [[]]
    at = 0
    for choice in choices:
        size = cell_len(choice.key) + cell_len(choice.text) + 3
        if rows[-1] and at + 1 + size > width:
            rows.append([])
            at = 0
        at += size + (1 if rows[-1] else 0)
        rows[-1].append(choice)
    return rows

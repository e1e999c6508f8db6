"""The one widget that shows foreign text: many lines, one repaint, nothing interpreted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from showday.text.safe import one_line
from showday.tui.lines import KINDS, LONGEST, Line


class Lines(Widget):
    """Lines of text. One widget for all of them, so that a new step costs one repaint."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"lines--{kind}" for kind in KINDS}
    DEFAULT_CSS = "Lines { height: auto; }"

    def __init__(self, lines: Sequence[Line] = (), *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._lines = tuple(lines)

    @property
    def lines(self) -> tuple[Line, ...]:
        """What is shown."""
        return self._lines

    def show(self, lines: Sequence[Line]) -> None:
        """Show other lines; nothing happens when they are the same."""
        new = tuple(lines)
        if new != self._lines:
            self._lines = new
            self.refresh(layout=True)

    def render(self) -> Content:
        """The lines, each in the style of its kind."""
        made = [
            Content.styled(one_line(line.text, LONGEST), self.get_visual_style(f"lines--{line.kind}"))
            for line in self._lines
        ]
        return Content("\n").join(made)

"""The one widget that shows foreign text: many lines, one repaint, nothing interpreted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.content import Content
from textual.widget import Widget

from showday.text.safe import one_line, plain
from showday.tui.lines import KINDS, LONGEST, Line


class Fitting(Widget):
    """A widget of text that asks for a new layout only when it needs more or fewer rows than before."""

    DEFAULT_CSS = "Fitting { height: auto; }"
    _rows_needed = -1

    def changed(self) -> None:
        """Draw again; lay out again only when the number of rows changed."""
        self.refresh()
        self.clear_cached_dimensions()
        width = self.content_size.width
        rows = self.get_content_height(self.container_size, self.app.size, width) if width else -1
        if rows < 0 or rows != self._rows_needed:
            self.refresh(layout=True)
        self._rows_needed = rows


class Lines(Fitting):
    """Lines of text. One widget for all of them, so that a new step costs one repaint."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"lines--{kind}" for kind in KINDS}

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
            self.changed()

    def render(self) -> Content:
        """The lines, each in the style of its kind."""
        made = [
            Content.styled(one_line(line.text, LONGEST), self.get_visual_style(f"lines--{line.kind}"))
            for line in self._lines
        ]
        return Content("\n").join(made)


class Columns(Lines):
    """Lines whose spaces count, such as a table or a drawing; what is too wide is cut off."""

    DEFAULT_CSS = "Columns { height: auto; text-wrap: nowrap; text-overflow: clip; }"

    def render(self) -> Content:
        """The lines as they stand, each in the style of its kind."""
        made = [
            Content.styled(plain(line.text, LONGEST).replace("\n", " "), self.get_visual_style(f"lines--{line.kind}"))
            for line in self.lines
        ]
        return Content("\n").join(made)

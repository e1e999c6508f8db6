"""The one widget that shows foreign text: many lines, one repaint, nothing interpreted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.cells import cell_len
from textual.content import Content
from textual.geometry import Region, Size
from textual.widget import Widget

from showday.text.safe import one_line, plain
from showday.tui.lines import LONGEST, LOOKS, Line


class Fitting(Widget):
    """A widget of text that asks for a new layout only when it needs more or fewer rows than before."""

    DEFAULT_CSS = "Fitting { height: auto; }"

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._rows_needed = -1
        # Nothing in it is a link of the library's, so nothing has to be looked through for them at each drawing.
        self.set_reactive(Widget.auto_links, False)

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

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"lines--{look}" for look in LOOKS.values()}

    def __init__(self, lines: Sequence[Line] = (), *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._lines = tuple(lines)
        self._texts = self._cleaned(self._lines)

    @property
    def lines(self) -> tuple[Line, ...]:
        """What is shown."""
        return self._lines

    def show(self, lines: Sequence[Line]) -> None:
        """Show other lines; nothing happens when they are the same, and only rows that differ are drawn again."""
        new = tuple(lines)
        if new == self._lines:
            return
        old, width = self._lines, self.content_size.width
        stood = self._one_row_each(width)
        self._lines, self._texts = new, self._cleaned(new)
        if stood and len(old) == len(new) and self._one_row_each(width):
            rows = (row for row, pair in enumerate(zip(old, new, strict=True)) if pair[0] != pair[1])
            self.refresh(*(Region(0, row, width, 1) for row in rows))
        else:
            self.changed()

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Rows at this width; lines that need no wrapping are counted without being drawn."""
        return (
            len(self._lines) if self._one_row_each(width) else super().get_content_height(container, viewport, width)
        )

    def _one_row_each(self, width: int) -> bool:
        """Whether no line is wrapped at this width; False also when there is none, or no width yet."""
        if not self._lines or width <= 0:
            return False
        cut = self.styles.text_wrap == "nowrap" and self.styles.text_overflow != "fold"
        return cut or all(cell_len(text) <= width for text in self._texts)

    def _cleaned(self, lines: Sequence[Line]) -> list[str]:
        return [one_line(line.text, LONGEST) for line in lines]

    def render(self) -> Content:
        """The lines, each in the style of its kind."""
        made = [
            Content.styled(text, self.get_visual_style(f"lines--{LOOKS[line.kind]}"))
            for line, text in zip(self._lines, self._texts, strict=True)
        ]
        return Content("\n").join(made)


class Columns(Lines):
    """Lines whose spaces count, such as a table or a drawing; what is too wide is cut off."""

    DEFAULT_CSS = "Columns { height: auto; text-wrap: nowrap; text-overflow: clip; }"

    def _cleaned(self, lines: Sequence[Line]) -> list[str]:
        return [plain(line.text, LONGEST).replace("\n", " ") for line in lines]

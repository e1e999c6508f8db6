"""The sweep as a widget: it draws what it is given in the room it has, and tells where it was clicked."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from showday.radio.drawing import GUTTER, Drawing, Frame, Scene, Trace, draw
from showday.radio.model import Band

ROWS_BENEATH = 3
"""Rows of bands, marks and axis under the levels."""


class CursorPlaced(Message):
    """A column of the drawing was clicked; `at` in Hz."""

    def __init__(self, at: int) -> None:
        super().__init__()
        self.at = at


class Spectrum(Widget):
    """Level over frequency in characters. Texts in it may be foreign: nothing is interpreted."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        f"spectrum--{part}" for part in ("plot", "bands", "marks", "axis", "cursor")
    }

    def __init__(self, empty: str, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._empty = empty
        self._trace: Trace | None = None
        self._scene = Scene()
        self._window = Band(0, 1)
        self._cursor = 0

    def show(self, trace: Trace | None, scene: Scene, window: Band, cursor: int) -> None:
        """Draw this; `window` and `cursor` in Hz."""
        self._trace, self._scene, self._window, self._cursor = trace, scene, window, cursor
        self.refresh()

    @property
    def frame(self) -> Frame:
        """Which frequencies stand in which columns now."""
        return Frame(self._window, max((self.content_size.width or 80) - GUTTER, 10))

    def drawing(self) -> Drawing:
        """What is drawn now."""
        height = max((self.content_size.height or 8) - ROWS_BENEATH, 1)
        return draw(self._trace, self._scene, self.frame, height, cursor=self._cursor, empty=self._empty)

    def render(self) -> Content:
        """The rows, each in its style, the cursor's column turned over."""
        made = self.drawing()
        parts = ["plot"] * len(made.plot) + ["bands", "marks", "axis"]
        turned = ("plot", "bands", "marks") if self._trace is not None else ("bands", "marks")
        rows = []
        for part, text in zip(parts, made.lines, strict=True):
            row = Content.styled(text, self.get_visual_style(f"spectrum--{part}"))
            if made.cursor is not None and part in turned:
                cursor = self.get_visual_style("spectrum--cursor")
                row = row.stylize(cursor, made.cursor, made.cursor + 1)
            rows.append(row)
        return Content("\n").join(rows)

    def on_click(self, event: events.Click) -> None:
        """Tell which frequency was clicked."""
        column = event.get_content_offset(self)
        if column is not None and GUTTER <= column.x < GUTTER + self.frame.columns:
            event.stop()
            self.post_message(CursorPlaced(self.frame.middle(column.x - GUTTER)))

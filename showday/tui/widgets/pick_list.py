"""A list under headings: rows to take with Enter, a digit or a tap, wrapped with a hanging indent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from textual.content import Content
from textual.geometry import Region
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from showday.text.safe import one_line
from showday.tui.messages import RowPicked

KINDS = ("heading", "row", "strong", "dim", "warning", "gap")
"""Every kind of row; the widget has one component class for each."""

LONGEST = 500
"""Characters of a row that are shown (a choice of this program)."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row. `text` may be foreign: it is cleaned where it is shown."""

    text: str
    kind: str = "row"
    lead: str = ""
    """Stands before the text, which is wrapped beside it: a key, a time, a mark."""
    value: object = None
    """What the row stands for; how the list finds its mark again when the rows change."""

    @property
    def rests(self) -> bool:
        """Whether the mark passes over this row."""
        return self.kind in ("heading", "gap")


def lead(key: str) -> str:
    """A key as it stands before its row."""
    return f"{key:>2}"


def heading(text: str) -> list[Row]:
    """A heading with a free row above it."""
    return [Row("", "gap"), Row(text, "heading")]


class PickList(OptionList):
    """Rows under headings. Posts `RowPicked` with the index of the row."""

    COMPONENT_CLASSES = {f"pick--{kind}" for kind in (*KINDS, "lead")}

    def __init__(self, *, id: str | None = None, classes: str | None = None, focusable: bool = True) -> None:
        super().__init__(id=id, classes=classes, markup=False)
        self.can_focus = focusable
        self._rows: tuple[Row, ...] = ()
        self._width = 0

    @property
    def rows(self) -> tuple[Row, ...]:
        """What is shown."""
        return self._rows

    @property
    def marked(self) -> Row | None:
        """The row under the mark."""
        return self._rows[self.highlighted] if self.highlighted is not None and self._rows else None

    def show(self, rows: Sequence[Row], at: object = None) -> None:
        """Show these rows. The mark goes to the row of value `at`, else stays with its value, else goes to the top."""
        held = self.marked
        wanted = at if at is not None else held.value if held else None
        new = tuple(rows)
        if new and new[0].kind == "gap":
            new = new[1:]
        if new != self._rows:
            self._rows = new
            self._draw()
        place = next((i for i, r in enumerate(new) if wanted is not None and r.value == wanted and not r.rests), None)
        if place is None:
            place = next((i for i, r in enumerate(new) if not r.rests), None)
        self.highlighted = place

    def draw_again(self) -> None:
        """Draw all rows anew, with the colours of the theme as it is now."""
        if self._rows:
            at = self.highlighted
            self._draw()
            self.highlighted = at

    def _draw(self) -> None:
        self._width = self.scrollable_content_region.width or self.app.size.width
        self.set_options([Option(self._prompt(row), disabled=row.rests) for row in self._rows])

    def _prompt(self, row: Row) -> Content:
        style = self.get_visual_style(f"pick--{row.kind}", partial=True)
        if row.kind == "heading":
            return Content.styled(one_line(row.text, LONGEST), style)
        before = f"{one_line(row.lead, LONGEST)} " if row.lead else "   "
        text = Content.styled(one_line(row.text, LONGEST), style)
        lines = text.wrap(max(10, self._width - cell_len(before) - self._padding()))
        lead = Content.styled(before, self.get_visual_style("pick--lead", partial=True))
        blank = Content(" " * lead.cell_length)
        return Content("\n").join([(blank if n else lead) + line for n, line in enumerate(lines)])

    def _padding(self) -> int:
        return self.get_component_styles("option-list--option").padding.width

    def on_resize(self) -> None:
        """Another width breaks the lines elsewhere."""
        width = self.scrollable_content_region.width
        if width and width != self._width:
            self.draw_again()

    def scroll_to_highlight(self, top: bool = False) -> None:
        """Bring the mark into view, with the headings above it when nothing else stands above them."""
        super().scroll_to_highlight(top)
        at = self.highlighted
        if at is not None and all(row.rests for row in self._rows[:at]):
            self.scroll_to_region(Region(0, 0, 1, 1), animate=False, force=True)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Tell the screen which row was taken."""
        event.stop()
        self.post_message(RowPicked(event.option_index))

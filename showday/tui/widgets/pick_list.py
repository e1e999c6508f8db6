"""A list under headings: rows to take with Enter, a digit or a tap, wrapped beside what leads them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len
from textual.content import Content
from textual.css.styles import RulesMap
from textual.geometry import Region
from textual.strip import Strip
from textual.style import Style
from textual.visual import RenderOptions, Visual
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from showday.text.safe import plain
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


def _clean(text: str) -> str:
    """Harmless, on one line, with the spaces of columns as they are."""
    return plain(text, LONGEST).replace("\n", " ")


class _Drawn(Visual):
    """One row as the list draws it: its lead, and beside it the text in the style of its kind.

    Under the mark everything has the mark's own style, or dim text would vanish in it.
    """

    def __init__(self, row: Row, owner: PickList) -> None:
        self._lead = "" if row.kind == "heading" else f"{_clean(row.lead)} " if row.lead else "   "
        self._text = _clean(row.text)
        self._kind = row.kind
        self._owner = owner

    def _lines(self, width: int) -> list[Content]:
        text = Content.styled(self._text, self._owner.get_visual_style(f"pick--{self._kind}", partial=True))
        lead = Content.styled(self._lead, self._owner.get_visual_style("pick--lead", partial=True))
        room = max(10, width - lead.cell_length)
        lines = text.wrap(room) if self._owner.wraps else [text.truncate(room, ellipsis=True)]
        blank = Content(" " * lead.cell_length)
        return [(blank if n else lead) + line for n, line in enumerate(lines)]

    def render_strips(self, width: int, height: int | None, style: Style, options: RenderOptions) -> list[Strip]:
        """The lines, cut to `height`."""
        content = Content("\n").join(self._lines(width))
        if style == self._owner.marked_style:
            content = content.without_spans
        return content.render_strips(width, height, style, options)

    def get_height(self, rules: RulesMap, width: int) -> int:
        """How many lines it takes."""
        return len(self._lines(width))

    def get_optimal_width(self, rules: RulesMap, container_width: int) -> int:
        """Wide enough for one line."""
        return cell_len(self._lead) + cell_len(self._text)


class PickList(OptionList):
    """Rows under headings. Posts `RowPicked` with the index of the row."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"pick--{kind}" for kind in (*KINDS, "lead")}

    def __init__(
        self, *, id: str | None = None, classes: str | None = None, focusable: bool = True, wraps: bool = True
    ) -> None:
        super().__init__(id=id, classes=classes, markup=False)
        self.can_focus = focusable
        self.wraps = wraps
        """Whether long rows are wrapped; else they are cut."""
        self._rows: tuple[Row, ...] = ()

    @property
    def rows(self) -> tuple[Row, ...]:
        """What is shown."""
        return self._rows

    @property
    def marked(self) -> Row | None:
        """The row under the mark."""
        return self._rows[self.highlighted] if self.highlighted is not None and self._rows else None

    def show(self, rows: Sequence[Row], at: object = None) -> None:
        """Show these rows. The mark goes to the row of value `at`, else stays with its value, else on top."""
        held = self.marked
        wanted = at if at is not None else held.value if held else None
        new = tuple(rows)
        if new and new[0].kind == "gap":
            new = new[1:]
        if new != self._rows:
            self._rows = new
            self.set_options([Option(_Drawn(row, self), disabled=row.rests) for row in new])
        place = next((i for i, r in enumerate(new) if wanted is not None and r.value == wanted and not r.rests), None)
        if place is None:
            place = next((i for i, r in enumerate(new) if not r.rests), None)
        self.highlighted = place

    @property
    def marked_style(self) -> Style:
        """How the marked row is drawn."""
        return self.get_visual_style("option-list--option", "option-list--option-highlighted")

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

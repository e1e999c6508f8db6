"""What widgets tell their screen; the screen turns it into a call of the core."""

from __future__ import annotations

from textual.message import Message


class ActionPressed(Message):
    """A key of the key bar or a row of answers was clicked; `action` is what its key would have called."""

    def __init__(self, action: str) -> None:
        super().__init__()
        self.action = action


class RowPicked(Message):
    """A row of a list was picked; `index` counts from 0."""

    def __init__(self, index: int) -> None:
        super().__init__()
        self.index = index

"""The barest app of the screens' library: one line of text that counts keys."""

from __future__ import annotations

from textual.app import App, ComposeResult
from textual.widgets import Static


class Counter(App[None]):
    """Counts keys."""

    count = 0

    def compose(self) -> ComposeResult:
        yield Static("count 0")

    def on_key(self) -> None:
        self.count += 1
        self.query_one(Static).update(f"count {self.count}")


if __name__ == "__main__":
    Counter().run()

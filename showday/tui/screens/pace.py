"""Time, over the run: the forecast, and what to leave out when it will not fit; one key takes that, one takes it back."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical

from showday import pace_words as words
from showday.errors import ShowdayError
from showday.tui.lines import Choice, Line, say
from showday.tui.messages import RowPicked
from showday.tui.screens.base import ShowdayModal
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row

if TYPE_CHECKING:
    from showday.pacing import Proposal
    from showday.timekeeping import Timekeeper


class PaceScreen(ShowdayModal[None]):
    """The forecast of a run and its proposal. Nothing is left out without the key for it."""

    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,f8", "cancel", "back", show=False),
        Binding("o", "leave_out", "leave out", show=False),
        Binding("u", "give_back", "ask again", show=False),
        Binding("j", "down", "down", show=False),
        Binding("k", "up", "up", show=False),
    ]

    def __init__(self, keeper: Timekeeper, said: Callable[[str], None]) -> None:
        """`said` is told what was done, in words."""
        super().__init__()
        self._keeper = keeper
        self._said = said
        self._proposal: Proposal | None = None

    def compose(self) -> ComposeResult:
        """Forecast, what would be left out, keys."""
        with Vertical(classes="question -tall"):
            yield Lines(id="pace")
            yield PickList()
            yield KeyBar(id="modal-keys")

    def on_mount(self) -> None:
        """Compute once; what is proposed must not change under the person's finger."""
        self._proposal = self._keeper.proposal()
        self.query_one("#pace", Lines).show(self._lines())
        self.query_one(PickList).show(self._rows())
        self.query_one(PickList).display = bool(self._rows())
        keys = [Choice("o", "leave these out", "leave_out")] if self._proposal and self._proposal.dropped else []
        taken = self._keeper.taken()
        keys += [Choice("u", f"ask those {len(taken)} again", "give_back")] if taken else []
        self.query_one(KeyBar).show([*keys, Choice("Esc", "back", "cancel")])

    def _lines(self) -> list[Line]:
        outlook, proposal = self._keeper.outlook(), self._proposal
        if outlook is None:
            return [Line("title", "Time"), Line("text", "The forecast is not ready yet. Look again in a moment.")]
        lines = [Line("title", "Time"), Line("text" if outlook.fits else "warning", words.outlook_words(outlook))]
        if not outlook.open:
            return [
                Line("title", "Time"),
                *say("text", words.outlook_words(outlook) or "Nothing is left to forecast."),
            ]
        lines += [Line("about", words.BAR_SAYS), Line("about", words.about_words(outlook))]
        if outlook.chance is None:
            lines.append(Line("about", words.NO_END))
        lines += say(
            "until" if proposal and proposal.dropped else "text", words.verdict_words(proposal) if proposal else ""
        )
        return lines

    def _rows(self) -> list[Row]:
        if self._proposal and self._proposal.dropped:
            return [Row(line) for line in words.dropped_lines(self._proposal)]
        state = self._keeper.session.state
        left_out = [state.planned(key) for key in self._keeper.taken()]
        return [Row(f"left out: {step.do}" + (f" ({step.about})" if step.about else "")) for step in left_out]

    def _do(self, act: Callable[[], str]) -> None:
        try:
            told = act()
        except ShowdayError as trouble:
            told = str(trouble)
        self.dismiss(None)
        self._said(told)

    def action_leave_out(self) -> None:
        """Leave out what is proposed."""
        proposal = self._proposal
        if proposal is None or not proposal.dropped:
            return

        def act() -> str:
            self._keeper.take(proposal)
            return f"{len(proposal.dropped)} left out for want of time. F8 and u ask them again."

        self._do(act)

    def action_give_back(self) -> None:
        """Ask again what was left out."""
        if self._keeper.taken():
            self._do(lambda: f"{self._keeper.give_back()} are asked again.")

    def on_row_picked(self, message: RowPicked) -> None:
        """A row by itself does nothing."""
        message.stop()

    def action_down(self) -> None:
        """One row down."""
        self.query_one(PickList).action_cursor_down()

    def action_up(self) -> None:
        """One row up."""
        self.query_one(PickList).action_cursor_up()

    def action_cancel(self) -> None:
        """Back to the run."""
        self.dismiss(None)

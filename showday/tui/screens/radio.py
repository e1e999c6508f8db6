"""The frequencies: the sweep drawn, what to set on each transmitter and how clear it is, what if, and planning."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from showday.opening import place
from showday.radio.drawing import reading, zoomed
from showday.radio.model import Band
from showday.radio.regions import channel_at
from showday.radio_desk import tonight_plan, tonight_sweep
from showday.rig.words import people_of
from showday.run.session import Session
from showday.run.touring import Show
from showday.tui import commands as cmd
from showday.tui import radio_view as view
from showday.tui.lines import Line
from showday.tui.messages import RowPicked
from showday.tui.radio_state import Frequencies
from showday.tui.screens.listing import choice
from showday.tui.screens.radio_proof import Planning
from showday.tui.screens.radio_spare import SparesByHand
from showday.tui.screens.radio_sweep import Sweeping
from showday.tui.screens.radio_table import Hands
from showday.tui.standing import TimeLeft
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList
from showday.tui.widgets.spectrum import CursorPlaced, Spectrum

_LOOKING = ("odds", "look-back", "more", "zoom-all", "next", "previous", "light")
KEYS = ("plan", "show-list", "good", "go-on", "change", "fault", "must", "leave-out", "undo", *_LOOKING)
"""The bar, most wanted first; a small screen drops the end of it."""
KEYS_PROVING = ("interrupt", *_LOOKING)
"""The bar while a plan is looked for: nothing that would change the table."""
_ALSO = {
    "comma": "lower",
    "full_stop": "higher",
    "left": "cursor(-1)",
    "right": "cursor(1)",
    "plus,equals_sign": "odds",
    "minus": "look_back",
    "pageup": "page_up",
}
"""Second ways by signs and arrows; each thing has a key of the table, too."""
ALSO = [Binding(keys, action, show=False) for keys, action in _ALSO.items()]
ALONG = 8
"""How many parts the drawing is gone along in (a choice of this program)."""
LEAST_ROWS, ROWS_BESIDE, ROWS_WITHOUT = 6, 16, 4
"""Rows of the drawing at least, rows that everything else wants, and rows without a sweep (choices of this program)."""


class RadioScreen(Hands, Sweeping, Planning, SparesByHand):
    """Tonight's frequencies. `session` is the run that is open, if any."""

    WHERE = cmd.RADIO
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.RADIO), *cmd.digit_bindings(), *ALSO]

    def __init__(self, session: Session | None = None) -> None:
        super().__init__(session)
        self._window = Band(0, 1)
        self._show: Show | None = None
        self._warned = False

    def compose(self) -> ComposeResult:
        """Verdict, drawing, reading, table, what is known, advice, keys."""
        yield Lines(id="standing")
        yield Spectrum(view.NO_SWEEP, id="spectrum")
        yield Lines(id="reading")
        yield PickList(id="list", focusable=False, wraps=False)
        yield Lines(id="detail")
        yield Lines(id="state")
        yield Lines([view.ADVICE_LINE], id="advice")
        yield Lines(id="said")
        yield KeyBar(rows=2, id="keys")

    def on_mount(self) -> None:
        """Read what is kept of tonight, else the rig; keep the clock going."""
        self._show = self.desk.tonight()
        with self.saying_why():
            away = self._unneeded()
            self.held = Frequencies.of_rig(self.desk.rig, away, tonight_plan(self.desk), tonight_sweep(self.desk))
        self._window = self.held.home()
        self.look_at_row(0)
        if not self.cursor:
            self.cursor = self._window.centre
        self.set_interval(1.0, self._tick)

    def _unneeded(self) -> tuple[str, ...]:
        """Transmitters whose listeners are all away tonight."""
        rig, away = self.desk.rig, set(self.desk.away())
        whose = {each.name: people_of("transmitter", each, rig) for each in rig.transmitters}
        return tuple(name for name, people in whose.items() if people and people <= away)

    def _tick(self) -> None:
        if self.is_current:
            self._show_head()

    # -- showing -----------------------------------------------------------------------------------------------

    def show_all(self) -> None:
        """Show everything as it is now."""
        if not self.query("#keys") or self.closed:
            return
        with self.showday.batch_update():
            self._show_head()
            rows = view.table_rows(self.held, headed=not self.has_class("-short"))
            self.query_one(PickList).show(rows, self.row)
            self._show_drawing()
            self.query_one("#detail", Lines).show([view.detail_line(self.held, self.row)])
            self.show_state()
            ids = KEYS_PROVING if self.proving else KEYS
            said = {command.id: command.label for command in cmd.commands(cmd.RADIO)}
            keys = [choice(id, said.get(id, "")) for id in ids]
            self.query_one(KeyBar).show([*keys, choice("help"), choice("back")])

    def _show_head(self) -> None:
        now = self.desk.world.clock.now()
        venue = self.desk.book().venue(self._show.venue) if self._show is not None else None
        time = TimeLeft.of(self._show).parts(None, now)
        warning = self.desk.keeper.warning
        lines = view.head_lines(self.held, place(venue) if venue is not None else "", time)
        lines += [Line("warning", f"! {warning}")] if warning else []
        self.query_one("#standing", Lines).show(lines)

    def _show_drawing(self) -> None:
        spectrum = self.query_one(Spectrum)
        trace = self.held.seen.trace if self.held.seen is not None else None
        spectrum.show(trace, self.held.scene, self._window, self.cursor)
        words = reading(trace, self.held.scene, spectrum.frame, self.cursor)
        channel = channel_at(self.cursor, self.desk.rig.region) if self.desk.rig.region else None
        if channel is not None and f"TV {channel.number}" not in words:
            words += f" | in TV {channel.number}, none seen" if trace is not None else f" | in TV {channel.number}"
        self.query_one("#reading", Lines).show([Line("reading", words)])

    def show_state(self) -> None:
        """The proof, and what is not known."""
        self.query_one("#state", Lines).show(view.state_lines(self.held, self.progress, self.proving))

    def show_sweep(self) -> None:
        """Another sweep was taken in."""
        self._window = self.held.limits()
        if not self._window.holds(self.cursor):
            self.cursor = self._window.centre
        self._fit(self.size.height)

    def on_resize(self, event: events.Resize) -> None:
        """Another room."""
        self._fit(event.size.height)

    def _fit(self, rows: int) -> None:
        """The drawing takes what the table can spare; without a sweep there is little to draw."""
        room = max(LEAST_ROWS, min(rows - ROWS_BESIDE, rows * 2 // 5))
        self.query_one(Spectrum).styles.height = ROWS_WITHOUT if self.held.seen is None else room
        self.call_after_refresh(self.show_all)

    # -- rows --------------------------------------------------------------------------------------------------

    def look_at_row(self, index: int) -> None:
        """Mark a row; the cursor goes where it stands, and the window with it."""
        self.row = index
        rows = self.held.table.rows
        at = rows[index].hz if index < len(rows) else None
        if at is not None:
            self._put_cursor(at)
        self.show_all()

    def action_next(self) -> None:
        """One row down."""
        self.look_at_row(min(self.row + 1, max(len(self.held.table.rows) - 1, 0)))

    def action_previous(self) -> None:
        """One row up."""
        self.look_at_row(max(self.row - 1, 0))

    def action_choose(self, digit: int) -> None:
        """The row of that number."""
        signs = self.held.table.signs
        if str(digit) in signs:
            self.look_at_row(signs.index(str(digit)))
        else:
            self.showday.say(f"There is no carrier {digit} here.")

    def on_row_picked(self, message: RowPicked) -> None:
        """A row was clicked."""
        message.stop()
        value = self.query_one(PickList).rows[message.index].value
        if isinstance(value, int):
            self.look_at_row(value)

    # -- cursor and window -------------------------------------------------------------------------------------

    def _put_cursor(self, at: int) -> None:
        limits = self.held.limits()
        self.cursor = at
        if not self._window.holds(at) and self._window.width:
            half = self._window.width // 2
            self._window = Band(at - half, at - half + self._window.width)
            if limits.holds(at):
                self._window = zoomed(self._window, at, 1.0, limits)

    def _by_columns(self, columns: int) -> None:
        frame, limits = self.query_one(Spectrum).frame, self.held.limits()
        at = frame.column(self.cursor)
        place = frame.middle((0 if at is None else at) + columns)
        self._put_cursor(min(max(place, limits.low), limits.high))
        self._show_drawing()

    def action_cursor(self, columns: int) -> None:
        """So many columns up in frequency."""
        self._by_columns(columns)

    def action_more(self) -> None:
        """The next part of the drawing; behind its upper end the lower one."""
        if self.cursor >= self.held.limits().high:
            self._put_cursor(self.held.limits().low)
            self._show_drawing()
        else:
            self._by_columns(self.query_one(Spectrum).frame.columns // ALONG)

    def action_page_up(self) -> None:
        """The part before."""
        self._by_columns(-(self.query_one(Spectrum).frame.columns // ALONG))

    def on_cursor_placed(self, message: CursorPlaced) -> None:
        """The drawing was clicked."""
        message.stop()
        self._put_cursor(message.at)
        self._show_drawing()

    def _zoom(self, times: float) -> None:
        self._window = zoomed(self._window, self.cursor, times, self.held.limits())
        self._show_drawing()

    def action_odds(self) -> None:
        """A closer look: half as wide."""
        self._zoom(0.5)

    def action_look_back(self) -> None:
        """Back to twice the width."""
        self._zoom(2.0)

    def action_zoom_all(self) -> None:
        """Everything; again, our own range."""
        whole = self.held.limits()
        self._window = self.held.home() if self._window == whole else whole
        self._put_cursor(self.cursor)
        self._show_drawing()

    # -- leaving -----------------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """Any key but back means to stay."""
        self._warned = self._warned and event.key in cmd.command("back").keys

    def action_back(self) -> None:
        """Stop the proof; else leave, and say once when a plan is not kept."""
        if self.proving:
            self.action_interrupt()
        elif self.held.unkept and not self._warned:
            self._warned = True
            self.showday.say("This plan is not in the log: g keeps it, once more leaves.", warning=True)
        else:
            self.showday.go_back()

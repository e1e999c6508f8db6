"""Listening: every channel as a meter, the input now wanted, findings as words, the spectrum of one channel."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from showday.ears import Ears
from showday.run.session import Session
from showday.tui import commands as cmd
from showday.tui import listen_view as view
from showday.tui.lines import Choice, Line
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.modals import ChoiceModal, ListModal
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Columns, Lines

if TYPE_CHECKING:
    from showday.sound.model import Finding
    from showday.sound_devices import Device

LOOKS_EVERY = 0.2
"""Seconds between two drawings of the meters; a choice: quicker than this nobody reads."""
ROWS_BESIDE = 8
"""Rows for what stands above and below the channels."""
FINDINGS_EVERY = 5
"""Drawings between two looks for findings, which change with every second of sound at most."""
TONES_CAUTION = (
    "Short, quiet tones say good, not yet and wrong channel in one output. How loud they are in an ear nobody can know "
    "from here: turn the pack to minimum before it goes in, and see that this output reaches no loudspeaker."
)


class ListenScreen(ShowdayScreen[None]):
    """The ears of the app. `session` is the run that is open, if any."""

    WHERE = cmd.LISTEN
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.LISTEN)]

    def __init__(self, ears: Ears, session: Session | None) -> None:
        super().__init__()
        self._ears, self._session = ears, session
        self._marked = 0
        self._spectrum = False
        self._findings: list[Finding] = []
        self._drawn = 0

    def compose(self) -> ComposeResult:
        """What is listened to, the channels, what was found, keys."""
        yield Lines(id="standing")
        yield Columns(id="meters")
        yield Lines(id="told")
        yield Lines(id="said")
        yield KeyBar(rows=2, id="keys")

    def on_mount(self) -> None:
        """Begin to draw; with nothing to listen to, ask for a device at once."""
        self.set_interval(LOOKS_EVERY, self.draw)
        self.draw()
        if not self._ears.live:
            self.call_after_refresh(self.action_change)

    def draw(self) -> None:
        """Show everything as it is now."""
        if not self.query("#keys"):
            return
        live = self._ears.live
        if live and self._drawn % FINDINGS_EVERY == 0:
            self._findings = self._ears.findings()
        self._drawn += 1
        self.query_one("#standing", Lines).show(self._standing(live))
        rows = max(3, self.size.height - ROWS_BESIDE)
        body = self._picture(rows) if self._spectrum else self._table(rows)
        self.query_one("#meters", Columns).show([Line("text", row) for row in body] if live else [])
        self.query_one("#told", Lines).show(self._told() if live else [])
        self.query_one("#keys", KeyBar).show(self._keys(live))

    def _standing(self, live: bool) -> list[Line]:
        if not live:
            why = self._ears.trouble or "Nothing is listened to."
            return [
                Line("title", "Listening"),
                Line("warning", why),
                Line("text", "x chooses a device; all goes by hand."),
            ]
        lines = [Line("title", f"Listening to {self._ears.title}")]
        lines.append(Line("count", view.heard_words(self._ears.last, self._ears.hands_free)))
        return [*lines, *(Line("warning", said) for said in self._ears.said())]

    def _table(self, rows: int) -> list[str]:
        meters, wanted = self._ears.meters(), self._ears.wanted()
        self._marked = min(self._marked, max(0, len(meters) - 1))
        last = self._ears.last
        awaited = next((ch for ch, one in wanted.items() if last is not None and one.input == last.input), None)
        troubled = {finding.channel for finding in self._findings}
        return view.meter_rows(
            meters, wanted, troubled, marked=self._marked, awaited=awaited, width=self.size.width - 2, rows=rows
        )

    def _picture(self, rows: int) -> list[str]:
        from showday.sound.spectrum import columns

        spectrum, mains = self._ears.spectrum(self._marked), self._ears.mains_hz()
        wanted = self._ears.wanted().get(self._marked)
        head = f"Channel {self._marked + 1}" + (f", {wanted.input}" if wanted else "")
        if spectrum is None:
            return [f"{head}: a second of sound is needed first."]
        drawn = view.spectrum_rows(columns(spectrum, max(20, self.size.width - 10), mains), max(4, rows - 4))
        return [head, view.peak_words(spectrum, mains), *drawn]

    def _told(self) -> list[Line]:
        mine = [f for f in self._findings if f.channel == self._marked]
        shown = mine or self._findings
        if not shown:
            return [Line("about", "Nothing wrong heard so far.")]
        many = f"{len(self._findings)} found | " if len(self._findings) > 1 else ""
        worst = view.worst_of(mine) if mine else shown[-1]
        return [Line("warning", f"{many}{view.finding_words(worst, self._ears.wanted())}")]

    def _keys(self, live: bool) -> list[Choice]:
        ids = ["change", "help", "back"]
        if live:
            ids = ["not-here", "go-on", "next", "previous", "venue", "leave-out", *ids]
        return [Choice(c.key, c.label, c.action) for c in map(cmd.worded, [cmd.LISTEN] * len(ids), ids)]

    # -- keys ----------------------------------------------------------------------------------------------------

    def action_next(self) -> None:
        """Mark the next channel."""
        self._marked = min(self._marked + 1, max(0, len(self._ears.meters()) - 1))
        self.draw()

    def action_previous(self) -> None:
        """Mark the channel before."""
        self._marked = max(0, self._marked - 1)
        self.draw()

    def action_go_on(self) -> None:
        """The spectrum of the marked channel, and back to the meters."""
        self._spectrum = not self._spectrum
        self.draw()

    def action_not_here(self) -> None:
        """Tick good lines by themselves, or stop that."""
        if not self._ears.live:
            self.showday.say("Nothing is listened to; x chooses a device.")
            return
        self._ears.hands_free = not self._ears.hands_free
        self.showday.say(
            "Good lines tick themselves; u takes one back." if self._ears.hands_free else "By hand again."
        )
        self.draw()

    def action_leave_out(self) -> None:
        """Stop listening."""
        self._ears.close()
        self.draw()

    def action_change(self) -> None:
        """Choose what is listened to."""
        with self.saying_why():
            known = [device for device in self._ears.devices() if device.inputs]
            if not known:
                self.showday.say(
                    "This computer has no sound input. Plug the device in and switch it on.", warning=True
                )
                return
            rows = [f"{d.name} ({d.host}): {d.inputs} in, {d.rate:,} Hz" for d in known]

            def chosen(index: int | None) -> None:
                if index is not None:
                    with self.saying_why():
                        self._ears.open(known[index], self._session.state.plan if self._session else None)
                        self.draw()

            self.showday.push_screen(ListModal("Listen to which device?", rows, 0), chosen)

    def action_venue(self) -> None:
        """Verdicts as tones in one's own pack; off until an output is chosen."""
        if self._ears.tones is not None:
            self._ears.tones.close()
            self._ears.tones = None
            self.showday.say("No tones any more.")
            return
        with self.saying_why():
            outputs = [device for device in self._ears.devices() if device.outputs]
            places = [(device, channel) for device in outputs for channel in range(min(device.outputs, 32))]
            if not places:
                self.showday.say("This computer has no sound output.", warning=True)
                return
            rows = [f"{device.name}, output {channel + 1}" for device, channel in places]
            modal = ListModal("Tones for your own pack: which output?", rows, 0)
            self.showday.push_screen(modal, lambda n: self._ask_tones(*places[n]) if n is not None else None)

    def _ask_tones(self, device: Device, channel: int) -> None:
        lines = [Line("title", "Tones"), Line("caution", f"! {TONES_CAUTION}")]

        def agreed(key: str | None) -> None:
            if key == "y":
                with self.saying_why():
                    self.showday.say(self._ears.sound_tones(device, channel), warning=True)

        self.showday.push_screen(ChoiceModal(lines, [("y", "play tones there")], "no tones"), agreed)

    def action_back(self) -> None:
        """Back to where one came from; listening goes on."""
        self.dismiss(None)

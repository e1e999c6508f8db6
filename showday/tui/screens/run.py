"""The run: one step fills the screen, one key answers it."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll

from showday.errors import NotAllowed
from showday.run import events as ev
from showday.run.plan import PlannedStep
from showday.run.progress import current, last_done, progress
from showday.run.session import Session
from showday.run.state import FAULT_WALK, FINISHED, INTERRUPTED, RunState
from showday.tui import commands as cmd
from showday.tui import run_view as view
from showday.tui.lines import Choice, Line
from showday.tui.messages import RowPicked
from showday.tui.screens.away import ask_who_is_away
from showday.tui.screens.base import ShowdayScreen, scroll_on
from showday.tui.screens.interrupted import LEAVE, InterruptedScreen
from showday.tui.screens.modals import ChoiceModal, ListModal, ReadingModal, TextModal
from showday.tui.standing import standing_lines
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.row_list import RowList

IDLE = 60.0
"""Seconds without a key, beyond the step's usual time, after which the last step is offered for a second look."""

KEYS = ("wrong", "undo", "note", "interrupt", "show-list", "next", "previous", "look-back", "away", "light", "end")
"""The second bar, most wanted first; a small screen drops the end of it."""


class RunScreen(ShowdayScreen[None]):
    """One run. It holds no facts of its own but which cautions were read in this sitting."""

    WHERE = cmd.RUN
    BINDINGS = [
        *cmd.bindings(cmd.RUN),
        *cmd.digit_bindings(),
        Binding("0", "choose(0)", show=False),
        Binding("minus", "begin_minus", show=False),
    ]
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self._seen: set[int] = set()
        self._ready = ""
        self._last_key = ""
        self._must_key = "m"
        self._key_at = session.world.clock.ticks()

    # -- what is before the person -----------------------------------------------------------------------------

    @property
    def state(self) -> RunState:
        """The run as it is written."""
        return self.session.state

    @property
    def step(self) -> PlannedStep | None:
        """The step on the screen; None when nothing is left or the run is over."""
        return None if self.state.phase == FINISHED else current(self.state)

    @property
    def place(self) -> str:
        """Where the run stands, in words."""
        return view.title_of(self.state, self.step)

    def _cautions(self) -> tuple[str, ...]:
        step = self.step
        return view.cautions_before(self.state, step, self._seen) if step else ()

    def compose(self) -> ComposeResult:
        """Standing lines above, the step in the middle, keys below."""
        yield Lines(id="standing")
        with Horizontal(id="middle"):
            with VerticalScroll(id="stage", can_focus=False):
                yield Lines(id="banner")
                yield Lines(id="card")
            yield RowList(id="pane", focusable=False)
        yield Lines(id="said")
        yield KeyBar(rows=2, id="answers")
        yield KeyBar(rows=2, id="keys")

    def on_mount(self) -> None:
        """Look up the show once, and keep the clock going."""
        self._show = self.desk.tonight()
        self.set_interval(1.0, self._tick)

    def on_screen_resume(self) -> None:
        """On the screen, for the first time or again."""
        self._key_at = self.session.world.clock.ticks()
        if self.state.phase == INTERRUPTED:
            with self.saying_why():
                self.session.resume_here()
        self._show_all()

    def on_key(self, event: events.Key) -> None:
        """Every key is a sign of life, and the last one decides how the next must is confirmed."""
        self._last_key = event.key
        self._key_at = self.session.world.clock.ticks()

    def _idle(self) -> float:
        idle = self.session.world.clock.ticks() - self._key_at
        usual = self.step.takes or 0.0 if self.step else 0.0
        return idle if idle > IDLE + usual and self.step and not self._cautions() else 0.0

    def _tick(self) -> None:
        self._show_standing()
        if self._idle():
            self._show_banner()

    def _show_all(self) -> None:
        """Note which step is before the person now, and show it."""
        if self.state.phase == FAULT_WALK:
            return  # the fault walk is on top; this screen is shown again when it ends
        with self.saying_why():
            self.session.show_current()
        self._must_key = "y" if self._last_key == "m" else "m"
        step, cautions = self.step, self._cautions()
        if step is None:
            lines = view.end_lines(self.state)
        elif cautions:
            lines = view.caution_lines(step, cautions)
        else:
            lines = view.step_lines(self.state, step, ready=self._ready == step.key)
        with self.showday.batch_update():
            self.query_one("#card", Lines).show(lines)
            self._show_banner()
            self._show_standing()
            self._show_keys()
            self._show_pane()
            self.query_one("#stage", VerticalScroll).scroll_home(animate=False)

    def _show_banner(self) -> None:
        quiet = self.state.phase == FINISHED or bool(self._cautions())
        lines = [] if quiet else view.banner_lines(self.state, self.step, self._idle())
        banner = self.query_one("#banner", Lines)
        banner.show(lines)
        banner.display = bool(lines)

    def _show_standing(self) -> None:
        lines = standing_lines(self.session, self.place, self._show, self.desk.keeper.warning)
        self.query_one("#standing", Lines).show(lines)

    def _show_pane(self) -> None:
        if not self.has_class("-wide"):
            return
        steps = self.state.plan.steps
        at = steps.index(self.step) if self.step else None
        key = self.step.key if self.step else ""
        self.query_one("#pane", RowList).show([view.row_words(self.state, s, key) for s in steps], at)

    def on_resize(self) -> None:
        """The list beside the step comes and goes with the width."""
        if self.state.phase != FAULT_WALK:
            self._show_pane()

    def _show_keys(self) -> None:
        self.query_one("#answers", KeyBar).show([_choice(*key) for key in self._answer_keys()])
        keys = [_choice(id) for id in (*KEYS, "help", "back")]
        self.query_one("#keys", KeyBar).show(keys)

    def _answer_keys(self) -> list[tuple[str, str, str]]:
        """(command, words, key) of the first bar; empty words and key are the command's own."""
        step = self.step
        if step is None:
            ended = self.state.phase == FINISHED
            can = not ended and progress(self.state).can_complete
            return [("go-on", "complete", "")] if can else [("undo", "", "")] if ended else [("end", "", "")]
        if self._cautions():
            return [("go-on", "I have read it", "")]
        rest = [("fault", "", ""), ("later", "", ""), ("leave-out", "", ""), ("not-here", "", "")]
        if self._waits(step):
            words = "go ahead" if step.irreversible else "good all the same"
            return [("yes", words, ""), *rest] if step.irreversible else [rest[0], ("yes", words, ""), *rest[1:]]
        if step.must:
            return [("must", "confirm", "") if self._must_key == "m" else ("yes", "confirm", ""), *rest]
        return [("good", "", ""), *rest]

    # -- answers -----------------------------------------------------------------------------------------------

    def _asked(self) -> PlannedStep:
        """The step that an answer is for; NotAllowed when no step is being asked."""
        if self.state.phase == FINISHED:
            raise NotAllowed("The run is over.", "u takes the end back.")
        step = self.step
        if step is None:
            raise NotAllowed("Every step has its answer.", "Enter or e ends the run, k goes back to a step.")
        if self._cautions():
            raise NotAllowed("Read the caution first.", "Enter goes on.")
        return step

    def _waits(self, step: PlannedStep) -> bool:
        """Whether `good` wants the second key first: everyone notices the step, or its reading is outside."""
        outside = self.state.step(step.key).inside is False
        return (bool(step.irreversible) or outside) and self._ready != step.key

    def _refuse_waiting(self, step: PlannedStep) -> None:
        if self._waits(step) and step.irreversible:
            raise NotAllowed("Everyone notices this one.", "y first, when the moment is right.")
        if self._waits(step):
            raise NotAllowed("The reading is outside.", "f keeps a fault, y says good all the same.")

    def _answer(self, result: str, *, reason: str = "", confirmed: bool = False) -> None:
        with self.saying_why():
            self._asked()
            self.session.answer(result, reason=reason, confirmed=confirmed)
            self._ready = ""
            self._show_all()

    def action_good(self) -> None:
        """It is as wanted."""
        with self.saying_why():
            step = self._asked()
            self._refuse_waiting(step)
            if step.must:
                raise NotAllowed("This step is a must.", f"Look, then {self._must_key} confirms it.")
            self._answer(ev.GOOD)

    def action_must(self) -> None:
        """Confirm a must."""
        self._confirm("m")

    def action_yes(self) -> None:
        """The second key: go ahead with what everyone notices, or confirm a must behind another."""
        with self.saying_why():
            step = self._asked()
            if not self._waits(step):
                self._confirm("y")
                return
            self._ready = step.key
            if step.irreversible or step.must:
                self._show_all()
            else:
                self._answer(ev.GOOD)

    def _confirm(self, key: str) -> None:
        with self.saying_why():
            step = self._asked()
            if not step.must:
                raise NotAllowed("This step is not a must.", "g says it is good.")
            self._refuse_waiting(step)
            if key != self._must_key:
                raise NotAllowed("Another must.", f"Look, then {self._must_key} confirms this one.")
            self._answer(ev.GOOD, confirmed=True)

    def action_later(self) -> None:
        """Put it off."""
        self._answer(ev.LATER)

    def action_not_here(self) -> None:
        """It does not apply."""
        self._answer(ev.NOT_HERE)

    def action_leave_out(self) -> None:
        """Leave it out, with the reason."""
        with self.saying_why():
            step = self._asked()
            about = step.do if step.must else f"{step.do} (Enter alone gives no reason)"
            self.showday.push_screen(TextModal("Left out because …", about, needed=step.must), self._left_out)

    def _left_out(self, reason: str | None) -> None:
        if reason is not None:
            self._answer(ev.LEFT_OUT, reason=reason)

    def action_fault(self) -> None:
        """It is not as wanted: keep that, then offer the ways to find out."""
        with self.saying_why():
            step = self._asked()
            self.session.answer(ev.FAULT)
            self._ready = ""
            trees = [tree for tree in self.desk.trees_for(step) if tree.fault in step.if_wrong][:9]
            choices = [(str(n), str(tree.title)) for n, tree in enumerate(trees, 1)]
            lines = [Line("title", "FAULT is kept. What is it like?"), Line("about", step.do)]
            modal = ChoiceModal(
                lines, [*choices, ("w", "something else: the whole list")], "go on with the next step"
            )

            def chosen(key: str | None) -> None:
                if key == "w":
                    self.showday.open_faults(step)
                elif key is not None:
                    self.showday.open_walk(trees[int(key) - 1].fault, step)
                else:
                    self._show_all()

            self.showday.push_screen(modal, chosen)

    # -- what belongs to a step --------------------------------------------------------------------------------

    def action_reading(self) -> None:
        """Note the step's number."""
        self._read("")

    def action_choose(self, digit: int) -> None:
        """A digit begins the number."""
        self._read(str(digit))

    def action_begin_minus(self) -> None:
        """So does a minus."""
        self._read("-")

    def _read(self, begun: str) -> None:
        with self.saying_why():
            step = self._asked()
            if step.reading is None:
                raise NotAllowed("This step takes no number.", "n writes a note.")
            self.showday.push_screen(ReadingModal(step.reading, step.do, begun), self._was_read)

    def _was_read(self, value: float | None) -> None:
        if value is not None:
            with self.saying_why():
                self.session.read(value)
                self._show_all()

    def action_note(self) -> None:
        """A few words, with the step when there is one."""
        step = self.step
        key = step.key if step else ""

        def written(words: str | None) -> None:
            if words:
                with self.saying_why():
                    self.session.record(ev.NoteAdded(words, key))
                    self._show_all()

        self.showday.push_screen(TextModal("Note", step.do if step else "about the whole run"), written)

    def action_undo(self) -> None:
        """Take back the last answer, reading or note."""
        with self.saying_why():
            self.session.undo()
            self._ready = ""
            self._show_all()
            self.showday.say("Taken back.")

    # -- moving ------------------------------------------------------------------------------------------------

    def _go(self, key: str) -> None:
        with self.saying_why():
            if self.state.phase == FINISHED:
                raise NotAllowed("The run is over.", "u takes the end back.")
            self.session.go_to(key)
            self._ready = ""
            self._show_all()

    def _by(self, offset: int) -> None:
        steps = self.state.plan.steps
        at = steps.index(self.step) if self.step else len(steps)
        if 0 <= at + offset < len(steps):
            self._go(steps[at + offset].key)

    def action_next(self) -> None:
        """The next step of the list."""
        self._by(1)

    def action_previous(self) -> None:
        """The step before."""
        self._by(-1)

    def action_look_back(self) -> None:
        """Look at the step answered last again."""
        last = last_done(self.state)
        if last is None:
            self.showday.say("No step was answered yet.", warning=True)
        else:
            self._go(last.key)

    def action_show_list(self) -> None:
        """The whole list, to take any step."""
        steps = self.state.plan.steps
        key = self.step.key if self.step else ""
        rows = [view.row_words(self.state, s, key) for s in steps]
        at = steps.index(self.step) if self.step else None

        def picked(index: int | None) -> None:
            if index is not None:
                self._go(steps[index].key)

        self.showday.push_screen(ListModal(self.state.plan.title, rows, at), picked)

    def on_row_picked(self, message: RowPicked) -> None:
        """A row of the list beside the step was clicked."""
        message.stop()
        self._go(self.state.plan.steps[message.index].key)

    def action_more(self) -> None:
        """The rest of a long text; from its end back to its beginning."""
        scroll_on(self.query_one("#stage", VerticalScroll))

    # -- the run as a whole ------------------------------------------------------------------------------------

    def action_go_on(self) -> None:
        """On from a caution, or complete when every step has its answer."""
        step = self.step
        if step is not None and self._cautions():
            self._seen |= {-1, step.section}
            self._show_all()
        elif step is None and self.state.phase != FINISHED and progress(self.state).can_complete:
            self._finish(ev.COMPLETE)
        elif step is not None:
            self.showday.say("Enter answers nothing here: the keys are below.")

    def action_back(self) -> None:
        """Back to where one came from; the run goes on another time."""
        self.showday.leave_run()

    def action_interrupt(self) -> None:
        """Leave at once."""
        with self.saying_why():
            place, do = self.place, self.step.do if self.step else "Every step has its answer."
            self.session.interrupt()
            self.showday.push_screen(InterruptedScreen(self.session, place, do), self._came_back)

    def _came_back(self, how: str | None) -> None:
        if how == LEAVE:
            self.showday.leave_run()

    def action_away(self) -> None:
        """Say who is not here."""
        ask_who_is_away(self.showday, self.session, self._show_all)

    def action_end(self) -> None:
        """End the run; with steps owed it is stopped, which wants a second key."""
        if self.state.phase == FINISHED:
            self.showday.say("The run is over. q goes back, u takes the end back.")
            return
        done = progress(self.state)
        if done.can_complete:
            self._finish(ev.COMPLETE)
            return
        lines = [Line("title", "Stop here?"), Line("text", done.counts())]
        lines += [Line("must", f"! MUST owed: {self.state.planned(key).do}") for key in done.musts_owed[:5]]
        more = len(done.musts_owed) - 5
        lines += [Line("must", f"… and {more} more")] if more > 0 else []
        modal = ChoiceModal(lines, [("y", "stop; what is owed is kept as owed")], "go on with the run")
        self.showday.push_screen(modal, lambda key: self._finish(ev.STOPPED) if key == "y" else None)

    def _finish(self, outcome: str) -> None:
        with self.saying_why():
            self.session.finish(outcome)
            self._show_all()


def _choice(id: str, words: str = "", key: str = "") -> Choice:
    command = cmd.command(id)
    return Choice(key or command.key, words or command.label, command.action)

"""The run: one step fills the screen, one key answers it."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll

from showday.errors import NotAllowed
from showday.memory import last_time
from showday.review.before import HereBefore
from showday.run import events as ev
from showday.run.phases import FAULT_WALK, FINISHED
from showday.run.plan import PlannedStep
from showday.run.progress import last_done, progress
from showday.run.session import Session
from showday.tui import commands as cmd
from showday.tui import run_view as view
from showday.tui.answer_keys import Offer
from showday.tui.before_view import before_lines
from showday.tui.lines import Card, Choice, Line
from showday.tui.messages import RowPicked
from showday.tui.screens import fixing
from showday.tui.screens.hearing import Hearing
from showday.tui.screens.modals import ChoiceModal, ListModal, ReadingModal, TextModal
from showday.tui.tools import PAINTED
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.row_list import RowList
from showday.tui.widgets.step_card import StepCard

IDLE = 60.0
"""Seconds without a key, beyond the step's usual time, after which the last step is offered for a second look."""

_FIRST = ("wrong", "undo", "note", "interrupt", "show-list", "look-back")
KEYS = (*_FIRST, "away", "light", "end", "radio", "next", "previous")
"""The second bar, most wanted first; a small screen drops the end of it."""
ENDED_KEYS = ("note", "show-list", "wrong", "light")


class RunScreen(Hearing):
    """One run."""

    WHERE = cmd.RUN
    BINDINGS: ClassVar[list[BindingType]] = [
        *cmd.bindings(cmd.RUN),
        *cmd.digit_bindings(),
        Binding("0", "choose(0)", show=False),
        Binding("minus", "begin_minus", show=False),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._seen: set[int] = set()
        """Sections whose cautions were read in this sitting, -1 for the playbook's."""
        self._ready = ""
        """Key of the step whose second key was pressed."""
        self._last_key = ""
        self._must_key = "m"
        self._before = HereBefore()
        self._key_at = session.world.clock.ticks()

    # -- what is before the person -----------------------------------------------------------------------------

    @property
    def offer(self) -> Offer:
        """What the step takes now."""
        step = Offer(self.state).step
        ready = step is not None and self._ready == step.key
        return Offer(self.state, bool(self._cautions()), ready, self._must_key)

    @property
    def step(self) -> PlannedStep | None:
        """The step on the screen; None when nothing is left or the run is over."""
        return Offer(self.state).step

    def place(self) -> str:
        """Place in the section, section, playbook."""
        return view.title_of(self.state, self.step)

    def doing(self) -> str:
        """The step's first line."""
        return self.step.do if self.step else "Every step has its answer."

    def noted_at(self) -> str:
        """The step on the screen."""
        return self.step.key if self.step else ""

    def _cautions(self) -> tuple[str, ...]:
        step = self.step
        return view.cautions_before(self.state, step, self._seen) if step else ()

    def compose(self) -> ComposeResult:
        """Standing lines above, the step in the middle, keys below."""
        yield Lines(id="standing")
        yield Lines(id="warning")
        yield Lines(id="ear")
        with Horizontal(id="middle"):
            with VerticalScroll(id="stage", can_focus=False):
                yield Lines(id="banner")
                yield StepCard(id="card")
            yield RowList(id="pane", focusable=False)
        yield Lines(id="said")
        yield KeyBar(rows=2, id="answers")
        yield KeyBar(rows=2, id="keys")

    def holds_back(self) -> bool:
        """Nothing is ticked before a caution was read."""
        return bool(self._cautions())

    def ticked(self) -> None:
        """The next step is before the person."""
        self._ready = ""
        self.show_all()

    def on_key(self, event: events.Key) -> None:
        """Every key is a sign of life, and the last one decides how the next must is confirmed."""
        self._last_key = event.key
        self._key_at = self.session.world.clock.ticks()

    def on_screen_resume(self) -> None:
        """Coming back is a sign of life too."""
        self._key_at = self.session.world.clock.ticks()

    def _idle(self) -> float:
        idle = self.session.world.clock.ticks() - self._key_at
        usual = (self.step.takes or 0.0) if self.step else 0.0
        return idle if idle > IDLE + usual and self.step and not self._cautions() else 0.0

    def tick(self) -> None:
        """A second has gone; after a minute of nothing, say what was done last."""
        super().tick()
        if self.whole and self._idle():
            self._show_banner()

    def on_mount(self) -> None:
        """Read what was here before once the screen stands."""
        self.set_timer(PAINTED, self._look_at_last_time)

    def _look_at_last_time(self) -> None:
        with self.saying_why():
            self._before = last_time(self.desk, self.session)
            self._show_banner()

    def show_all(self) -> None:
        """Note which step is before the person now, and show it."""
        if self.state.phase == FAULT_WALK:
            return  # the fault walk is on top; this screen is shown again when it ends
        with self.saying_why():
            self.session.show_current()
        self._must_key = "y" if self._last_key == "m" else "m"
        ids = ENDED_KEYS if self.state.phase == FINISHED else KEYS
        keys = [cmd.command(id) for id in (*ids, "help", "back")]
        with self.showday.batch_update():
            self.query_one("#card", StepCard).show(self._card())
            self._show_banner()
            self.show_standing()
            self.query_one("#answers", KeyBar).show(self.offer.choices())
            self.query_one("#keys", KeyBar).show([Choice(c.key, c.label, c.action) for c in keys])
            self._show_pane()
            self.to_top()
        self.call_after_refresh(self.look_ahead)

    def _card(self) -> Card:
        step, cautions = self.step, self._cautions()
        if step is None:
            return view.end_card(self.state)
        if cautions:
            return view.caution_card(step, cautions)
        return view.step_card(self.state, self.desk.shown(step), ready=self._ready == step.key)

    def _show_banner(self) -> None:
        quiet = self.state.phase == FINISHED or bool(self._cautions())
        lines = [] if quiet else view.banner_lines(self.state, self.step, self._idle())
        lines += [] if quiet else before_lines(self._before, self.state, self.step)
        banner = self.query_one("#banner", Lines)
        banner.show(lines)
        banner.display = bool(lines)

    def _show_pane(self) -> None:
        if self.has_class("-wide"):
            rows, at = self._rows()
            self.query_one("#pane", RowList).show(rows, at)

    def _rows(self) -> tuple[list[str], int | None]:
        steps, step = self.state.plan.steps, self.step
        key = step.key if step else ""
        return [view.row_words(self.state, s, key) for s in steps], steps.index(step) if step else None

    def on_resize(self) -> None:
        """The list beside the step comes and goes with the width."""
        if self.state.phase != FAULT_WALK and self.whole:
            self._show_pane()

    # -- answers -----------------------------------------------------------------------------------------------

    def _answer(self, result: str, *, reason: str = "", confirmed: bool = False) -> None:
        with self.saying_why():
            self.offer.asked()
            self.session.answer(result, reason=reason, confirmed=confirmed, show_next=True)
            self._ready = ""
            self.show_all()

    def _confirm(self, key: str) -> None:
        with self.saying_why():
            step = self.offer.confirms(key)
            self._answer(ev.GOOD, confirmed=step.must)

    def action_good(self) -> None:
        """It is as wanted."""
        self._confirm("g")

    def action_must(self) -> None:
        """Confirm a must."""
        self._confirm("m")

    def action_yes(self) -> None:
        """The second key: go ahead with what everyone notices, good all the same, or a must behind another."""
        with self.saying_why():
            step = self.offer.asked()
            if not self.offer.waits(step):
                self._confirm("y")
                return
            self._ready = step.key
            if step.irreversible or step.must:
                self.show_all()
            else:
                self._answer(ev.GOOD)

    def action_later(self) -> None:
        """Put it off."""
        self._answer(ev.LATER)

    def action_not_here(self) -> None:
        """It does not apply; a must wants the reason."""
        with self.saying_why():
            if self.offer.asked().must:
                self._because(ev.NOT_HERE, "Not here because …", needed=True)
            else:
                self._answer(ev.NOT_HERE)

    def action_leave_out(self) -> None:
        """Leave it out, with the reason."""
        with self.saying_why():
            self._because(ev.LEFT_OUT, "Left out because …", needed=self.offer.asked().must)

    def _because(self, result: str, title: str, *, needed: bool) -> None:
        def told(reason: str | None) -> None:
            if reason is not None:
                self._answer(result, reason=reason)

        about = self.doing() if needed else f"{self.doing()} (Enter alone gives no reason)"
        self.showday.push_screen(TextModal(title, about, needed=needed), told)

    def action_fault(self) -> None:
        """It is not as wanted: keep that, then offer the ways to find out."""
        with self.saying_why():
            step = self.offer.asked()
            self.session.answer(ev.FAULT)
            self._ready = ""
            trees = [tree for tree in self.desk.trees_for(step) if tree.fault in step.if_wrong][:9]
            choices = [(str(n), str(tree.title)) for n, tree in enumerate(trees, 1)]
            lines = [Line("title", "FAULT is kept. What is it like?"), Line("about", step.do)]

            def chosen(key: str | None) -> None:
                if key == "w":
                    self.showday.open_faults(step)
                elif key is not None:
                    self.showday.open_walk(trees[int(key) - 1].fault, step)

            choices.append(("w", "something else: the whole list"))
            self.showday.push_screen(ChoiceModal(lines, choices, "go on with the next step"), chosen)

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
        def told(value: float | None) -> None:
            if value is not None:
                with self.saying_why():
                    self.session.read(value)
                    self.show_all()

        with self.saying_why():
            step = self.offer.asked()
            if step.reading is None:
                raise NotAllowed("This step takes no number.", "n writes a note.")
            self.showday.push_screen(ReadingModal(step.reading, step.do, begun), told)

    def action_undo(self) -> None:
        """Take back the last answer, reading or note, or the end of a fault walk, which is then open again."""
        with self.saying_why():
            self.session.undo()
            self._ready = ""
            if self.state.phase == FAULT_WALK:
                self.showday.show_walk(self.session)
                return
            if self.showday.listening():
                self.showday.ears.again()  # what was just taken back must not tick itself by the same sound
            self.show_all()
            self.showday.say("Taken back.")

    # -- moving ------------------------------------------------------------------------------------------------

    def _go(self, key: str) -> None:
        with self.saying_why():
            if self.state.phase == FINISHED:
                raise NotAllowed("The run is over.", "u takes the end back.")
            self.session.go_to(key)
            self._ready = ""
            self.show_all()

    def _by(self, offset: int) -> None:
        steps = self.state.plan.steps
        at = (steps.index(self.step) if self.step else len(steps)) + offset
        if 0 <= at < len(steps):
            self._go(steps[at].key)

    def action_next(self) -> None:
        """The next step of the list."""
        self._by(1)

    def action_previous(self) -> None:
        """The step before."""
        self._by(-1)

    def action_look_back(self) -> None:
        """Look at the step answered last again."""
        with self.saying_why():
            last = last_done(self.state)
            if last is None:
                raise NotAllowed("No step was answered yet.")
            self._go(last.key)

    def action_show_list(self) -> None:
        """The whole list, to take any step."""
        rows, at = self._rows()
        self.showday.push_screen(ListModal(self.state.plan.title, rows, at), self._picked)

    def _picked(self, index: int | None) -> None:
        if index is not None:
            self._go(self.state.plan.steps[index].key)

    def on_row_picked(self, message: RowPicked) -> None:
        """A row of the list beside the step was clicked."""
        message.stop()
        self._picked(message.index)

    # -- the run as a whole ------------------------------------------------------------------------------------

    def action_go_on(self) -> None:
        """On from a caution; the to-fix item that the step is about; complete when every step has its answer."""
        step = self.step
        if step is not None and self._cautions():
            self._seen |= {-1, step.section}
            self.show_all()
        elif step is None and self.state.phase != FINISHED and progress(self.state).can_complete:
            self._finish(ev.COMPLETE)
        elif step is not None and not fixing.open_of_step(self.showday, step, self.show_all):
            self.showday.say("Enter answers nothing here.")

    def action_back(self) -> None:
        """Back to where one came from; the run goes on another time."""
        self.showday.leave_run()

    def action_end(self) -> None:
        """End the run; with steps owed it is stopped, which wants a second key."""
        if self.state.phase == FINISHED:
            self.showday.say("The run is over. q goes back, u takes the end back.")
        elif progress(self.state).can_complete:
            self._finish(ev.COMPLETE)
        else:
            modal = ChoiceModal(
                view.stop_lines(self.state), [("y", "stop; what is owed is kept as owed")], "go on with the run"
            )
            self.showday.push_screen(modal, lambda key: self._finish(ev.STOPPED) if key == "y" else None)

    def _finish(self, outcome: str) -> None:
        with self.saying_why():
            self.session.finish(outcome)
            self.show_all()

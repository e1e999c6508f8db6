"""One past run, down to each entry with its time. Read only, but for a cause that became known later."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType

from showday.fault.reader import read_tree
from showday.log.records import RunRecord, summarise
from showday.memory import TreeWords, past_run
from showday.review.past import PastRun
from showday.review.story import Told, story
from showday.run import events as ev
from showday.run.phases import FINISHED
from showday.run.state import WalkState
from showday.tui import commands as cmd
from showday.tui import past_view as view
from showday.tui.lines import Line
from showday.tui.screens import choosing
from showday.tui.screens.base import ShowdayScreen
from showday.tui.screens.listing import PAGE_UP, Listing, choice
from showday.tui.screens.modals import ChoiceModal, ListModal
from showday.tui.tonight_view import To
from showday.tui.widgets.choices import KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.pick_list import PickList, Row


class PastRunScreen(Listing, ShowdayScreen[None]):
    """A run of the log by its id. `walk` is the fault walk to stand at."""

    WHERE = cmd.PAST_RUN
    AUTO_FOCUS = "PickList"
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.PAST_RUN), PAGE_UP]

    def __init__(self, run: str, walk: str = "") -> None:
        super().__init__()
        self._run_id = run
        self._at = walk
        self._record: RunRecord | None = None
        self._run: PastRun | None = None
        self._told: list[Told] = []
        self._every = False
        self._open: set[str] = set()

    def compose(self) -> ComposeResult:
        """Which run, its steps, keys."""
        yield Lines(id="standing")
        yield PickList(id="list")
        yield Lines(id="said")
        yield KeyBar(rows=2, id="keys")

    def on_screen_resume(self) -> None:
        """On the screen, for the first time or again: read the run anew."""
        with self.saying_why():
            self._read()
            self._show(To(view.WALK, self._at) if self._at else None)
        self._at = ""

    def _read(self) -> None:
        keeper = self.desk.keeper
        entries = keeper.entries(self._run_id)
        self._record = summarise(entries)
        self._run = past_run(keeper, self._record, self.desk.plan_of) if self._record else None
        self._told = story(entries, self._run.state.plan if self._run else None, TreeWords(keeper))

    def _show(self, at: object = None) -> None:
        if self._record is None:
            self.query_one("#standing", Lines).show([Line("title", "This run is not in the log.")])
            self.list.show([Row("Nothing is here.", "dim")])
        else:
            head = view.head_lines(self._record, self._run, self.desk.book())
            self.query_one("#standing", Lines).show(head)
            if self._run is None or self._every:
                self.list.show(view.entry_rows(self._told), at)
            else:
                self.list.show(view.step_rows(self._run, self._told, self._open, self._ends()), at)
        every = self._every or self._run is None
        keys = [] if every else [choice("go-on", "its entries")]
        keys += [choice("show-list", "by step" if self._every else "every entry")] if self._run is not None else []
        keys += [choice("next"), choice("previous"), choice("more", "page")]
        self.query_one(KeyBar).show([*keys, choice("light"), choice("help"), choice("back")])

    def _walks(self) -> list[WalkState]:
        state = self._run.state if self._run else None
        return [*state.walks, *([state.walk] if state.walk else [])] if state else []

    def _ends(self) -> dict[str, str]:
        words = TreeWords(self.desk.keeper)
        said = {}
        for walk in self._walks():
            parts = [walk.outcome or "open"]
            parts += ["came back later"] if walk.came_back else []
            parts += [f"cause: {words(walk, walk.cause)}"] if walk.cause else []
            said[walk.walk] = ", ".join(parts)
        return said

    def take(self, value: object) -> None:
        """A step shows its entries, a fault walk asks for its cause."""
        if not isinstance(value, To):
            return
        if value.kind == view.STEP:
            self._open ^= {value.id}
            self._show()
        elif value.kind == view.GO_ON:
            choosing.go_on_with(self.showday, self._run_id)
        elif value.kind == view.WALK:
            walk = next((w for w in self._walks() if w.walk == value.id), None)
            if walk is not None:
                self._ask_cause(walk)

    def action_show_list(self) -> None:
        """Every entry in its order, or the steps again."""
        self._every = not self._every
        self._show()

    # -- a cause that became known later ----------------------------------------------------------------------------

    def _ask_cause(self, walk: WalkState) -> None:
        if self._run is None or self._run.state.phase != FINISHED:
            self.showday.say("The run is not over: the first row goes on with it.", warning=True)
            return
        text = self.desk.keeper.text_of(walk.tree)
        tree = read_tree(text, walk.fault)[0] if text is not None else None
        if tree is None:
            self.showday.say(
                "The fault tree of this walk cannot be read; `showday log check` says why.", warning=True
            )
            return
        causes = list(tree.causes)

        def picked(index: int | None) -> None:
            if index is not None:
                self._confirm(walk, causes[index][0])

        def asked(key: str | None) -> None:
            if key == "1":
                self.showday.push_screen(ListModal("What was it?", [str(c.what) for _, c in causes], 0), picked)

        lines = [Line("title", walk.title), Line("about", self._ends().get(walk.walk, ""))]
        self.showday.push_screen(ChoiceModal(lines, [("1", "the cause is known now")]), asked)

    def _confirm(self, walk: WalkState, cause: str) -> None:
        with self.saying_why():
            session = self.desk.resume_run(self._run_id)
            session.record(ev.CauseConfirmed(walk.walk, cause))
            self._read()
            self._show(To(view.WALK, walk.walk))

"""What a fault walk's screen does with the advice: why this step, what is likely, which order, which goal."""

from __future__ import annotations

from showday.counsel import Counsel, InTime
from showday.errors import NotAllowed
from showday.fault.model import Tree
from showday.fault.walk import Ask
from showday.run.session import Session
from showday.run.state import WalkState
from showday.tui import walk_view as view
from showday.tui.lines import Line
from showday.tui.screens.odds import OddsScreen
from showday.tui.screens.sitting import Sitting

SMALL = 21
"""Rows up to which a screen is small."""


class Advised(Sitting):
    """A screen over an open fault walk that shows one step of it, suggested or taken out of turn."""

    def __init__(self, session: Session, tree: Tree) -> None:
        super().__init__(session)
        self._tree = tree
        self._read_cautions = False
        self._ready = ""
        """Id of a step whose second key was pressed."""
        self._taken = ""
        """Id of a node taken out of turn, until it is answered."""
        self._words: dict[str, str] = {}
        self._counsel: Counsel | None = None
        self._hurry: InTime | None = None
        """What is said to be likelier to help in the time left."""

    @property
    def small(self) -> bool:
        """Whether there is little room for the reason."""
        return self.size.height <= SMALL

    @property
    def walk(self) -> WalkState:
        """The open walk; NotAllowed when it has ended."""
        if self.state.walk is None:
            raise NotAllowed("This fault walk is over.", "q goes back.")
        return self.state.walk

    def ask(self) -> Ask:
        """What stands on the screen: taken out of turn, or what the core puts next."""
        if self._taken:
            taken = self.desk.ask_again(self.state, self._tree, self._taken)
            if taken is not None:
                return taken
        return self.counsel.next(self.state)[0]

    @property
    def counsel(self) -> Counsel:
        """Which step comes next and why; made once a walk."""
        if self._counsel is None:
            self._counsel = Counsel(self.desk, self.state, self._tree, by_author=self.desk.by_author)
        return self._counsel

    def words(self, node: str) -> str:
        """The sentence of a node, for lists."""
        if node not in self._words:
            ask = self.desk.ask_again(self.state, self._tree, node)
            self._words[node] = ask.do if ask else node
        return self._words[node]

    def _reason(self) -> list[Line]:
        """Why this step comes now; of one taken out of turn, only that it was."""
        if self._taken:
            self._hurry = None
            return [Line("reason", "taken out of turn; u goes back to what is suggested")]
        self._hurry = self.counsel.in_time(self.state)
        stopgap = self.counsel.stopgap_waits(self.state)
        width = self.size.width if self.small else 0
        return view.reason_lines(self.counsel.next(self.state)[1], self._hurry, stopgap=stopgap, width=width)

    def _caution_due(self) -> bool:
        begun = bool(self.walk.answers) and not self.walk.item  # answers carried over are of another day
        return bool(self._tree.caution) and not self._read_cautions and not begun

    def _asked(self) -> Ask:
        """The ask that an answer is for; NotAllowed while something else is on the screen."""
        if self._caution_due():
            raise NotAllowed("Read the caution first.", "Enter goes on.")
        if self.walk.restored:
            raise NotAllowed("Sound is back.", "A digit names the cause, d says it is not known, u takes it back.")
        return self.ask()

    def _take(self, node: str) -> None:
        self._taken, self._ready = node, ""
        self.show_all()

    def action_odds(self) -> None:
        """What is still likely, as bars."""
        with self.saying_why():
            self._asked()
            self.showday.push_screen(OddsScreen(self.counsel.likely(self.state)))

    def action_order(self) -> None:
        """The computed order or the author's."""
        with self.saying_why():
            self._asked()
            self.counsel.switch_order()
            self.showday.order_by(self.counsel.by_author)
            self._taken = self._ready = ""
            self.show_all()
            self.showday.say("In the author's order." if self.counsel.by_author else "In the computed order.")

    def action_goal(self) -> None:
        """Restore sound first, or look for the cause."""
        with self.saying_why():
            self._asked()
            if self.counsel.by_author:
                raise NotAllowed("The author's order has no goal.", "F3 computes one that has.")
            self.counsel.switch_goal()
            self._taken = self._ready = ""
            self.show_all()
            sound = "Sound first: workarounds are offered too."
            self.showday.say(sound if self.counsel.restore_first else "Cause first: no workarounds.")

    def action_in_time(self) -> None:
        """Take the step that was said to be likelier to help in the time left."""
        with self.saying_why():
            self._asked()
            if self._hurry is None:
                raise NotAllowed("No other step is clearly likelier to help in time.")
            self._take(self._hurry.step)

"""The fault walk: one thing to look at or to do, and its answers under digits."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll

from showday.counsel import heard_nodes
from showday.errors import NotAllowed
from showday.fault.walk import CANT_NOW, DONT_KNOW, NO_CHANGE, WORKED, Ask, put_off
from showday.run import events as ev
from showday.tui import commands as cmd
from showday.tui import run_view
from showday.tui import walk_view as view
from showday.tui.lines import Choice
from showday.tui.messages import RowPicked
from showday.tui.screens.advised import Advised
from showday.tui.screens.choosing import ask_to_close
from showday.tui.screens.modals import ListModal
from showday.tui.widgets.choices import Choices, KeyBar
from showday.tui.widgets.lines import Lines
from showday.tui.widgets.row_list import RowList
from showday.tui.widgets.step_card import StepCard

KEYS = ("undo", "show-list", "odds", "wrong", "note", "interrupt", "away", "radio", "light")


class WalkScreen(Advised):
    """One open fault walk of a run; it ends by itself when sound is back or nobody can help."""

    WHERE = cmd.WALK
    BINDINGS: ClassVar[list[BindingType]] = [*cmd.bindings(cmd.WALK), *cmd.digit_bindings()]

    # -- what is before the person -----------------------------------------------------------------------------

    def place(self) -> str:
        """The fault, and what it is about."""
        return view.title_of(self.state.walk) if self.state.walk else ""

    def doing(self) -> str:
        """What is to be looked at or done."""
        return self.ask().do if self.state.walk else ""

    def noted_at(self) -> str:
        """The step at which the fault was found."""
        return self.state.walk.step if self.state.walk else ""

    def count(self) -> str:
        """Answers given, the time spent on this fault, and which order or goal is followed."""
        mode = view.mode_words(self.counsel.by_author, self.counsel.restore_first)
        return f"{view.count_words(self.session)} | {mode}" if self.state.walk else ""

    def _candidates(self) -> list[tuple[str, str]]:
        by = self.desk.ask_again(self.state, self._tree, self.walk.by) if self.walk.by else None
        return view.cause_candidates(self._tree, by)

    def compose(self) -> ComposeResult:
        """Standing lines above, the ask and its answers in the middle, keys below."""
        yield Lines(id="standing")
        yield Lines(id="warning")
        with Horizontal(id="middle"):
            with VerticalScroll(id="stage", can_focus=False):
                yield Lines(id="banner")
                yield StepCard(id="card")
                yield Lines(id="answered")
            yield RowList(id="pane", focusable=False)
        with VerticalScroll(id="rows-box", can_focus=False):
            yield Choices(id="rows")
        yield KeyBar(rows=2, id="others")
        yield Lines(id="said")
        yield KeyBar(rows=2, id="keys")

    def show_all(self) -> None:
        """Show what comes next, or the question for the cause once sound is back."""
        if self.state.walk is None:
            return
        walk = self.walk
        answered = view.answered_lines(walk, self.words, 3, heard_nodes(self.state))
        others: list[Choice] = []
        if self._caution_due():
            card, rows, answered = view.caution_card(self._tree), [_GO_ON], []
        elif walk.restored:
            left = self.counsel.spares_left(walk.uses) - 1 if walk.uses else None
            card = view.cause_card(walk, self.words, None if left is None else max(0, left))
            rows, answered = view.cause_choices(self._candidates()), []
        else:
            ask = self.ask()
            ready = self._ready == ask.id
            card = view.ask_card(
                ask,
                ready=ready,
                again=put_off(walk.answers).get(ask.id, 0) > 0,
                reason=self._reason(),
                left=self.counsel.spares_left(ask.uses) if ask.uses else None,
                small=self.small,
            )
            rows = view.ask_choices(ask, ready=ready, see=self._see(ask))
            others = view.other_choices(ask)
        with self.showday.batch_update():
            self.show_standing()
            self._show_banner()
            self.query_one("#card", StepCard).show(card)
            self.query_one("#rows", Choices).show(rows)
            self.query_one("#others", KeyBar).show(others)
            self.query_one("#answered", Lines).show(answered)
            keys = [Choice(c.key, c.label, c.action) for c in map(cmd.command, (*KEYS, "help", "back"))]
            self.query_one("#keys", KeyBar).show(keys)
            self._show_pane()
            self.to_top()
        self.call_after_refresh(self.look_ahead)

    def _show_banner(self) -> None:
        lines = run_view.absence_lines(self.state, last=view.last_words(self.walk, self.words))
        banner = self.query_one("#banner", Lines)
        banner.show(lines)
        banner.display = bool(lines)

    def _show_pane(self) -> None:
        if not self.has_class("-wide") or self.state.walk is None:
            return
        rows = self._list_rows()
        at = None if self.walk.restored else 0
        self.query_one("#pane", RowList).show([row for _, row in rows], at)

    def on_resize(self) -> None:
        """The list beside the ask comes and goes with the width."""
        if self.whole:
            self.show_all()

    def _see(self, ask: Ask) -> str:
        tree = self.desk.library.trees.get(ask.see) if ask.see else None
        return str(tree.title) if tree else ""

    # -- answers -----------------------------------------------------------------------------------------------

    def _answer(self, ask: Ask, answer: str) -> None:
        if ask.irreversible and self._ready != ask.id and answer not in (CANT_NOW, DONT_KNOW):
            raise NotAllowed("Everyone notices this one.", "y first, when the moment is right.")
        self.session.answer_walk(ask, answer)
        self._taken = self._ready = ""
        if ask.kind == "help" and answer == NO_CHANGE:
            self._end()
        else:
            self.show_all()

    def action_choose(self, digit: int) -> None:
        """The answer of this number, or the cause of this number once sound is back."""
        with self.saying_why():
            if self.walk.restored:
                self._cause(digit)
                return
            ask = self._asked()
            ready = self._ready == ask.id
            rows = [*view.ask_choices(ask, ready=ready, see=self._see(ask)), *view.other_choices(ask)]
            offered = [row.key for row in rows]
            if str(digit) not in offered:
                needs_yes = "y" in offered
                raise NotAllowed(
                    "Everyone notices this one." if needs_yes else f"There is no answer {digit} here.",
                    "y first, when the moment is right." if needs_yes else "",
                )
            if digit <= len(ask.answers):
                self._answer(ask, ask.answers[digit - 1])
            elif digit == 3:
                self._by_itself()
            else:
                self._go_on_with(ask)

    def _cause(self, digit: int) -> None:
        causes = self._candidates()[: view.MOST]
        if digit > len(causes):
            raise NotAllowed(f"There is no cause {digit}.", "d says it is not known.")
        self._end(causes[digit - 1][0])

    def action_good(self) -> None:
        """It is good: what is on the screen brought sound back; at a check it came back by itself."""
        with self.saying_why():
            ask = self._asked()
            if ask.kind == "check":
                self._by_itself()
            else:
                self._answer(ask, WORKED)

    def _by_itself(self) -> None:
        self.session.restored_by_itself()
        self.show_all()

    def _go_on_with(self, ask: Ask) -> None:
        """Another tree goes on from here: this walk ends as it is, the other one begins at the same step."""
        self.showday.open_walk(ask.see)

    def action_dont_know(self) -> None:
        """No answer to this check; or the cause is not known."""
        with self.saying_why():
            if self.walk.restored:
                self._end()
                return
            ask = self._asked()
            if ask.kind != "check":
                raise NotAllowed("This is something to do.", "1, 2 or c answers it.")
            self._answer(ask, DONT_KNOW)

    def action_cant_now(self) -> None:
        """Put it aside; it is offered again before help."""
        with self.saying_why():
            ask = self._asked()
            if ask.kind == "help":
                raise NotAllowed("Help is the last thing there is.", "q goes back; it is kept on the to-fix list.")
            self._answer(ask, CANT_NOW)

    def action_yes(self) -> None:
        """The second key of what everyone notices."""
        with self.saying_why():
            ask = self._asked()
            if not ask.irreversible:
                raise NotAllowed("This one needs no second key.")
            self._ready = ask.id
            self.show_all()

    def action_go_on(self) -> None:
        """On from the cautions."""
        with self.saying_why():
            if self._caution_due():
                self._read_cautions = True
                self.show_all()

    def action_undo(self) -> None:
        """Take back the last answer; of a step taken out of turn, first the taking of it."""
        with self.saying_why():
            out_of_turn = bool(self._taken) and not self.walk.restored
            if not out_of_turn:
                self.session.undo()
            self._taken = self._ready = ""
            self.show_all()
            self.showday.say("Back to what is suggested." if out_of_turn else "Taken back.")

    def action_look_back(self) -> None:
        """The last one again: the same as taking its answer back."""
        self.action_undo()

    # -- the rest ----------------------------------------------------------------------------------------------

    def action_show_list(self) -> None:
        """Everything in the tree, to take any of it out of turn."""
        with self.saying_why():
            self._asked()
            rows = self._list_rows()

            def picked(index: int | None) -> None:
                if index is not None:
                    self._take(rows[index][0])

            self.showday.push_screen(ListModal(self.walk.title, [row for _, row in rows], 0), picked)

    def _list_rows(self) -> list[tuple[str, str]]:
        suggested = self.counsel.next(self.state)[0].id if self._taken else ""
        return view.list_rows(self.walk, self.words, self.ask().id, suggested)

    def on_row_picked(self, message: RowPicked) -> None:
        """A row of the list beside the ask was clicked."""
        message.stop()
        with self.saying_why():
            self._asked()
            self._take(self._list_rows()[message.index][0])

    def action_back(self) -> None:
        """Back to the step; what was answered is kept."""
        with self.saying_why():
            self._end()

    def _end(self, cause: str = "") -> None:
        """End the walk: restored, unsolved or left, as the core finds it."""
        self.session.end_walk(cause, odds=self.counsel.odds(self.state, cause))
        ended = self.state.walks[-1]
        if ended.outcome == ev.RESTORED:
            said = "Sound is back" + (", cause kept." if cause else ", cause not known.")
        elif ended.outcome == ev.UNSOLVED:
            said = "Not solved: it is on the to-fix list."
        else:
            said = "Left; it is on the to-fix list." if ended.answers or ended.item else ""
        ask_to_close(
            self.showday, ended, self._cause_words(cause), lambda: self.showday.walk_ended(self.session, said)
        )

    def _cause_words(self, cause: str) -> str:
        return next((what for name, what in view.cause_candidates(self._tree, None) if name == cause), "")


_GO_ON = Choice("Enter", "I have read it", "go_on", "strong")

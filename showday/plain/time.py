"""The time of a run as lines: the forecast, and what to leave out when it will not fit."""

from __future__ import annotations

from showday import pace_words
from showday.desk import Desk
from showday.plain import words
from showday.plain.talk import Talk
from showday.run.session import Session
from showday.text.safe import one_line
from showday.timekeeping import Timekeeper


class TimeTalk:
    """Says when one run will be over. The log is read when the first forecast is asked for."""

    def __init__(self, desk: Desk, session: Session, talk: Talk) -> None:
        self._keeper = Timekeeper(desk, session)
        self._talk = talk

    def line(self) -> str:
        """The forecast in one line."""
        self._ready()
        outlook = self._keeper.outlook()
        return pace_words.outlook_words(outlook) if outlook else ""

    def talk_over(self) -> bool:
        """Say the forecast and, when it will not fit, ask whether to leave out what is proposed; or ask those again.

        True when that has changed what is to be asked.
        """
        self._talk.part("Forecast", self.line())
        outlook = self._keeper.outlook()
        if outlook is None or not outlook.open:
            return self._back()
        self._talk.say(one_line(pace_words.BAR_SAYS + "."))
        self._talk.say(pace_words.about_words(outlook))
        proposal = self._keeper.proposal()
        if proposal is None:
            self._talk.say(pace_words.NO_END)
        else:
            for line in pace_words.dropped_lines(proposal):
                self._talk.part("Would be left out", line)
            self._talk.say(pace_words.verdict_words(proposal))
            if proposal.dropped and self._agreed("leave out", "Leave these out?"):
                self._keeper.take(proposal)
                self._talk.say(f"Noted: {len(proposal.dropped)} left out. The word time asks them again.")
                return True
        return self._back()

    def _back(self) -> bool:
        taken = self._keeper.taken()
        if not taken or not self._agreed("ask again", f"Ask the {len(taken)} that were left out again?"):
            return False
        self._talk.say(f"Noted: {self._keeper.give_back()} are asked again.")
        return True

    def _agreed(self, what: str, question: str) -> bool:
        return words.fold(self._talk.ask(f"yes {what}", question)) in ("yes", "y")

    def _ready(self) -> None:
        if not self._keeper.ready:
            self._keeper.learn()
            self._keeper.draw()

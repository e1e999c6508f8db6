"""The tools beside the lists: the frequencies, the ears, the forecast; one of each for all screens of the app."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.app import App

from showday.errors import ShowdayError

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.ears import Ears
    from showday.fault.model import Tree
    from showday.run.session import Session
    from showday.timekeeping import Timekeeper


class Tools(App[int]):
    """An app with the tools of an evening. What a tool needs is imported when it is first opened."""

    desk: Desk
    session: Session | None
    """The run that is open, if any; a fault walk belongs to it."""
    _time: Timekeeper | None = None
    _ears: Ears | None = None

    def say(self, text: str, *, warning: bool = False) -> None:
        """Say something about the last key."""
        raise NotImplementedError

    def or_say(self, act: Callable[[], object]) -> None:
        """Do it, or say why it cannot be done."""
        try:
            act()
        except ShowdayError as trouble:
            self.say(str(trouble), warning=True)

    def open_radio(self) -> None:
        """The frequencies; what is kept there is noted in the run that is open."""
        from showday.tui.screens.radio import RadioScreen

        self.or_say(lambda: self.push_screen(RadioScreen(self.session)))

    @property
    def ears(self) -> Ears:
        """What listens, for all screens; closed until a device is chosen."""
        if self._ears is None:
            from showday.ears import Ears

            self._ears = Ears(self.desk.rig)
        return self._ears

    def listening(self) -> bool:
        """Whether something is listened to; brings nothing along that listening needs."""
        return self._ears is not None and self._ears.live

    def open_listen(self) -> None:
        """The channels as meters."""
        from showday.tui.screens.listen import ListenScreen

        self.or_say(lambda: self.push_screen(ListenScreen(self.ears, self.session)))

    def on_unmount(self) -> None:
        """Let go of the sound device."""
        if self._ears is not None:
            self._ears.close()

    def timekeeper(self, session: Session) -> Timekeeper:
        """What forecasts this run; one for all its screens."""
        if self._time is None or self._time.session is not session:
            from showday.timekeeping import Timekeeper

            self._time = Timekeeper(self.desk, session)
        return self._time

    def answer_what_was_heard(self, session: Session, tree: Tree) -> None:
        """Give the walk that has just begun the answers that listening has; nothing when nothing is listened to."""
        if not self.listening() or session.state.walk is None:
            return
        from showday.counsel import answer_by_ear

        evidence = self.ears.evidence(session.state.walk.thing)
        if evidence is not None:
            answer_by_ear(session, tree, evidence)

"""The tools beside the lists: the frequencies, the ears, the forecast; one of each for all screens of the app."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from textual.app import App

from showday.errors import ShowdayError

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.ears import Ears
    from showday.fault.model import Tree
    from showday.playbook.model import Playbook
    from showday.run.session import Session
    from showday.timekeeping import Timekeeper

PAINTED = 0.05
"""Seconds after which a new screen stands (a choice of this program): what can wait begins then."""
PAUSE = 0.01
"""Seconds between two parts of what can wait: time for a key, and for what it paints."""


class Tools(App[int]):
    """An app with the tools of an evening. What a tool needs is imported when it is first opened."""

    session: Session | None
    """The run that is open, if any; a fault walk belongs to it."""
    _desk: Desk
    _rest: Iterator[None] | None = None
    """What makes the desk whole, while that is not done."""
    _time: Timekeeper | None = None
    _ears: Ears | None = None

    @property
    def desk(self) -> Desk:
        """Where all facts come from and go to; whoever asks for it gets it whole."""
        while self.make_some():
            pass
        return self._desk

    @property
    def titles(self) -> Mapping[str, Playbook]:
        """The playbooks by id, as far as titles go; they can be asked for before the desk is whole."""
        return self._desk.library.heads()

    @property
    def whole(self) -> bool:
        """Whether nothing of the desk is still to be made."""
        return self._rest is None

    def make_some(self) -> bool:
        """Make one more part of the desk, so that a key may come between; whether there is more."""
        if self._rest is not None and next(self._rest, self) is self:
            self._rest = None
        return self._rest is not None

    def read_on(self) -> None:
        """Read what is left of the shelf's files once a screen stands, one at a time."""
        if self.desk.library.read_some():
            self.set_timer(PAUSE, self.read_on)

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
        walk = session.state.walk
        if not self.listening() or walk is None or walk.restored:  # what sounds good again tells nothing of the fault
            return
        from showday.counsel import answer_by_ear

        evidence = self.ears.evidence(walk.thing)
        if evidence is not None:
            answer_by_ear(session, tree, evidence)

"""The plain front from its first line to its last."""

from __future__ import annotations

import contextlib

from showday.desk import Desk
from showday.errors import ShowdayError
from showday.plain.ending import say_end, say_going_on
from showday.plain.run import RunTalk
from showday.plain.talk import Ended, Talk
from showday.plain.walk import walk_fault
from showday.run.phases import FINISHED, INTERRUPTED
from showday.run.session import Session

STOPPED_BY_KEY = 130
"""Exit status of a program ended by the interrupt key, as shells have it (128 + SIGINT)."""


def walk_plain(desk: Desk, session: Session, talk: Talk) -> int:
    """Walk a run or a fault walk line by line; the exit status.

    At the end of input the run is left as it is, to be gone on with.
    """
    code = 0
    try:
        if session.state.plan.playbook:
            RunTalk(desk, session, talk).walk()
        else:
            say_going_on(talk, session)
            walk_fault(desk, session, talk)
    except Ended:
        if session.state.phase not in (FINISHED, INTERRUPTED):
            with contextlib.suppress(ShowdayError):
                session.interrupt()
    except KeyboardInterrupt:
        code = STOPPED_BY_KEY  # nothing more is written: the key may have come in the middle of writing
    say_end(talk, session)
    return code

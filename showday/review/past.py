"""One run of the past, as everything that looks back is handed it."""

from __future__ import annotations

from dataclasses import dataclass

from showday.log.records import RunRecord
from showday.run import events as ev
from showday.run.state import RunState


@dataclass(frozen=True, slots=True)
class PastRun:
    """One run of the log with everything needed to read it."""

    record: RunRecord
    state: RunState
    entries: tuple[ev.Entry, ...]

"""Events as one kind word and one JSON text, and back. What this program cannot read is carried unchanged."""

from __future__ import annotations

import json
import math
import types
import typing
from collections.abc import Callable
from dataclasses import MISSING, dataclass, fields
from functools import cache, lru_cache
from typing import Any

from showday.log.records import LONE
from showday.run import air
from showday.run import events as ev
from showday.run import touring as tour
from showday.run.events import Event

RUN, TOURING = "run", "touring"

KINDS: dict[str, type[Event]] = {
    "run-started": ev.RunStarted,
    "step-begun": ev.StepBegun,
    "step-answered": ev.StepAnswered,
    "steps-left-out": ev.StepsLeftOut,
    "steps-taken-back": ev.StepsTakenBack,
    "reading-taken": ev.ReadingTaken,
    "note-added": ev.NoteAdded,
    "undone": ev.Undone,
    "away-changed": ev.AwayChanged,
    "run-interrupted": ev.RunInterrupted,
    "run-resumed": ev.RunResumed,
    "walk-opened": ev.WalkOpened,
    "walk-answered": ev.WalkAnswered,
    "sound-restored": ev.SoundRestored,
    "cause-confirmed": ev.CauseConfirmed,
    "walk-ended": ev.WalkEnded,
    "came-back": ev.CameBack,
    "run-finished": ev.RunFinished,
    "venue-added": tour.VenueAdded,
    "venue-renamed": tour.VenueRenamed,
    "venue-merged": tour.VenueMerged,
    "venue-unmerged": tour.VenueUnmerged,
    "venue-noted": tour.VenueNoted,
    "show-planned": tour.ShowPlanned,
    "show-changed": tour.ShowChanged,
    "show-away-changed": tour.ShowAwayChanged,
    "show-linked": tour.ShowLinked,
    "to-fix-opened": tour.ToFixOpened,
    "to-fix-noted": tour.ToFixNoted,
    "to-fix-assigned": tour.ToFixAssigned,
    "to-fix-closed": tour.ToFixClosed,
    "to-fix-reopened": tour.ToFixReopened,
    "to-fix-withdrawn": tour.ToFixWithdrawn,
    "file-attached": tour.FileAttached,
    "file-detached": tour.FileDetached,
    "sweep-kept": air.SweepKept,
    "plan-kept": air.PlanKept,
    "spare-taken": air.SpareTaken,
    "spare-returned": air.SpareReturned,
}
"""The word that stands for each event in every log ever written: add to it, never change it."""


@dataclass(frozen=True, slots=True)
class Unknown(Event):
    """An event that this program cannot read: of a newer one, or damaged. It is kept as it came."""

    kind: str
    body: str


WORDS: dict[type[Event], str] = {made: kind for kind, made in KINDS.items()}
_FIELDS = {made: sorted(f.name for f in fields(made)) for made in KINDS.values()}
"""Names of the fields in the order they are written."""
TOURING_TYPES = frozenset((*tour.TOURING_EVENTS, *air.AIR_EVENTS))
_NOT_FINITE = {"inf": math.inf, "-inf": -math.inf, "nan": math.nan}
_write = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode


def family(kind: str) -> str:
    """`touring` for venues, shows, to-fix items and what is kept of the air; `run` for the rest, unknown kinds too."""
    return TOURING if KINDS.get(kind) in TOURING_TYPES else RUN


def encode(event: Event) -> tuple[str, str]:
    """The event's kind and its JSON text, the same text for the same event.

    Always valid JSON (RFC 8259) and valid Unicode: a number that is not finite is written as `"inf"`, `"-inf"` or
    `"nan"`, half of a surrogate pair as its `\\u` escape.
    """
    if isinstance(event, Unknown):
        return event.kind, event.body
    made = type(event)
    values = {name: getattr(event, name) for name in _FIELDS[made]}
    try:
        body = _write(values)
    except ValueError:
        body = _write({name: _finite(value) for name, value in values.items()})
    if not body.isascii():
        body = LONE.sub(lambda m: f"\\u{ord(m.group()):04x}", body)
    return WORDS[made], body


def member(name: str, value: str) -> str:
    """How a field with this text stands in the JSON text of every event that has it."""
    return _write({name: value})[1:-1]


def _finite(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_finite(part) for part in value]
    return str(value) if isinstance(value, float) and not math.isfinite(value) else value


def decode(kind: str, body: str) -> Event:
    """The event of a kind and a JSON text; ValueError when the text is damaged.

    A kind or a field that this program does not know gives `Unknown`, which encodes back to the same two texts.
    """
    return _decode_again(kind, body) if len(body) <= _SHORT else _decode(kind, body)


def _decode(kind: str, body: str) -> Event:
    try:
        data = json.loads(body)
    except RecursionError:
        raise ValueError(f"'{kind}' is nested too deep") from None
    if not isinstance(data, dict):
        raise ValueError(f"'{kind}' is not a JSON object")
    if kind not in KINDS:
        return Unknown(kind, body)
    made, readers, required = _shape(kind)
    if not data.keys() <= readers.keys():
        return Unknown(kind, body)
    for name in required:
        if name not in data:
            raise ValueError(f"'{kind}' lacks '{name}'")
    return made(**{name: readers[name](name, value) for name, value in data.items()})


_SHORT = 300
# The same short events stand in every run of a playbook; events are frozen, so one can stand for all.
_decode_again = lru_cache(maxsize=8192)(_decode)


def readable(kind: str, body: str) -> Event:
    """Like `decode`, but what is damaged is carried as `Unknown` too, so that one entry never hides the others."""
    try:
        return decode(kind, body)
    except ValueError:
        return Unknown(kind, body)


_Reader = Callable[[str, Any], Any]


@cache
def _shape(kind: str) -> tuple[type[Event], dict[str, _Reader], tuple[str, ...]]:
    made = KINDS[kind]
    hints = typing.get_type_hints(made)
    readers = {f.name: _reader(hints[f.name]) for f in fields(made)}
    required = tuple(f.name for f in fields(made) if f.default is MISSING and f.default_factory is MISSING)
    return made, readers, required


def _reader(hint: Any) -> _Reader:
    """What turns a JSON value into a field of this type, or raises ValueError."""
    if hint is float:
        return _read_float
    if hint in (str, bool, int):
        return _read_exactly(hint)
    inner = typing.get_args(hint)
    if isinstance(hint, types.UnionType) and len(inner) == 2 and inner[1] is type(None):
        given = _reader(inner[0])
        return lambda name, value: None if value is None else given(name, value)
    if typing.get_origin(hint) is tuple:
        return _read_each(_reader(inner[0])) if inner[1:] == (...,) else _read_row([_reader(i) for i in inner])
    raise TypeError(f"the log has no form for a field of type {hint}")


def _read_exactly(wanted: type) -> _Reader:
    def read(name: str, value: Any) -> Any:
        if type(value) is not wanted:
            raise _wrong(name)
        return value

    return read


def _read_float(name: str, value: Any) -> float:
    if type(value) is float:
        return value
    if type(value) is int:
        try:
            return float(value)
        except OverflowError:
            raise _wrong(name) from None
    if type(value) is str and value in _NOT_FINITE:
        return _NOT_FINITE[value]
    raise _wrong(name)


def _read_each(item: _Reader) -> _Reader:
    def read(name: str, value: Any) -> Any:
        if type(value) is not list:
            raise _wrong(name)
        return tuple([item(name, each) for each in value])

    return read


def _read_row(items: list[_Reader]) -> _Reader:
    def read(name: str, value: Any) -> Any:
        if type(value) is not list or len(value) != len(items):
            raise _wrong(name)
        return tuple([item(name, each) for item, each in zip(items, value, strict=True)])

    return read


def _wrong(name: str) -> ValueError:
    return ValueError(f"'{name}' is not what it should be")

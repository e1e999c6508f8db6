"""Entries made for the tests of the log; an entry's id follows from its stream and its place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from showday.log.codec import Unknown
from showday.log.records import Snapshot, snapshot_hash
from showday.run import air
from showday.run import events as ev
from showday.run import touring as tour
from showday.run.events import Entry, Event

EVERY_EVENT: dict[str, Event] = {
    "run-started": ev.RunStarted("line-check", "Line check", "a" * 64, ("b" * 64,), "v1", "s1", ("Ada",)),
    "step-begun": ev.StepBegun("signal@3"),
    "step-answered": ev.StepAnswered("signal@3", ev.LEFT_OUT, "no time", True, "meter"),
    "steps-left-out": ev.StepsLeftOut(("signal@3", "rest@3"), "no time"),
    "steps-taken-back": ev.StepsTakenBack(("rest@3",)),
    "reading-taken": ev.ReadingTaken("signal@3", -18.5, "dBFS", True),
    "note-added": ev.NoteAdded("the stage box is behind the curtain", "signal@3"),
    "undone": ev.Undone("e1"),
    "away-changed": ev.AwayChanged(("Ada", "Ben")),
    "run-interrupted": ev.RunInterrupted("soundcheck"),
    "run-resumed": ev.RunResumed(12.5),
    "walk-opened": ev.WalkOpened(
        "w1",
        "hum",
        "Hum",
        "c" * 64,
        (("one-line", ("yes", "no")), ("end", ())),
        "signal@3",
        "input 3, Kick",
        ("input", "3"),
        "i1",
    ),
    "walk-answered": ev.WalkAnswered("w1", "one-line", "yes", "meter"),
    "sound-restored": ev.SoundRestored("w1", "spare-di", True, "spare DI"),
    "cause-confirmed": ev.CauseConfirmed("w1", "di-loop"),
    "walk-ended": ev.WalkEnded("w1", ev.RESTORED, (("the cable is dead", 0.47), ("Something else", 0.05))),
    "came-back": ev.CameBack("w1"),
    "run-finished": ev.RunFinished(ev.COMPLETE),
    "venue-added": tour.VenueAdded("The Old Mill", "Anytown", "NO"),
    "venue-renamed": tour.VenueRenamed("The New Mill", "Anytown", "NO"),
    "venue-merged": tour.VenueMerged("v2"),
    "venue-unmerged": tour.VenueUnmerged(),
    "venue-noted": tour.VenueNoted("supply", "two rings; ask for the left one"),
    "show-planned": tour.ShowPlanned("v1", "2026-05-01", "21:30", 15.0, ("festival", "not indoors")),
    "show-changed": tour.ShowChanged("v1", "2026-05-02", "22:00", None, ()),
    "show-away-changed": tour.ShowAwayChanged(("Ben",)),
    "show-linked": tour.ShowLinked("20260501T2130-7@calendar.invalid"),
    "to-fix-opened": tour.ToFixOpened(
        "cable 7 crackles",
        "v1",
        "s1",
        "r1",
        "w1",
        "input 7",
        "spare cable",
        "crackle",
        (("the cable is dead", 0.47),),
    ),
    "to-fix-noted": tour.ToFixNoted("only when it is bent"),
    "to-fix-assigned": tour.ToFixAssigned("Ben", "2026-05-08"),
    "to-fix-closed": tour.ToFixClosed("new plug", "Ada"),
    "to-fix-reopened": tour.ToFixReopened("again at the second show"),
    "to-fix-withdrawn": tour.ToFixWithdrawn(),
    "file-attached": tour.FileAttached("/photos/supply.jpg", "the left socket"),
    "file-detached": tour.FileDetached("/photos/supply.jpg"),
    "sweep-kept": air.SweepKept(
        "v1",
        "s1",
        ("scan.csv",),
        470_000_000,
        694_000_000,
        "dBm",
        -101.5,
        (
            (558_000_000, 566_000_000, "32", "television", None, -61.25),
            (566_100_000, 566_300_000, "", "carrier", 7, None),
        ),
        (("In-ear 1", 606_100_000, True),),
        "d" * 64,
    ),
    "plan-kept": air.PlanKept(
        "v1",
        "s1",
        (("In-ear 1", 606_100_000, 350_000, "2A-B falls near", False, ()),),
        (("", 607_025_000, None, "", False, ("In-ear 1", "In-ear 2")),),
        True,
        350_000,
        None,
        "1 carriers and 1 spares",
        "nothing nearer",
        "sw1",
        400_000,
    ),
    "spare-taken": air.SpareTaken(607_025_000, "In-ear 1", "r1", "w1"),
    "spare-returned": air.SpareReturned("e9"),
}
"""One of each event, no field at its default, by its word in the log."""

HOSTILE: dict[str, str] = {
    "nothing": "",
    "NUL": "a\x00b",
    "escape sequence": "\x1b[2J\x1b]0;title\x07",
    "C1 control": "\x9b31m",
    "half a surrogate pair": "a\ud83d",
    "the other half": "\udcff\udc80",
    "halves the wrong way round": "\ude00\ud83d",
    "right-to-left override": "abc\u202egnp.exe",
    "quotes and backslashes": "\\\"\\\\u0000'; DROP TABLE entry; --",
    "line separators": "a\u2028b\u2029c\r\nd\x85",
    "beyond the first plane": "🎤𝄞",
    "not a character": "\uffff\ufdd0",
    "markup": "[/] [red]x[/red] {input.name} <b>&amp;",
    "long": "x" * 100_000,
}
"""Texts that a file, an import or a terminal may bring."""


def entry(event: Event, seq: int = 0, stream: str = "r1", **other: Any) -> Entry:
    """An entry of that place in a stream, one second an entry, unless `other` says otherwise."""
    at = f"2026-05-01T{18 + seq // 3600:02d}:{seq // 60 % 60:02d}:{seq % 60:02d}.000Z"
    values = {"id": f"{stream}-{seq}", "stream": stream, "seq": seq, "at": at, "elapsed": float(seq)}
    return Entry(**{**values, **other, "event": event})


def story(events: Sequence[Event], stream: str = "r1", first: int = 0) -> list[Entry]:
    """Entries of one stream, one after the other."""
    return [entry(event, seq, stream) for seq, event in enumerate(events, first)]


def started(venue: str = "v1", title: str = "Line check") -> ev.RunStarted:
    """The first event of a run."""
    return ev.RunStarted("line-check", title, "", venue=venue, show="s1")


def good(step: str = "signal@1") -> ev.StepAnswered:
    """An answer."""
    return ev.StepAnswered(step, ev.GOOD)


def walk_opened(walk: str = "w1") -> ev.WalkOpened:
    """A fault walk begins, by a tree that is in no file."""
    return ev.WalkOpened(walk, "hum", "Hum", "", (("one-line", ("yes", "no")),))


def an_evening() -> list[Entry]:
    """Two runs, two venues and an item, in the order they were entered."""
    line_check = [started("v1"), ev.StepBegun("signal@1"), good(), ev.NoteAdded("dark"), ev.RunFinished(ev.COMPLETE)]
    scan = [started("v2", "RF scan"), ev.StepBegun("sweep"), walk_opened()]
    return [
        *story([tour.VenueAdded("The Old Mill")], "v1"),
        *story([tour.VenueAdded("The Barn"), tour.VenueNoted("access", "by the yard")], "v2"),
        *story(line_check, "r1"),
        *[entry(event, seq, "r2", at=f"2026-05-02T18:00:{seq:02d}.000Z") for seq, event in enumerate(scan)],
        *story([EVERY_EVENT["to-fix-opened"]], "i1"),
    ]


def snapshot(text: str = "plan", kind: str = "plan", name: str = "line-check") -> Snapshot:
    """A snapshot with the right hash."""
    return Snapshot(snapshot_hash(kind, text), kind, name, text)


UNKNOWN = Unknown("lamp-lit", '{"where": "stage left", "lux": 3}')
"""An event of a newer program, not in the form that this one would write."""

"""The to-fix list: its events, and the items they fold into."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from showday.run.events import Entry, Event


@dataclass(frozen=True, slots=True)
class ToFixOpened(Event):
    """Something restored but not cured, or an open fault; the stream is the item's id."""

    text: str
    venue: str = ""
    show: str = ""
    run: str = ""
    walk: str = ""
    about: str = ""
    uses: str = ""
    """The spare that was used up."""
    fault: str = ""
    """The fault tree that was walked, for looking for the cause later."""
    odds: tuple[tuple[str, float], ...] = ()
    """What was still likely, cause in words and chance."""


@dataclass(frozen=True, slots=True)
class ToFixNoted(Event):
    """Words about an item."""

    text: str


@dataclass(frozen=True, slots=True)
class ToFixAssigned(Event):
    """Who sees to an item, and by when; replaces what was said before."""

    owner: str = ""
    due: str = ""
    """YYYY-MM-DD; empty when no day was named."""


@dataclass(frozen=True, slots=True)
class ToFixClosed(Event):
    """The item is cured: how, and by whom."""

    how: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class ToFixReopened(Event):
    """The item was not cured after all."""

    why: str = ""


@dataclass(frozen=True, slots=True)
class ToFixWithdrawn(Event):
    """What had opened the item was taken back; opened again, it says how it ended then, and keeps its notes."""


TO_FIX_EVENTS: tuple[type[Event], ...] = (
    ToFixOpened,
    ToFixNoted,
    ToFixAssigned,
    ToFixClosed,
    ToFixReopened,
    ToFixWithdrawn,
)


@dataclass(frozen=True, slots=True)
class ToFix:
    """One item of the to-fix list."""

    id: str
    text: str
    opened: str
    venue: str = ""
    show: str = ""
    run: str = ""
    walk: str = ""
    about: str = ""
    uses: str = ""
    notes: tuple[str, ...] = ()
    """What was found out since: the evidence in words. Files are in the book."""
    closed: str = ""
    """When it was closed; empty while it is open."""
    how: str = ""
    fault: str = ""
    odds: tuple[tuple[str, float], ...] = ()
    owner: str = ""
    due: str = ""
    """YYYY-MM-DD, or empty."""
    by: str = ""
    """Who closed it."""
    withdrawn: bool = False
    """True while what had opened it is taken back: it is then on no list."""

    def likely(self) -> str:
        """`then likely: cable dead 47%, muted 20%`, or the cause when it was known; empty when nothing was kept."""
        if len(self.odds) == 1 and self.odds[0][1] >= 1.0:
            return f"cause: {self.odds[0][0]}"
        named = ", ".join(f"{what} {round(100 * chance)}%" for what, chance in self.odds[:3])
        return f"then likely: {named}" if named else ""

    def overdue(self, today: str) -> bool:
        """Whether the day it was due has gone by; `today` as YYYY-MM-DD, empty when it is not known."""
        return bool(self.due and today and not self.closed and self.due < today)

    @property
    def order(self) -> tuple[str, str, str]:
        """Sorts what is due first to the top, then the oldest."""
        return (self.due or "9999-99-99", self.opened, self.id)


def item_words(item: ToFix, today: str = "", files: int = 0) -> str:
    """An item in one line: when, what, about what, who by when, what was used up, what is known, how it was closed.

    Its texts are foreign: show it as plain text.
    """
    about = f" ({item.about})" if item.about and item.about not in item.text else ""
    parts = [f"{item.opened[:10]}  {item.text}{about}", *_who_and_when(item, today)]
    parts += [f"used up: {item.uses}"] if item.uses else []
    parts += [item.likely()] if item.odds else []
    parts += item.notes
    parts += [f"{files} file{'' if files == 1 else 's'}"] if files else []
    if item.closed:
        by = f" by {item.by}" if item.by else ""
        parts.append(f"closed {item.closed[:10]}{by}{f': {item.how}' if item.how else ''}")
    return "; ".join(parts)


def _who_and_when(item: ToFix, today: str) -> list[str]:
    due = f"due {item.due}" if item.due else ""
    if item.overdue(today):
        due = f"OVERDUE since {item.due}"
    return [part for part in (item.owner, due) if part]


def _note(item: ToFix, entry: Entry, event: Any) -> ToFix:
    return replace(item, notes=(*item.notes, event.text))


def _assign(item: ToFix, entry: Entry, event: Any) -> ToFix:
    return replace(item, owner=event.owner, due=event.due)


def _close(item: ToFix, entry: Entry, event: Any) -> ToFix:
    return replace(item, closed=entry.at, how=event.how, by=event.by)


def _reopen(item: ToFix, entry: Entry, event: Any) -> ToFix:
    notes = (*item.notes, event.why) if event.why else item.notes
    return replace(item, closed="", how="", by="", notes=notes)


def _withdraw(item: ToFix, entry: Entry, event: Any) -> ToFix:
    return replace(item, withdrawn=True)


_FOLDS: dict[type[Event], Callable[[ToFix, Entry, Any], ToFix]] = {
    ToFixNoted: _note,
    ToFixAssigned: _assign,
    ToFixClosed: _close,
    ToFixReopened: _reopen,
    ToFixWithdrawn: _withdraw,
}


def fold_item(items: dict[str, ToFix], entry: Entry) -> None:
    """Take one entry of the to-fix list; a second opening, or words about an item that is not here, are passed over."""
    event = entry.event
    held = items.get(entry.stream)
    if isinstance(event, ToFixOpened):
        if held is None:
            items[entry.stream] = ToFix(
                entry.stream,
                event.text,
                entry.at,
                event.venue,
                event.show,
                event.run,
                event.walk,
                event.about,
                event.uses,
                fault=event.fault,
                odds=event.odds,
            )
        elif held.withdrawn:
            items[entry.stream] = replace(
                held,
                text=event.text,
                about=event.about,
                uses=event.uses,
                fault=event.fault,
                odds=event.odds,
                withdrawn=False,
            )
    elif held is not None:
        items[entry.stream] = _FOLDS[type(event)](held, entry, event)

"""Opening the desk from what was typed: log, rig, tonight's show, and the run to go on with."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from showday import paths
from showday.clockwork import SystemClock, new_id
from showday.desk import Desk
from showday.errors import FileTrouble, ProblemsFound, ShowdayError
from showday.library import SUFFIXES, Library, Source, load_library, load_rig, read_bytes
from showday.log.keeper import Keeper
from showday.log.records import RunRecord
from showday.memory import CALLED_SO, find_venues
from showday.playbook.model import CONDITIONS
from showday.rig.model import EMPTY, Rig
from showday.run import events as ev
from showday.run.session import Session, World
from showday.run.touring import Book, Show, Venue
from showday.text import values
from showday.text.fields import slug
from showday.text.folded import bare
from showday.text.problem import Problem, nearest
from showday.text.safe import one_line

NIGHT_ENDS = 6
"""Hour until which a night still belongs to the day before: a choice of this program."""
GO_ON_WITHIN = timedelta(hours=24)
"""How long a run that belongs to no show is offered to go on with: a choice of this program."""
CLOSE = 5.0
"""Points of likeness within which two finds count as equally near: a choice of this program."""

ALIKE = 85.0
"""Likeness in percent from which a new name may be an old one misspelt: a choice of this program."""

Tell = Callable[[str], None]
"""Says one sentence to the person, beside the work."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed about tonight; None and empty mean it was not said."""

    rig: str | None = None
    venue: str = ""
    new_venue: bool = False
    date: str = ""
    slot: str = ""
    changeover: str = ""
    facts: tuple[str, ...] = ()
    away: tuple[str, ...] = ()


# -- the rig ---------------------------------------------------------------------------------------------------


def open_rig(named: str | None, tell: Tell, *, needed: bool) -> tuple[Rig, Source | None]:
    """The rig named, or the person's own, or an empty one when there is none.

    A rig that cannot be used is an error when it was named or is `needed`: a line check without its lines would
    call itself complete. Otherwise it is told and an empty one is used.
    """
    path = Path(named) if named else paths.own_rig()
    if not named and not path.exists():
        if needed:
            tell("There is no rig file yet, so nothing of it is asked; `showday where` says where to put one.")
        return EMPTY, None
    rig, problems, source = load_rig(path)
    if rig is None:
        sentence = f"The rig file has problems: {_first(problems)}"
        if named or needed:
            raise FileTrouble(sentence, "Mend it, or name another one with --rig.")
        tell(f"{sentence} Going on without it.")
        return EMPTY, None
    if errors := [p for p in problems if not p.warning]:
        tell(f"The rig file has problems: {_first(errors)}")
    return rig, source


def _first(problems: Sequence[Problem]) -> str:
    errors = [p for p in problems if not p.warning]
    more = f" (and {len(errors) - 1} more; `showday check` names them)" if len(errors) > 1 else ""
    return f"{errors[0]}{more}." if errors else "it says nothing."


# -- the desk --------------------------------------------------------------------------------------------------


def open_desk(asked: Asked, keeper: Keeper, world: World, tell: Tell, *, rig_needed: bool = True) -> Desk:
    """The desk over this computer's files, with tonight's show settled."""
    library = load_library()
    broken = {p.file for p in library.problems_in(paths.own_playbooks()) if not p.warning}
    if broken:
        which = "One of your own files" if len(broken) == 1 else f"{len(broken)} of your own files"
        tell(f"{which} cannot be used; `showday check` says why.")
    rig, source = open_rig(asked.rig, tell, needed=rig_needed)
    desk = Desk(library, rig, source, keeper, world)
    settle_show(desk, asked, tell)
    return desk


def reading_desk(keeper: Keeper) -> Desk:
    """A desk that only reads the log: no files, no show."""
    return Desk(Library(), EMPTY, None, keeper, World(keeper, SystemClock(), new_id))


def show_day(now: datetime) -> date:
    """The day a show belongs to, by this computer's time zone: a night that runs late is still the day before."""
    return (now.astimezone() - timedelta(hours=NIGHT_ENDS)).date()


def settle_show(desk: Desk, asked: Asked, tell: Tell) -> None:
    """Make tonight's show of what was typed and what the log knows; what was not said stays as it was."""
    day = a_day(asked.date) if asked.date else show_day(desk.world.clock.now()).isoformat()
    book = desk.book()
    venue = _venue(desk, book, asked, tell) if asked.venue else ""
    held = _held(book, venue, day)
    desk.show = held.id if held else ""
    said = (asked.slot, asked.changeover, asked.facts, asked.date)
    if not venue and held is None:
        if any(said):
            raise ShowdayError(f"No show is entered for {day}.", "Name its place with --venue.")
    else:
        _plan(desk, asked, venue or (held.venue if held else ""), day, held)
    if asked.away:
        away = people_named(asked.away, desk.rig)
        if desk.show and away != desk.away():
            desk.set_away(away)


def _plan(desk: Desk, asked: Asked, venue: str, day: str, held: Show | None) -> None:
    slot = _slot(asked.slot) if asked.slot else held.slot if held else ""
    changeover = _minutes(asked.changeover) if asked.changeover else held.changeover if held else None
    facts = conditions(asked.facts) if asked.facts else held.facts if held else ()
    if held is None or (slot, changeover, facts) != (held.slot, held.changeover, held.facts):
        desk.plan_show(held.venue if held else venue, day, slot, changeover, facts)


def _held(book: Book, venue: str, day: str) -> Show | None:
    """The show of that day: at the venue when one is named, else the only one there is."""
    shows = [s for s in book.shows.values() if s.date == day]
    if venue:
        shows = [s for s in shows if s.venue in book.same_place(venue)]
        return shows[0] if shows else None
    return shows[0] if len(shows) == 1 else None


def _venue(desk: Desk, book: Book, asked: Asked, tell: Tell) -> str:
    """The id of the venue typed: the one of that name, or a new one when none is like it."""
    name = asked.venue.strip()
    found = [venue for venue, likeness in find_venues(book, name) if likeness >= ALIKE]
    same = [v for v in found if bare(name) in map(bare, (v.name, *v.former))]
    if len(same) == 1 and not asked.new_venue:
        return same[0].id
    if found and not asked.new_venue:
        listed = "; ".join(place(v) for v in found[:5])
        raise ProblemsFound(
            f"There is no venue called '{one_line(name, 60)}' yet. Like it: {listed}.",
            "Write one of these names, or add --new-venue to enter a new one.",
        )
    tell(f"New venue: {one_line(name, 100)}.")
    return desk.add_venue(name)


def place(venue: Venue) -> str:
    """A venue's name with its town."""
    return one_line(f"{venue.name} ({venue.town})" if venue.town else venue.name, 100)


def one_venue(book: Book, typed: str) -> Venue:
    """The venue meant by a few words; ProblemsFound when none or several are."""
    found = find_venues(book, typed)
    if not found:
        known = "; ".join(place(v) for v in book.places()[:8])
        hint = f"The log knows: {known}." if known else "The log knows no venue yet."
        raise ProblemsFound(f"No venue is called anything like '{one_line(typed, 60)}'.", hint)
    exact = [venue for venue, likeness in found if likeness == CALLED_SO]
    close = exact or [venue for venue, likeness in found if likeness > found[0][1] - CLOSE]
    if len(close) > 1:
        listed = "; ".join(place(v) for v in close[:8])
        hint = "Write more of the name, or the town behind it."
        if len(set(map(place, close))) == 1:
            hint = "If that is one place, `showday venue merge` with this name twice makes it one."
        raise ProblemsFound(f"Several venues are like '{one_line(typed, 60)}': {listed}.", hint)
    return close[0]


# -- small things typed ------------------------------------------------------------------------------------------


def a_day(text: str) -> str:
    """A date as YYYY-MM-DD; ShowdayError when it is none."""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise ShowdayError(f"'{one_line(text, 40)}' is not a date.", "Write it as YYYY-MM-DD.") from None


def _slot(text: str) -> str:
    try:
        return values.clock_time(text)
    except ValueError:
        raise ShowdayError(f"'{one_line(text, 40)}' is not a time of day.", "Write it as HH:MM.") from None


def _minutes(text: str) -> float:
    try:
        minutes = values.number(text.strip().removesuffix("min"))
    except ValueError:
        minutes = 0.0
    if not 0 < minutes <= 24 * 60:
        raise ShowdayError(f"'{one_line(text, 40)}' is not a time for a changeover.", "Write minutes, such as 20.")
    return minutes


def conditions(typed: Iterable[str]) -> tuple[str, ...]:
    """Facts about the show as `when` knows them; `not` belongs to the word behind it."""
    words = " ".join(typed).replace(",", " ").lower().split()
    made: list[str] = []
    negated = False
    for word in words:
        if word == "not":
            negated = True
            continue
        if word not in CONDITIONS:
            meant = nearest(word, CONDITIONS)
            hint = f"Did you mean {meant}?" if meant else f"Facts are: {', '.join(CONDITIONS)}."
            raise ShowdayError(f"'{one_line(word, 40)}' is not a fact about a show.", hint)
        made.append(f"not {word}" if negated else word)
        negated = False
    if negated:
        raise ShowdayError("'not' needs a fact behind it.", "Such as: not indoors.")
    return tuple(dict.fromkeys(made))


def people_named(typed: Iterable[str], rig: Rig) -> tuple[str, ...]:
    """Names as the rig file writes them; unknown ones are an error once the rig names anybody."""
    known = {bare(name): name for name in _people(rig)}
    named = []
    for name in typed:
        for part in filter(str.strip, name.split(",")):
            if known and bare(part) not in known:
                meant = known.get(nearest(bare(part), known), "")
                hint = f"Did you mean {meant}?" if meant else f"It names: {', '.join(known.values())}."
                raise ShowdayError(f"'{one_line(part, 60)}' is not in the rig file.", one_line(hint, 300))
            named.append(known.get(bare(part), part.strip()))
    return tuple(dict.fromkeys(named))


def _people(rig: Rig) -> list[str]:
    named = [str(p.name) for p in rig.people]
    named += [str(line.person) for line in rig.inputs if line.person]
    named += [str(pack.person) for pack in rig.packs if pack.person]
    named += [str(name) for mix in rig.mixes for name in mix.people]
    return list(dict.fromkeys(named))


# -- what to walk ------------------------------------------------------------------------------------------------


def playbook_named(library: Library, typed: str) -> str:
    """The id of the playbook meant: an id, a title, or a file, which then joins the shelf."""
    if typed.endswith(SUFFIXES) or "/" in typed or "\\" in typed:
        return _playbook_file(library, Path(typed))
    heads = library.heads()
    for id, book in heads.items():
        if typed in (id, book.playbook) or bare(typed) == bare(str(book.title)):
            return id
    if slug(typed) in heads:
        return slug(typed)
    known = ", ".join(str(b.playbook) for b in library.in_order())
    meant = nearest(slug(typed), library.playbooks)
    if any(Path(p.file).stem == typed and not p.warning for p in library.problems):
        raise ProblemsFound(f"The playbook '{one_line(typed, 60)}' has problems.", "`showday check` names them.")
    hint = f"Did you mean {meant}?" if meant else f"There are: {one_line(known, 400)}."
    raise FileTrouble(f"There is no playbook '{one_line(typed, 60)}'.", hint)


def _playbook_file(library: Library, path: Path) -> str:
    from showday.playbook.reader import read_playbook

    raw = read_bytes(path)
    book, problems = read_playbook(raw, str(path), set(library.trees))
    if book is None:
        raise ProblemsFound(f"{one_line(str(path), 200)} has problems: {_first(problems.in_order())}")
    library.playbooks[path.stem] = book
    library.sources["playbook", path.stem] = Source("playbook", path.stem, str(path), raw.decode("utf-8-sig"), True)
    return path.stem


def faults_like(desk: Desk, words: str) -> list[str]:
    """Ids of the fault trees that sound like the words, best first; more than one only when they are close."""
    from showday.playbook.search import search

    asked = bare(words)
    named = [
        id for id, t in desk.library.trees.items() if asked in map(bare, (id, str(t.title), *map(str, t.heard_as)))
    ]
    if len(named) == 1:
        return named
    hits = search((e for e in desk.findable() if e.kind == "fault"), words)
    best = hits[0].score if hits else 0.0
    return [hit.entry.id for hit in hits if hit.score > best - CLOSE][:8]


def run_to_go_on_with(desk: Desk, playbook: str) -> RunRecord | None:
    """The newest unfinished run of a playbook: of tonight's show, or of the last 24 hours when there is no show."""
    now = desk.world.clock.now()
    for record in desk.unfinished():
        if record.playbook != playbook:
            continue
        if record.show == desk.show if desk.show else now - moment(record.last) < GO_ON_WITHIN:
            return record
    return None


def walk_to_go_on_with(desk: Desk, fault: str) -> Session | None:
    """The newest fault walk of this tree outside of any playbook that was broken off in the last 24 hours.

    A run that died between the end of its walk and its own is ended on the way.
    """
    now = desk.world.clock.now()
    for record in desk.unfinished():
        if record.playbook or now - moment(record.last) >= GO_ON_WITHIN:
            continue
        opened = [e.event for e in desk.keeper.entries(record.id) if isinstance(e.event, ev.WalkOpened)]
        if opened and opened[-1].fault == fault:
            session = desk.resume_run(record.id)
            if session.state.walk is not None:
                return session
            end_walks(session)
    return None


def end_walks(session: Session) -> None:
    """End a run that holds nothing but ended fault walks: complete when the last one restored the sound."""
    walks = session.state.walks
    session.finish(ev.COMPLETE if walks and walks[-1].restored else ev.STOPPED)


def moment(stamp: str) -> datetime:
    """The time of a log entry; long ago when it cannot be read."""
    try:
        when = datetime.fromisoformat(stamp.replace("Z", "+00:00"))
    except ValueError:
        return datetime(1970, 1, 1, tzinfo=UTC)
    return when if when.tzinfo else when.replace(tzinfo=UTC)

"""Commands that walk: the screens, `demo`, `run` and `fault`, on screens or as line prompts."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from showday.clockwork import SystemClock, new_id
from showday.errors import ProblemsFound, ShowdayError
from showday.opening import (
    Asked,
    faults_like,
    open_desk,
    people_named,
    playbook_named,
    run_to_go_on_with,
    settle_show,
    walk_to_go_on_with,
)
from showday.run import events as ev
from showday.run.session import World
from showday.saving import the_log
from showday.text.safe import one_line

if TYPE_CHECKING:
    from showday.desk import Desk
    from showday.log.keeper import Keeper
    from showday.plain.talk import Talk
    from showday.run.session import Session


AUTHOR = "author"
"""The setting that says that fault walks follow the author's order."""


def do_screens(args: argparse.Namespace) -> int:
    """The screens on tonight's show."""
    look_for_screen("`showday run PLAYBOOK --plain`")
    with the_log(_tell) as keeper:
        return _screens(open_desk(Asked(), keeper, _world(keeper), _tell, rig_needed=False))


def do_demo(args: argparse.Namespace) -> int:
    """The screens on the example act."""
    look_for_screen("`showday run PLAYBOOK --demo --plain`")
    from showday.demo import begin_demo_desk

    desk, rest = begin_demo_desk()
    return _screens(desk, rest=rest)


def do_run(args: argparse.Namespace) -> int:
    """Walk a playbook."""
    if not args.plain:
        look_for_screen("--plain")
    talk = _talk() if args.plain else None
    tell = talk.say if talk else _tell
    asked = Asked(
        rig=args.rig,
        venue=args.venue,
        new_venue=args.new_venue,
        date=args.date,
        slot=args.slot,
        changeover=args.changeover,
        facts=tuple(args.fact),
        away=tuple(args.away),
    )
    if args.demo:
        from showday.demo import make_demo_desk

        desk = make_demo_desk()
        if asked != Asked():
            settle_show(desk, asked, tell)
        return _walk(desk, _run(desk, args), talk, by_author=_by_author(args))
    with the_log(tell) as keeper:
        desk = open_desk(asked, keeper, _world(keeper), tell)
        return _walk(desk, _run(desk, args), talk, by_author=_by_author(args))


def _run(desk: Desk, args: argparse.Namespace) -> Session:
    """The run to walk: an unfinished one of the same playbook and show, or a new one."""
    playbook = playbook_named(desk.library, args.playbook)
    held = None if args.new else run_to_go_on_with(desk, str(desk.library.heads()[playbook].playbook))
    session = desk.resume_run(held.id) if held else desk.start_run(playbook)
    if args.away:
        away = people_named(args.away, desk.rig)
        if session.state.away != frozenset(away):
            session.record(ev.AwayChanged(away))
    return session


@contextmanager
def ticking_run(rig: str | None, playbook: str, tell: Callable[[str], None]) -> Iterator[tuple[Desk, Session]]:
    """Tonight's run of a playbook, the one under way or a new one, while something else answers its steps."""
    with the_log(tell) as keeper:
        desk = open_desk(Asked(rig=rig), keeper, _world(keeper), tell)
        named = playbook_named(desk.library, playbook)
        held = run_to_go_on_with(desk, str(desk.library.heads()[named].playbook))
        yield desk, desk.resume_run(held.id) if held else desk.start_run(named)


def do_fault(args: argparse.Namespace) -> int:
    """Walk the fault tree that matches what was heard."""
    if args.words and not args.plain:
        look_for_screen("--plain")
    talk = _talk() if args.plain else None
    tell = talk.say if talk else _tell
    with the_log(tell) as keeper:
        desk = open_desk(Asked(rig=args.rig), keeper, _world(keeper), tell, rig_needed=False)
        if args.items or args.item is not None:
            return _hunt(desk, args, talk)
        heard = " ".join(args.words)
        found = faults_like(desk, heard) if heard else sorted(desk.library.trees)
        if not found:
            raise ProblemsFound(
                f"No fault tree sounds like '{one_line(heard, 60)}'.", "`showday fault` lists all; try other words."
            )
        if not heard and talk is None:
            for fault in found:
                print(_title(desk, fault))
            return 0
        chosen = found[0] if len(found) == 1 else _choose(desk, found, talk or _talk())
        if not chosen:
            return 0
        if talk is None:
            desk.by_author = _by_author(args)
            return _screens(desk, fault=chosen)
        return _walk(desk, _fault_walk(desk, chosen, afresh=args.new), talk, by_author=_by_author(args))


def _hunt(desk: Desk, args: argparse.Namespace, talk: Talk | None) -> int:
    """List the to-fix list, or look for the cause of one of its items from what was found out then."""
    from showday.counsel import open_hunt

    items = desk.book().open_items()
    if args.item is None or not 1 <= args.item <= len(items):
        for number, item in enumerate(items, 1):
            likely = f"; {item.likely()}" if item.odds else ""
            print(one_line(f"{number} {item.opened[:10]} {item.text}{likely}", 400))
        if args.item is not None:
            raise ProblemsFound(f"There is no item {args.item} on the to-fix list.", f"It has {len(items)}.")
        return 0
    if talk is None:
        look_for_screen("--plain")
    session = open_hunt(desk, items[args.item - 1])
    return _walk(desk, session, talk, by_author=_by_author(args))


def _fault_walk(desk: Desk, fault: str, *, afresh: bool) -> Session:
    held = None if afresh else walk_to_go_on_with(desk, fault)
    if held is not None:
        return held
    session = desk.start_bare()
    desk.open_walk(session, fault)
    return session


def _choose(desk: Desk, found: list[str], talk: Talk) -> str:
    """One of several trees, by number; empty when none is wanted or the input ends."""
    from showday.plain.talk import Ended
    from showday.plain.words import NONE

    talk.say("Several fault trees are close:")
    try:
        chosen = talk.choose("tree", [one_line(desk.library.trees[fault].title) for fault in found], NONE)
    except Ended:
        return ""
    return "" if chosen is None else found[chosen]


def _title(desk: Desk, fault: str) -> str:
    tree = desk.library.trees[fault]
    return one_line(f"{fault}: {tree.title}. Heard as: {', '.join(tree.heard_as[:4])}", 200)


# -- the two fronts ----------------------------------------------------------------------------------------------


def _by_author(args: argparse.Namespace) -> bool:
    from showday.settings import remembered

    return bool(args.author) or remembered("order") == AUTHOR


def _walk(desk: Desk, session: Session, talk: Talk | None, *, by_author: bool = False) -> int:
    desk.by_author = by_author
    if talk is None:
        return _screens(desk, session=session)
    from showday.plain.front import walk_plain

    talk.watch(lambda: desk.keeper.warning)
    return walk_plain(desk, session, talk)


def _screens(
    desk: Desk, *, rest: Iterator[None] | None = None, session: Session | None = None, fault: str = ""
) -> int:
    from showday.settings import remember, remembered

    gc.disable()  # until the first screen stands
    try:
        from showday.tui.app import ShowdayApp
    except ImportError as missing:
        name = one_line(missing.name or str(missing), 60)
        raise ShowdayError(f"The screens cannot start: {name} is missing.", "Use --plain.") from None
    desk.by_author = desk.by_author or remembered("order") == AUTHOR
    app = ShowdayApp(
        desk,
        rest=rest,
        session=session,
        fault=fault,
        theme_name=remembered("theme"),
        remember=lambda theme: remember("theme", theme),
        remember_order=lambda author: remember("order", AUTHOR if author else "computed"),
        begun=_collect,
    )
    app.run()
    return app.return_code or 0


def _collect() -> None:
    """Look for what can go from now on, but not among all that the start has made: that stays."""
    gc.freeze()
    gc.enable()


def look_for_screen(instead: str) -> None:
    """ShowdayError, pointing to the plain front, when this terminal cannot show screens.

    They are drawn on the error stream and need keys from the input, so both must be a terminal.
    """
    if os.environ.get("TERM", "") in ("dumb", "unknown"):
        raise ShowdayError("This terminal cannot show screens.", f"Use {instead}.")
    if not all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stderr)):
        raise ShowdayError("The screens need a terminal for input and for errors.", f"Use {instead}.")


def _talk() -> Talk:
    """The conversation over this program's input and output."""
    from showday.plain.talk import StreamLines, Talk

    return Talk(StreamLines(sys.stdin.buffer, sys.stdout))


def _world(keeper: Keeper) -> World:
    return World(keeper, SystemClock(), new_id)


def _tell(sentence: str) -> None:
    from showday.text.safe import plain

    print(plain(sentence), file=sys.stderr)

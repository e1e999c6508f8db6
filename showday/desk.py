"""Where an evening is put together: library, rig, log and clock in one place, for every front end.

The screens and the plain prompts call these functions and render what comes back; neither decides anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from showday.errors import FileTrouble, NotAllowed
from showday.fault.walk import Ask, ask_for, next_ask, outline
from showday.library import Library, Source
from showday.log.keeper import Keeper
from showday.log.records import RunRecord, Snapshot, snapshot_hash
from showday.rig import model as rig_model
from showday.rig.words import UNKNOWN, facts, named_things, rig_fields, thing_fields
from showday.run import events as ev
from showday.run import touring as tour
from showday.run.plan import (
    NO_PLAN,
    TO_FIX_ITEM,
    Plan,
    PlannedStep,
    about_words,
    make_plan,
    plan_from_json,
    plan_to_json,
)
from showday.run.session import Session, World, touring_entry
from showday.run.state import RunState, WalkState
from showday.run.to_fix import ToFix
from showday.spares import band_fields, planned_fields, spare_moves
from showday.text.sentence import fill
from showday.text.values import duration

if TYPE_CHECKING:
    from showday.fault.model import Tree
    from showday.playbook.search import Entry as Findable

PLAN, PLAYBOOK, FAULT, RIG = "plan", "playbook", "fault", "rig"
"""Kinds of snapshots."""


@dataclass
class Desk:
    """One laptop on one evening."""

    library: Library
    rig: rig_model.Rig
    rig_source: Source | None
    keeper: Keeper
    world: World
    show: str = ""
    """Id of tonight's show; empty when none was entered."""
    by_author: bool = False
    """Whether fault walks follow the author's order; the computed one otherwise."""
    example: bool = False
    """True for the example act, whose log is thrown away."""
    _read: tuple[list[ev.Entry], tour.Book] | None = field(default=None, init=False, repr=False, compare=False)
    """The entries that the book was made of last, and that book."""

    # -- venues and shows ------------------------------------------------------------------------------------

    def book(self) -> tour.Book:
        """Venues, shows and to-fix items as they stand."""
        entries = self.keeper.touring()
        # Asked for at every step and changed a few times an evening. The log gives the same entries again while
        # nothing was written, and a list compares by identity first.
        if self._read is None or self._read[0] != entries:
            self._read = entries, tour.fold_book(entries)
        return self._read[1]

    def record(self, stream: str, event: ev.Event) -> None:
        """Write one event of a venue, a show or a to-fix item, behind everything that is said of it."""
        last = max((entry.seq for entry in self.keeper.entries(stream)), default=0)
        self.keeper.append([touring_entry(self.world, stream, event, after=last)])

    def add_venue(self, name: str, town: str = "", country: str = "") -> str:
        """A new venue; its id."""
        if not name.strip():
            raise NotAllowed("A venue needs a name.")
        id = self.world.new_id()
        self.record(id, tour.VenueAdded(name.strip(), town.strip(), country.strip()))
        return id

    def plan_show(
        self, venue: str, date: str, slot: str = "", changeover: float | None = None, facts: Sequence[str] = ()
    ) -> str:
        """A new show, which becomes tonight's; its id. The show of the same venue and day is changed instead."""
        held = next((s for s in self.book().shows.values() if (s.venue, s.date) == (venue, date)), None)
        self.show = held.id if held else self.world.new_id()
        make = tour.ShowChanged if held else tour.ShowPlanned
        self.record(self.show, make(venue, date, slot, changeover, tuple(facts)))
        return self.show

    def tonight(self) -> tour.Show | None:
        """Tonight's show, or None."""
        return self.book().shows.get(self.show)

    def away(self) -> tuple[str, ...]:
        """Who is not here tonight: as the show says, else as the rig file says."""
        show = self.tonight()
        if show is not None and show.away_said:
            return show.away
        return tuple(str(p.name) for p in self.rig.people if p.away)

    def set_away(self, people: Sequence[str], session: Session | None = None) -> None:
        """Say who is not here, for tonight's show and for the run that is open."""
        if session is not None:
            session.record(ev.AwayChanged(tuple(people)))  # first, for this one can be refused
        if self.show:
            self.record(self.show, tour.ShowAwayChanged(tuple(people)))

    # -- runs --------------------------------------------------------------------------------------------------

    def plan_for(self, playbook: str) -> Plan:
        """The playbook laid over the rig for tonight."""
        book = self.library.playbook(playbook)
        if book is None:
            raise FileTrouble(f"There is no playbook '{playbook}'.", "`showday check` names the files with problems.")
        rig = replace(self.rig, items=self._items())
        return make_plan(book, rig, show_facts=self.show_facts(), fields=self.sentence_fields())

    def _items(self) -> tuple[rig_model.Item, ...]:
        """The open to-fix list, as things that steps can repeat for."""
        items = self.book().open_items()
        return tuple(
            rig_model.Item(i.text, about=i.about, opened=i.opened[:10], uses=i.uses, owner=i.owner, due=i.due)
            for i in items
        )

    def item_of(self, step: PlannedStep) -> ToFix | None:
        """The thing of the to-fix list that a step repeats for, an open one of two alike; None when about none."""
        if step.kind != "item":
            return None
        book = self.book()
        about = [i for i in (*book.open_items(), *book.closed_items()) if step.about == (i.about or TO_FIX_ITEM)]
        said = [(fill("{item.name}", {"item.name": item.text}, {}), item) for item in about]
        # "Hum" stands in "Hum in the monitor", too: the longest is meant.
        named = sorted((pair for pair in said if pair[0] in step.do), key=lambda pair: -len(pair[0]))
        return named[0][1] if named else None

    def start_run(self, playbook: str) -> Session:
        """A new run of a playbook, with snapshots of everything it was made of."""
        plan = self.plan_for(playbook)
        return self._start(plan, [self.library.source(PLAYBOOK, playbook), self.rig_source])

    def start_bare(self) -> Session:
        """A run without a playbook, to hold a fault walk."""
        return self._start(NO_PLAN, [self.rig_source])

    def _start(self, plan: Plan, sources: Sequence[Source | None]) -> Session:
        kept = [_snapshot(PLAN, plan.playbook or "none", plan_to_json(plan))]
        kept += [_snapshot(s.kind, s.name, s.text) for s in sources if s is not None]
        self.keeper.append([], kept)
        show = self.tonight()
        started = ev.RunStarted(
            playbook=plan.playbook,
            title=plan.title,
            plan=kept[0].hash,
            sources=tuple(s.hash for s in kept[1:]),
            venue=show.venue if show else "",
            show=self.show if show else "",
            away=self.away(),
            rig=str(self.rig.rig),
        )
        return Session.start(self.world.new_id(), plan, started, self.world, beside=self._beside)

    def resume_run(self, run: str) -> Session:
        """Go on with a run of the log."""
        entries = self.keeper.entries(run)
        return Session.resume(run, self.plan_of(entries), entries, self.world, beside=self._beside)

    def _beside(self, before: RunState, after: RunState, event: ev.Event) -> list[tuple[str, ev.Event]]:
        return spare_moves(self, before, after, event)

    def shown(self, step: PlannedStep) -> PlannedStep:
        """The step with the numbers of tonight's frequency plan in its sentences, as it stands now."""
        if not step.templates:
            return step
        known = dict(step.fields) | planned_fields(self, step.kind, step.thing)
        said: dict[str, Any] = {name: fill(text, known, UNKNOWN) for name, text in step.templates}
        return replace(step, **said)

    def plan_of(self, entries: Sequence[ev.Entry]) -> Plan:
        """The plan a run was walked by; FileTrouble when its snapshot is not there or not readable."""
        started = next((e.event for e in entries if isinstance(e.event, ev.RunStarted)), None)
        text = self.keeper.text_of(started.plan) if started else None
        if text is None:
            raise FileTrouble("The plan of this run is not in the log.", "Run `showday log check`.")
        try:
            return plan_from_json(text)
        except (ValueError, TypeError, KeyError):
            raise FileTrouble("The plan of this run cannot be read.", "Run `showday log check`.") from None

    def unfinished(self) -> list[RunRecord]:
        """Runs to go on with, newest first; fault walks outside of a playbook are among them."""
        return self.keeper.runs(unfinished=True)

    # -- fault walks -------------------------------------------------------------------------------------------

    def trees_for(self, step: PlannedStep | None) -> list[Tree]:
        """Trees in the order to offer them: those the step names, then the rest by title."""
        named = [self.library.trees[t] for t in (step.if_wrong if step else ()) if t in self.library.trees]
        rest = [t for t in self.library.trees.values() if t not in named]
        return named + sorted(rest, key=lambda t: t.title)

    def open_walk(
        self,
        session: Session,
        fault: str,
        step: PlannedStep | None = None,
        *,
        item: str = "",
        like: WalkState | None = None,
        thing: tuple[str, str] = ("", ""),
    ) -> RunState:
        """Open a fault walk inside a run, at a step or on its own.

        `item` is the to-fix item whose cause is sought; `like` an earlier walk that is about the same thing; `thing` what
        it is about, as kind and id, where neither that nor the step says it.
        """
        tree = self.library.tree(fault)
        source = self.library.source(FAULT, fault)
        if tree is None or source is None:
            raise FileTrouble(f"There is no fault tree '{fault}'.", "`showday check` names the files with problems.")
        kept = _snapshot(FAULT, fault, source.text)
        self.keeper.append([], [kept])
        opened = ev.WalkOpened(
            walk=self.world.new_id(),
            fault=fault,
            title=str(tree.title),
            tree=kept.hash,
            outline=outline(tree),
            step=step.key if step else "",
            about=(step.about if step else like.about if like else "") or self._about(thing),
            thing=(step.kind, step.thing) if step and step.kind else like.thing if like else thing,
            item=item,
        )
        return session.record(opened)

    def _about(self, thing: tuple[str, str]) -> str:
        return next(
            (about_words(thing[0], one) for id, one in named_things(thing[0], self.rig) if id == thing[1]), ""
        )

    def tree_of(self, state: RunState) -> Tree:
        """The tree of the open walk, as it was when the walk began."""
        if state.walk is None:
            raise NotAllowed("No fault walk is open.")
        from showday.fault.reader import read_tree

        text = self.keeper.text_of(state.walk.tree)
        tree = read_tree(text, state.walk.fault)[0] if text is not None else None
        if tree is None:
            raise FileTrouble("The fault tree of this walk cannot be read.", "Run `showday log check`.")
        return tree

    def ask(self, state: RunState, tree: Tree) -> Ask:
        """What comes next in the open walk."""
        answers = state.walk.answers if state.walk else ()
        return next_ask(tree, answers, facts=self.conditions(), known=self.walk_fields(state))

    def ask_again(self, state: RunState, tree: Tree, node: str) -> Ask | None:
        """One node of the open walk, to take it out of turn."""
        answers = state.walk.answers if state.walk else ()
        return ask_for(tree, node, answers, self.walk_fields(state))

    def walk_fields(self, state: RunState) -> dict[str, str]:
        """Sentence fields of the open walk: the rig's, the plan's, and those of the thing the step is about."""
        known = self.sentence_fields()
        kind, about = state.walk.thing if state.walk else ("", "")
        if kind:
            for id, thing in named_things(kind, self.rig):
                if id == about:
                    known |= thing_fields(kind, thing)
                    break
        return known | planned_fields(self, kind, about, state.walk.walk if state.walk else "")

    # -- what sentences and conditions may use -----------------------------------------------------------------

    def show_facts(self) -> dict[str, bool]:
        """Conditions known of tonight's show."""
        show = self.tonight()
        made: dict[str, bool] = {}
        for fact in show.facts if show else ():
            word = fact.removeprefix("not ").strip()
            made[word] = not fact.startswith("not ")
        return made

    def conditions(self) -> dict[str, bool]:
        """Conditions known of the rig and of tonight's show."""
        return {**facts(self.rig), **self.show_facts()}

    def sentence_fields(self) -> dict[str, str]:
        """Fields known of the rig, its radio band, the venue and the show."""
        known = rig_fields(self.rig) | band_fields(self.rig)
        show = self.tonight()
        if show:
            venue = self.book().venue(show.venue)
            more = {
                "venue.name": venue.name if venue else "",
                "venue.town": venue.town if venue else "",
                "show.slot": show.slot,
                "show.changeover": duration(show.changeover * 60) if show.changeover else "",
            }
            known |= {name: text for name, text in more.items() if text}
        return known

    def findable(self) -> list[Findable]:
        """Everything that search looks through: faults first, then playbooks and their steps."""
        from showday.playbook.search import Entry as Findable

        found = []
        for id, tree in self.library.trees.items():
            words = (*map(str, tree.heard_as), str(tree.about), *(str(c.what) for _, c in tree.causes))
            found.append(Findable("fault", id, str(tree.title), words, weight=15.0))
        for id, book in self.library.playbooks.items():
            found.append(Findable("playbook", id, str(book.title), (str(book.about), str(book.phase)), weight=5.0))
            for section in book.sections:
                for step in section.steps:
                    words = (str(step.until), str(step.why))
                    found.append(Findable("step", f"{id}/{step.id}", str(step.do), words))
        return found


def _snapshot(kind: str, name: str, text: str) -> Snapshot:
    return Snapshot(snapshot_hash(kind, text), kind, name, text)

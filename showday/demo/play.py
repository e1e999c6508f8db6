"""Playing a scripted evening through the real desk with a clock that only the player moves.

Every event is made by the engine that a person would use; the script decides nothing but answers and times.
What a script names and the playbooks do not have is refused with its place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import NoReturn

from showday.counsel import Counsel
from showday.demo.air import planned, swept
from showday.demo.script import Break, Evening, Run, ToFix, Turn, Walk
from showday.desk import Desk
from showday.errors import FileTrouble, NotAllowed
from showday.fault.model import Tree
from showday.fault.walk import Ask, outline
from showday.radio_desk import keep_plan, keep_read_sweep
from showday.run import events as ev
from showday.run import touring as tour
from showday.run.plan import PlannedReading, PlannedStep
from showday.run.progress import current
from showday.run.session import Session
from showday.text.problem import Place, Problem, nearest
from showday.text.reader import Word

USUAL_STEP = 15.0
"""Seconds for a step whose playbook gives no usual time."""
MOMENT = 1.0
"""Seconds between two entries outside of runs; their order in the log comes from the clock."""
PLANNED_AHEAD = timedelta(days=14)
"""How long before its date a show is entered."""
DEFAULT_TURN = Turn()


class PlayedClock:
    """A clock that stands still until it is told how long something took."""

    def __init__(self, at: datetime) -> None:
        self.at = at
        self._zero = at

    def now(self) -> datetime:
        """The played time, in UTC."""
        return self.at.astimezone(UTC)

    def ticks(self) -> float:
        """Seconds since the clock was made."""
        return (self.at - self._zero).total_seconds()

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        self.at += timedelta(seconds=seconds)


def play(desk: Desk, clock: PlayedClock, evening: Evening, file: str, tonight: date, zone: tzinfo) -> None:
    """Put an evening into the desk's log; its show is the desk's show afterwards.

    `clock` must be the clock of `desk.world`; `tonight` is the day that `days_before` counts back from, `zone` that
    of the times of day. FileTrouble with file, line and column when the script does not fit rig and playbooks.
    """
    for _ in playing(desk, clock, evening, file, tonight, zone):
        pass


def playing(
    desk: Desk, clock: PlayedClock, evening: Evening, file: str, tonight: date, zone: tzinfo
) -> Iterator[None]:
    """The same in parts, so that a key may come between."""
    return _Player(desk, clock, evening, file, tonight - timedelta(days=evening.days_before), zone).play()


class _Player:
    def __init__(self, desk: Desk, clock: PlayedClock, evening: Evening, file: str, day: date, zone: tzinfo) -> None:
        self.desk = desk
        self.clock = clock
        self.evening = evening
        self.file = file
        self.day = day
        self.zone = zone
        self.usual = {str(name): numbers for name, numbers in evening.readings}
        self.taken: dict[str, int] = {}

    def play(self) -> Iterator[None]:
        """The show is planned, the runs are walked, the venue is noted; stops after each run."""
        self.set_clock(self.day - PLANNED_AHEAD, "12:00")
        venue = self.venue()
        script = self.evening
        changeover = None if script.changeover is None else script.changeover / 60
        facts = [str(fact) for fact in script.facts]
        self.desk.plan_show(venue, self.day.isoformat(), script.slot, changeover, facts)
        self.clock.wait(MOMENT)
        if script.away:
            self.known_words(script.away, [str(person.name) for person in self.desk.rig.people], "in the act")
            self.desk.set_away([str(name) for name in script.away])
        for run in script.runs:
            self.begin(run)
            _RunPlayer(self, run).play()
            yield
        for topic, texts in script.venue.notes:
            for text in texts:
                self.clock.wait(MOMENT)
                self.desk.record(venue, tour.VenueNoted(str(topic), str(text)))

    def venue(self) -> str:
        """The id of the venue of that name; a new one when the log has none."""
        asked = self.evening.venue
        for venue in self.desk.book().places():
            if venue.name == asked.name:
                return venue.id
        return self.desk.add_venue(str(asked.name), str(asked.town), str(asked.country))

    def set_clock(self, day: date, began: str) -> None:
        """Put the clock to a local time of day."""
        self.clock.at = datetime.combine(day, time.fromisoformat(began), self.zone)

    def begin(self, run: Run) -> None:
        """Put the clock to the beginning of a run, which never goes back behind the run before."""
        before = self.clock.at
        self.set_clock(self.day + timedelta(days=run.day), run.began)
        if self.clock.at < before:
            self.refuse(run.place, f"this run begins at {run.began}, before the one before it was over")

    def reading(self, wanted: PlannedReading, place: Place) -> float:
        """The next usual value of a reading."""
        name = wanted.name or wanted.unit
        numbers = self.usual.get(name, ())
        if not numbers:
            self.refuse(place, f"the reading '{name}' has no value under `readings`", nearest(name, self.usual))
        at = self.taken[name] = self.taken.get(name, -1) + 1
        return numbers[at % len(numbers)]

    def known_words(self, words: Iterable[str], known: Iterable[str], where: str) -> None:
        """Refuse the first word that is not known."""
        held = list(known)
        for word in words:
            if word not in held:
                self.refuse(_place(word, self.evening.place), f"'{word}' is not {where}", nearest(word, held))

    def refuse(self, place: Place, text: str, meant: str = "") -> NoReturn:
        """Raise FileTrouble that says where in the script it is."""
        raise FileTrouble(str(Problem(self.file, place, text, meant)))


class _RunPlayer:
    def __init__(self, evening: _Player, run: Run) -> None:
        self.evening = evening
        self.desk = evening.desk
        self.clock = evening.clock
        self.run = run
        self.turns: Mapping[str, tuple[Turn, ...]] = {str(key): turns for key, turns in run.steps}
        self.asked: dict[str, int] = {}
        self.used: set[str] = set()

    def play(self) -> None:
        run = self.run
        try:
            session = self.walked(run.walk) if run.walk else self.stepped()
            if run.note:
                session.record(ev.NoteAdded(str(run.note)))
            self.clock.wait(MOMENT)
            session.finish(ev.STOPPED if run.stopped_at else ev.COMPLETE)
        except NotAllowed as refused:
            self.evening.refuse(run.place, f"the run cannot end so: {refused}")
        for change in run.to_fix:
            self.clock.wait(60)
            self.to_fix(change)

    # -- steps ---------------------------------------------------------------------------------------------------

    def stepped(self) -> Session:
        """Walk a playbook up to its end, or to the step before which it is stopped."""
        if self.run.playbook not in self.desk.library.playbooks:
            known = self.desk.library.playbooks
            place = _place(self.run.playbook, self.run.place)
            self.evening.refuse(
                place, f"there is no playbook '{self.run.playbook}'", nearest(self.run.playbook, known)
            )
        session = self.desk.start_run(self.run.playbook)
        steps = session.state.plan.steps
        keys = [*(step.key for step in steps), *(step.id for step in steps)]
        self.evening.known_words(
            [key for key, _ in self.run.steps], keys, f"a step of {self.run.playbook} with this rig"
        )
        while (step := current(session.state)) and step.key != self.run.stopped_at:
            session = self.step(session, step)
        if self.run.stopped_at and step is None:
            place = _place(self.run.stopped_at, self.run.place)
            self.evening.refuse(place, f"'{self.run.stopped_at}' was never asked")
        self.all_used()
        return session

    def step(self, session: Session, step: PlannedStep) -> Session:
        """One step: shown, done, read, noted, answered, and looked into when something is wrong."""
        turn = self.turn(step)
        try:
            return self.take(session, step, turn)
        except NotAllowed as refused:
            place = self.run.place if turn is DEFAULT_TURN else turn.place
            self.evening.refuse(place, f"'{step.key}' cannot be answered so: {refused}")

    def take(self, session: Session, step: PlannedStep, turn: Turn) -> Session:
        """A step with what the script says about it."""
        session.show_current()
        if turn.leave:
            session = self.break_off(session, turn.leave)
        self.clock.wait((step.takes or USUAL_STEP) * self.run.pace + turn.extra)
        if turn.sweep:
            keep_read_sweep(self.desk, swept(turn.sweep), run=session)
        if turn.plan:
            keep_plan(self.desk, planned(turn.plan, self.desk.rig), run=session)
        result = str(turn.result) or (ev.FAULT if turn.walk else ev.GOOD)
        if step.reading and (turn.reading is not None or result == ev.GOOD):
            given = turn.reading
            session.read(self.evening.reading(step.reading, self.run.place) if given is None else given)
        if turn.note:
            session.record(ev.NoteAdded(str(turn.note), step.key))
        confirmed = step.must and result == ev.GOOD
        session.record(ev.StepAnswered(step.key, result, str(turn.reason), confirmed))
        if turn.walk:
            self.walk(session, turn.walk, step)
        if result != ev.LATER and self.more_turns(step):
            self.clock.wait(MOMENT)
            session.go_to(step.key)
        return session

    def turns_of(self, step: PlannedStep) -> tuple[str, tuple[Turn, ...]]:
        """What the script says about a step, and under which key."""
        key = step.key if step.key in self.turns else step.id
        return key, self.turns.get(key, ())

    def more_turns(self, step: PlannedStep) -> bool:
        """Whether the script has a further answer to a step."""
        return self.asked[step.key] + 1 < len(self.turns_of(step)[1])

    def turn(self, step: PlannedStep) -> Turn:
        """What the script says about a step the next time it is asked."""
        key, turns = self.turns_of(step)
        count = self.asked[step.key] = self.asked.get(step.key, -1) + 1
        if count > len(turns) + 1:
            self.evening.refuse(self.run.place, f"'{step.key}' is asked again and again; say when it is good")
        if count < len(turns):
            self.used.add(f"{key} {count}")
            return turns[count]
        return DEFAULT_TURN

    def all_used(self) -> None:
        """Refuse what the script says about steps that were never asked."""
        for key, turns in self.run.steps:
            for count, turn in enumerate(turns):
                if f"{key} {count}" not in self.used:
                    place = turn.place if count else _place(key, turn.place)
                    self.evening.refuse(place, f"'{key}' was not asked {'again' if count else 'in this run'}")

    def break_off(self, session: Session, leave: Break) -> Session:
        """Leave and come back, in this sitting or after the laptop was off."""
        if not leave.laptop:
            session.interrupt(str(leave.cue))
            self.clock.wait(leave.takes)
            session.resume_here()
            return session
        if leave.cue:
            session.interrupt(str(leave.cue))
        self.clock.wait(leave.takes)
        return self.desk.resume_run(session.state.run)

    # -- fault walks ---------------------------------------------------------------------------------------------

    def walked(self, script: Walk) -> Session:
        """A run that holds nothing but a fault walk."""
        session = self.desk.start_bare()
        self.walk(session, script, None)
        return session

    def walk(self, session: Session, script: Walk, step: PlannedStep | None) -> None:
        """Walk a tree until sound is back, help was called, or the script has no more answers."""
        place = _place(script.tree, script.place)
        trees = self.desk.library.trees
        if script.tree not in trees:
            self.evening.refuse(place, f"there is no fault tree '{script.tree}'", nearest(script.tree, trees))
        self.clock.wait(MOMENT)
        state = self.desk.open_walk(session, script.tree, step)
        tree = self.desk.tree_of(state)
        self.check_walk(tree, script)
        left = {str(node): list(answers) for node, answers in script.answers}
        while left and state.walk is not None and not state.walk.restored:
            ask = self.desk.ask(state, tree)
            answer = self.walk_answer(ask, left, place)
            self.clock.wait((ask.takes or USUAL_STEP) * self.run.pace)
            state = session.answer_walk(ask, answer)
        for node in left:
            where = next(_place(name, script.place) for name, _ in script.answers if name == node)
            self.evening.refuse(where, f"'{node}' was not asked in this walk")
        self.clock.wait(MOMENT + script.extra)
        cause, now = str(script.cause), session.state.walk
        to_fix = now is not None and (now.workaround or not now.restored)
        odds = Counsel(self.desk, session.state, tree).odds(session.state, cause) if to_fix else ()
        session.end_walk(cause, odds=odds)

    def check_walk(self, tree: Tree, script: Walk) -> None:
        """Nodes and cause of the script must be of the tree."""
        nodes = [node for node, _ in outline(tree)]
        self.evening.known_words([name for name, _ in script.answers], nodes, f"a node of {tree.fault}")
        causes = [str(name) for name, _ in tree.causes]
        self.evening.known_words([script.cause] if script.cause else [], causes, f"a cause of {tree.fault}")

    def walk_answer(self, ask: Ask, left: dict[str, list[str]], place: Place) -> str:
        """The script's answer at a node, which is then used up."""
        answers = left.get(ask.id)
        if answers is None:
            self.evening.refuse(
                place, f"the tree asks '{ask.id}' next ({ask.do}), and this walk has no answer for it"
            )
        answer = answers.pop(0)
        if not answers:
            del left[ask.id]
        if answer not in ask.choices:
            text = f"'{answer}' is not an answer of '{ask.id}': {', '.join(ask.choices)}"
            self.evening.refuse(_place(answer, place), text, nearest(answer, ask.choices))
        return str(answer)

    # -- to-fix list ---------------------------------------------------------------------------------------------

    def to_fix(self, change: ToFix) -> None:
        """Note or close the one open item that the words mean."""
        items = self.desk.book().open_items()
        words = str(change.item).lower()
        found = [item for item in items if words in f"{item.text} {item.about}".lower()]
        if len(found) != 1:
            text = f"{len(found)} open to-fix items have '{change.item}' in them, wanted one"
            known = "; ".join(f"{item.about} {item.text}".strip() for item in items)
            self.evening.refuse(change.place, f"{text} of: {known}")
        if change.note:
            self.desk.record(found[0].id, tour.ToFixNoted(str(change.note)))
            self.clock.wait(MOMENT)
        if change.how:
            self.desk.record(found[0].id, tour.ToFixClosed(str(change.how)))


def _place(word: str, otherwise: Place) -> Place:
    return word.place if isinstance(word, Word) else otherwise

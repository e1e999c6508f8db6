"""Reading a playbook: its field tables, and the rules that need the whole file."""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from functools import partial

from showday.playbook import model
from showday.playbook.conditions import condition_word, where_parts
from showday.rig import model as rig_model
from showday.rig.reader import LISTS
from showday.rig.words import EVERYWHERE, UNKNOWN
from showday.text import fields, values
from showday.text.fields import Choice, Field, Id, ListOf, Table, Text
from showday.text.problem import Place, Problems, nearest
from showday.text.reader import Word, read_yaml
from showday.text.sentence import FIELD, fields_in, stray_braces

TEXTS = ListOf(Text(), single=True)
WHEN = Field("when", TEXTS, "conditions, all of which must hold: a word, or `not` and the word")
CAUTIONS = Field("caution", TEXTS, "the danger, shown first")
EACH = Field("for_each", Choice(rig_model.REPEATS), "repeat for each of these in the rig, or on the to-fix list")
WHERE = Field("where", TEXTS, "only those for which this is so: `phantom`, `not spare`, `source is di`")
UNTIL = Field("until", Text(), "the state wanted afterwards")
WHY = Field("why", Text(), "one line of reason")
BASIS = Field("basis", Text(), "where the fact comes from: a source, `common practice`, or `from memory: …`")
TAKES = Field("takes", fields.seconds(), "usual time")
CAUTION = Field("caution", Text(), "the danger, shown before it")
IRREVERSIBLE = Field(
    "irreversible", Text(), "what the audience hears or what cannot be taken back; wants a second key"
)

READING = Table(
    "reading",
    (
        Field("unit", Text(), "unit of the number", needed=True),
        Field("name", Text(), "what is read"),
        Field("wanted", Text("a range such as -24..-12"), "range that is right; may hold fields of the rig"),
    ),
    model.Reading,
    what="a reading",
)
STEP = Table(
    "step",
    (
        Field("id", Id(), "unique in the file", needed=True),
        Field("do", Text(), "what to do; begins with a verb", needed=True),
        UNTIL,
        WHY,
        BASIS,
        CAUTION,
        TAKES,
        Field("must", fields.yes_no(), "yes: cannot be left out silently and blocks complete while owed"),
        Field("reading", READING, "a number to note"),
        Field("if_wrong", ListOf(Id(), single=True), "fault tree or trees for when it is not so"),
        EACH,
        WHERE,
        WHEN,
        Field("opens", Choice(model.TOOLS), "a tool shown beside the step"),
        IRREVERSIBLE,
        Field("risk", Choice(model.RISKS), "how often something is wrong here"),
        Field("harm", Choice(model.HARMS), "how bad that is when nobody looked"),
        Field("after", ListOf(Id(), single=True), "earlier step or steps without which this one is worth nothing"),
    ),
    model.Step,
    what="a step",
)
SECTION = Table(
    "section",
    (
        Field("title", Text(), "its name", needed=True),
        Field("mode", Choice(model.MODES), "how it is worked through"),
        Field("pause", Text(), "the pause point after this section"),
        Field("work", fields.yes_no(), "yes: hands-on work, the 90-second rule does not apply"),
        Field("waits", Text(), "the moment its steps wait for; the forecast leaves them out"),
        EACH,
        WHERE,
        WHEN,
        CAUTIONS,
        Field("steps", ListOf(STEP, least=1), "list of steps", needed=True),
    ),
    model.Section,
    what="a section",
)
PLAYBOOK = Table(
    "playbook",
    (
        Field("playbook", Id(), "id, the same as the file name", needed=True),
        Field("title", Text(), "what stands on top of the screen", needed=True),
        Field("about", Text(), "when to run it and what for"),
        Field("phase", Text(), "when in the day"),
        Field("order", fields.whole(0, 999), "lower comes earlier in the day"),
        Field("mode", Choice(model.MODES), "how it is worked through"),
        Field("pause", Text(), "the moment at which it must be over"),
        Field("by", Choice(model.DEADLINES), "what the forecast is held against when time is short"),
        CAUTIONS,
        WHEN,
        Field("sections", ListOf(SECTION, least=1), "list of sections", needed=True),
    ),
    model.Playbook,
    what="a playbook",
)


def read_playbook(
    source: bytes | str, file: str, trees: Container[str] | None = None
) -> tuple[model.Playbook | None, Problems]:
    """The playbook and every problem of its file; None when it cannot be used.

    `trees` are the ids of the known fault trees; when given, `if_wrong` must name one of them.
    """
    node, problems = read_yaml(source, file)
    book = fields.read_file(PLAYBOOK, node, problems)
    if book is None:
        return None, problems
    _Rules(book, problems).check(trees)
    return (None if problems.errors else book), problems


_SECTIONS = re.compile(rb"^sections:(?!.*^[^\s#-])", re.M | re.S)
"""Where the sections begin, when nothing else stands below them."""
_HEAD = Table(
    "playbook",
    tuple(field for field in PLAYBOOK.fields if field.name != "sections"),
    partial(model.Playbook, sections=()),
    what="a playbook",
)


def read_head(source: bytes) -> model.Playbook | None:
    """A playbook without its sections, of what stands above them; None when that alone does not tell.

    For files that were checked before: a problem is found here only when it keeps the head from being read.
    """
    sections = _SECTIONS.search(source)
    if sections is None:
        return None
    node, problems = read_yaml(source[: sections.start()], "")
    head: model.Playbook | None = fields.read_file(_HEAD, node, problems)
    return None if problems.errors else head


class _Rules:
    """Checks over a whole playbook; each notes problems where they stand."""

    def __init__(self, book: model.Playbook, problems: Problems) -> None:
        self.book = book
        self.problems = problems

    def check(self, trees: Container[str] | None) -> None:
        check_conditions(self.book.when, self.problems)
        check_bare((self.book.title, self.book.about, self.book.phase, self.book.pause), self.problems)
        for text in self.book.caution:
            check_fields(text, set(), self.problems, self.book.place)
        self._ids()
        self._after()
        for section in self.book.sections:
            self._section(section)
            for step in section.steps:
                self._step(section, step)
                if trees is not None:
                    self._targets(step, trees)

    def _ids(self) -> None:
        seen: dict[str, Place] = {}
        for section in self.book.sections:
            for step in section.steps:
                if step.id in seen:
                    text = f"the step id '{step.id}' is used twice (first on line {seen[step.id].line})"
                    self.problems.add(place_of(step.id, step.place), text)
                seen.setdefault(step.id, step.place)

    def _section(self, section: model.Section) -> None:
        check_conditions(section.when, self.problems)
        check_bare((section.title, section.pause, section.waits), self.problems)
        for text in section.caution:
            check_fields(text, set(), self.problems, section.place)
        self._where(section.where, section.for_each, section.place)
        where = section.place
        if len(section.steps) > model.MOST_STEPS:
            text = f"the section '{section.title}' has {len(section.steps)} steps; split it (9 at most)"
            self.problems.add(where, text, warning=True)
        total = sum(step.takes or 0 for step in section.steps)
        if total > model.MOST_SECONDS and not section.work:
            text = f"the section '{section.title}' takes {total:g} s; split it (90 s at most), or say `work: yes`"
            self.problems.add(where, text, warning=True)
        musts = sum(step.must for step in section.steps)
        if musts > model.MOST_MUSTS:
            text = f"the section '{section.title}' has {musts} musts; more than 3 do not stand out"
            self.problems.add(where, text, warning=True)

    def _step(self, section: model.Section, step: model.Step) -> None:
        check_conditions(step.when, self.problems)
        kind = step.for_each or section.for_each
        if step.for_each and section.for_each:
            text = f"'{step.id}' repeats inside a section that repeats; keep one for_each"
            self.problems.add(place_of(step.for_each, step.place), text)
        self._where(step.where, kind, step.place)
        check_bare((step.basis,), self.problems)
        texts = [step.do, step.until, step.why, step.caution, step.irreversible]
        if step.reading:
            texts += [step.reading.wanted]
            check_bare((step.reading.name, step.reading.unit), self.problems)
            check_wanted(step.reading.wanted, self.problems, step.reading.place)
        kinds = {kind} if kind else set()
        for text in texts:
            check_fields(text, kinds, self.problems, step.place)

    def _where(self, conditions: tuple[str, ...], kind: str, place: Place) -> None:
        for condition in conditions:
            at = place_of(condition, place)
            if not kind:
                self.problems.add(at, "`where` needs `for_each`: it picks among what is repeated")
                continue
            known = {f.name: f.kind for f in LISTS[kind].fields}
            name, value, _ = where_parts(condition)
            if name not in known:
                self.problems.add(at, f"'{name[:60]}' is not a field of {kind}", nearest(name, known))
            elif value is not None and not value:
                self.problems.add(at, "`is` needs a value behind it")
            elif value and isinstance(kind_ := known[name], Choice) and value.lower() not in kind_.words:
                text = f"'{value[:60]}' is not one of {', '.join(kind_.words)}"
                self.problems.add(at, text, nearest(value, kind_.words))

    def _after(self) -> None:
        """A step may need earlier ones only, so that no two need each other."""
        earlier: list[str] = []
        for _, step in walk_steps(self.book):
            for id in step.after:
                if id not in earlier:
                    text = f"'{id}' is no step before '{step.id}'"
                    self.problems.add(place_of(id, step.place), text, nearest(id, earlier))
            earlier.append(step.id)

    def _targets(self, step: model.Step, trees: Container[str]) -> None:
        for target in step.if_wrong:
            if target not in trees:
                known = list(trees) if isinstance(trees, (set, dict, list, tuple, frozenset)) else []
                text = f"there is no fault tree '{target}'"
                self.problems.add(place_of(target, step.place), text, nearest(target, known))


def place_of(text: str, otherwise: Place) -> Place:
    """Where a text from a file stood."""
    return text.place if isinstance(text, Word) else otherwise


def check_conditions(conditions: tuple[str, ...], problems: Problems) -> None:
    """Every `when` must be a known word."""
    for condition in conditions:
        word = condition_word(condition)
        if word not in model.CONDITIONS:
            place = place_of(condition, Place())
            problems.add(place, f"'{word[:60]}' is not a condition", nearest(word, model.CONDITIONS))


def check_fields(text: str, kinds: set[str], problems: Problems, place: Place) -> None:
    """Every field in a sentence must exist, and the thing it belongs to must be what is repeated."""
    allowed = ("rig", "mains", "band", "venue", "show")
    for inside in stray_braces(text):
        meant = nearest(inside.strip().replace(" ", "."), UNKNOWN)
        problems.add(place_of(text, place), "braces hold a field such as {input.name}, and nothing else", meant)
    for name in fields_in(text):
        if name not in UNKNOWN:
            problems.add(place_of(text, place), f"'{{{name}}}' is not a field of the rig", nearest(name, UNKNOWN))
        elif name not in EVERYWHERE and (kind := name.partition(".")[0]) not in allowed and kind not in kinds:
            text_ = f"'{{{name}}}' has no {kind} here; add `for_each: {kind}`"
            problems.add(place_of(text, place), text_)


def check_bare(texts: tuple[str, ...], problems: Problems) -> None:
    """Texts that are shown as they stand must hold no braces."""
    for text in texts:
        if "{" in text or "}" in text:
            problems.add(place_of(text, Place()), "no field is filled in here; write it without braces")


def check_wanted(text: str, problems: Problems, place: Place) -> None:
    """A wanted range must be one, once its fields are filled with some number."""
    if not text:
        return
    low, dots, high = text.partition("..")
    if FIELD.search(text):
        low, high = FIELD.sub("-999999999", low), FIELD.sub("999999999", high)
    try:
        values.span(f"{low}{dots}{high}")
    except ValueError:
        problems.add(place_of(text, place), f"'{text[:60]}' is not a range such as -24..-12, 12.. or ..3")


def walk_steps(book: model.Playbook) -> Iterator[tuple[model.Section, model.Step]]:
    """Every step with its section, in the file's order."""
    for section in book.sections:
        for step in section.steps:
            yield section, step


TABLE_NAMES = {t.name: t for t in (PLAYBOOK, SECTION, STEP, READING)}
"""The tables of this file kind, for the format's documentation."""

"""Reading a fault tree: its field tables, and the rules that need the whole file."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from typing import Any

from showday.fault import heard, model, walk
from showday.fault.circles import comes_back
from showday.playbook.reader import (
    BASIS,
    CAUTION,
    CAUTIONS,
    IRREVERSIBLE,
    TAKES,
    UNTIL,
    WHEN,
    WHY,
    check_bare,
    check_conditions,
    check_fields,
    place_of,
)
from showday.rig.model import KINDS
from showday.text import fields, values
from showday.text.fields import MISSING, ByKey, Choice, Field, Id, Kind, ListOf, MapOf, Table, Text
from showday.text.problem import Place, Problems, nearest
from showday.text.reader import Mapping, Node, Scalar, read_yaml

_IDS = ListOf(Id(), single=True)
_CHANCE = fields.number(0, 1)


@dataclass(frozen=True)
class _Odds(Kind):
    """`rare`, `occasional`, `common`, or a positive number."""

    def read(self, node: Node, problems: Problems) -> Any:
        if not isinstance(node, Scalar):
            problems.add(node.place, "odds are rare, occasional, common, or a number")
            return MISSING
        if node.text in model.ODDS_WORDS:
            return model.ODDS_WORDS[node.text]
        try:
            value = values.number(node.text)
        except ValueError:
            meant = nearest(node.text, model.ODDS_WORDS)
            problems.add(node.place, f"'{node.text[:60]}' is not rare, occasional, common or a number", meant)
            return MISSING
        if not 0 < value <= 1e6:
            problems.add(node.place, "odds must be above 0; leave the cause out if it never happens")
            return MISSING
        return value

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        number = {"type": ["number", "string"], "exclusiveMinimum": 0, "pattern": r"^\s*\+?\d+([.,]\d+)?\s*$"}
        return {"anyOf": [{"enum": list(model.ODDS_WORDS)}, number]}


@dataclass(frozen=True)
class _Cures(Kind):
    """One cause, a list of causes, or cause → chance."""

    def read(self, node: Node, problems: Problems) -> Any:
        if isinstance(node, Mapping):
            return MapOf(_CHANCE, id_keys=True).read(node, problems)
        read = _IDS.read(node, problems)
        return MISSING if read is MISSING else tuple((name, 1.0) for name in read)

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        return {"anyOf": [_IDS.schema(defs), MapOf(_CHANCE, id_keys=True).schema(defs)]}


@dataclass(frozen=True)
class _Heard(Kind):
    """What must be heard, in the words that are known for it."""

    def read(self, node: Node, problems: Problems) -> Any:
        text = Text().read(node, problems)
        if text is not MISSING and heard.understood(text) is None:
            problems.add(
                node.place,
                f"'{text[:60]}' is nothing that can be heard; write for example 'hum on 1 line' or 'nothing arrives'",
                nearest(text, [*heard.NOISES, *heard.ARRIVALS]),
            )
            return MISSING
        return text

    def schema(self, defs: dict[str, Any]) -> dict[str, Any]:
        return {"type": "string", "pattern": rf"^\s*{heard.PATTERN}\s*$"}


def _node_tables() -> list[tuple[str, Table]]:
    return [("check", CHECK), ("fix", FIX), ("cause", LEAF), ("again", AGAIN)]


_NODE = ByKey(_node_tables, "a node")
_BRANCH = ListOf(_NODE, single=True)
_ORDER = (
    Field("first", fields.yes_no(), "yes: always before the others"),
    Field("after", _IDS, "nodes that must come before it"),
    Field("pin", fields.yes_no(), "yes: keep the author's order here; give the reason in `why`"),
    Field("group", Id(), "the group it is inside of"),
)
_LOOK = Field("look", fields.seconds(), "time to see whether it is so; `takes` is then needed only when it is")
_INVALIDATES = Field("invalidates", _IDS, "checks whose answers no longer count after this")
_NODE_ID = Field("id", Id(), "unique in the tree", needed=True)
CHECK = Table(
    "check",
    (
        Field("check", Text(), "what to look at; begins with a verb", needed=True),
        _NODE_ID,
        UNTIL,
        WHY,
        BASIS,
        CAUTION,
        TAKES,
        Field("answers", MapOf(_BRANCH, least=2, what="answer"), "answer → what follows it", needed=True),
        Field("sure", fields.number(0.5, 1), "how far the answer can be trusted"),
        Field(
            "otherwise", Text(), "the answer given by every cause that no branch names: what it looks like when right"
        ),
        Field(
            "tells", MapOf(_IDS, what="answer"), "answer → the causes that give it; not given: those its branch names"
        ),
        Field("heard", MapOf(_Heard(), what="answer"), "answer → what must be heard for it, as `hum on 1 line`"),
        _INVALIDATES,
        *_ORDER,
        WHEN,
        IRREVERSIBLE,
    ),
    model.Check,
    what="a check",
)
FIX = Table(
    "fix",
    (
        Field("fix", Text(), "what to do; begins with a verb", needed=True),
        _NODE_ID,
        Field("cures", _Cures(), "the cause or causes it cures, with chances if not sure", needed=True),
        UNTIL,
        WHY,
        BASIS,
        CAUTION,
        TAKES,
        _LOOK,
        Field("workaround", fields.yes_no(), "yes: sound is back without a cure; opens a to-fix item"),
        Field("uses", Text(), "the spare it uses up"),
        _INVALIDATES,
        IRREVERSIBLE,
        *_ORDER,
        WHEN,
    ),
    model.Fix,
    what="a fix",
)
LEAF = Table("leaf", (Field("cause", Id(), "the cause found", needed=True),), model.Leaf, what="a cause leaf")
AGAIN = Table(
    "again",
    (
        Field("again", Id(), "the id of a check or fix that stands elsewhere in the tree, or help", needed=True),
        Field("answers", MapOf(_BRANCH, least=1, what="answer"), "for a check: answer → what follows it here"),
    ),
    model.Again,
    what="a node that stands again",
)
CAUSE = Table(
    "cause",
    (
        Field("what", Text(), "the cause, as one would tell it to the band", needed=True),
        Field("odds", _Odds(), "rare, occasional, common, or a number"),
        Field("cure", Text(), "what to do about it; begins with a verb", needed=True),
        UNTIL,
        WHY,
        BASIS,
        CAUTION,
        TAKES,
        _LOOK,
        Field("see", Id(), "another fault tree that goes on from here"),
    ),
    model.Cause,
    what="a cause",
)
GROUP = Table(
    "group",
    (
        Field("what", Text(), "what is opened", needed=True),
        Field("takes", fields.seconds(), "time to open and close it"),
    ),
    model.Group,
    what="a group",
)
HELP = Table(
    "help",
    (
        Field("do", Text(), "whom to call and what to tell them", needed=True),
        Field("takes", fields.seconds(), "time until they are there"),
        CAUTION,
    ),
    model.Help,
    bare="do",
    what="help",
)
TREE = Table(
    "fault",
    (
        Field("fault", Id(), "id, the same as the file name", needed=True),
        Field("title", Text(), "the symptom, as one says it", needed=True),
        Field("about", Text(), "one sentence"),
        Field("heard_as", ListOf(Text(), single=True, least=1), "what a stressed person types", needed=True),
        Field("concerns", Choice((*KINDS, "rig")), "what it happens to"),
        CAUTIONS,
        Field("groups", MapOf(GROUP, id_keys=True), "things to open once"),
        Field("walk", ListOf(_NODE, single=True, least=1), "nodes in the order you would take them", needed=True),
        Field("causes", MapOf(CAUSE, id_keys=True, least=1), "id → cause", needed=True),
        Field("help", HELP, "whom to call when nothing helped", needed=True),
    ),
    model.Tree,
    what="a fault tree",
)


def read_tree(
    source: bytes | str, file: str, trees: Container[str] | None = None
) -> tuple[model.Tree | None, Problems]:
    """The tree and every problem of its file; None when it cannot be used.

    `trees` are the ids of the known fault trees; when given, `see` must name one of them.
    """
    node, problems = read_yaml(source, file)
    tree = fields.read_file(TREE, node, problems)
    if tree is None:
        return None, problems
    _Rules(tree, problems).check(trees)
    return (None if problems.errors else tree), problems


class _Rules:
    """Checks over a whole tree; each notes problems where they stand."""

    def __init__(self, tree: model.Tree, problems: Problems) -> None:
        self.tree = tree
        self.problems = problems
        self.checks = {n.id for n in tree.nodes() if isinstance(n, model.Check)}
        self.ids = {n.id for n in tree.nodes() if not isinstance(n, model.Leaf)}
        self.causes = {name for name, _ in tree.causes}
        self.reached: set[str] = set()

    def check(self, trees: Container[str] | None) -> None:
        check_bare((self.tree.title, self.tree.about, *self.tree.caution), self.problems)
        check_bare(tuple(group.what for _, group in self.tree.groups), self.problems)
        for text in (self.tree.help.do, self.tree.help.caution):
            check_fields(text, {self.tree.concerns}, self.problems, self.tree.help.place)
        self._ids()
        for entry in model.walk_entries(self.tree.walk):
            if isinstance(entry, model.Again):
                self._again(entry)
            else:
                self._node(entry)
        self._circles()
        self._after()
        for name, cause in self.tree.causes:
            place = place_of(name, cause.place)
            if name not in self.reached:
                self.problems.add(place, f"nothing leads to the cause '{name}': no fix cures it and no leaf names it")
            if cause.see and trees is not None and cause.see not in trees:
                known = list(trees) if isinstance(trees, (set, dict, list, tuple, frozenset)) else []
                text = f"there is no fault tree '{cause.see}'"
                self.problems.add(place_of(cause.see, place), text, nearest(cause.see, known))
            check_bare((cause.basis,), self.problems)
            for text in (cause.what, cause.cure, cause.until, cause.why, cause.caution):
                check_fields(text, {self.tree.concerns}, self.problems, place)

    def _ids(self) -> None:
        seen: dict[str, Place] = {}
        for node in self.tree.nodes():
            if isinstance(node, model.Leaf):
                continue
            if node.id in seen:
                text = f"the id '{node.id}' is used twice (first on line {seen[node.id].line})"
                self.problems.add(place_of(node.id, node.place), text)
            if node.id == walk.HELP:
                self.problems.add(
                    place_of(node.id, node.place), f"the id '{walk.HELP}' means the call for help; choose another"
                )
            seen.setdefault(node.id, node.place)

    def _node(self, node: model.Node) -> None:
        if isinstance(node, model.Leaf):
            self._cause(node.cause, node.place)
            return
        self._order(node)
        check_bare((node.basis,), self.problems)
        texts = [node.until, node.why, node.caution, node.irreversible]
        texts.append(node.check if isinstance(node, model.Check) else node.fix)
        for text in texts:
            check_fields(text, {self.tree.concerns}, self.problems, node.place)
        if isinstance(node, model.Fix):
            check_bare((node.uses,), self.problems)
            for name, chance in node.cures:
                self._cause(name, node.place)
                if chance <= 0:
                    self.problems.add(place_of(name, node.place), f"a chance of 0 cures nothing; leave '{name}' out")
            if not node.cures:
                self.problems.add(node.place, f"the fix '{node.id}' cures nothing; name a cause")
            return
        check_bare(tuple(label for label, _ in node.answers), self.problems)
        if node.otherwise:
            self._known(node.otherwise, {answer for answer, _ in node.answers}, "an answer", node.place, "this check")
        for label, causes in node.tells:
            self._known(label, {answer for answer, _ in node.answers}, "an answer", node.place, "this check")
            for name in causes:
                self._known(name, self.causes, "a cause", node.place)
        for label, _ in node.heard:
            self._known(label, {answer for answer, _ in node.answers}, "an answer", node.place, "this check")
        for label, _ in node.answers:
            if label.lower() in (walk.DONT_KNOW, walk.CANT_NOW):
                text = f"'{label}' can always be answered and walks every branch; leave it out"
                self.problems.add(place_of(label, node.place), text)
        self._branches(node)

    def _branches(self, entry: model.Check | model.Again) -> None:
        for label, branch in entry.answers:
            if not branch:
                text = f"the answer '{label[:60]}' leads nowhere; give it a check, a fix or a cause"
                self.problems.add(place_of(label, entry.place), text)

    def _again(self, entry: model.Again) -> None:
        """It must be a check or a fix that stands in full elsewhere, and only a check has answers."""
        self._known(entry.again, self.ids | {walk.HELP}, "a node", entry.place)
        target = self.tree.node(entry.again)
        if isinstance(target, model.Check):
            if not entry.answers:
                self.problems.add(entry.place, f"'{entry.again}' is a check; write what follows its answers here")
            for label, _ in entry.answers:
                self._known(label, set(target.labels()), "an answer", entry.place, f"the check '{entry.again}'")
        elif entry.answers:
            self.problems.add(entry.place, f"'{entry.again}' is no check; it has no answers")
        self._branches(entry)

    def _order(self, node: model.Check | model.Fix) -> None:
        check_conditions(node.when, self.problems)
        for target in node.invalidates:
            self._known(target, self.checks, "a check", node.place)
        for target in node.after:
            self._known(target, self.ids, "a node", node.place)
        if node.group and self.tree.group(node.group) is None:
            self._known(node.group, {name for name, _ in self.tree.groups}, "a group", node.place)

    def _known(self, target: str, known: set[str], what: str, place: Place, of: str = "this tree") -> None:
        if target not in known:
            text = f"'{target[:60]}' is not {what} of {of}"
            self.problems.add(place_of(target, place), text, nearest(target, known))

    def _cause(self, name: str, place: Place) -> None:
        self.reached.add(str(name))
        if name not in self.causes:
            text = f"there is no cause '{name}' under `causes`"
            self.problems.add(place_of(name, place), text, nearest(name, self.causes))

    def _circles(self) -> None:
        """What must come after itself never comes; checks that undo each other's answers are asked for ever."""
        nodes = [n for n in self.tree.nodes() if not isinstance(n, model.Leaf)]
        after = {str(n.id): n.after for n in nodes}
        undo = {str(n.id): n.invalidates for n in nodes if isinstance(n, model.Check)}
        for node in nodes:
            if comes_back(str(node.id), after):
                text = f"'{node.id}' must come after itself: its `after` lines run in a circle"
                self.problems.add(place_of(node.id, node.place), text)
            if comes_back(str(node.id), undo):
                text = f"'{node.id}' makes its own answer invalid: its `invalidates` lines run in a circle"
                self.problems.add(place_of(node.id, node.place), text)

    def _after(self) -> None:
        """The author's own order must keep the author's own `after`."""
        stands = {
            str(n.id): i for i, n in enumerate(walk.in_walking_order(self.tree.walk)) if not isinstance(n, model.Leaf)
        }
        for node in self.tree.nodes():
            if isinstance(node, model.Leaf):
                continue
            for target in node.after:
                if stands.get(target, -1) > stands[node.id]:
                    text = f"'{node.id}' stands before '{target}', after which it must come; change the order"
                    self.problems.add(place_of(target, node.place), text, warning=True)


TABLE_NAMES = {t.name: t for t in (TREE, CHECK, FIX, LEAF, AGAIN, CAUSE, GROUP, HELP)}
"""The tables of this file kind, for the format's documentation."""

"""Papers that tests print: a rig of three lines, and one whose names mean harm."""

from __future__ import annotations

from showday.fault.authored import authored_strategy
from showday.fault.compile import compile_tree
from showday.fault.reader import read_tree
from showday.paper.checklist import checklist_sheet
from showday.paper.frequencies import frequency_sheet
from showday.paper.labels import label_sheet
from showday.paper.model import Paper, Sheet
from showday.paper.patch import input_sheet, output_sheet
from showday.paper.rounds import Tables
from showday.paper.tree import tree_sheet
from showday.paper.venue import contact_sheet, to_fix_sheet
from showday.playbook.model import Playbook
from showday.playbook.reader import read_playbook
from showday.rig.model import KINDS, Rig
from showday.rig.reader import read_rig
from showday.rig.words import named_things, rig_fields, thing_fields
from showday.run.plan import make_plan
from showday.run.to_fix import ToFix
from showday.run.touring import Venue, VenueNote

THREE_LINES = "rig: rig\nact: Three Lines\ninputs: [Kick, Bass, Vocal]\n"
PLAYBOOK = """playbook: short
title: Short check
caution: If anything tingles, stop.
sections:
  - title: Every input
    for_each: input
    pause: before the first song
    steps:
      - {id: signal, do: 'Make a sound into {input.name}', until: 'channel {input.number} moves', takes: 12s, must: yes,
         reading: {name: peak, unit: dBFS, wanted: -24..-12}, why: Two plugs may be swapped.}
  - title: Then go
    mode: do-confirm
    steps:
      - {id: go, do: Call it complete, caution: It is loud from here on.}
"""
RAN = "document.title='ran'"
HOSTILE = (
    f"<script>{RAN}</script>",
    f'"><img src=x onerror="{RAN}">',
    f"</style></title></p><script>{RAN}</script>",
    f"' onmouseover='{RAN}",
    "&lt;b&gt; & Sons",
    "=HYPERLINK(1)",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "Esc \x1b[31m and \u202e turned",
    "W" * 300,
)


def rig_of(text: str) -> Rig:
    """A rig file's rig."""
    rig, problems = read_rig(text, "rig.yaml")
    assert rig is not None, problems.in_order()
    return rig


def tables_for(book: Playbook, rig: Rig) -> Tables:
    """What the things of a rig are called."""
    things = {(kind, id): thing_fields(kind, thing) for kind in KINDS for id, thing in named_things(kind, rig)}
    return Tables(book, things, rig_fields(rig))


def checklist(rig: Rig, *, short: bool = False) -> Sheet:
    """The short playbook over a rig."""
    book, problems = read_playbook(PLAYBOOK, "short.yaml")
    assert book is not None, problems.in_order()
    return checklist_sheet(make_plan(book, rig), short=short, tables=tables_for(book, rig))


def quoted(text: str) -> str:
    """A text as YAML double-quoted scalar, codes as escapes."""
    escaped = "".join(c if " " <= c <= "~" and c not in '"\\' else f"\\U{ord(c):08x}" for c in text)
    return f'"{escaped}"'


def hostile_rig() -> Rig:
    """Every list of the rig full of names that mean harm."""
    names = list(map(quoted, HOSTILE))
    lines = [f"  - {{name: {n}, box: {n}, person: {n}, phantom: yes}}" for n in names]
    rest = {
        "people": "plays",
        "mixes": "output",
        "packs": "transmitter",
        "loads": "supply",
        "transmitters": "mix",
    }
    more = [f"{kind}:\n" + "\n".join(f"  - {{name: {n}, {key}: {n}}}" for n in names) for kind, key in rest.items()]
    text = "\n".join([f"rig: rig\nact: {names[2]}", "inputs:", *lines, *more]) + "\n"
    return rig_of(text)


def hostile_tree() -> Sheet:
    """A fault tree whose every text means harm; its reader refuses codes."""
    harm = [quoted(text) for text in HOSTILE if "\x1b" not in text]
    fixes = "\n".join(f"      - {{fix: {text}, id: f{n}, cures: c, takes: 10s}}" for n, text in enumerate(harm))
    text = (
        f"fault: bad\ntitle: {harm[0]}\nheard_as: [bad]\ncaution: {harm[1]}\n"
        f"walk:\n  - check: {harm[2]}\n    id: look\n    takes: 5s\n    answers:\n"
        f"     {harm[3]}:\n{fixes}\n     {harm[4]}: {{cause: d}}\n"
        f"causes:\n  c: {{what: {harm[5]}, cure: {harm[6]}, takes: 10s}}\n"
        f"  d: {{what: {harm[7]}, cure: {harm[8]}, takes: 10s}}\nhelp: {{do: {harm[9]}, takes: 5min}}\n"
    )
    tree, problems = read_tree(text, "bad.yaml")
    assert tree is not None, problems.in_order()
    return tree_sheet(tree, authored_strategy(tree, compile_tree(tree)), order="The author's order")


def hostile_paper() -> Paper:
    """Every kind of sheet made of such names."""
    rig = hostile_rig()
    notes = tuple(VenueNote("contact", text, "2031-07-05T12:00:00Z") for text in HOSTILE)
    items = [ToFix(str(n), text, "2031-07-05", about=text, notes=(text,)) for n, text in enumerate(HOSTILE)]
    sheets = (
        contact_sheet(rig, Venue("v", HOSTILE[0], notes=notes)),
        to_fix_sheet(items),
        input_sheet(rig),
        output_sheet(rig),
        label_sheet(rig),
        frequency_sheet(rig, None),
        checklist(rig),
        checklist(rig, short=True),
        hostile_tree(),
    )
    return Paper(sheets, rig.act, HOSTILE[0], "2031-07-05", "2031-07-05 12:00")


def small_paper() -> Paper:
    """What three lines give: an input list, a check list of two sections, labels."""
    rig = rig_of(THREE_LINES)
    return Paper(
        (input_sheet(rig), checklist(rig), label_sheet(rig)), rig.act, "Yard", "2031-07-05", "2031-07-05 12:00"
    )

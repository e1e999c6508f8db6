"""What stands on the sheets, by rigs whose answer is known."""

from __future__ import annotations

import pytest

from showday.paper.checklist import checklist_sheet
from showday.paper.frequencies import NOT_KEPT, frequency_sheet
from showday.paper.html import paper_html
from showday.paper.labels import LONGEST, label_sheet, short_name
from showday.paper.model import Blank, Paper, Sheet, Strip, Table, Tick, Words
from showday.paper.patch import input_sheet, output_sheet
from showday.paper.rounds import NOT_FOR
from showday.paper.text import text_pages
from showday.paper.venue import contact_sheet, to_fix_sheet
from showday.playbook.reader import read_playbook
from showday.rig.model import EMPTY
from showday.run.air import KeptCarrier, KeptPlan, Taken
from showday.run.plan import make_plan
from showday.run.to_fix import ToFix
from showday.run.touring import Venue, VenueNote
from showday.text.cautions import RADIO_LAW
from tests.paper.made import rig_of, tables_for

RIG = """rig: rig
act: Two
mains: {volts: 230, hertz: 50}
people: [{name: Ada, plays: bass}, {name: Ben, plays: voice}]
inputs:
  - {number: 1, name: Bass, source: di, box: box A 1, person: Ada, phantom: yes, pad: yes}
  - {number: 7, name: Voice, source: mic, person: Ben, phantom: no, pair: 8}
  - {number: 9, name: Click, source: playback, house: no}
transmitters: [{name: In-ear 1, low: 542, high: 590, step: 25, mix: Front}, {name: In-ear 2}]
loads:
  - {name: Rack, watts: 460, circuit: one}
  - {name: Amp, watts: 230, circuit: two}
  - {name: Lamp, circuit: two}
"""


def rows(sheet: Sheet) -> list[tuple[str, ...]]:
    return [row for part in sheet.parts for block in part.blocks if isinstance(block, Table) for row in block.rows]


def words(sheet: Sheet) -> str:
    return "\n".join(block.text for part in sheet.parts for block in part.blocks if isinstance(block, Words))


def test_the_input_list_says_what_the_house_asks() -> None:
    bass, voice, click = rows(input_sheet(rig_of(RIG), away=("Ben",)))
    assert bass == ("1", "Bass", "DI", "box A 1", "48 V", "none", "Ada", "", "pad in")
    assert voice == ("7", "Voice", "mic", "", "no", "", "Ben", "", "pair with 8, player not here")
    assert click[4] == "?"
    assert "NEVER to the house" in click[8]
    assert "48 V on channels: 1." in words(input_sheet(rig_of(RIG)))


def test_watts_are_summed_by_circuit() -> None:
    """P = U * I: 460 W and 230 W at 230 V are 2 A and 1 A."""
    said = words(output_sheet(rig_of(RIG)))
    assert "Circuit one: 460 W, at least 2.0 A at 230 V." in said
    assert "Circuit two: 230 W, at least 1.0 A at 230 V." in said
    assert "All: 690 W, at least 3.0 A at 230 V." in said
    assert "Without watts in the rig file: Lamp." in said


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        ("Kick", ("Kick",)),
        ("Overhead left", ("Overhead", "L")),
        ("Keys right", ("Keys R",)),
        ("Floor tom", ("Floor", "tom")),
        ("Acoustic guitar", ("Acoustic", "guitar")),
        ("Saxophonequartet", ("Saxopho.",)),
        ("Choir very much at the back left", ("Choir", "back L")),
        ("", ()),
    ],
)
def test_short_names(name: str, lines: tuple[str, ...]) -> None:
    assert short_name(name) == lines
    assert all(len(line) <= LONGEST for line in lines)


def test_there_is_a_label_for_every_input() -> None:
    strips = [block for part in label_sheet(rig_of(RIG)).parts for block in part.blocks if isinstance(block, Strip)]
    assert [label.big for strip in strips for label in strip.labels] == ["1", "7", "9"]


def test_the_frequency_plan_with_its_spares() -> None:
    plan = KeptPlan(
        "p",
        "2031-07-05T14:00:00Z",
        carriers=(KeptCarrier("In-ear 1", 558_300_000, 350_000, "606 MHz"), KeptCarrier("In-ear 2", 561_800_000)),
        spares=(KeptCarrier("In-ear 2", 559_900_000, used=True), KeptCarrier("", 565_650_000, fits=("In-ear 1",))),
        taken=(Taken("t", "2031-07-05T20:00:00Z", 559_900_000, "In-ear 2"),),
    )
    sheet = frequency_sheet(rig_of(RIG), plan)
    assert rows(sheet) == [
        ("In-ear 1", "Front", "558.300", "350 kHz", "606 MHz", ""),
        ("In-ear 2", "", "561.800", "", "", "559.900 (spare)"),
        ("559.900", "", "all", "taken: In-ear 2"),
        ("565.650", "", "In-ear 1", ""),
    ]
    assert RADIO_LAW in words(sheet)


def test_without_a_plan_it_says_so_and_leaves_room() -> None:
    sheet = frequency_sheet(rig_of(RIG), None)
    assert NOT_KEPT in words(sheet)
    assert RADIO_LAW in words(sheet)
    assert rows(sheet)[0] == ("In-ear 1", "Front", "", "542 to 590 MHz", "25 kHz", "")
    assert RADIO_LAW in words(frequency_sheet(EMPTY, None))


def test_emergency_contacts_leave_a_line_for_the_local_number() -> None:
    notes = (VenueNote("contact", "Runa, 0142", "2030-01-01"), VenueNote("note", "It is windy", "2030-01-01"))
    sheet = contact_sheet(rig_of(RIG), Venue("v", "Yard", notes=notes))
    blanks = [block.label for part in sheet.parts for block in part.blocks if isinstance(block, Blank)]
    assert blanks[0] == "Local emergency number (ask on arrival)"
    assert "Runa, 0142 (2030-01-01)" in words(sheet)
    assert "windy" not in words(sheet)
    assert rows(sheet) == [("Ada", "bass", ""), ("Ben", "voice", "")]


def test_what_is_to_be_fixed_has_a_box_each() -> None:
    items = [
        ToFix("1", "Lead crackles", "2030-01-01T00:00:00Z", about="input 1, Bass", uses="spare lead", owner="Ada"),
        ToFix("2", "Lid is bent", "2030-01-02T00:00:00Z", due="2030-02-01", notes=("both hinges",)),
    ]
    ticks = [block for block in to_fix_sheet(items, "2030-03-01").parts[0].blocks if isinstance(block, Tick)]
    assert [(t.do, t.until, t.note) for t in ticks] == [
        ("Lead crackles (input 1, Bass)", "Ada, used up: spare lead", "since 2030-01-01"),
        ("Lid is bent", "OVERDUE since 2030-02-01", "since 2030-01-02; both hinges"),
    ]


def test_a_check_list_says_who_is_not_here_and_why_only_once() -> None:
    text = (
        "playbook: p\ntitle: P\nsections: [{title: A, for_each: input, steps: "
        "[{id: a, do: Sound it, why: Because., caution: Loud., reading: {unit: dB, wanted: 3..}}]}]\n"
    )
    book, _ = read_playbook(text, "p.yaml")
    assert book is not None
    sheet = checklist_sheet(make_plan(book, rig_of(RIG)), away=("Ada",))  # without tables
    bass, voice, _ = [block for block in sheet.parts[0].blocks if isinstance(block, Tick)]
    assert (bass.do, bass.absent, bass.note) == ("Sound it (input 1, Bass)", "not here: Ada", "Because.")
    assert (voice.absent, voice.note, voice.cautions) == ("", "", ("Loud.",))
    assert voice.reading is not None
    assert voice.reading.wanted == "wanted at least 3"
    page = text_pages(Paper((sheet,)))[0]
    assert "--- Sound it (input 1, Bass)" in page
    assert "[ ] Sound it (input 7, Voice)" in page
    assert "reading ________ dB, wanted at least 3" in page


ROUNDS = """playbook: p
title: P
sections:
  - title: Lines
    for_each: input
    steps:
      - {id: patch, do: 'Plug {input.name} into [{input.box}, ]channel {input.number}', until: seated, must: yes}
      - {id: pad-in, do: 'Set the pad of {input.name}', where: pad, caution: It is loud., takes: 5s,
         reading: {name: peak, unit: dBFS, wanted: ..-6}}
  - title: Packs
    steps:
      - {id: first, do: 'Switch {pack.name} on for {pack.person}', for_each: pack}
      - {id: second, do: 'Tune {pack.name} of {rig.act}', for_each: pack, where: not spare}
      - {id: third, do: 'Listen to {pack.name}', for_each: pack, where: not spare}
"""
PACKS = "packs: [{name: P1, person: Ada}, {name: P2, person: Ben}, {name: P3, person: Ada}, {name: P4, spare: yes}]\n"


def test_what_is_repeated_is_said_once_and_ticked_in_a_table() -> None:
    """Rows and columns by hand from the rig; a step that is not for a line, and one whose player is away, has no box."""
    book, problems = read_playbook(ROUNDS, "p.yaml")
    assert book is not None, problems.in_order()
    rig = rig_of(RIG + PACKS)
    sheet = checklist_sheet(make_plan(book, rig), away=("Ben",), tables=tables_for(book, rig))
    lines, packs = sheet.parts
    said = [(b.letter, b.do, b.must, b.takes) for b in lines.blocks if isinstance(b, Tick)]
    assert said == [
        ("A", "Plug (input) into (box, socket), channel (ch)", True, ""),
        ("B", "Set the pad of (input)", False, "5 s each"),
    ]
    (table,) = [block for block in lines.blocks if isinstance(block, Table)]
    assert [c.title for c in table.columns] == ["ch", "input", "box, socket", "A patch", "B pad in", "peak, dBFS"]
    assert [c.boxed for c in table.columns] == [False, False, False, True, True, False]
    assert table.rows == (
        ("1", "Bass", "box A 1", "", "", ""),
        ("7", "Voice", "", NOT_FOR, NOT_FOR, NOT_FOR),
        ("9", "Click", "", "", NOT_FOR, NOT_FOR),
    )
    first, second = [block for block in packs.blocks if isinstance(block, Table)]
    assert [row[0] for row in first.rows] == ["P1", "P2", "P3", "P4"]
    assert [row[0] for row in second.rows] == ["P1", "P2", "P3"]
    assert [b.do for b in packs.blocks if isinstance(b, Tick)] == [
        "Switch (pack) on for (person)",
        "Tune (pack) of Two",
        "Listen to (pack)",
    ]
    page = "\n".join(text_pages(Paper((sheet,))))
    assert "! It is loud." in page
    assert page.count("[ ]") == 3 + 3 + 2 * 2  # A and B of the lines at hand; four packs without P2; two times two
    html = paper_html(Paper((sheet,)))
    assert html.count('class="mark"') == 10


def test_a_table_keeps_the_order_of_the_file_where_the_first_thing_lacks_a_step() -> None:
    """Muting comes before the 48 V, and both before listening, though channel 1 needs neither."""
    text = (
        "playbook: p\ntitle: P\nsections: [{title: A, for_each: input, steps: [{id: mute, do: Mute, where: phantom}, "
        "{id: power, do: 48 V on, where: phantom}, {id: listen, do: Listen}]}]\n"
    )
    book, problems = read_playbook(text, "p.yaml")
    assert book is not None, problems.in_order()
    rig = rig_of("rig: r\ninputs: [Kick, {name: Hat, phantom: yes}, Bass]\n")
    (part,) = checklist_sheet(make_plan(book, rig), tables=tables_for(book, rig)).parts
    assert [b.do for b in part.blocks if isinstance(b, Tick)] == ["Mute", "48 V on", "Listen"]
    (table,) = [block for block in part.blocks if isinstance(block, Table)]
    assert [row[2:] for row in table.rows] == [(NOT_FOR, NOT_FOR, ""), ("", "", ""), (NOT_FOR, NOT_FOR, "")]


def test_two_things_are_sentences_and_a_short_sheet_gives_no_reasons() -> None:
    text = (
        "playbook: p\ntitle: P\nsections: [{title: A, for_each: transmitter, steps: "
        "[{id: a, do: 'Set {transmitter.name}', why: Because., takes: 20s}, {id: b, do: Go, takes: 2min}]}]\n"
    )
    book, _ = read_playbook(text, "p.yaml")
    assert book is not None
    rig = rig_of(RIG)
    sheet = checklist_sheet(make_plan(book, rig), short=True, tables=tables_for(book, rig))
    ticks = [block for block in sheet.parts[0].blocks if isinstance(block, Tick)]
    assert [(t.do, t.note, t.takes) for t in ticks[:2]] == [
        ("Set In-ear 1", "", ""),
        ("Go (transmitter In-ear 1)", "", "2 min"),
    ]
    assert not sheet.apart

"""Whatever stands in files or is typed comes out harmless, and nothing that is typed ends the conversation."""

from __future__ import annotations

import io
import random
import unicodedata
from collections.abc import Callable

import pytest

from showday.desk import Desk
from showday.plain.front import walk_plain
from showday.plain.talk import MAX_LINE, Ended, StreamLines, Talk
from showday.run import events as ev
from showday.run.phases import FINISHED
from tests.plain.small_evening import Evening, TypedLines, begun

NASTY = "[step a] [red]x[/] [/] {input.name} \u202egnp\u200b %s %(a)s $(reboot) `x` '; DROP TABLE entry; --"
LONG = "Very long name " * 700


def harmless(line: str) -> bool:
    """No control, format, surrogate or unassigned character but the joiners that scripts need."""
    return all(
        c in "\u200c\u200d\ufe0f" or unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Co", "Cn") for c in line
    )


def quoted(text: str) -> str:
    """The text as a YAML value."""
    return "'" + text.replace("'", "''") + "'"


def nasty_files(text: str) -> tuple[str, str, str]:
    """A playbook, a tree and a rig with this text wherever text may stand."""
    value = quoted(text.replace("{input.name}", "{rig.act}"))
    bare = quoted(text.replace("{input.name}", ""))
    label = quoted(" ".join(text.replace("{input.name}", "").split())[:900].strip())
    playbook = f"""
playbook: evening
title: {bare}
about: {bare}
pause: {bare}
caution: {bare}
sections:
  - title: {bare}
    pause: {bare}
    caution: {bare}
    steps:
      - {{id: a, do: {value}, until: {value}, why: {value}, basis: {bare}, caution: {value}, irreversible: {value},
         reading: {{name: {bare}, unit: {bare}, wanted: 1..2}}, if_wrong: no-signal}}
      - {{id: b, for_each: input, do: {value}}}
"""
    tree = f"""
fault: no-signal
title: {bare}
heard_as: {bare}
caution: {bare}
groups: {{g: {{what: {bare}}}}}
walk:
  - check: {value}
    id: c
    until: {value}
    why: {value}
    basis: {bare}
    caution: {value}
    group: g
    answers:
      {label}: {{fix: {value}, id: f, cures: x, uses: {bare}, irreversible: {value}}}
      other: {{cause: x}}
causes: {{x: {{what: {value}, cure: {value}, caution: {value}}}}}
help: {{do: {value}}}
"""
    return playbook, tree, f"rig: small\nact: {bare}\ninputs: [{{name: {bare}, number: 1}}]\n"


@pytest.mark.parametrize("text", [NASTY, LONG, NASTY * 60], ids=["markup", "long", "both"])
def test_files_full_of_nasty_text_are_walked_without_harm(make_desk: Callable[..., Desk], text: str) -> None:
    playbook, tree, rig = nasty_files(text)
    desk = make_desk([("evening", playbook)], [("no-signal", tree)], rig)
    evening = begun(desk)
    said = evening.enter("yes", "f", "", "?", "1", "yes", "restored", "1", "yes", "1.5", "g", "list")
    assert said.shown[-1] == "complete: 2 good"
    assert all(harmless(line) and "\n" not in line and len(line) < 2_500 for line in said.shown)
    assert {prompt.split()[0] for prompt in said.prompts} <= {
        "yes",
        "reading",
        "tree",
        "check",
        "fix",
        "cause",
        "step",
    }


TYPED = [
    "\x1b[31mred\x1b[0m",
    "\x1b]0;title\x07",
    "\x00\x01\x02",
    "\x7f\x7f",
    "\u202egood",
    "[/] [red]",
    "good\x1b",
    "🎤" * 50,
    "x" * 10_000,
    "note " + "y" * 10_000,
    "note \x1b[2J\x9b31m",
    "\udc80",
    "{input.name}",
    "%s%n",
    "go " + "z" * 10_000,
    "away " + "\x1b[2J",
    "wrong \x1b[2J" + "q" * 5_000,
    "-" * 5_000,
    "9" * 5_000,
    "-" + "9" * 400,
    "1" * 9 + "." + "1" * 400,
]


def test_typed_escape_codes_and_long_lines_come_out_harmless(evening: Evening) -> None:
    said = evening.enter(*TYPED, "g", "c", *TYPED, "h", "f", "none")
    assert all(harmless(line) and "\n" not in line for line in said.shown)
    notes = [e.text for e in evening.events(ev.NoteAdded) if isinstance(e, ev.NoteAdded)]
    assert "y" * 10_000 in notes
    assert all(harmless(note) for note in notes)


def test_typed_nonsense_in_a_walk_comes_out_harmless(walk: Evening) -> None:
    said = walk.enter(*TYPED, "1", *TYPED, "restored", *TYPED, "1")
    assert said.shown[-1].startswith("complete: ")
    assert all(harmless(line) and "\n" not in line for line in said.shown)


def test_bytes_that_are_not_text_are_read_as_replacement_characters() -> None:
    lines = StreamLines(io.BytesIO(b"note \xff\xfe caf\xc3\xa9\r\n\n\xc3"), io.StringIO())
    assert lines.read() == "note \ufffd\ufffd caf\u00e9\r\n"
    assert lines.read() == "\n"
    assert lines.read() == "\ufffd"
    assert lines.read() is None


def test_a_line_without_end_is_cut_and_the_next_one_is_whole() -> None:
    lines = StreamLines(io.BytesIO(b"a" * 1_000_000 + b"\ngood\n"), io.StringIO())
    talk = Talk(lines)
    assert len(talk.ask("step x", "Result?")) == MAX_LINE
    assert talk.ask("step x", "Result?") == "good"
    with pytest.raises(Ended):
        talk.ask("step x", "Result?")


def test_a_prompt_is_one_line_whatever_stands_in_it() -> None:
    shown = io.StringIO()
    with pytest.raises(Ended):
        Talk(StreamLines(io.BytesIO(b""), shown)).ask("reading a \n[step b]", "one\n[must c] two\x1b?")
    assert shown.getvalue() == "[reading a [step b]] one [must c] two\u241b?\n"


VOCABULARY = [
    "good",
    "confirm",
    "fault",
    "later",
    "undo",
    "back",
    "1",
    "2",
    "3",
    "restored",
    "unknown",
    "yes",
    "none",
    "leave",
    "see",
    "d",
    "c",
    "list",
    "?",
    "-18",
    "85",
    "stop",
    "s",
    "not here",
    "left out why",
    "note words",
    "wrong hum",
    "go signal@1",
    "away ben",
    "no change",
    "it moves",
    "",
]


@pytest.mark.parametrize("seed", range(40))
def test_any_words_in_any_order_keep_log_and_screen_in_step(make_desk: Callable[..., Desk], seed: int) -> None:
    desk = make_desk()
    session = desk.start_run("evening")
    chance = random.Random(seed)
    for _ in range(4):
        lines = TypedLines([chance.choice(VOCABULARY) for _ in range(60)])
        assert walk_plain(desk, session, Talk(lines)) == 0
        assert lines.shown[-1].startswith(("complete: ", "stopped: "))
        replayed = desk.resume_run(session.state.run).state
        if session.state.phase == FINISHED:
            assert replayed == session.state
            return
        assert replayed.history[:-1] == session.state.history
        session = desk.resume_run(session.state.run)

"""Steps that tick themselves by what was heard."""

from __future__ import annotations

from pathlib import Path

import pytest

from showday.desk import Desk
from showday.playbook.reader import read_playbook
from showday.run import events as ev
from showday.run.plan import make_plan
from showday.run.progress import current
from showday.run.session import Session
from showday.sound.verdict import VERDICTS, Heard
from showday.ticking import awaited, tick, tick_input
from tests.support.world import Evening, rig_of

RIG = rig_of("rig: r\ninputs: [Kick, Bass]")
TEXT = """
playbook: p
title: P
sections:
  - title: Before
    steps:
      - {id: clock, do: Start the clock, opens: clock}
  - title: Every input
    for_each: input
    steps:
      - {id: signal, do: "Sound {input.name}", MUST, opens: listen,
         reading: {name: peak, unit: dBFS, wanted: -24..-12}}
      - {id: rest, do: "Listen to {input.name}", opens: listen}
      - {id: look, do: "Look at {input.name}"}
"""


def session(must: bool = False) -> Session:
    """At the first input."""
    book, _ = read_playbook(TEXT.replace("MUST, ", "must: yes, " if must else ""), "p.yaml")
    assert book is not None
    made = Evening().start(make_plan(book, RIG))
    made.answer(ev.GOOD)
    return made


def heard(name: str = "Kick", verdict: str = "good", level: float | None = -18.04) -> Heard:
    return Heard(name, verdict, "Channel 1 peaks at -18.0 dBFS, nothing wrong heard.", level)


def at(run: Session) -> str:
    step = current(run.state)
    return step.key if step else ""


def test_only_steps_at_an_input_that_open_listening_await_one() -> None:
    book, _ = read_playbook(TEXT.replace("MUST, ", ""), "p.yaml")
    assert book is not None
    run = Evening().start(make_plan(book, RIG))
    names = []
    while (step := current(run.state)) is not None:
        names.append((step.key, awaited(run.state, RIG)))
        run.answer(ev.GOOD)
    assert names == [
        ("clock", ""),
        ("signal@1", "Kick"),
        ("rest@1", "Kick"),
        ("look@1", ""),
        ("signal@2", "Bass"),
        ("rest@2", "Bass"),
        ("look@2", ""),
    ]


def test_a_good_line_is_ticked_with_its_level_and_its_reason() -> None:
    run = session()
    assert tick(run, RIG, heard()) == "Kick ticked by ear. Channel 1 peaks at -18.0 dBFS, nothing wrong heard."
    said = run.state.step("signal@1")
    assert (said.result, said.reading, said.inside, said.source) == (ev.GOOD, -18.0, True, ev.HEARD)
    assert said.reason.startswith("heard good: Channel 1")
    assert at(run) == "rest@1"


@pytest.mark.parametrize("verdict", [v for v in VERDICTS if v != "good"])
def test_anything_but_good_writes_nothing(verdict: str) -> None:
    run = session()
    before = run.state
    assert tick(run, RIG, heard(verdict=verdict)) == ""
    assert run.state == before


@pytest.mark.parametrize(
    "what", [heard("Bass"), heard(""), heard(level=None), heard(level=-11.9), heard(level=-24.1)]
)
def test_another_input_or_a_level_outside_is_never_ticked(what: Heard) -> None:
    run = session()
    before = run.state
    assert tick(run, RIG, what) == ""
    assert run.state == before


def test_a_must_waits_for_a_human_key_and_is_not_listened_to_again() -> None:
    run = session(must=True)
    assert "waits for your key" in tick(run, RIG, heard())
    assert run.state.step("signal@1").result == ev.LATER
    assert at(run) == "rest@1"
    tick(run, RIG, heard())
    run.answer(ev.GOOD)  # look
    for key in ("signal@2", "rest@2"):
        assert at(run) == key
        tick(run, RIG, heard("Bass"))
    run.answer(ev.GOOD)
    assert at(run) == "signal@1"
    assert awaited(run.state, RIG) == ""
    before = run.state
    assert tick(run, RIG, heard()) == ""
    assert run.state == before
    run.answer(ev.GOOD, confirmed=True)
    run.answer(ev.GOOD, confirmed=True)
    assert run.finish().outcome == ev.COMPLETE


def test_a_tick_is_undone_like_any_answer_its_reading_with_the_next_key() -> None:
    run = session()
    tick(run, RIG, heard())
    run.undo()
    assert at(run) == "signal@1"
    assert run.state.step("signal@1").result == ""
    assert run.state.step("signal@1").reading == -18.0
    run.undo()
    assert run.state.step("signal@1").reading is None


def test_the_shipped_line_check_awaits_every_input_of_the_example_act(tmp_path: Path) -> None:
    from showday.demo import make_demo_desk

    desk: Desk = make_demo_desk()
    run = desk.start_run("line-check")
    names = []
    while (step := current(run.state)) is not None:
        if step.id == "signal":
            names.append(awaited(run.state, desk.rig))
        run.answer(ev.GOOD, confirmed=True)
    assert names == [str(line.name) for line in desk.rig.inputs if not line.spare]


def test_walking_by_the_inputs_ticks_every_step_that_wants_them() -> None:
    run = session()
    assert len(tick_input(run, RIG, heard("Bass"))) == 2
    assert [run.state.step(f"{step}@2").source for step in ("signal", "rest")] == [ev.HEARD, ev.HEARD]
    assert run.state.step("signal@1").result == ""
    assert tick_input(run, RIG, heard("Bass")) == []
    assert tick_input(run, RIG, heard("Kick", verdict="again")) == []
    assert len(tick_input(run, RIG, heard("Kick"))) == 2

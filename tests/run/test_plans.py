"""A playbook laid over a rig: repeated, picked, filled in, and kept as text that reads back the same."""

from __future__ import annotations

import json

import pytest

from showday.rig.model import EMPTY
from showday.run.plan import NO_PLAN, Plan, plan_from_json, plan_to_json
from tests.support.world import plan_of, rig_of

RIG = rig_of("""
rig: r
act: The Late Bus
region: uk
mains: 230
people: [Ada, Ben]
inputs: [{name: Kick, source: mic}, {name: Keys, source: di, person: Ben, box: A 2}, {name: Free, spare: yes}]
packs: [{name: Pack A, person: Ada}, pack-a, 漢字, 鼓, "7"]
""")
BOOK = """
playbook: p
title: Title
about: About it.
pause: before doors
caution: For {rig.act}.
sections:
  - title: One
    caution: [Off first., On last.]
    steps:
      - {id: once, do: "Do it at {mains.volts} V", must: yes, takes: 15s, if_wrong: hum, opens: clock,
         reading: {name: supply, unit: V, wanted: "{mains.low}..{mains.high}"}, basis: IEC 60038}
      - {id: each, do: "Plug {input.name}[ at {input.box}]", for_each: input, where: not spare}
  - title: Two
    mode: do-confirm
    for_each: pack
    steps:
      - {id: on, do: "Switch {pack.name} on", until: "{pack.person} hears it"}
      - {id: theirs, do: "Give it[ to {pack.person}]", where: person}
"""
PLAN = plan_of(BOOK, RIG)


def keys(plan: Plan) -> list[str]:
    return [step.key for step in plan.steps]


def test_the_top_of_the_plan() -> None:
    assert (PLAN.playbook, PLAN.title, PLAN.about, PLAN.pause) == ("p", "Title", "About it.", "before doors")
    assert PLAN.caution == ("For The Late Bus.",)
    assert [(s.title, s.mode, s.caution) for s in PLAN.sections] == [
        ("One", "read-do", ("Off first.", "On last.")),
        ("Two", "do-confirm", ()),
    ]


def test_steps_repeat_in_the_order_of_rig_and_playbook() -> None:
    packs = ["pack-a", "pack-a-2", "pack", "pack-2", "7"]
    repeated = [f"on@{pack}" for pack in packs]
    repeated.insert(1, "theirs@pack-a")
    assert keys(PLAN) == ["once", "each@1", "each@2", *repeated]


def test_every_step_knows_what_it_is_about_and_whose_it_is() -> None:
    told = {step.key: (step.about, step.kind, step.thing, step.people) for step in PLAN.steps}
    assert told["once"] == ("", "", "", ())
    assert told["each@2"] == ("input 2, Keys", "input", "2", ("Ben",))
    assert told["on@pack-a"] == ("Pack A", "pack", "pack-a", ("Ada",))
    assert told["on@7"] == ("pack 7", "pack", "7", ())


def test_sentences_are_filled_in() -> None:
    said = {step.key: step.do for step in PLAN.steps}
    assert said["once"] == "Do it at 230 V"
    assert said["each@1"] == "Plug Kick" and said["each@2"] == "Plug Keys at A 2"
    assert [step.until for step in PLAN.steps if step.key == "on@pack"] == ["its wearer hears it"]


def test_everything_else_of_a_step_is_carried() -> None:
    step = PLAN.steps[0]
    assert (step.must, step.takes, step.if_wrong, step.opens, step.basis) == (
        True,
        15.0,
        ("hum",),
        "clock",
        "IEC 60038",
    )
    assert step.reading is not None
    assert (step.reading.name, step.reading.unit, step.reading.low, step.reading.high) == (
        "supply",
        "V",
        207.0,
        253.0,
    )


@pytest.mark.parametrize(
    ("wanted", "low", "high"),
    [
        ("-24..-12", -24, -12),
        ("12..", 12, None),
        ("{mains.low}..{mains.high}", None, None),
        ("{mains.low}..", None, None),
        ("12..{mains.high}", 12, None),
        ("..{mains.high}", None, None),
    ],
)
def test_a_range_that_the_rig_does_not_say_is_left_open(wanted: str, low: float | None, high: float | None) -> None:
    step = f'{{id: a, do: Read it, reading: {{unit: V, wanted: "{wanted}"}}}}'
    plan = plan_of(f"playbook: p\ntitle: T\nsections: [{{title: S, steps: [{step}]}}]")
    reading = plan.steps[0].reading
    assert reading is not None and (reading.low, reading.high) == (low, high)


WHEN = """
playbook: p
title: T
sections:
  - {title: A, steps: [{id: a, do: Do it}]}
  - {title: B, when: festival, pause: before doors, steps: [{id: b, do: Do it}]}
  - {title: C, steps: [{id: c, do: Do it, when: [uk, not indoors]}, {id: d, do: Do it}]}
"""


@pytest.mark.parametrize(
    ("facts", "wanted"),
    [
        pytest.param({}, "a b c d", id="nothing known, all shown"),
        pytest.param({"festival": False}, "a c d", id="a section left out"),
        pytest.param({"festival": True, "uk": False}, "a b d", id="a step left out"),
        pytest.param({"indoors": True}, "a b d", id="one of two conditions"),
        pytest.param({"uk": True, "indoors": False, "festival": True}, "a b c d", id="all so"),
    ],
)
def test_what_does_not_apply_is_left_out(facts: dict[str, bool], wanted: str) -> None:
    plan = plan_of(WHEN, EMPTY, facts)
    assert keys(plan) == wanted.split()
    assert {step.section for step in plan.steps} == set(range(len(plan.sections)))


def test_the_show_knows_better_than_the_rig() -> None:
    assert "c" in keys(plan_of(WHEN, RIG)) and "c" not in keys(plan_of(WHEN, RIG, {"uk": False}))


@pytest.mark.parametrize(
    "why",
    [pytest.param({"festival": False}, id="by its when"), pytest.param(None, id="nothing of its kind in the rig")],
)
def test_a_section_with_nothing_to_do_leaves_its_pause_point(why: dict[str, bool] | None) -> None:
    text = WHEN if why else WHEN.replace("when: festival", "for_each: load")
    plan = plan_of(text, EMPTY, why)
    assert [(s.title, s.pause) for s in plan.sections] == [("A", "before doors"), ("C", "")]


def test_without_a_rig_what_repeats_is_not_there() -> None:
    assert keys(plan_of(BOOK)) == ["once"]


@pytest.mark.parametrize("plan", [PLAN, plan_of(WHEN), NO_PLAN], ids=["full", "small", "none"])
def test_a_plan_reads_back_the_same(plan: Plan) -> None:
    text = plan_to_json(plan)
    assert plan_from_json(text) == plan
    assert plan_to_json(plan_from_json(text)) == text


def test_what_a_newer_program_adds_is_passed_over() -> None:
    data = json.loads(plan_to_json(PLAN))
    data["colour"] = "red"
    data["steps"][0]["smell"] = "burnt"
    data["steps"][0]["reading"]["sharp"] = True
    data["sections"][0]["width"] = 3
    assert plan_from_json(json.dumps(data)) == PLAN


@pytest.mark.parametrize(
    "text",
    [
        "", "[]", "{}", "null", "{]", "[" * 100_000, '{"steps": 1}', '{"steps": [1], "sections": []}',
        '{"steps": [{}], "sections": []}', '{"steps": [], "sections": [{}]}', '{"steps": [], "sections": []}',
        '{"playbook": "p", "title": "", "sections": [], "steps": [{"key": "a", "id": "a", "section": 0, "do": ""}]}',
    ],
)  # fmt: skip
def test_what_is_no_plan_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        plan_from_json(text)


def test_two_steps_of_one_key_are_no_plan() -> None:
    data = json.loads(plan_to_json(PLAN))
    data["steps"].append(data["steps"][0])
    with pytest.raises(ValueError, match="two steps have one key"):
        plan_from_json(json.dumps(data))

"""Listening on the screens: meters, verdicts, lines that tick themselves, and a device that vanishes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from textual.pilot import Pilot

from showday import sound_live
from showday.desk import Desk
from showday.hearing import wanted_inputs
from showday.run import events as ev
from showday.run.session import Session
from showday.sound.model import Samples
from showday.tui.app import ShowdayApp
from showday.tui.screens.listen import ListenScreen
from showday.tui.widgets.lines import Lines
from tests.live.made_source import MadeSource
from tests.tui.evening import press, screen_text, until

RATE = 8_000
SIZE = (80, 24)
LINES = """
playbook: lines
title: Every line
sections:
  - title: Every input
    for_each: input
    steps:
      - {id: signal, do: "Make a sound into {input.name}", opens: listen, takes: 15s,
         reading: {name: peak, unit: dBFS, wanted: -24..-12}}
      - {id: rest, do: "Listen to {input.name}", opens: listen, if_wrong: hum}
"""


@pytest.fixture
def desk(make_desk: Callable[..., Desk], monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.setattr(sound_live, "STALLS_AFTER", 1e9)
    monkeypatch.setattr(sound_live, "STARTS_WITHIN", 1e9)
    return make_desk(playbooks=[LINES])


def noise(seconds: float, seed: int) -> Samples:
    """Two quiet lines, about -80 dBFS."""
    made = np.random.default_rng(seed).standard_normal((round(seconds * RATE), 2)) * 1e-4
    return made.astype(np.float32)


def tap(channel: int, peak: float = 0.126) -> Samples:
    """A second with a decaying stroke on one channel; 0.126 is -18 dBFS."""
    made = noise(1.0, 7)
    at = np.arange(RATE // 2) / RATE
    made[: RATE // 2, channel] += (peak * np.exp(-12 * at) * np.cos(2 * np.pi * 440 * at)).astype(np.float32)
    return made


def listening(app: ShowdayApp, desk: Desk, session: Session) -> MadeSource:
    """The app's ears on a source that this test sounds."""
    source = MadeSource("Rack", RATE, 2)
    app.ears.begin(source, wanted_inputs(desk.rig, session.state.plan))
    return source


async def sound(pilot: Pilot[Any], source: MadeSource, samples: Samples) -> None:
    """Let it sound, as quickly as it is listened to."""
    app: Any = pilot.app
    for start in range(0, len(samples), RATE // 2):
        live = app.ears._live
        wanted = live.seconds + len(samples[start : start + RATE // 2]) / RATE - 1e-6
        source.put(samples[start : start + RATE // 2])
        await until(pilot, lambda live=live, wanted=wanted: live.seconds >= wanted, tries=1_000)  # type: ignore[misc]


def ear(app: ShowdayApp) -> str:
    return "\n".join(line.text for line in app.screen.query_one("#ear", Lines).lines)


async def awaits(pilot: Pilot[Any], name: str) -> None:
    app: Any = pilot.app
    await until(pilot, lambda: app.ears._awaited == name, tries=1_000)


async def comes_to_rest(pilot: Pilot[Any], source: MadeSource, name: str) -> None:
    """Sound on quietly until the next input is awaited: the channel heard last must have rested before."""
    app: Any = pilot.app
    for seed in range(200):
        if app.ears._awaited == name:
            return
        await sound(pilot, source, noise(0.25, seed))
    raise AssertionError(f"{name} was never awaited")


async def test_hands_free_a_good_line_ticks_itself_and_another_does_not(desk: Desk) -> None:
    session = desk.start_run("lines")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        source = listening(app, desk, session)
        app.ears.hands_free = True
        await awaits(pilot, "Bass")
        await sound(pilot, source, noise(8.0, 1))
        assert session.state.steps == {}
        await sound(pilot, source, tap(1))  # somebody sounds the other one
        await until(pilot, lambda: "WRONG CHANNEL" in ear(app), tries=1_000)
        assert session.state.steps == {}
        await sound(pilot, source, noise(4.0, 2))
        app.ears.again()
        await sound(pilot, source, noise(4.0, 3))
        await sound(pilot, source, tap(0))
        await sound(pilot, source, noise(5.0, 4))
        await until(pilot, lambda: session.state.step("signal@1").result == ev.GOOD, tries=1_000)
        said = session.state.step("signal@1")
        assert said.source == ev.HEARD
        assert said.reading == pytest.approx(-18.0, abs=1.0)
        assert "nothing wrong heard" in said.reason
        await comes_to_rest(pilot, source, "Voice")
        assert session.state.step("rest@1").source == ev.HEARD
        assert session.state.step("signal@2").result == ""


async def test_what_was_taken_back_does_not_tick_itself_by_the_same_sound(desk: Desk) -> None:
    session = desk.start_run("lines")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        source = listening(app, desk, session)
        await awaits(pilot, "Bass")
        await sound(pilot, source, noise(8.0, 1))
        await sound(pilot, source, tap(0))
        await sound(pilot, source, noise(5.0, 4))
        await until(pilot, lambda: "GOOD" in ear(app), tries=1_000)
        assert session.state.steps == {}  # by hand until it is asked for
        app.ears.hands_free = True
        await until(pilot, lambda: session.state.step("rest@1").result == ev.GOOD, tries=1_000)
        await press(pilot, "u")
        await sound(pilot, source, noise(1.0, 5))
        await until(pilot, lambda: "NOT YET" in ear(app), tries=1_000)
        assert session.state.step("rest@1").result == ""


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_meters_findings_spectrum_and_a_device_that_vanishes(desk: Desk, size: tuple[int, int]) -> None:
    session = desk.start_run("lines")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=size, notifications=True) as pilot:
        source = listening(app, desk, session)
        await press(pilot, "f7")
        await until(pilot, lambda: isinstance(app.screen, ListenScreen))
        await press(pilot, "j")
        at = np.arange(14 * RATE) / RATE
        hum = noise(14.0, 3)
        hum[:, 1] += (0.003 * np.sin(2 * np.pi * 50.02 * at) + 0.001 * np.sin(2 * np.pi * 150.06 * at)).astype(
            np.float32
        )
        await sound(pilot, source, hum)
        await until(pilot, lambda: "2 Voice: Hum at 50.0" in screen_text(app), tries=1_000)
        assert "Listening to Rack, 2 channels, 8,000 Hz" in screen_text(app)
        assert " 1 Bass" in screen_text(app)
        await press(pilot, "enter")
        await until(pilot, lambda: "mains 50.0" in screen_text(app), tries=1_000)
        assert "strongest at 50 Hz" in screen_text(app)
        source.vanish()
        await until(pilot, lambda: "Rack stopped after" in screen_text(app), tries=1_000)
        await press(pilot, "q")
        assert session.state.steps == {}
        assert not app.ears.live


async def test_a_line_asked_for_on_a_device_that_vanished_is_not_called_dead_on_the_next(desk: Desk) -> None:
    session = desk.start_run("lines")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        source = listening(app, desk, session)
        ears = app.ears
        ears.await_input("Voice")
        await sound(pilot, source, np.concatenate([noise(4.0, 1), tap(0)]))
        assert [(one.kind, one.channel) for one in ears.findings()] == [("dead", 1)]
        source.vanish()
        await until(pilot, lambda: not ears.live, tries=1_000)
        source = listening(app, desk, session)
        ears.await_input("Bass")
        await sound(pilot, source, np.concatenate([noise(4.0, 1), tap(0)]))
        assert ears.findings() == []


async def test_a_fault_walk_begins_with_what_was_heard(make_desk: Callable[..., Desk], desk: Desk) -> None:
    tree = """
fault: hum
title: Hum
concerns: input
heard_as: [hum]
walk:
  - check: One line or many?
    id: lines
    heard: {one line: hum or buzz on 1 line, many lines: hum or buzz on 2 lines or more}
    answers: {one line: {cause: di}, many lines: {cause: supply}}
causes: {di: {what: The DI, cure: Press its audio ground lift}, supply: {what: The supply, cure: Call the electrician}}
help: {do: Call the electrician}
"""
    desk = make_desk(playbooks=[LINES], trees=[tree])
    session = desk.start_run("lines")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=SIZE, notifications=True) as pilot:
        source = listening(app, desk, session)
        at = np.arange(14 * RATE) / RATE
        hum = noise(14.0, 3)
        hum[:, 0] += (0.003 * np.sin(2 * np.pi * 50.02 * at) + 0.001 * np.sin(2 * np.pi * 150.06 * at)).astype(
            np.float32
        )
        await sound(pilot, source, hum)
        app.open_walk("hum", session.state.planned("rest@1"))
        await until(pilot, lambda: session.state.walk is not None)
        assert session.state.walk is not None
        assert session.state.walk.answers == (("lines", "one line"),)
        answered = [e.event for e in session.state.history if isinstance(e.event, ev.WalkAnswered)]
        assert [event.source for event in answered] == [ev.HEARD]

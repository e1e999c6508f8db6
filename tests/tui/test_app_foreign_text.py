"""Text from files, from the log and from the keyboard is shown as it is: no markup, no links, no escape sequences."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from showday.desk import Desk
from showday.errors import ShowdayError
from showday.run import events as ev
from showday.run.plan import plan_from_json, plan_to_json
from showday.run.session import Session
from showday.tui.app import ShowdayApp
from showday.tui.screens.interrupted import InterruptedScreen
from showday.tui.screens.modals import ChoiceModal, ListModal, TextModal
from showday.tui.screens.run import RunScreen
from showday.tui.screens.walk import WalkScreen
from tests.tui.evening import press, screen_text, until

NASTY = "[/] [SHIFT] [red] [@click=app.quit]x[/] e:bell:"
ESCAPED = "\x1b[31m"
"""No file may hold this, but a log that came from elsewhere may."""
FROM_LOG = NASTY.replace(":bell:", "␛[31m")
"""What a person sees of the run's texts."""
LONG = "N" * 10_000

RIG = json.dumps(
    {
        "rig": "nasty",
        "people": [{"name": NASTY}, {"name": LONG}],
        "inputs": [{"number": 1, "name": NASTY, "person": NASTY}, {"number": 2, "name": LONG}],
    }
)
BOOK = json.dumps(
    {
        "playbook": "nasty",
        "title": NASTY,
        "caution": NASTY,
        "sections": [
            {
                "title": NASTY,
                "caution": [NASTY, LONG],
                "pause": NASTY,
                "steps": [
                    {
                        "id": "one",
                        "do": f"Do {NASTY}",
                        "until": NASTY,
                        "why": NASTY,
                        "basis": NASTY,
                        "caution": NASTY,
                        "irreversible": NASTY,
                        "if_wrong": "nasty-tree",
                        "reading": {"name": NASTY, "unit": "dB"},
                    },
                    {"id": "two", "do": f"Do {LONG}", "for_each": "input", "until": LONG, "why": LONG},
                ],
            }
        ],
    }
)
TREE = json.dumps(
    {
        "fault": "nasty-tree",
        "title": NASTY,
        "heard_as": [NASTY],
        "caution": NASTY,
        "walk": [
            {
                "check": f"Look {NASTY}",
                "id": "look",
                "why": LONG,
                "answers": {f"a {NASTY}": {"cause": "bad"}, LONG[:1000]: {"cause": "bad"}},
            }
        ],
        "causes": {"bad": {"what": NASTY, "cure": f"Mend {NASTY}", "until": NASTY}},
        "help": {"do": f"Call {NASTY}", "takes": "2min"},
    }
)


@pytest.fixture
def app(make_desk: Callable[..., Desk]) -> ShowdayApp:
    desk = make_desk(rig=RIG, playbooks=(BOOK,), trees=(TREE,))
    text = plan_to_json(desk.plan_for("nasty")).replace(":bell:", json.dumps(ESCAPED)[1:-1])
    started = ev.RunStarted("nasty", NASTY, "")
    return ShowdayApp(desk, session=Session.start("run", plan_from_json(text), started, desk.world))


def plain(app: ShowdayApp) -> str:
    """The screen as one text without its line breaks."""
    text = screen_text(app)
    assert "\x1b" not in text
    assert "🔔" not in text
    return " ".join(text.replace("▌", " ").split())


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (140, 40)])
async def test_a_run_and_a_walk_show_it_as_it_is(app: ShowdayApp, size: tuple[int, int]) -> None:
    async with app.run_test(size=size, notifications=True) as pilot:
        assert FROM_LOG in plain(app)
        await press(pilot, "enter")
        assert FROM_LOG in plain(app)
        await press(pilot, "y 1")
        await until(pilot, lambda: not isinstance(app.screen, RunScreen))
        assert FROM_LOG in plain(app)
        await press(pilot, "escape t")
        await until(pilot, lambda: isinstance(app.screen, ListModal))
        assert "[/] [SHIFT]" in plain(app)
        await press(pilot, "escape a")
        assert "[/] [SHIFT]" in plain(app)
        await press(pilot, "escape i")
        await until(pilot, lambda: isinstance(app.screen, InterruptedScreen))
        assert FROM_LOG in plain(app)
        await press(pilot, "enter f")
        await until(pilot, lambda: isinstance(app.screen, ChoiceModal))
        assert FROM_LOG in plain(app)
        await press(pilot, "1")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        assert "[/] [SHIFT]" in plain(app)
        await press(pilot, "enter")
        assert "[/] [SHIFT]" in plain(app)
        await press(pilot, "1")
        assert NASTY in plain(app)
        await press(pilot, "1")
        assert NASTY in plain(app)
        await press(pilot, "1")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))


async def test_foreign_text_is_no_link(app: ShowdayApp) -> None:
    async with app.run_test(size=(140, 40), notifications=True) as pilot:
        rows = screen_text(app).splitlines()
        y = next(index for index, row in enumerate(rows) if "[@click=app.quit]x" in row)
        x = rows[y].index("[@click=app.quit]x") + len("[@click=app.quit]")
        await pilot.click(offset=(x, y))
        assert app.is_running
        assert isinstance(app.screen, RunScreen)
        assert app._exit is False


async def test_what_a_person_types_is_shown_as_it_is(app: ShowdayApp) -> None:
    async with app.run_test(size=(140, 40), notifications=True) as pilot:
        await press(pilot, "enter n")
        await until(pilot, lambda: isinstance(app.screen, TextModal))
        await pilot.press(*"[/][b", "enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert "note: [/][b" in screen_text(app)


async def test_a_long_name_never_pushes_the_keys_off_the_screen(app: ShowdayApp) -> None:
    session = app.session
    assert session is not None
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await press(pilot, "enter")
        session.record(ev.StepAnswered("one", ev.GOOD), ev.StepBegun("two@2"))
        screen = app.screen
        assert isinstance(screen, RunScreen)
        screen.show_all()
        await pilot.pause()
        text = screen_text(app)
        assert "N" * 50 in text
        last = text.splitlines()[-1]
        assert "help" in last
        assert "back" in last


async def test_toasts_and_errors_are_plain(app: ShowdayApp) -> None:
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await press(pilot, "n")
        await until(pilot, lambda: isinstance(app.screen, TextModal))
        app.say(str(ShowdayError(NASTY)), warning=True)
        await until(pilot, lambda: "[@click=app.quit]x" in plain(app))

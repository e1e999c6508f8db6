"""Both themes on real screens: every letter is readable, and nothing depends on colour."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from rich.color import Color as RichColor
from textual.app import App
from textual.color import Color

from showday.desk import Desk
from showday.tui.app import ShowdayApp
from showday.tui.screens.walk import WalkScreen
from showday.tui.themes import STAGE, SUN, THEMES, other
from showday.tui.widgets.lines import Lines
from tests.tui.evening import press, screen_text, until

LEAST = 4.5
"""WCAG 2.2, success criterion 1.4.3 (contrast, minimum)."""
BEST = 7.0
"""WCAG 2.2, success criterion 1.4.6 (contrast, enhanced)."""


def luminance(color: Color) -> float:
    """Relative luminance of an sRGB colour, WCAG 2.2."""

    def linear(channel: int) -> float:
        part = channel / 255
        return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)

    return 0.2126 * linear(color.r) + 0.7152 * linear(color.g) + 0.0722 * linear(color.b)


def contrast(one: Color, two: Color) -> float:
    """Contrast ratio, WCAG 2.2: from 1 to 21."""
    light, dark = sorted((luminance(one), luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_published_ends() -> None:
    black, white = Color.parse("#000000"), Color.parse("#ffffff")
    assert contrast(black, white) == pytest.approx(21)
    assert contrast(white, white) == pytest.approx(1)
    # The lightest grey on white that WCAG calls sufficient for text is #767676.
    assert contrast(Color.parse("#767676"), white) == pytest.approx(4.54, abs=0.01)


def painted(app: App[int]) -> Iterator[tuple[str, Color, Color]]:
    """Every piece of text on the screen with its colour and background."""

    def shade(color: RichColor | None) -> Color:
        assert color is not None
        return Color.from_rich_color(color)

    for strip in app.screen._compositor.render_strips():
        for text, style, _ in strip:
            if style is not None and any(char.isalnum() for char in text):
                yield text, shade(style.color), shade(style.bgcolor)


async def through_all(app: ShowdayApp, look: Callable[[str], None]) -> None:
    """Look at the screens of a run and a walk, one after another."""
    async with app.run_test(size=(140, 34), notifications=True) as pilot:
        look("caution")
        await press(pilot, "enter g")
        look("must")
        await press(pilot, "f2")
        await until(pilot, lambda: "Confirm a must step" in screen_text(app))
        look("palette")
        await press(pilot, "escape")
        app.notify("A toast", markup=False)
        app.notify("A warning", severity="warning", markup=False)
        await until(pilot, lambda: "A warning" in screen_text(app))
        look("toasts")
        await press(pilot, "g")
        look("what was said")
        await press(pilot, "m n")
        look("question")
        await press(pilot, "escape i")
        look("interrupted")
        await press(pilot, "enter")
        look("banner")
        await press(pilot, "f")
        look("choices")
        await press(pilot, "escape")
        await until(pilot, lambda: "Make a sound" in screen_text(app))
        await press(pilot, "enter f 1")
        await until(pilot, lambda: isinstance(app.screen, WalkScreen))
        look("walk caution")
        await press(pilot, "enter 2 2")
        look("walk")
        await press(pilot, "y 1")
        look("cause")


@pytest.mark.parametrize("theme", [SUN, STAGE])
async def test_every_letter_has_contrast(desk: Desk, theme: str) -> None:
    app = ShowdayApp(desk, session=desk.start_run("line-check"), theme_name=theme)
    seen = []

    def look(name: str) -> None:
        weak = [(text, f"{contrast(fg, bg):.1f}") for text, fg, bg in painted(app) if contrast(fg, bg) < LEAST]
        assert not weak, name
        seen.append(name)

    await through_all(app, look)
    assert len(seen) == 12


@pytest.mark.parametrize("theme", [SUN, STAGE])
async def test_the_current_step_has_the_best_contrast(desk: Desk, theme: str) -> None:
    app = ShowdayApp(desk, session=desk.start_run("line-check"), theme_name=theme)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await press(pilot, "enter g")
        core = next(w for w in app.screen.query(".card--core").results(Lines) if w.lines)
        texts = [line.text for line in core.lines if line.text]
        found = [contrast(fg, bg) for text, fg, bg in painted(app) if text.strip() in texts]
        assert len(found) == len(texts)
        assert min(found) >= BEST


def test_no_blue_on_black() -> None:
    theme = THEMES[STAGE]
    own = [theme.foreground, theme.primary, theme.secondary, theme.accent, theme.warning, theme.error, theme.success]
    colors = [Color.parse(c) for c in (*own, theme.variables["strong"], theme.variables["dim"]) if c]
    assert len(colors) == 9
    assert all(color.b <= max(color.r, color.g) for color in colors)


def test_sun_is_black_on_white() -> None:
    theme = THEMES[SUN]
    assert (theme.foreground, theme.background) == ("#000000", "#ffffff")
    assert theme.variables["strong"] == "#000000"


async def test_one_key_changes_the_theme_and_it_is_remembered(desk: Desk) -> None:
    kept: list[str] = []
    app = ShowdayApp(desk, session=desk.start_run("line-check"), theme_name=STAGE, remember=kept.append)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await press(pilot, "s")
        assert app.theme == SUN
        await press(pilot, "s")
        assert app.theme == STAGE
    assert kept == [SUN, STAGE]


def test_an_unknown_remembered_theme_is_the_stage(desk: Desk) -> None:
    assert ShowdayApp(desk, theme_name="mauve").theme == STAGE
    assert other(SUN) == STAGE
    assert other(STAGE) == SUN


async def test_results_and_musts_are_told_without_colour(desk: Desk) -> None:
    session = desk.start_run("line-check")
    app = ShowdayApp(desk, session=session)
    async with app.run_test(size=(140, 30), notifications=True) as pilot:
        await press(pilot, "enter g m l j")
        await until(pilot, lambda: "Make a sound" in screen_text(app))
        text = screen_text(app)
        assert "x Start the clock | good" in text
        assert "x ! Turn every pack to minimum | good" in text
        assert "! Load the scene | later" in text
        assert "~ ! Load" in text

"""The to-fix list in the plain front: told at the beginning, by a word, at the steps about it, and closed there."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from showday.desk import Desk
from showday.library import load_library
from showday.run.to_fix import ToFixOpened
from tests.plain.small_evening import CountingClock, Evening, begun
from tests.support.packing import PACKING


@pytest.fixture
def desk(make_desk: Callable[..., Desk]) -> Desk:
    made = make_desk()
    for number, text in enumerate(("DI box hums", "Pack clip broken", "Fader sticks", "Lamp out")):
        made.record(f"i{number}", ToFixOpened(text))
    return made


def test_the_first_few_are_told_when_a_run_is_opened_and_the_word_tells_all(desk: Desk) -> None:
    said = begun(desk).enter("to fix")
    before, after = said.shown[: said.shown.index("[step clock] Result?")], said.shown
    assert sum(line.startswith("To fix ") for line in before) == 3
    assert "And 1 more to fix; the words to fix say them all." in before
    assert any(line.startswith("To fix 4: ") and "Lamp out" in line for line in after)


def test_an_item_is_closed_by_its_number_with_how(desk: Desk) -> None:
    said = begun(desk).enter("cured 2 new clip", "cured 9 x", "cured clip")
    at = said.shown.index("Closed: Pack clip broken")
    assert said.shown[at + 1] == "Items behind number 2 have moved up by one."
    assert (desk.book().items["i1"].closed != "", desk.book().items["i1"].how) == (True, "new clip")
    assert "There is no open item '9'. The words to fix say them with their numbers." in said.shown
    assert "There is no open item 'clip'. The words to fix say them with their numbers." in said.shown
    assert len(desk.book().open_items()) == 3


def test_a_number_too_long_for_any_list_is_refused_like_another(desk: Desk) -> None:
    said = begun(desk).enter(f"cured {'9' * 5000} clip", "to fix")
    assert any(line.startswith("There is no open item '999") for line in said.shown)
    assert len(desk.book().open_items()) == 4


def test_steps_about_the_list_say_which_item_they_are(desk: Desk, tmp_path_factory: pytest.TempPathFactory) -> None:
    own = tmp_path_factory.mktemp("own")
    (own / "packing.yaml").write_text(PACKING, "utf-8")
    desk.library = load_library(own=own)
    assert isinstance(desk.world.clock, CountingClock)
    said = Evening(desk, desk.start_run("packing"), desk.world.clock).enter("g", "cured 2 new clip", "g")
    first, second = (said.shown.index(f"Do: See to it: {text}") for text in ("DI box hums", "Pack clip broken"))
    assert "To fix: 1; cured and this number closes it" in said.shown[first:second]
    assert "To fix: 2; cured and this number closes it" in said.shown[second:]
    assert "Closed: Pack clip broken" in said.shown

"""What the orders of a fault tree cost, and the computed order as text or as a tree of its own: for `showday check`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from showday.errors import FileTrouble
from showday.fault.compile import compile_tree
from showday.fault.model import Tree
from showday.fault.reader import read_tree
from showday.fault.strategy import Prices, computed_strategy, prices
from showday.library import read_bytes
from showday.text.safe import one_line


def sound_tree(path: Path) -> Tree | None:
    """The tree of a file without errors; None for every other file."""
    try:
        return read_tree(read_bytes(path), str(path))[0]
    except FileTrouble:
        return None


def price_line(tree: Tree, found: Prices) -> str:
    """One line: what each order takes on average until sound is back."""
    optimum = f"optimum {found.optimum:.1f} s" if found.optimum is not None else "optimum: too many states to know"
    return (
        f"{one_line(str(tree.title), 80)}: author's order {found.authored:.1f} s, computed {found.computed:.1f} s, "
        f"{optimum}, no order below {found.bound:.1f} s (expected time to restored sound)"
    )


def price_data(path: Path, found: Prices) -> dict[str, Any]:
    """The same as plain data for JSON; seconds."""
    return {
        "file": str(path),
        "authored_s": found.authored,
        "computed_s": found.computed,
        "optimum_s": found.optimum,
        "bound_s": found.bound,
    }


def priced(path: Path) -> tuple[str, dict[str, Any]] | None:
    """The line and the data of one file; None when it is no sound tree."""
    tree = sound_tree(path)
    if tree is None:
        return None
    found = prices(tree)
    return price_line(tree, found), price_data(path, found)


def computed_order(path: Path, form: str) -> str:
    """The computed order of a tree's file: `text`, indented for paper, or `yaml`, a fault tree with that order."""
    from showday.fault.strategy_text import strategy_text
    from showday.fault.strategy_yaml import strategy_yaml

    tree = sound_tree(path)
    if tree is None:
        raise FileTrouble(f"{path} is no fault tree without problems.", "`showday check` on it says what is wrong.")
    strategy = computed_strategy(compile_tree(tree), advised=ROUGH, least_mass=ROUGH)
    if form == "yaml":
        return strategy_yaml(tree, strategy, note="The computed order of this tree, to be reviewed and changed.")
    return strategy_text(tree, strategy)


ROUGH = 0.02
"""Turns less likely than this follow the p/c rule in print: paper has an end (a choice of this program)."""

"""The patch sheets for the house crew: inputs, mixes, packs, power."""

from __future__ import annotations

from collections.abc import Collection

from showday.paper.model import SHORT, SMALL, Block, Column, Part, Sheet, Table, Words
from showday.rig.model import Input, Load, Mains, Rig
from showday.rig.words import show

MIC_OR_DI = {"mic": "mic", "di": "DI", "line": "line", "wireless": "wireless", "playback": "playback"}
POWER_FACTOR = "Watts are what the labels say. At the same watts a poor power factor draws more current."

BY_WHOM = "A qualified person connects and measures the supply. Never lift the protective earth."


def input_sheet(rig: Rig, away: Collection[str] = ()) -> Sheet:
    """The input list: channel, name, mic or DI, box, phantom, who, and what else the house must know."""
    columns = (
        Column("Ch", 4),
        Column("Input", 15),
        Column("Mic / DI", 8),
        Column("Box, socket", 14),
        Column("48 V", 5),
        Column("Stand", 8),
        Column("Player", 9),
        Column("House", 7),
        Column("To know", 18),
    )
    rows = tuple(_input_row(line, away) for line in rig.inputs)
    wants = [str(line.number) for line in rig.inputs if line.phantom and line.number is not None]
    said = (
        f"48 V on channels: {', '.join(wants) or 'none that the rig file names'}.",
        "Agree who gives phantom: the side that is wired straight through. Mute before it is switched.",
        "'?': the rig file does not say. Empty: to be written here.",
    )
    part = Part("", (Words(" ".join(said), SMALL), Table(columns, rows)))
    return Sheet("Input list", (part,), f"{len(rows)} lines from the stage", wide=True)


def _input_row(line: Input, away: Collection[str]) -> tuple[str, ...]:
    known = [
        "pad in" if line.pad else "",
        f"pair with {line.pair}" if line.pair is not None else "",
        "NEVER to the house" if line.house is False else "",
        "spare line" if line.spare else "",
        "player not here" if line.person and line.person in away else "",
    ]
    return (
        show(line.number),
        line.name,
        MIC_OR_DI.get(line.source, line.source),
        line.box,
        "?" if line.phantom is None else "48 V" if line.phantom else "no",
        "none" if line.source in ("di", "line", "wireless", "playback") else "",
        line.person,
        "none" if line.house is False else "",
        ", ".join(text for text in known if text),
    )


def output_sheet(rig: Rig) -> Sheet:
    """Mixes with their outputs, packs, what goes to the house, and what is plugged in where."""
    parts = []
    if rig.mixes:
        outputs = (Column("Mix", 5), Column("Output", 6), Column("", 3), Column("Transmitter", 4), Column("Who", 6))
        mixes = (
            (mix.name, mix.output, _sides(mix.stereo), mix.transmitter, ", ".join(mix.people)) for mix in rig.mixes
        )
        parts.append(Part("Mixes", (Table(outputs, tuple(mixes)),)))
    if rig.packs:
        columns = (
            Column("Pack", 4),
            Column("Transmitter", 4),
            Column("Who", 4),
            Column("Cells", 4),
            Column("Hours", 2),
            Column("Fresh at", 3),
        )
        packs = (
            (p.name, p.transmitter, "spare" if p.spare else p.person, p.cells, show(p.hours), "") for p in rig.packs
        )
        parts.append(Part("Packs", (Table(columns, tuple(packs)),)))
    kept = [f"{show(line.number)} {line.name}".strip() for line in rig.inputs if line.house is False]
    house = f"Every line but {', '.join(kept)}." if kept else "Every line of the input list."
    parts.append(Part("To the house", (Words(house),)))
    if rig.loads:
        parts.append(_power(rig))
    return Sheet("Outputs, packs, power", tuple(parts), kind=SHORT)


def _sides(stereo: bool | None) -> str:
    return "" if stereo is None else "stereo" if stereo else "mono"


def _power(rig: Rig) -> Part:
    """What is plugged in where, with sums; nothing is said about what a circuit of the venue can bear."""
    columns = (
        Column("Load", 10),
        Column("Watts", 5),
        Column("Runs on", 8),
        Column("Supply", 10),
        Column("Circuit", 8),
        Column("Socket here", 7),
    )
    rows = tuple((load.name, show(load.watts), _volts(load), load.supply, load.circuit, "") for load in rig.loads)
    supply = _supply(rig.mains)
    blocks: list[Block] = [Words(supply)] if supply else []
    blocks += [Table(columns, rows), Words(" ".join(_sums(rig)))]
    blocks.append(Words(f"{POWER_FACTOR} {BY_WHOM}", SMALL))
    return Part("Power", tuple(blocks))


def _supply(mains: Mains) -> str:
    said = [f"{show(mains.volts)} V" if mains.volts else "", f"{show(mains.hertz)} Hz" if mains.hertz else ""]
    nominal = ", ".join(text for text in said if text)
    if mains.lowest is None or mains.highest is None:
        return nominal
    return f"{nominal}; acceptable {show(mains.lowest)} to {show(mains.highest)} V".lstrip("; ")


def _volts(load: Load) -> str:
    if load.low is None and load.high is None:
        return ""
    return f"{show(load.low) or '?'} to {show(load.high) or '?'} V"


def _sums(rig: Rig) -> list[str]:
    """Watts a circuit and in all, and amperes at the nominal voltage with a power factor of 1 (P = U * I)."""
    circuits: dict[str, float] = {}
    for load in rig.loads:
        if load.watts is not None:
            circuits[load.circuit] = circuits.get(load.circuit, 0.0) + load.watts
    silent = [load.name for load in rig.loads if load.watts is None]
    lines = [f"Circuit {name or 'not named'}: {_draw(watts, rig.mains.volts)}." for name, watts in circuits.items()]
    if len(circuits) > 1:
        lines.append(f"All: {_draw(sum(circuits.values()), rig.mains.volts)}.")
    return [*lines, f"Without watts in the rig file: {', '.join(silent)}."] if silent else lines


def _draw(watts: float, volts: float | None) -> str:
    amps = f", at least {watts / volts:.1f} A at {show(volts)} V" if volts else ""
    return f"{watts:.0f} W{amps}"

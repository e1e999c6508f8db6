"""Where the act played in its two seasons, and what each place is like. All of it is invented."""

from __future__ import annotations

from dataclasses import dataclass

LINE, SCAN, LOAD_IN, TEARDOWN = "line-check", "rf-scan", "load-in", "teardown"


@dataclass(frozen=True)
class Trouble:
    """What is wrong at a place more often than elsewhere: found at a step, by a tree, with this cause."""

    step: str
    """Key of the step."""
    tree: str
    cause: str
    chance: float


@dataclass(frozen=True)
class Place:
    """A venue: what is measured there, what is on the air, and what goes wrong."""

    name: str
    town: str
    facts: tuple[str, ...]
    slot: str
    changeover: float
    """Minutes."""
    pace: float
    """Factor on every time: gravel, stairs, a helpful house."""
    volts: float
    loaded: float
    metres: float
    """Of the longest run."""
    amperes: float
    """Of the breaker."""
    peak: float
    """Usual level of a line in dBFS."""
    over_noise: float
    """dB that the in-ears stand over the noise."""
    moved: float
    """MHz that the frequencies of the rig file are moved by, to stay out of television."""
    television: tuple[tuple[str, str], ...]
    signals: tuple[float, ...] = ()
    """MHz of other people's carriers."""
    troubles: tuple[Trouble, ...] = ()
    notes: tuple[tuple[str, str], ...] = ()
    """Topic and text, noted at the first visit."""


FESTIVAL = ("festival", "outdoors", "generator", "not house-rf", "not indoors", "split")
CLUB = ("club", "indoors", "not festival", "not outdoors", "not generator", "not house-rf", "split")

BRICKWORKS = Place(
    "Brickworks Yard",
    "Ternhaven",
    FESTIVAL,
    slot="20:10",
    changeover=20,
    pace=1.12,
    volts=220,
    loaded=214,
    metres=46,
    amperes=16,
    peak=-19,
    over_noise=26,
    moved=0,
    television=(("TV 30", "542-550"), ("TV 34", "574-582")),
    signals=(551.2, 569.1),
    troubles=(
        Trouble("laptop-loop", "hum", "laptop-supply", 1.0),
        Trouble("walk", "rf-dropouts", "line-of-sight", 1.0),
    ),
)
GRANARY = Place(
    "Lower Granary",
    "Ossenvik",
    CLUB,
    slot="21:15",
    changeover=40,
    pace=1.0,
    volts=230,
    loaded=228,
    metres=18,
    amperes=16,
    peak=-18,
    over_noise=38,
    moved=0,
    television=(("TV 33", "566-574"),),
    signals=(552.75,),
    troubles=(Trouble("laptop-loop", "hum", "laptop-supply", 0.6),),
)
LARKENFOLD = Place(
    "Larkenfold Meadow",
    "Brindlemoor",
    FESTIVAL,
    slot="18:50",
    changeover=18,
    pace=1.15,
    volts=226,
    loaded=219,
    metres=52,
    amperes=32,
    peak=-18,
    over_noise=24,
    moved=16,
    television=(("TV 31", "550-558"), ("TV 32", "558-566")),
    signals=(545.6, 587.3),
    troubles=(Trouble("pack-same@pack-3", "rf-dropouts", "other-act", 0.7),),
    notes=(
        ("contact", "Osk runs the second stage, phone 000 000 0113. He sits in the white van."),
        ("access", "Meadow is soft after rain. Boards to the stage, the rack goes last."),
        ("frequency", "Three stages, no list. Ask the other two before every scan."),
    ),
)
SALTMEADOW = Place(
    "Saltmeadow Field",
    "Quillmarsh",
    FESTIVAL,
    slot="17:30",
    changeover=20,
    pace=1.08,
    volts=228,
    loaded=223,
    metres=35,
    amperes=16,
    peak=-17,
    over_noise=29,
    moved=8,
    television=(("TV 30", "542-550"),),
    signals=(556.4,),
    troubles=(Trouble("rest@8", "crackle", "pedal-lead", 0.4),),
    notes=(
        ("contact", "Wibke answers at the gate, phone 000 000 0121."),
        ("access", "Salt wind from the left. Covers on the rack until the act before is off."),
        ("distance", "From the van to the stage 60 m on plates."),
    ),
)
ALDERSLUICE = Place(
    "Aldersluice Park",
    "Wexholt",
    FESTIVAL,
    slot="19:20",
    changeover=25,
    pace=1.05,
    volts=231,
    loaded=227,
    metres=28,
    amperes=32,
    peak=-18,
    over_noise=31,
    moved=-8,
    television=(("TV 32", "558-566"), ("TV 35", "582-590")),
    signals=(567.9,),
    troubles=(Trouble("rest@7", "hum", "pedal-supply", 0.6),),
    notes=(
        ("contact", "Jorun builds the stage, phone 000 000 0136. The park's electrician is there until 22:00."),
        ("supply", "Red 32 A socket under the stage stairs, ours alone."),
    ),
)
COPPER = Place(
    "Copper Loft",
    "Varnstead",
    CLUB,
    slot="21:40",
    changeover=30,
    pace=0.96,
    volts=233,
    loaded=231,
    metres=12,
    amperes=16,
    peak=-20,
    over_noise=40,
    moved=8,
    television=(("TV 30", "542-550"), ("TV 32", "558-566")),
    troubles=(Trouble("phantom-on@5", "dead-mic", "phantom-off", 0.8),),
    notes=(
        ("contact", "Tobber mixes and tends the bar, phone 000 000 0149. Not before 16:00."),
        ("access", "Two flights, narrow turn. Rack upright, wheels first."),
        ("note", "The desk loads the house scene whenever somebody opens its lid. Phantom goes with it."),
    ),
)
TIDEBELL = Place(
    "Tidebell Hall",
    "Marrowick",
    ("theatre", "indoors", "house-rf", "not festival", "not outdoors", "not generator", "split"),
    slot="20:00",
    changeover=45,
    pace=0.92,
    volts=229,
    loaded=229,
    metres=22,
    amperes=16,
    peak=-18,
    over_noise=36,
    moved=-16,
    television=(("TV 33", "566-574"),),
    troubles=(Trouble("lights-half", "hum", "dimmers", 0.5),),
    notes=(
        ("contact", "Annek does radio for the whole house, phone 000 000 0158. Send the count two days before."),
        ("supply", "Sound has its own board left of the stage. Do not take the floor boxes, they are the lights'."),
    ),
)
NINEFATHOM = Place(
    "Ninefathom Cellar",
    "Grellport",
    CLUB,
    slot="22:00",
    changeover=25,
    pace=1.02,
    volts=227,
    loaded=222,
    metres=14,
    amperes=16,
    peak=-16,
    over_noise=34,
    moved=0,
    television=(("TV 31", "550-558"),),
    troubles=(Trouble("rest@1", "hum", "near-mains", 0.6), Trouble("pack-up@pack-5", "one-ear", "plug-half-in", 0.4)),
    notes=(
        ("contact", "Sibb has the keys, phone 000 000 0163. Bell is broken, knock."),
        ("supply", "The cooler's cable lies under the drum riser. Keep the stage box a metre off."),
    ),
)


@dataclass(frozen=True)
class Night:
    """One date: days before tonight, where, what was run (nothing, when nobody opened the laptop), and what was said."""

    before: int
    place: Place
    runs: tuple[str, ...]
    note: str = ""
    away: tuple[str, ...] = ()


NIGHTS = (
    Night(728, LARKENFOLD, (SCAN, LINE), "Twelve minutes late on stage, the act before had overrun"),
    Night(721, COPPER, (LINE,), "Overheads were dead until the phantom came back"),
    Night(714, SALTMEADOW, (SCAN,), "House made the line check with us, ours was skipped"),
    Night(707, NINEFATHOM, (LINE,), "Low ceiling. Nobody heard the click outside"),
    Night(700, TIDEBELL, ()),
    Night(693, ALDERSLUICE, (SCAN,), "Rain until six, then sun. Line check by shout"),
    Night(686, GRANARY, (LINE,), "Hedda had patched us before we came"),
    Night(679, BRICKWORKS, (SCAN, LINE), "Generator held this time. The corner behind the pillar stays weak"),
    Night(672, COPPER, (LINE,), "Second time with the loft's own desk, again its scene"),
    Night(665, SALTMEADOW, ()),
    Night(658, NINEFATHOM, ()),
    Night(651, TIDEBELL, (LINE, TEARDOWN), "Last night of the summer"),
    Night(98, ALDERSLUICE, (LOAD_IN, LINE), "First show of the year, everybody slow"),
    Night(91, NINEFATHOM, (LINE,), "Sofie's plug sat half in her pack again"),
    Night(84, SALTMEADOW, (SCAN, LINE), "Wind on every open mic"),
    Night(77, TIDEBELL, (LINE,), "", ("Pavel",)),
    Night(70, GRANARY, (LINE,), "The laptop's supply again. The DI with transformer goes in first next time"),
    Night(63, LARKENFOLD, (SCAN, LINE), "Three acts with in-ears, and no list"),
    Night(56, COPPER, (LINE,), "Tobber leaves the lid shut now"),
    Night(49, BRICKWORKS, (SCAN, LINE), "Runa gave us the short feed without being asked"),
    Night(42, ALDERSLUICE, ()),
    Night(35, NINEFATHOM, ()),
    Night(28, SALTMEADOW, ()),
    Night(21, LARKENFOLD, (LINE,), "Stage manager counted the minutes aloud"),
)
"""Oldest first: a summer two years ago, after the two scripted evenings, and this year's."""

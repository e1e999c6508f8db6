"""Every key of every screen in one table: footer, command palette, help and bindings are made from it.

A key stands here once and so means the same on every screen; what that comes to on the frequencies screen is said in
`ON_RADIO`. Only plain letters, digits, Enter, Esc, arrows and F-keys are used: other chords are swallowed by some
terminals and cannot be pressed with one gloved hand. A sign is never more than a second way to do something.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from textual.binding import Binding

EVERYWHERE, RUN, WALK, INTERRUPTED = "everywhere", "run", "walk", "interrupted"
"""Screens of this table; the screens of the evening below."""
TONIGHT, SEARCH, BRIEF, PAST, PROBLEMS, HELP = "tonight", "search", "brief", "past", "problems", "help"
PAST_RUN = "past run"
TO_FIX = "to-fix list"
RADIO = "radio"
"""The frequencies: a sweep, a plan, and what if."""
LISTEN = "listen"
"""The channels as meters, and what was heard."""
LISTS = (TONIGHT, BRIEF, PAST, PAST_RUN, TO_FIX, PROBLEMS, HELP)
"""Screens that are one list."""


@dataclass(frozen=True, slots=True)
class Command:
    """One thing a person can do."""

    id: str
    """Name for remapping; the action of the same name (with `_`) is called on the screen or the app."""
    keys: tuple[str, ...]
    """Names of keys as the terminal library gives them; the first one is shown."""
    label: str
    """Two words at most, for the footer."""
    help: str
    """One sentence, for `?` and the command palette."""
    where: tuple[str, ...]

    @property
    def action(self) -> str:
        """Name of the action method without `action_`."""
        return self.id.replace("-", "_")

    @property
    def key(self) -> str:
        """The key as printed on the keyboard."""
        return shown(self.keys[0])

    @property
    def all_keys(self) -> str:
        """Every key as printed on the keyboard."""
        return " ".join(shown(key) for key in self.keys)


_SHOWN = {
    "question_mark": "?",
    "escape": "Esc",
    "enter": "Enter",
    "slash": "/",
    "up": "Up",
    "down": "Down",
    "space": "Space",
    "pagedown": "PgDn",
    "f1": "F1",
    "f2": "F2",
    "f3": "F3",
    "f4": "F4",
    "f5": "F5",
    "f6": "F6",
    "f7": "F7",
    "f8": "F8",
    "f9": "F9",
    "f10": "F10",
}

DIGITS = tuple("123456789")


def shown(key: str) -> str:
    """A key's name as printed on the keyboard."""
    return _SHOWN.get(key, key)


COMMANDS: tuple[Command, ...] = (
    # -- answers to a step ---------------------------------------------------------------------------------------
    Command("good", ("g",), "good", "It is as wanted; in a fault walk, the sound is good again.", (RUN, WALK, RADIO)),
    Command(
        "must", ("m",), "confirm", "Confirm a must step; its own key, so that nobody taps through it.", (RUN, RADIO)
    ),
    Command("yes", ("y",), "go ahead", "The second key, where the first one is not enough.", (RUN, WALK)),
    Command(
        "fault",
        ("f",),
        "fault",
        "It is not as wanted: keep it as a fault and offer the way to find it.",
        (RUN, RADIO),
    ),
    Command("later", ("l",), "later", "Put it off; it stays owed and comes back at the next pause point.", (RUN,)),
    Command("leave-out", ("o",), "left out", "Leave it out for good; asks for the reason.", (RUN, RADIO, LISTEN)),
    Command("not-here", ("h",), "not here", "It does not apply here tonight.", (RUN, LISTEN)),
    Command("dont-know", ("d",), "don't know", "No answer to this one; the walk goes on without it.", (WALK,)),
    Command("cant-now", ("c",), "can't now", "Cannot be done now; it is offered again before help.", (WALK,)),
    Command("odds", ("z",), "odds", "What is still likely, as bars, and why not the author's order.", (WALK, RADIO)),
    Command("order", ("f3",), "order", "The computed order or the author's; it is remembered.", (WALK,)),
    Command("goal", ("f4",), "goal", "Restore sound first, or look for the cause.", (WALK,)),
    Command("in-time", ("f5",), "in time", "Take the step that is likelier to help in the time left.", (WALK,)),
    Command(
        "time", ("f8",), "time", "When it will be over, and what to leave out when it will not fit.", (RUN, WALK)
    ),
    # -- what belongs to a step ----------------------------------------------------------------------------------
    Command("reading", ("r",), "reading", "Note the number of this step; typing the number does the same.", (RUN,)),
    Command("note", ("n",), "note", "Write a few words into the log.", (RUN, WALK, INTERRUPTED, BRIEF, TO_FIX)),
    Command(
        "undo",
        ("u",),
        "undo",
        "Take back the last answer, reading or note, as often as you like; opens again what was just closed.",
        (RUN, WALK, TONIGHT, BRIEF, TO_FIX, RADIO),
    ),
    Command(
        "look-back",
        ("b",),
        "last again",
        "Look at the last one again; outside of a run, at the runs of the past.",
        (RUN, WALK, TONIGHT, BRIEF, RADIO),
    ),
    # -- moving --------------------------------------------------------------------------------------------------
    Command(
        "next", ("j", "down"), "next", "Go to the next step or row without answering.", (RUN, *LISTS, RADIO, LISTEN)
    ),
    Command(
        "previous",
        ("k", "up"),
        "before",
        "Go to the step or row before without answering.",
        (RUN, *LISTS, RADIO, LISTEN),
    ),
    Command(
        "show-list",
        ("t",),
        "list",
        "Show the whole list, to take any step out of turn; of a past run, every entry; else what is to be fixed.",
        (RUN, WALK, PAST_RUN, TONIGHT, TO_FIX, RADIO),
    ),
    Command(
        "more",
        ("space", "pagedown"),
        "more",
        "The rest of a text that is longer than the screen.",
        (RUN, WALK, *LISTS, RADIO),
    ),
    Command(
        "go-on",
        ("enter",),
        "go on",
        "Go on from a caution, a pause point or an interruption; in a list, take the marked row.",
        (RUN, WALK, INTERRUPTED, SEARCH, *LISTS, RADIO, LISTEN),
    ),
    Command("interrupt", ("i",), "interrupt", "Leave at once: the place is kept, Enter goes on.", (RUN, WALK, RADIO)),
    Command("end", ("e",), "end", "End the run: complete, or stopped with what is still owed.", (RUN,)),
    # -- everywhere ----------------------------------------------------------------------------------------------
    Command(
        "wrong", ("w",), "what's wrong", "Something is wrong: the list of faults, by what you hear.", (EVERYWHERE,)
    ),
    Command("away", ("a",), "who's away", "Say who is not here; their lines are not asked.", (RUN, WALK, TONIGHT)),
    Command("light", ("s",), "sun/stage", "Change between the sun and the stage theme.", (EVERYWHERE,)),
    Command("help", ("question_mark", "f1"), "help", "Every key of this screen.", (EVERYWHERE,)),
    Command("palette", ("f2",), "commands", "Find a command by its name.", (EVERYWHERE,)),
    Command("back", ("q", "escape"), "back", "Back to where you came from; nothing is lost.", (EVERYWHERE,)),
    # -- screens of the evening: tonight, search, brief, past, problems, help ------------------------------------
    Command(
        "change",
        ("x",),
        "change",
        "Change what stands here: tonight's show, or the venue.",
        (TONIGHT, BRIEF, RADIO, LISTEN),
    ),
    Command("venue", ("v",), "venue", "What is known of tonight's venue.", (TONIGHT, LISTEN)),
    Command("problems", ("p",), "problems", "What is wrong in your files, with line and column.", (TONIGHT,)),
    Command(
        "notes",
        ("f10",),
        "notes",
        "Find what was ever noted, in any list and at any venue.",
        (TONIGHT, BRIEF, PAST, TO_FIX),
    ),
    Command("find", ("slash",), "find", "Find a playbook, a step or a fault by its words.", (EVERYWHERE,)),
    # -- the frequencies -----------------------------------------------------------------------------------------
    Command(
        "listen",
        ("f7",),
        "listen",
        "Hear the lines: meters, what is wrong, lines that tick themselves.",
        (RUN, WALK, TONIGHT),
    ),
    Command("radio", ("f6",), "radio", "The frequencies: sweep, plan, clearances, what if.", (RUN, WALK, TONIGHT)),
    Command(
        "plan", ("f9",), "plan", "Look for the frequencies with the largest clearance; it runs beside.", (RADIO,)
    ),
    Command(
        "zoom-all", ("0",), "whole span", "Everything there is to see; again, your transmitters' range.", (RADIO,)
    ),
)

ON_RADIO = {
    "good": ("keep plan", "It is good as it is: write the plan into the log, with the reason."),
    "fault": ("spare in", "The marked carrier is in trouble: a spare takes over, or gives it back."),
    "must": ("hold", "It must stay: the next plan leaves the marked carrier where it is; or let it go."),
    "leave-out": ("drop", "Leave the marked carrier out; undo brings it back."),
    "odds": ("closer", "A closer look: half as wide, around the cursor."),
    "undo": ("undo", "Take back the last change of the table or of what is planned."),
    "look-back": ("wider", "Back to twice the width."),
    "show-list": ("open sweep", "The list of sweep files, to open one; a second one can be merged with it."),
    "more": ("along", "The next part of the drawing."),
    "go-on": ("move", "Take the marked carrier: move it step by step, or type its frequency."),
    "interrupt": ("stop", "Stop the proof at once; the best that was found is kept."),
    "change": ("change, add", "Change what is planned; add a carrier, a spare, another act's carrier, a band."),
}
"""Keys of everywhere on the frequencies screen: what they are called there, and what they do to carriers and sweeps."""

ON_LISTEN = {
    "leave-out": ("stop", "Stop listening; the list goes on by hand."),
    "not-here": (
        "hands free",
        "Hands free: good lines tick themselves, a must waits for your key; or by hand again.",
    ),
    "next": ("next", "Mark the next channel."),
    "previous": ("before", "Mark the channel before."),
    "go-on": ("spectrum", "The spectrum of the marked channel with the mains in it; or back to the meters."),
    "change": ("device", "Choose the device that is listened to."),
    "venue": ("tones", "Verdicts as short, quiet tones in your own pack; off until you choose an output."),
}
"""Keys of everywhere on the listening screen."""
_WORDS = {RADIO: ON_RADIO, LISTEN: ON_LISTEN}


def commands(where: str) -> list[Command]:
    """The commands of one screen, in the order of the table and in its words, without those of everywhere."""
    return [_in_words_of(where, command) for command in COMMANDS if where in command.where]


def _in_words_of(where: str, command: Command) -> Command:
    said = _WORDS.get(where, {}).get(command.id)
    return replace(command, label=said[0], help=said[1]) if said else command


def worded(where: str, id: str) -> Command:
    """The command of an id in the words of a screen; KeyError when there is none."""
    return _in_words_of(where, command(id))


def command(id: str) -> Command:
    """The command of an id; KeyError when there is none."""
    for found in COMMANDS:
        if found.id == id:
            return found
    raise KeyError(id)


def bindings(where: str) -> list[Binding]:
    """Bindings of one screen, or of `EVERYWHERE` for the app; each carries its id, so it can be remapped."""
    return [
        Binding(",".join(c.keys), c.action, c.label, show=False, key_display=c.key, tooltip=c.help, id=c.id)
        for c in commands(where)
    ]


def digit_bindings() -> list[Binding]:
    """Digits choose the line of that number: action `choose(n)`."""
    return [Binding(d, f"choose({d})", f"line {d}", show=False) for d in DIGITS]

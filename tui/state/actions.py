"""What can be done on the screen, once: the menu, the help, the palette and the key bar all read it."""

from __future__ import annotations

from dataclasses import dataclass

GROUPS = {"f": "File", "e": "Edit", "s": "On site", "c": "Compare", "l": "Look"}
"""The groups of the menu, by their letter after Esc; together with Alt the same letter opens the group at once."""
GROUP_WORDS = {"f": "new, open, save, report, copy, page, quit", "e": "undo, find, range, groups of inputs",
               "s": "readings, the clock of the stages, a record",
               "c": "keep and compare, take from the kit, several cases",
               "l": "places, lines or letters, units, colours"}
"""What a group holds, in short."""
PLACES = ("Set-up", "Fill", "Pump-up", "Hold", "Kit", "Quote", "Cautions")
"""The places in the order of the work; the first is opened by 1 after Esc, or by Alt+1."""
WITH_GAS = {"Fill": "Gas", "Pump-up": "Raise"}
"""What places are called in a test with gas, where nothing is filled and no pump is there."""


@dataclass(frozen=True)
class Action:
    letter: str
    """Of its group, a key of GROUPS, and its own within the group: "fs" is S in the group F."""
    name: str
    """Of the method `action_...` of the screen, or of what it asks on the way."""
    title: str
    keys: tuple[str, ...] = ()
    """That do it at once."""
    help: str = ""
    bar: str = ""
    """Short words for the key bar; empty where it does not stand there."""
    asks: bool = False
    """Whether it asks something on the way; such an action has no method of its own."""

    @property
    def group(self) -> str:
        """The letter of its group."""
        return self.letter[0]

    @property
    def typed(self) -> str:
        """How it is reached through the menu."""
        return f"Esc {' '.join(self.letter.upper())}"

    @property
    def call(self) -> str:
        """What a key is bound to."""
        return f"flow('{self.name}')" if self.asks else self.name


ACTIONS: tuple[Action, ...] = (
    Action("fq", "quit", "Quit", ("ctrl+q", "alt+q"), "asks only when something is not saved", "quit"),
    Action("fs", "save", "Save", ("ctrl+s", "f2"), "write the case to its file", "save", asks=True),
    Action("fa", "save_as", "Save as…", ("ctrl+e", "alt+a"), "write the case to another file", asks=True),
    Action("fo", "open", "Open…", ("ctrl+o", "alt+o"), "open another case", asks=True),
    Action("fn", "new", "New case", ("ctrl+n", "alt+n"), "with nothing given yet", asks=True),
    Action("fr", "report", "Read the whole report", ("ctrl+r", "f4", "alt+r"), "every answer, caution and assumption",
           asks=True),
    Action("ft", "copy", "Copy answers as text", ("ctrl+f", "alt+t"),
           "to the clipboard, and to a file beside the case"),
    Action("fm", "copy_quote", "Copy the quote", ("alt+m", "shift+f3"), "one sentence and the needs, for a mail"),
    Action("fx", "page", "Write a page…", ("alt+x", "shift+f4"), "for a browser or a printer", asks=True),
    Action("eu", "undo", "Undo", ("ctrl+z", "alt+z"), "take back the last change", "undo"),
    Action("ey", "redo", "Redo", ("ctrl+y", "alt+y"), "do it again"),
    Action("ef", "find", "Find an input or action…", ("ctrl+p",), "type a few letters of its name", "find"),
    Action("er", "range", "Range of this input…", ("alt+g", "f10"), "low and high, or ±10 %, of the field you are in",
           asks=True),
    Action("en", "next_group", "Next group of inputs", ("pagedown",), "", "next group"),
    Action("ep", "previous_group", "Group before", ("pageup",)),
    Action("sr", "reading", "Enter a reading…", ("ctrl+l", "alt+i"), "gauge pressure and strokes, while pumping",
           asks=True),
    Action("su", "use_air", "Use this trapped air in the case", (), "what the readings tell, with its range; U in Hold",
           asks=True),
    Action("sn", "stage", "Next stage of the clock", ("shift+f2",), "writes what the stage took; N in the place Hold"),
    Action("sf", "record", "Read a recorder's file…", ("shift+f5",),
           "its parts, the trapped air, and what explains the hold", asks=True),
    Action("sh", "move_hold", "Move the hold of the record…", ("shift+f7",), "such as 10:42-11:12", asks=True),
    Action("sk", "record_strokes", "Strokes a minute of the record…", (), "how fast the pump ran",
           asks=True),
    Action("sl", "record_leak", "Leak the record must show…", (), "whether the hold could show it",
           asks=True),
    Action("ss", "rules", "What standards say…", (), "test pressures and hold times, to look up", asks=True),
    Action("ck", "keep", "Keep answers to compare", ("ctrl+b", "alt+k"),
           "then change something: Kept, Now, Difference"),
    Action("ca", "compare", "All answers: kept and now", ("alt+v", "f6"), "every answer, and what was changed",
           asks=True),
    Action("cw", "let_go", "Let go of what is kept", ("alt+w", "shift+f6")),
    Action("ch", "hose", "Take a hose from the kit…", ("ctrl+g", "alt+h"), "in the place of the first fill hose",
           asks=True),
    Action("cp", "pump", "Take a pump from the kit…", ("alt+p", "f5"), asks=True),
    Action("ct", "within", "What a given time allows…", (), "hose, air and drive pressure; W in the place Kit",
           asks=True),
    Action("cv", "visit", "Quote several cases…", ("alt+j", "f3"), "one visit, one total", asks=True),
    Action("ln", "next_place", "Next place", ("ctrl+t",), "in the order of the work", "next place"),
    Action("lm", "marks", "Charts in lines or letters", ("alt+d", "f7"), "for terminals without the fine dots"),
    Action("lu", "units", "Metric or US units", ("alt+u", "f8"), "of the answers; inputs stay as typed"),
    Action("lc", "look", "Dark, light, terminal", ("f9",), "which colours"),
)

HARMLESS = ("quit", "copy", "copy_quote", "look", "find")
"""What may be done while a question stands over the case."""
NO_ALT = frozenset("bf")
"""Letters that terminals send with Alt for Control and an arrow."""
BY_LETTER = {action.letter: action for action in ACTIONS}
BY_KEY = {key: action for action in ACTIONS for key in action.keys if "+" in key}
"""By the key with Ctrl, Alt or Shift that does it at once."""
BY_NAME = {action.name: action for action in ACTIONS}
BY_ALT = {key[-1]: action for action in ACTIONS for key in action.keys if key.startswith("alt+")}
"""By the letter that does it together with Alt, and after Esc too: a terminal sends both alike."""


def place_names(gas: bool) -> tuple[str, ...]:
    """What the places are called in a test with gas, or with water."""
    return tuple(WITH_GAS.get(name, name) if gas else name for name in PLACES)


def of_group(group: str) -> tuple[Action, ...]:
    """The actions of a group, in their order."""
    return tuple(action for action in ACTIONS if action.group == group)


def key_name(key: str) -> str:
    """A key as it is printed on the keyboard."""
    names = {"pagedown": "PgDn", "pageup": "PgUp", "escape": "Esc"}
    parts = key.split("+")
    return "+".join(names.get(p, p.upper() if len(p) == 1 or p[:1] == "f" else p.capitalize()) for p in parts)

"""What can be done on the screen, once: the menu, the help, the palette and the key bar all read it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Action:
    letter: str
    """After Esc, or together with Alt."""
    name: str
    """Of the method `action_...` of the screen, or of what it asks on the way."""
    title: str
    keys: tuple[str, ...] = ()
    help: str = ""
    bar: str = ""
    """Short words for the key bar; empty where it does not stand there."""
    asks: bool = False
    """Whether it asks something on the way; such an action has no method of its own."""

    @property
    def every_key(self) -> tuple[str, ...]:
        """The keys that do it at once."""
        return self.keys if self.letter in NO_ALT else (*self.keys, f"alt+{self.letter}")

    @property
    def call(self) -> str:
        """What a key is bound to."""
        return f"flow('{self.name}')" if self.asks else self.name


ACTIONS: tuple[Action, ...] = (
    Action("q", "quit", "Quit", ("ctrl+q",), "asks only when something is not saved", "quit"),
    Action("s", "save", "Save", ("ctrl+s", "f2"), "write the case to its file", "save", asks=True),
    Action("a", "save_as", "Save as…", ("ctrl+e",), "write the case to another file", asks=True),
    Action("o", "open", "Open…", ("ctrl+o",), "open another case", asks=True),
    Action("n", "new", "New case", ("ctrl+n",), "with nothing given yet", asks=True),
    Action("z", "undo", "Undo", ("ctrl+z",), "take back the last change", "undo"),
    Action("y", "redo", "Redo", ("ctrl+y",), "do it again"),
    Action("f", "find", "Find an input or action…", ("ctrl+p",), "type a few letters of its name", "find"),
    Action("d", "next_group", "Next group of inputs", ("pagedown",), "", "next group"),
    Action("b", "previous_group", "Group before", ("pageup",)),
    Action("i", "reading", "Enter a reading…", ("ctrl+l",), "gauge pressure and strokes, while pumping", asks=True),
    Action("g", "range", "Range of this input…", ("f10",), "low and high, or ±10 %, of the field you are in",
           asks=True),
    Action("e", "choices", "Every hose and pump…", ("f12",), "the whole kit tried on this case, the best first",
           asks=True),
    Action("h", "hose", "Take a hose from the kit…", ("ctrl+g",), "in the place of the first fill hose", asks=True),
    Action("p", "pump", "Take a pump from the kit…", ("f5",), asks=True),
    Action("k", "keep", "Keep answers to compare", ("ctrl+b",), "then change something: Kept, Now, Difference"),
    Action("v", "compare", "All answers: kept and now", ("f6",), "every answer, and what was changed", asks=True),
    Action("w", "let_go", "Let go of what is kept", ("shift+f6",)),
    Action("c", "chart", "Next chart", ("ctrl+t",), "filling, pumping, pump, losses, air, stages", "chart"),
    Action("m", "marks", "Charts in lines or letters", ("f7",), "for terminals without the fine dots"),
    Action("r", "report", "Read the whole report", ("ctrl+r", "f4"), "every answer, caution and assumption", asks=True),
    Action("t", "copy", "Copy answers as text", ("ctrl+f",), "to the clipboard, and to a file beside the case"),
    Action("1", "copy_quote", "Copy the quote", ("shift+f3",), "one sentence and the needs, for a mail"),
    Action("x", "page", "Write a page…", ("shift+f4",), "for a browser or a printer", asks=True),
    Action("j", "visit", "Quote several cases…", ("f3",), "one visit, one total", asks=True),
    Action("u", "units", "Metric or US units", ("f8",), "of the answers; inputs stay as typed"),
    Action("l", "look", "Dark, light, terminal", ("f9",), "which colours"),
)

HARMLESS = ("quit", "copy", "copy_quote", "look", "find")
"""What may be done while a question stands over the case."""
NO_ALT = frozenset("bf1")
"""What terminals send with Alt for something else."""
BY_LETTER = {action.letter: action for action in ACTIONS}
BY_NAME = {action.name: action for action in ACTIONS}


def key_name(key: str) -> str:
    """A key as it is printed on the keyboard."""
    names = {"pagedown": "PgDn", "pageup": "PgUp", "escape": "Esc"}
    parts = key.split("+")
    return "+".join(names.get(p, p.upper() if len(p) == 1 or p[:1] == "f" else p.capitalize()) for p in parts)

"""What can be done on the screen, once: the menu, the help, the palette and the key bar all read it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Action:
    letter: str
    """After Esc, or together with Alt."""
    name: str
    """Of the method `action_...` of the screen."""
    title: str
    keys: tuple[str, ...] = ()
    help: str = ""
    bar: str = ""
    """Short words for the key bar; empty where it does not stand there."""


ACTIONS: tuple[Action, ...] = (
    Action("q", "quit", "Quit", ("ctrl+q",), "asks only when something is not saved", "quit"),
    Action("s", "save", "Save", ("ctrl+s", "f2"), "write the case to its file", "save"),
    Action("a", "save_as", "Save as…", ("ctrl+e",), "write the case to another file"),
    Action("o", "open", "Open…", ("ctrl+o",), "open another case"),
    Action("n", "new", "New case", ("ctrl+n",), "start from the commented template"),
    Action("z", "undo", "Undo", ("ctrl+z",), "take back the last change", "undo"),
    Action("y", "redo", "Redo", ("ctrl+y",), "do it again"),
    Action("r", "report", "Read the whole report", ("ctrl+r", "f4"), "every answer, caution and assumption"),
    Action("t", "copy", "Copy answers as text", ("ctrl+t",), "to the clipboard, and to a file beside the case"),
    Action("k", "keep", "Keep these answers to compare", ("ctrl+b",), "then change something: Kept, Now, Difference"),
    Action("v", "compare", "All answers: kept against now", ("f6",), "every answer, and what was changed"),
    Action("w", "let_go", "Let go of the kept answers", (), ""),
    Action("g", "chart", "Next chart", ("ctrl+g",), "filling, pumping, pump, losses, air, stages", "chart"),
    Action("m", "marks", "Charts in fine lines or plain letters", ("f7",), "for terminals without the fine dots"),
    Action("f", "find", "Find an input or action…", ("ctrl+p",), "type a few letters of its name", "find"),
    Action("d", "next_group", "Next group of inputs", ("pagedown",), "", "next group"),
    Action("e", "previous_group", "Previous group of inputs", ("pageup",), ""),
    Action("u", "units", "Metric or US units", ("f8",), "of the answers; inputs stay as typed"),
    Action("l", "look", "Dark, light or terminal colours", ("f9",), ""),
)

BY_LETTER = {action.letter: action for action in ACTIONS}


def key_name(key: str) -> str:
    """A key as it is printed on the keyboard."""
    names = {"pagedown": "PgDn", "pageup": "PgUp", "escape": "Esc"}
    parts = key.split("+")
    return "+".join(names.get(p, p.upper() if len(p) == 1 or p[:1] == "f" else p.capitalize()) for p in parts)

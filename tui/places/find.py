"""What can be found by a few letters of its name: every action and every input."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial

from textual.app import SystemCommand
from textual.command import Hit, Hits
from textual.system_commands import SystemCommandsProvider

from tui.state.actions import ACTIONS, HARMLESS, Action, key_name
from tui.state.inputs import Group
from tui.widgets.form import said_as


def commands(groups: Iterable[Group], do: Callable[[Action], object], go_to: Callable[..., object],
             over: bool) -> Iterable[SystemCommand]:
    """All actions, inputs and words of choices; only what harms nothing while a question stands `over` the case.
    `go_to` takes a path, and the word to choose there."""
    for action in ACTIONS:
        if action.name != "find" and (not over or action.name in HARMLESS):
            keys = " or ".join((*map(key_name, action.keys), action.typed))
            yield SystemCommand(action.title, f"{action.help}  {keys}".strip(), partial(do, action))
    for group in () if over else groups:
        for row in group.rows:
            if row.does != "head":
                yield SystemCommand(f"{row.label}  ({group.title})", row.declared.help, partial(go_to, row.path),
                                    discover=not row.does)
                for word in row.declared.words if row.declared.form == "choice" else ():
                    said = said_as(row, word)
                    yield SystemCommand(f"{said[:1].upper()}{said[1:]}  ({row.label}, {group.title})",
                                        f"Enter chooses it: {row.declared.help}", partial(go_to, row.path, word),
                                        discover=False)


FEW = 1e-3
"""What a name counts for whose letters do not match, only words of it and of its help."""
TIER = 1000.0
"""What a name counts for that is found in a better way, beyond how well the letters match: more than any match."""


LEAST = 4
"""Letters of a word that must agree where it was typed longer than it stands."""


class Named(SystemCommandsProvider):
    """What is found, the best first; what is found equally well in the order of the work, the main inputs first."""

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for number, found in enumerate(self.app.get_system_commands(self.screen)):
            if score := worth(found, number, query, matcher.match):
                yield Hit(score, matcher.highlight(found.title), found.callback, help=found.help)


def worth(found: SystemCommand, number: int, query: str, match: Callable[[str], float]) -> float:
    """What something listed as the `number`th counts for a query: by its words, else by how well its letters match,
    else by the words of its help; 0 where it is not found."""
    name, typed = found.title, query.casefold().split()
    if score := tier(name, query, found.discover):
        return TIER * score - FEW * number
    help_has = bool(typed) and _has(_words(f"{name} {found.help}"), typed)
    return match(name) or FEW * help_has


def tier(name: str, query: str, alone: bool) -> int:
    """How well a name, with its group in brackets, is found by its words: 3 where it ends with those that were typed,
    for its last words say what a thing is ("Vessel wall" is a wall, "Wall expansion" is not); 2 where it begins with
    them; 1 where it has them all; else 0. The last of them may be half typed. A word of a choice, or something to do to
    a list, is not `alone`, and never comes before an input."""
    typed, words = query.casefold().split(), _words(name.partition("  (")[0])
    if not typed:
        return 0
    if alone and len(words) >= len(typed) and all(map(_is, words[-len(typed):], typed)):
        return 3
    if name.casefold().startswith(query.strip().casefold()):
        return 2
    return int(_has(words, typed))


def _words(text: str) -> list[str]:
    """The words of a text in small letters, without what stands about them."""
    return [word.strip("(),.;:…") for word in text.casefold().split()]


def _has(words: Sequence[str], typed: Iterable[str]) -> bool:
    """Whether each word that was typed is one of those there."""
    return all(any(_is(word, one) for word in words) for one in typed)


def _is(word: str, typed: str) -> bool:
    """Whether what was typed begins a word, or is a longer form of it."""
    return word.startswith(typed) or (len(word) >= LEAST and typed.startswith(word))

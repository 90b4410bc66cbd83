"""What can be found by a few letters of its name: every action and every input."""

from __future__ import annotations

from collections.abc import Callable, Iterable
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
                yield SystemCommand(f"{row.label}  ({group.title})", row.declared.help, partial(go_to, row.path))
                for word in row.declared.words if row.declared.form == "choice" else ():
                    said = said_as(row, word)
                    yield SystemCommand(f"{said[:1].upper()}{said[1:]}  ({row.label}, {group.title})",
                                        f"Enter chooses it: {row.declared.help}", partial(go_to, row.path, word))


FEW = 1e-3
"""What a name counts for whose letters do not match, only words of it and of its help."""
BEGINS = 1000.0
"""What a name that begins with the letters counts for beyond how well they match: more than any match."""


LEAST = 4
"""Letters of a word that must agree where it was typed longer than it stands."""


class Named(SystemCommandsProvider):
    """What is found: names that begin with what was typed, then those that have it further on, then those whose words
    or help have every word of it."""

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        typed = query.casefold().split()
        for name, help_text, do, *_ in self.app.get_system_commands(self.screen):
            score = matcher.match(name)
            if name.casefold().startswith(query.strip().casefold()):
                score += BEGINS
            for words in (name, f"{name} {help_text}") if typed and not score else ():
                score += FEW * _has(words.casefold().split(), typed)
            if score:
                yield Hit(score, matcher.highlight(name), do, help=help_text)


def _has(there: Iterable[str], typed: Iterable[str]) -> bool:
    """Whether each word that was typed begins one of those there, or is a longer form of one."""
    words = [word.strip("(),.;:") for word in there]
    return all(any(word.startswith(one) or (len(word) >= LEAST and one.startswith(word)) for word in words)
               for one in typed)

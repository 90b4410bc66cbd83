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


def commands(groups: Iterable[Group], do: Callable[[Action], object], go_to: Callable[[str], object],
             over: bool) -> Iterable[SystemCommand]:
    """All actions and inputs; only what harms nothing while a question stands `over` the case."""
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
                                        row.declared.help, partial(go_to, row.path))


BEGINS = 1000.0
"""What a name that begins with the letters counts for beyond how well they match: more than any match."""


class Named(SystemCommandsProvider):
    """What is found, the names that begin with what was typed ahead of those that have it further on."""

    async def search(self, query: str) -> Hits:
        async for hit in super().search(query):
            if isinstance(hit, Hit):
                hit.score += BEGINS * (hit.text or "").casefold().startswith(query.strip().casefold())
            yield hit

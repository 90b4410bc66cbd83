"""What can be found by a few letters of its name: every action and every input."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import TYPE_CHECKING

from textual.app import SystemCommand

from tui.state.actions import ACTIONS, HARMLESS, key_name
from tui.state.inputs import groups

if TYPE_CHECKING:
    from tui.app import Fillcalc


def commands(app: Fillcalc, over: bool) -> Iterable[SystemCommand]:
    """All of them; only what harms nothing while a question stands `over` the case."""
    for action in ACTIONS:
        if action.name != "find" and (not over or action.name in HARMLESS):
            method = partial(app.action_flow, action.name) if action.flow else getattr(app, f"action_{action.name}")
            keys = " or ".join((*map(key_name, action.keys), f"Esc {action.letter.upper()}"))
            yield SystemCommand(action.title, f"{action.help}  {keys}".strip(), method)
    for group in () if over else groups(app.session.table or {}, app.units):
        for row in group.rows:
            if row.does != "head":
                yield SystemCommand(f"{row.label}  ({group.title})", row.declared.help,
                                    partial(app.call_next, app.case_form.go_to, row.path))

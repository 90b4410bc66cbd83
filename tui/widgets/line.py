"""One line to type into."""

from __future__ import annotations

from textual import events
from textual.binding import Binding
from textual.widgets import Input

EDITING = {key: binding.action for binding in Input.BINDINGS if isinstance(binding, Binding)
           for key in binding.key.split(",") if binding.action != "submit"}
"""Keys that edit a line, and what each does."""


class Line(Input):
    """A plain line whose editing keys act at once; a paste is cut where it is full."""

    def __init__(self, value: str = "", max_length: int = 0) -> None:
        super().__init__(value, select_on_focus=False, max_length=max_length, validate_on=())
        self.cursor_blink = False

    def _on_paste(self, event: events.Paste) -> None:
        event.prevent_default()
        event.stop()
        line = next(iter(event.text.splitlines()), "")
        room = self.max_length - len(self.value) + len(self.selected_text) if self.max_length else len(line)
        if line[:room]:
            self.replace(line[:room], *self.selection)

    async def _on_key(self, event: events.Key) -> None:
        action = EDITING.get(event.key)
        if event.key.startswith("alt+"):  # never a letter of the line
            event.prevent_default()
            return
        if action is None:
            await super()._on_key(event)
            return
        event.stop()
        event.prevent_default()
        await self.run_action(action)

"""The application below the screen: keys one at a time, the terminal given back however it ends."""

from __future__ import annotations

import asyncio
import contextlib
import sys
from collections.abc import Awaitable, Callable, Iterator
from time import monotonic
from typing import Self

from rich.text import Text
from textual import events
from textual.app import App, ScreenStackError
from textual.driver import Driver
from textual.screen import Screen

from tui.state.session import Session
from tui.terminal.ending import FAULT, Ending
from tui.terminal.keys import QUESTION_S, Taken, Taking


class Main(Screen[object]):
    """The screen below every question; it styles nothing anew at its start, where all of it was styled just before."""

    def on_screen_resume(self, event: events.ScreenResume) -> None:
        event.refresh_styles = self.stack_updates > 0


class Steady(App[int]):
    """Takes keys in their turn; a fault of ours ends it with the work kept, one sentence and a code above zero."""

    def __init__(self, session: Session, ansi_color: bool) -> None:
        super().__init__(ansi_color=ansi_color)
        self.session = session
        self.ending = Ending(self)
        self.taking = Taking(self, super().on_event)

    def get_default_screen(self) -> Screen[object]:
        return Main(id="_default")

    @contextlib.contextmanager
    def batch_update(self) -> Iterator[None]:
        """Draw nothing until the end; then the screen, too, is prompted to draw what has changed meanwhile."""
        with super().batch_update():
            yield
        with contextlib.suppress(ScreenStackError):  # the screen has ended
            self.screen.check_idle()

    @property
    def main(self) -> Screen[object]:
        """The screen below every question."""
        return self.screen_stack[0]

    def get_driver_class(self) -> type[Driver]:
        usual = super().get_driver_class()
        if sys.platform == "win32" or usual.__name__ != "LinuxDriver":
            return usual
        from tui.terminal.driver import TerminalDriver

        return TerminalDriver

    async def on_event(self, event: events.Event) -> None:
        """Keys wait until their turn comes; all else is dealt with at once."""
        if isinstance(event, (events.Key, events.Paste)) and not event.is_forwarded:
            self.taking.keys.put(event)
        else:
            await super().on_event(event)

    def on_taken(self, event: Taken) -> None:
        event.done.set()

    def begin_taking(self) -> None:
        """Begin to take keys, once it is known whether a question comes first."""
        self.ending.loop = asyncio.get_running_loop()
        self.run_worker(self.taking.run())

    async def flow(self, flow: Callable[[Self], Awaitable[object]]) -> None:
        """Go through with something that asks on the way.

        Keys that follow wait a moment for its question, and do not end up in the field.
        """
        async def through() -> None:
            with self.taking.asking():
                await flow(self)

        below, end = self.screen, monotonic() + QUESTION_S
        going = self.run_worker(through())
        while (self.screen is below or self.screen.focused is None) and not going.is_finished and monotonic() < end:
            await asyncio.sleep(0.005)

    def keys_wait(self) -> None:
        """A key was taken and more wait; what is worked out beside them can wait too."""

    def keep(self) -> None:
        """Take in what is typed but not in the text yet; called when the end has come."""

    def say(self, words: str) -> None:
        """Say a sentence to the person."""

    def _fatal_error(self) -> None:
        """A fault of ours."""
        self._return_code = FAULT
        if not self.ending.said:
            self._exit_renderables.append(Text(self.ending.after_a_fault(self._exception)))
            self._close_messages_no_wait()

    def panic(self, *renderables: object) -> None:
        self._fatal_error()

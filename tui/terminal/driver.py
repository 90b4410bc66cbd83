"""The terminal itself, where it is one of the usual kind: reading it, and leaving it as it was found."""

from __future__ import annotations

import contextlib
import os
import selectors
import termios
import threading
from collections.abc import Callable
from functools import partial
from queue import Empty
from typing import TYPE_CHECKING, Any, cast

from textual import events
from textual.drivers.linux_driver import LinuxDriver

from tui.terminal.reader import Reader

if TYPE_CHECKING:
    from textual.message import Message

    from tui.terminal.steady import Steady

MUCH = 1024
"""Bytes read at once, in the middle of a flood, that are not worth a look."""
LEAVE_S = 0.5
"""How long a terminal that takes nothing any more may hold up the end."""
CLEAN = (b"\x18"              # whatever was being written ends here
         b"\x1b[?2026l\x1b[?2004l\x1b[?2048l\x1b[?7h"
         b"\x1b[?1000l\x1b[?1003l\x1b[?1015l\x1b[?1006l\x1b[?1016l"
         b"\x1b[<u\x1b[?1049l\x1b[?25h\x1b[?1004l\x1b[0m")
"""Mouse, pastes and reports off, the first screen and its cursor back, plain colours."""


class TerminalDriver(LinuxDriver):
    """Keys go to the bounded queue of the screen; all else as usual."""

    _own_attrs: Any = None
    """The settings of the terminal while the screen runs; none before it begins and once it has begun to end."""

    def start_application_mode(self) -> None:
        super().start_application_mode()  # type: ignore[no-untyped-call]
        with contextlib.suppress(termios.error, OSError):
            self._own_attrs = termios.tcgetattr(self.fileno)

    def stop_application_mode(self) -> None:
        self._own_attrs = None
        super().stop_application_mode()

    def _sigcont_application(self, *args: object) -> None:
        """Go on after a stop; one that came without a warning has ended nothing, so nothing is begun a second time."""
        if self._must_signal_resume:
            super()._sigcont_application(*args)
            return
        with contextlib.suppress(termios.error, OSError):
            if self._own_attrs is not None:
                termios.tcsetattr(self.fileno, termios.TCSANOW, self._own_attrs)
        with contextlib.suppress(RuntimeError):  # the screen has ended
            self._loop.call_soon_threadsafe(self._app.refresh)

    def run_input_thread(self) -> None:
        app = cast("Steady", self._app)
        then: Callable[[], None] = app.ending.lost
        try:
            self._read()
        except OSError:  # nobody is there any more
            pass
        except Exception as error:
            then = partial(app._handle_exception, error)
        if not self.exit_event.is_set():
            self._loop.call_soon_threadsafe(then)

    def _read(self) -> None:
        """Read until the screen ends or nobody types any more."""
        reader = Reader()
        keys = cast("Steady", self._app).taking.keys
        with selectors.SelectSelector() as selector:
            selector.register(self.fileno, selectors.EVENT_READ)
            while not self.exit_event.is_set():
                if selector.select(0.05):
                    data = os.read(self.fileno, 1 << 12)
                    if not data:
                        return
                    if keys.flood and len(data) >= MUCH:
                        reader = Reader()
                        keys.drop(len(data))
                        continue
                    for event in reader.feed(data):
                        self.process_message(event)
                for event in reader.tick():
                    self.process_message(event)

    def process_message(self, message: Message) -> None:
        if isinstance(message, (events.Key, events.Paste)):
            message.set_sender(self._app)
            cast("Steady", self._app).taking.keys.put(message)
        else:
            super().process_message(message)

    def leave_at_once(self) -> None:
        """Give the terminal back as it was found, from any thread and at any moment; the screen draws no more."""
        self._own_attrs = None
        with contextlib.suppress(termios.error, OSError):
            if self.attrs_before is not None:
                termios.tcflush(self.fileno, termios.TCIFLUSH)
                termios.tcsetattr(self.fileno, termios.TCSANOW, self.attrs_before)
        clean = threading.Thread(target=self._clean, daemon=True)  # writing may hang
        clean.start()
        clean.join(LEAVE_S)

    def _clean(self) -> None:
        writer = self._writer_thread
        if writer is not None:
            with contextlib.suppress(Empty):
                while True:
                    writer._queue.get_nowait()
            writer._queue.put(None)
            writer.join(LEAVE_S / 2)
        with contextlib.suppress(OSError):
            os.write(2, CLEAN)  # Textual draws there

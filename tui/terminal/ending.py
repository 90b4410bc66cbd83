"""The end that nobody asked for: a signal, or a fault of ours. The work is kept and the terminal given back."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys
from collections.abc import Callable
from types import FrameType
from typing import TYPE_CHECKING

from fillcalc.units.printable import shown
from tui.terminal.patience import Patience

if TYPE_CHECKING:
    from tui.terminal.steady import Steady

FAULT = 1
"""The exit code after a fault of ours; after a signal it is 128 and the signal's number."""
SIGNALS = ("SIGHUP", "SIGINT", "SIGQUIT", "SIGTERM", "SIGUSR1", "SIGUSR2", "SIGXCPU", "SIGVTALRM", "SIGPROF")
"""Signals that would end the process at once and can be caught."""
MOMENT_S = 0.4
"""Time for the keys that were typed before a signal to be read."""
TAKEN_S = 4.0
"""How much work it may be until the next of those that were read is taken; then the end comes, whatever the screen is
doing."""
LOOK_S = 0.5
"""So often it is looked whether they are being taken."""
FAULT_S = 3.0
"""After so long a fault of ours ends the process, whatever the screen is doing."""


class Ending:
    """How the screen ends where nobody asked for it."""

    def __init__(self, app: Steady) -> None:
        self.app = app
        self.loop: asyncio.AbstractEventLoop | None = None
        self.code = FAULT
        self.said = ""
        """What is still to be said of a fault."""
        self._watching = False

    def watch(self) -> None:
        """Catch the signals from now on."""
        self._watching = True
        for number in self._numbers():
            signal.signal(number, self._caught)

    @staticmethod
    def _numbers() -> set[int]:
        return {getattr(signal, name) for name in SIGNALS if hasattr(signal, name)} & signal.valid_signals()

    def _caught(self, number: int, _frame: FrameType | None) -> None:
        """Later signals change nothing; what was typed before this one is taken in first."""
        self.code = 128 + number
        for other in self._numbers():
            signal.signal(other, signal.SIG_IGN)
        self._in(MOMENT_S, self._soon)

    def lost(self) -> None:
        """The terminal has gone, perhaps without a signal."""
        if self.code == FAULT:
            self._caught(getattr(signal, "SIGHUP", signal.SIGTERM), None)

    def _in(self, seconds: float, then: Callable[..., None], again_s: float = 0.0) -> None:
        """Do something later, once or again and again, whatever the screen is doing then."""
        if sys.platform == "win32":
            self.now()
        else:
            signal.signal(signal.SIGALRM, then)
            signal.setitimer(signal.ITIMER_REAL, seconds, again_s)

    def _soon(self, *_: object) -> None:
        """End between two messages of the screen, once the keys that have come by now are taken."""
        keys = self.app.taking.keys
        keys.closed = True
        left, patience = len(keys), Patience(TAKEN_S)

        def look(*_: object) -> None:
            """End in the middle of a message where none of the keys is taken any more."""
            nonlocal left, patience
            if len(keys) < left:
                left, patience = len(keys), Patience(TAKEN_S)
            if patience.over:
                self.now()

        self._in(LOOK_S, look, again_s=LOOK_S)
        if self.loop is None or self.loop.is_closed():
            self.now()
        else:
            self.loop.call_soon_threadsafe(lambda: self.loop and self.loop.create_task(self._when_taken()))

    async def _when_taken(self) -> None:
        taking = self.app.taking
        while len(taking.keys) or taking.between_keys.locked():
            await asyncio.sleep(0.01)
        self.now()

    def now(self) -> None:
        """Keep the work, leave the terminal, end the process."""
        self.keep_the_work()
        self.leave_the_terminal()
        if self.said and sys.stderr is not None:
            with contextlib.suppress(Exception):
                print(self.said, file=sys.stderr, flush=True)
        os._exit(self.code)

    def over(self) -> None:
        """The screen has come to its end by itself."""
        self._watching = False
        if sys.platform != "win32":
            signal.setitimer(signal.ITIMER_REAL, 0.0)
        self.said = ""

    def leave_the_terminal(self) -> None:
        if hasattr(signal, "SIGTTOU"):
            with contextlib.suppress(ValueError):  # not on another thread
                signal.signal(signal.SIGTTOU, signal.SIG_IGN)
        leave = getattr(self.app._driver, "leave_at_once", None)
        if leave is not None:
            with contextlib.suppress(Exception):
                leave()

    def keep_the_work(self) -> str:
        """Put what is not saved on disk, with what was typed last; in words, what became of it."""
        session = self.app.session
        with contextlib.suppress(Exception):  # the text without it is still there to keep
            self.app.keep()
        try:
            session.keep_unsaved()
        except Exception as error:
            return f"Your work could not be kept: {shown(str(error))}."
        return "Nothing was unsaved." if session.nothing_unsaved else "Your work is kept; the next start offers it."

    def after_a_fault(self, error: BaseException | None) -> str:
        """Keep the work after a fault of ours; the sentence that is said of it. The end is certain from here on."""
        kept = self.keep_the_work()
        self.code = FAULT
        if self._watching:
            self._in(FAULT_S, lambda *_: self.now())
        kind = type(getattr(error, "error", None) or error).__name__
        where = _record(error)
        self.said = f"fillcalc stopped by a fault of its own ({kind}{where}). {kept}"
        return self.said


def _record(error: BaseException | None) -> str:
    """Write the trace of a fault beside the unsaved work, for whoever looks into it; where it is, in words."""
    import traceback

    from tui.state.drafts import private, state_folder

    if error is None:
        return ""
    try:
        file = private(state_folder()) / "fault.txt"
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0), 0o600)
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as out:
            out.write("".join(traceback.format_exception(error))[-100_000:])
    except (OSError, ValueError, RecursionError):
        return ""
    return f", described in {shown(str(file))}"

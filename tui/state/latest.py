"""Work off the screen's own thread: only the newest request counts, older ones are never begun."""

from __future__ import annotations

import threading
from collections.abc import Callable
from time import monotonic
from typing import Generic, TypeVar

Request = TypeVar("Request")


class LatestOnly(Generic[Request]):
    """One thread that does the newest request handed to it.

    A request that is overtaken while it waits is dropped; one that is under way runs to its end. With `quiet_s` a
    request is begun only when no other has come for so long.
    """

    def __init__(self, work: Callable[[Request], None], name: str, quiet_s: float = 0.0) -> None:
        self.quiet_s = quiet_s
        self._work = work
        self._ready = threading.Condition()
        self._waiting: list[Request] = []
        self._asked_s = 0.0
        self._ended = False
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._started = False

    def ask(self, request: Request) -> None:
        """Hand in a request; returns at once."""
        with self._ready:
            self._waiting[:] = [request]
            self._asked_s = monotonic()
            if not self._started:
                self._started = True
                self._thread.start()
            self._ready.notify()

    def postpone(self) -> None:
        """Let the quiet time of a request that waits begin anew."""
        with self._ready:
            self._asked_s = monotonic()

    @property
    def overtaken(self) -> bool:
        """Whether a newer request waits; work in steps may stop at the next one."""
        return bool(self._waiting)

    def stop(self) -> None:
        """Begin nothing more; what is under way runs to its end."""
        with self._ready:
            self._ended = True
            self._waiting.clear()
            self._ready.notify()

    def end(self, wait_s: float = 2.0) -> None:
        """Finish what is waiting, then stop; waits no longer than said."""
        with self._ready:
            self._ended = True
            self._ready.notify()
        if self._started:
            self._thread.join(wait_s)

    def _run(self) -> None:
        while (request := self._next()) is not None:
            self._work(request[0])

    def _next(self) -> list[Request] | None:
        """The request to begin now; None at the end."""
        with self._ready:
            self._ready.wait_for(lambda: self._waiting or self._ended)
            while self._waiting and not self._ended and (left_s := self._asked_s + self.quiet_s - monotonic()) > 0.0:
                self._ready.wait(left_s)
            return [self._waiting.pop()] if self._waiting else None

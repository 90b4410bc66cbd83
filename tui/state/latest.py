"""Work off the screen's own thread: only the newest request counts, older ones are never begun."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

Request = TypeVar("Request")


class LatestOnly(Generic[Request]):
    """One thread that does the newest request handed to it; a request that is overtaken while it
    waits is dropped, one that is under way runs to its end."""

    def __init__(self, work: Callable[[Request], None], name: str) -> None:
        self._work = work
        self._ready = threading.Condition()
        self._waiting: list[Request] = []
        self._busy = False
        self._ended = False
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._started = False

    def ask(self, request: Request) -> None:
        """Hand in a request; returns at once."""
        with self._ready:
            self._waiting[:] = [request]
            if not self._started:
                self._started = True
                self._thread.start()
            self._ready.notify()

    @property
    def overtaken(self) -> bool:
        """Whether a newer request waits; work in steps may stop at the next one."""
        return bool(self._waiting)

    def overtaken_within(self, seconds: float) -> bool:
        """Wait so long, or until a newer request comes; whether one came."""
        with self._ready:
            return self._ready.wait_for(lambda: bool(self._waiting) or self._ended, seconds)

    def end(self, wait_s: float = 2.0) -> None:
        """Finish what is waiting, then stop; waits no longer than said."""
        with self._ready:
            self._ended = True
            self._ready.notify()
        if self._started:
            self._thread.join(wait_s)

    def _run(self) -> None:
        while True:
            with self._ready:
                while not self._waiting and not self._ended:
                    self._ready.wait()
                if not self._waiting:
                    return
                request = self._waiting.pop()
            self._work(request)

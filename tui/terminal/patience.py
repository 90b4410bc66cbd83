"""How long something may take, on a quiet machine and on one that is busy with other things."""

from __future__ import annotations

from time import monotonic, process_time

IDLE = 0.05
"""A process that works less of the time than this waits for something that does not come; one that wants to work has
more of a processor than this even where twenty others share it."""


class Patience:
    """At its end after so many seconds of the processor, or of the clock where hardly any work was done in them.

    A busy machine gives a process less of the processor, but makes its work no more.
    """

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._began, self._worked = monotonic(), process_time()

    @property
    def over(self) -> bool:
        """Whether it is at its end."""
        passed, worked = monotonic() - self._began, process_time() - self._worked
        return worked >= self._seconds or (passed >= self._seconds and worked < IDLE * passed)

"""What is worked out beside the screen, each on a thread of its own."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import TYPE_CHECKING

from fillcalc.units.printable import shown
from tui.state.latest import LatestOnly
from tui.state.session import Answered, Request, Session, other_air, with_few, with_ranges, work_out

if TYPE_CHECKING:
    from fillcalc.estimation.answers import Estimate

RANGES_QUIET_S = 1.0
"""Low, likely and high of all samples are asked for when nothing has changed for so long: a person who types is not
held up by them."""


class Answering:
    """Answers to the newest text: with low and high of few samples first, of all when nothing has changed for a while.

    `arrived` is called with the answers, `compared` with the number of a text and the same case with another amount
    of trapped air; both on another thread than the caller's.
    """

    def __init__(self, arrived: Callable[[Answered], object], compared: Callable[[int, Estimate], object]) -> None:
        self._arrived = arrived
        self._compared = compared
        self.few = True
        """Whether low and high are told of few samples first; else the answers come without."""
        self._answers: LatestOnly[Request] = LatestOnly(self._work_out, "answers")
        self.ranges: LatestOnly[Request] = LatestOnly(self._work_out_ranges, "ranges", RANGES_QUIET_S)

    def ask(self, request: Request) -> None:
        """Ask for the answers to a text."""
        self._answers.ask(request)
        self.ranges.ask(request)

    def stop(self) -> None:
        """Work out nothing more."""
        self._answers.stop()
        self.ranges.stop()

    def postpone_ranges(self) -> None:
        """Low and high can wait while something is being typed."""
        self.ranges.postpone()

    def _work_out(self, request: Request) -> None:
        answered = _guarded(with_few if self.few else work_out, request)
        if answered is None:
            return
        self._arrived(answered)
        if not self._answers.overtaken:
            with contextlib.suppress(ArithmeticError, ValueError):
                if (other := other_air(answered)) is not None:
                    self._compared(*other)

    def _work_out_ranges(self, request: Request) -> None:
        answered = _guarded(with_ranges, request)
        if answered is not None:
            self._arrived(answered)


def _guarded(how: Callable[[Request], Answered | None], request: Request) -> Answered | None:
    """What came of a request; a fault of ours is an answer too, for it must not take the person's work down."""
    try:
        return how(request)
    except Exception as error:
        return Answered(request.number, request.text, failure=f"{type(error).__name__}: {error}")


class Autosave:
    """Puts unsaved work on disk, off the screen's thread; `failed` is called there with the reason."""

    def __init__(self, failed: Callable[[str], object]) -> None:
        self._failed = failed
        self._disk: LatestOnly[Session] = LatestOnly(self._write, "unsaved")

    def ask(self, session: Session) -> None:
        """Have the unsaved work of a session put on disk, as it stands when its turn comes."""
        self._disk.ask(session)

    def end(self) -> None:
        """Finish writing; waits no longer than a moment."""
        self._disk.end()

    def _write(self, session: Session) -> None:
        try:
            session.keep_unsaved()
        except Exception as error:  # a fault of ours must not end the keeping of work
            reason = getattr(error, "strerror", None) or f"{type(error).__name__} {error}"
            self._failed(f"Unsaved work cannot be kept on disk: {shown(reason)}")

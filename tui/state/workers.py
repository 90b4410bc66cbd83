"""What is worked out beside the screen, each on a thread of its own; answers come back as messages."""

from __future__ import annotations

import contextlib
import gc
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from textual.message import Message

from fillcalc.units.printable import shown
from tui.state.calculator import Newest
from tui.state.session import Answered, Request, other_air, with_ranges, work_out

if TYPE_CHECKING:
    from textual.timer import Timer

    from fillcalc.estimation.answers import Estimate
    from tui.app import Fillcalc
    from tui.places.choosing import Chosen, Wanted

RANGES_WAIT_S = 0.25
"""Low, likely and high are asked for when nothing has changed for so long."""
PAINT_S = 0.05
"""What the other threads leave to the screen after an answer, to paint it."""


REST_S = 1.0


def _freeze() -> None:
    """Spare each later search for garbage, 30 ms of the screen's thread, all that the start has made."""
    gc.collect()
    gc.freeze()


class Arrived(Message):
    """Answers came."""

    def __init__(self, answered: Answered) -> None:
        super().__init__()
        self.answered = answered


class OtherAir(Message):
    """The comparison for the charts came."""

    def __init__(self, number: int, estimate: Estimate) -> None:
        super().__init__()
        self.number = number
        self.estimate = estimate


class ChoicesCame(Message):
    """The choices of a kit came."""

    def __init__(self, chosen: Chosen) -> None:
        super().__init__()
        self.chosen = chosen


class ChartsReady(Message):
    """The charts' library is loaded."""


def _done(how: Callable[[Request], Any], request: Request) -> Any:
    try:
        return how(request)
    except Exception as error:  # a fault of ours must not take the person's work down
        return Answered(request.number, request.text, failure=f"{type(error).__name__}: {error}")


class Workers:
    """Answers as written, ranges, and unsaved work to disk."""

    def __init__(self, app: Fillcalc) -> None:
        self.app = app
        self.ranges_wait_s = RANGES_WAIT_S
        self._calculator: Newest[Request] = Newest(self._work_out, "answers")
        self._ranger: Newest[Request] = Newest(self._work_out_ranges, "ranges")
        self._recorder: Newest[None] = Newest(lambda _: self._record(), "unsaved")
        self._chooser: Newest[Wanted] = Newest(self._work_out_choices, "choices")
        self._later: Timer | None = None
        self._charts_loaded = False
        self._at_rest = False

    def begin(self) -> None:
        """After the first paint: search for garbage again, which the start went without, and ask for the answers."""
        gc.freeze()
        gc.enable()
        self.ask()

    def ask(self) -> None:
        """Ask for the answers to the text as it stands."""
        session = self.app.session
        request = Request(session.number, session.text, session.name, self.app.units)
        self._calculator.ask(request)
        if self._later is not None:
            self._later.stop()
        self._later = self.app.set_timer(self.ranges_wait_s, lambda: self._ranger.ask(request))

    def put_off(self) -> None:
        """Low, likely and high can wait while something is being typed; the wait for them begins anew."""
        if self._later is not None:
            self._later.reset()

    def ask_choices(self, wanted: Wanted) -> None:
        """Ask for the choices of a kit."""
        self._chooser.ask(wanted)

    def record(self) -> None:
        """Have unsaved work put on disk."""
        self._recorder.ask(None)

    def rest(self) -> None:
        """After the first low, likely and high: what stands in memory by then stays there."""
        if not self._at_rest:
            self._at_rest = True
            self.app.set_timer(REST_S, _freeze)

    def end(self) -> None:
        """Finish writing unsaved work; answers still being worked out are not waited for."""
        self._recorder.end()

    # --- on the other threads ---------------------------------------------------------------

    def _work_out_choices(self, wanted: Wanted) -> None:
        from tui.places.choosing import Chosen, work_out

        try:
            chosen = work_out(wanted)
        except Exception as error:  # a fault of ours must not take the person's work down
            fault = f"{type(error).__name__}: {shown(str(error))}"
            chosen = Chosen(wanted, wrong=f"The kit cannot be tried: {fault}")
        self.app.post_message(ChoicesCame(chosen))

    def _work_out_ranges(self, request: Request) -> None:
        answered = _done(with_ranges, request)
        if answered is not None:
            self.app.post_message(Arrived(answered))

    def _work_out(self, request: Request) -> None:
        """The answers as written; then, unless overtaken, what the charts want beside them."""
        answered: Answered = _done(work_out, request)
        self.app.post_message(Arrived(answered))
        if answered.estimate is None or self._calculator.overtaken_within(PAINT_S):
            return
        with contextlib.suppress(ArithmeticError, ValueError):
            self.app.post_message(OtherAir(*other_air(answered)))
        if not self._charts_loaded:
            import tui.widgets.chart  # noqa: F401  a fifth of a second, off the screen's thread

            self._charts_loaded = True
            self.app.post_message(ChartsReady())

    def _record(self) -> None:
        try:
            self.app.session.keep_unsaved()
        except Exception as error:  # a fault of ours must not end the keeping of work
            reason = getattr(error, "strerror", None) or f"{type(error).__name__} {error}"
            with contextlib.suppress(RuntimeError):
                self.app.call_from_thread(self.app.say, f"Unsaved work cannot be kept on disk: {shown(reason)}")

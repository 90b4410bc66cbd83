"""Places with the picture of the set-up, which fills and squeezes as one steps through the moments of its history."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING, TypeVar

from textual.binding import Binding
from textual.content import Content
from textual.reactive import reactive

from tui.places.place import Place, beside

if TYPE_CHECKING:
    from fillcalc.present.charts import Maker, Subject
    from fillcalc.present.picture import GasMoment, Moment, Moments

M = TypeVar("M")
FIRST, LAST = -1000, 1000
"""Steps that go to either end of a history."""
KEYS = "← → another moment, Home the first, End the last"
LOW = 20
"""Rows below which picture and chart stand side by side."""
TWO_WIDE = 76
"""Columns from which they can."""


def highest(width: int) -> int:
    """Rows beyond which a picture so wide does not grow."""
    return max(14, width // 3 + 2)


class Moving(Place):
    """A place with the picture at a moment that keys choose."""

    BINDINGS = [
        Binding("left", "step(-1)", show=False),
        Binding("right", "step(1)", show=False),
        Binding("home", f"step({FIRST})", show=False),
        Binding("end", f"step({LAST})", show=False),
    ]

    part: reactive[float] = reactive(0.5)
    """How far through the history the moment lies, from 0 to 1."""
    steps = 1
    """Of the history that was drawn last, less one."""

    def history(self, found: Moments) -> Sequence[Moment]:
        """The moments that the place steps through."""
        raise NotImplementedError

    def action_step(self, by: int) -> None:
        """Another moment of the same history, with the picture in sight."""
        self.top = 0
        here = round(self.part * self.steps) + by
        self.part = min(max(here, 0), self.steps) / self.steps

    def moment(self, now: Subject) -> tuple[Moment | None, Moment | None]:
        """The moment that was chosen, and the last of its history; None where there is no history."""
        from fillcalc.present.picture import moments

        return self.chosen(self.history(moments(now.estimate)))

    def gas_moment(self, now: Subject) -> tuple[GasMoment | None, GasMoment | None]:
        """The same of a test with gas, from the open valve to letting off."""
        from fillcalc.present.picture import moments

        return self.chosen(moments(now.estimate).gas)

    def chosen(self, found: Sequence[M]) -> tuple[M | None, M | None]:
        """The moment of a history that keys have chosen, and its last."""
        if not found:
            return None, None
        self.steps = max(1, len(found) - 1)
        return found[round(self.part * (len(found) - 1))], found[-1]

    def drawing(self, now: Subject, moment: Moment | GasMoment | None, width: int, height: int) -> list[Content]:
        """The picture in so many rows; nothing where it could not be read."""
        from fillcalc.present.picture import picture
        from tui.widgets.picture import picture_lines

        raised = self.host.telling.dangers(self.host.session, now.units)
        drawn = picture_lines(lambda wide: picture(now.case, now.estimate, moment, now.units, wide=wide, raised=raised),
                              width - 1, height, self.style_of, self.host.letters_only)
        return [line.pad_left(1) for line in drawn]

    def together(self, title: str, drawing: Callable[[int, int], list[Content]],
                 curve: Callable[[int, int], list[Content]], size: tuple[int, int]) -> list[Content]:
        """Picture and chart under one title: side by side in a low room, else one under the other."""
        width, height = size
        head = self.heading(title, width)
        if height < LOW and width >= TWO_WIDE:
            rows = max(9, height - 2)
            return [*head, *beside(lambda wide: drawing(wide, rows), lambda wide: curve(wide, rows), width)]
        rows = max(9, (height - 2) // 2)
        return [*head, *drawing(width, min(max(rows, height - 14), highest(width))), *curve(width, min(rows, 12))]

    def curve(self, make: Maker, now: Subject, moment: tuple[float, float], size: tuple[int, int]) -> list[Content]:
        """A chart with a line at the moment, which is given as where it lies and where the own curve ends."""
        from fillcalc.present.charts import Chart, Upright

        made = make(now)
        if not isinstance(made, Chart):
            return []
        at, last = moment
        if isfinite(at) and last > 0.0:
            x = at / last * float(made.curves[0].x[-1])
            made = replace(made, uprights=(*made.uprights, Upright("", "", x, "")))
        return self.drawn(made, *size)

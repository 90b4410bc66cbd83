"""The place Set-up, beside the form: its picture, what it comes to, and what limits the job."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content
from textual.reactive import reactive

from tui.places.gas import gas_set_up_parts
from tui.places.moving import KEYS, Moving, highest
from tui.places.place import joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject
    from fillcalc.present.picture import Moment, Moments


class SetUp(Moving):
    """The set-up before the work, and by keys through all of it."""

    part = reactive(0.0)

    def history(self, found: Moments) -> Sequence[Moment]:
        return (*found.fill, *found.pump_up)

    def parts(self, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present.lines import groups
        from fillcalc.present.sentences import job_sentences

        if now.estimate.gas is not None:
            return gas_set_up_parts(self, now, ranged, width, height)
        moment, _ = self.moment(now)
        rows = max(9, min(height - 2, max(16, height - 10), highest(width)))
        drawing = [*self.heading(f"The set-up: {KEYS}", width),
                   *self.drawing(now, None if self.part == 0.0 else moment, width, rows)]
        if ranged is None:
            return drawing
        return joined(drawing, self.groups(((group.heading, group.lines) for group in
                                            groups(ranged.case, ranged.estimate, ranged.units)), width),
                      self.said("What limits the job",
                                job_sentences(ranged.case, ranged.estimate, ranged.units), width))

"""The place Fill: level and flow over the time, where the pressure is lost, and what helps most."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from tui.places.place import Place, joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject


class Fill(Place):
    """How the vessel fills."""

    def parts(self, now: Subject, told: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present import charts
        from fillcalc.present.sentences import fill_sentences, sweep_sentences

        said = [] if told is None else [*fill_sentences(told.case, told.estimate, told.units),
                                        *sweep_sentences(told.estimate, told.units)]
        return joined(self.chart(charts.filling, now, width, height // 2),
                      self.chart(charts.losses, now, width), self.said("What helps", said, width))

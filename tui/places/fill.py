"""The place Fill: the picture filling, level and flow over the time, pressure losses, and what helps most."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan
from typing import TYPE_CHECKING

from textual.content import Content

from tui.places.gas import gas_parts
from tui.places.moving import KEYS, Moving
from tui.places.place import joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject
    from fillcalc.present.picture import Moment, Moments


class Fill(Moving):
    """How the vessel fills, moment by moment; in a test with gas how it is raised."""

    def history(self, found: Moments) -> Sequence[Moment]:
        return found.fill

    def parts(self, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present import charts
        from fillcalc.present.lines import FILL
        from fillcalc.present.sentences import fill_sentences, sweep_sentences

        if now.estimate.gas is not None:
            return gas_parts(self, now, ranged, width, height)
        said = [] if ranged is None else [*fill_sentences(ranged.case, ranged.estimate, ranged.units),
                                        *sweep_sentences(ranged.estimate, ranged.units)]
        moment, last = self.moment(now)
        at = (moment.time_s, last.time_s) if moment is not None and last is not None else (nan, nan)
        return joined(self.together(f"{FILL}: {KEYS}", lambda *size: self.drawing(now, moment, *size),
                                    lambda *size: self.curve(charts.filling, now, at, size), (width, height)),
                      self.chart(charts.losses, now, width), self.said("What helps", said, width))

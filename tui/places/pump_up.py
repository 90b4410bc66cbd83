"""The place Pump-up: the picture squeezing, pressure against strokes, the pump and its limits, where the water goes."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, nan
from typing import TYPE_CHECKING

from textual.content import Content

from tui.places.gas import gas_raise_parts
from tui.places.moving import KEYS, Moving
from tui.places.place import joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject
    from fillcalc.present.picture import Moment, Moments


class PumpUp(Moving):
    """How the pressure rises, stroke by stroke; in a test with gas from stop to stop."""

    def history(self, found: Moments) -> Sequence[Moment]:
        return found.pump_up

    def parts(self, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present import charts
        from fillcalc.present.lines import PUMP_UP
        from fillcalc.present.sentences import limit_sentences, needle_sentence, pump_sentences

        if now.estimate.gas is not None:
            return gas_raise_parts(self, now, ranged, width)
        said = [] if ranged is None else [*pump_sentences(ranged.case, ranged.estimate, ranged.units),
                                        *limit_sentences(ranged.case, ranged.estimate, ranged.units)]
        needle = needle_sentence(now.case, now.estimate, now.units)
        first = self.paragraphs([needle] if needle else [], width)
        moment, last = self.moment(now)
        at = (nan, nan)
        if moment is not None and last is not None:
            by_strokes = isfinite(last.strokes)
            at = (moment.strokes, last.strokes) if by_strokes else (moment.water_m3, last.water_m3)
        return joined([*first, *self.together(f"{PUMP_UP}: {KEYS}", lambda *size: self.drawing(now, moment, *size),
                                              lambda *size: self.curve(charts.pumping, now, at, size),
                                              (width, height - len(first)))],
                      self._water(now, width), self.said("At the pump", [one for one in said if one != needle], width),
                      self.chart(charts.pump_curve, now, width), self._air(now, width))

    def _water(self, now: Subject, width: int) -> list[Content]:
        """Where the pumped water goes, and the strokes on the way up."""
        from fillcalc.present.tables import pumped_parts, stroke_rows

        parts, strokes = pumped_parts(now.estimate, now.units), stroke_rows(now.estimate, now.units)
        return joined([*self.heading("Where the pumped water goes", width), *self.table(parts, width)] if parts else [],
                      [*self.heading("Strokes on the way up", width), *self.table(strokes, width)] if strokes else [])

    def _air(self, now: Subject, width: int) -> list[Content]:
        from fillcalc.present import charts
        from fillcalc.present.sentences import air_sentences
        from fillcalc.present.tables import ladder_rows

        rows = ladder_rows(now.estimate, now.units)
        said = self.paragraphs(air_sentences(now.case, now.estimate, now.units), width)
        own = next((n for n, row in enumerate(rows) if row[-1].startswith("<")), -1)
        return joined(self.chart(charts.ladder, now, width), self.table(rows, width, heads=True, marked=own), said)

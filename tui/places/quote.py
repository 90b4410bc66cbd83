"""The place Quote: the stages, what matters most, what the customer provides, and the lines for a mail."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from tui.places.place import Place, joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject


class Quote(Place):
    """What the office promises."""

    def parts(self, now: Subject, told: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present import charts
        from fillcalc.present.days import TITLE as WORKING_DAYS
        from fillcalc.present.days import days_sentences
        from fillcalc.present.quote import quote
        from fillcalc.present.visit_notes import visit_notes

        if told is None:
            return ()
        case, estimate, units = told.case, told.estimate, told.units
        mail = quote(case, estimate, units)
        return joined(self.said("For the quote; Alt+M copies it", mail.paragraphs if mail is not None else (), width),
                      self.said(WORKING_DAYS, days_sentences(estimate.days, [estimate.loads], units), width),
                      self.chart(charts.stages, told, width, figures=True),
                      self.paragraphs(visit_notes(estimate, units), width),
                      self.chart(charts.matters, told, width, figures=True))

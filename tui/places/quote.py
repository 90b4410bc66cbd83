"""The place Quote: the stages, what matters most, the lines for a mail, and what to bring."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.binding import Binding
from textual.content import Content

from tui.places.place import Place, joined, wrapped

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject

TITLE = "For the quote"
ALONE = "This case alone"


class Quote(Place):
    """What the office promises. Enter copies it, that of the visit where there are several cases, and T that of this
    case alone; A adds cases of the same visit, and takes them away."""

    BINDINGS = [Binding("enter", "app.copy_quote", show=False), Binding("t", "app.copy_quote(True)", show=False),
                Binding("a", "app.flow('visit')", show=False)]

    def _visit(self, width: int) -> list[Content]:
        """What the cases of one visit take together; nothing while there is but this one."""
        visit = self.host.visit
        if visit is None or not visit.several:
            return [Content.styled(f" {piece}", self.style_of("faint"))
                    for piece in wrapped("A, or Alt+J, adds other cases to the same visit.", width - 2)]
        old = "was: " if visit.number != self.host.session.number else ""
        title = f"{old}{len(visit.chosen)} cases in one visit: Enter or Alt+M copies it; A adds and takes away"
        return [*self.heading(title, width), *self.figures(visit.lines, width), Content(""),
                *(self.drawn(visit.bars, width, 0) if visit.bars is not None else []), Content(""),
                *self.paragraphs(visit.quoted.split("\n\n"), width)]

    def parts(self, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present import charts
        from fillcalc.present.days import TITLE as WORKING_DAYS
        from fillcalc.present.days import days_sentences
        from fillcalc.present.needs import TO_BRING, to_bring
        from fillcalc.present.quote import quote
        from fillcalc.present.visit_notes import visit_notes

        if ranged is None:
            return ()
        case, estimate, units = ranged.case, ranged.estimate, ranged.units
        mail, visit = quote(case, estimate, units), self.host.visit
        title = f"{TITLE}: Enter or Alt+M copies it" if visit is None or not visit.several else f"{ALONE}: T copies it"
        return joined(self._visit(width),
                      self.said(title, () if mail is None else mail.paragraphs, width),
                      self.said(WORKING_DAYS, days_sentences(estimate.days, [estimate.loads], units), width),
                      self.chart(charts.stages, ranged, width, figures=True),
                      self.paragraphs(visit_notes(estimate, units), width),
                      self.chart(charts.matters, ranged, width, figures=True),
                      self.said(TO_BRING, to_bring([case], [estimate], units), width))

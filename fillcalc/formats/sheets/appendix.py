"""The appendix: what was assumed, with the reason for each, for whoever asks where a figure comes from."""

from __future__ import annotations

from fillcalc.formats.html import joined, paragraph, section, table
from fillcalc.formats.sheets.parts import Reported, Sheet, head
from fillcalc.present import inputs

JOB = "Appendix: assumptions"
NAME = "appendix"


def appendix_sheet(of: Reported) -> Sheet:
    """The sheet of one case."""
    rows = inputs.reasons(of.case, of.units)
    typed = inputs.typed_sentence(of.case, of.units)
    body = joined([
        head(of.case.title, JOB, of.gauge, of.units),
        section("Assumed, because the case does not say", table(rows, head=True, kind="reasons")),
        paragraph(typed)])
    return Sheet(NAME, of.name(NAME), JOB, of.case.title, body, ((of.name(NAME), JOB),))

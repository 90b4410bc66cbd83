"""The sheet for the quote: what an office sends to a customer. Nothing on it is private to the technician."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan

from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.formats.html import Html, element, joined, listed, paragraph, section, table
from fillcalc.formats.plots import plot
from fillcalc.formats.sheets.parts import Section, Sheet, Told, Warned, boxed, figure, head, side_by_side, strip
from fillcalc.formats.sheets.pictures import set_up
from fillcalc.present import charts, tables
from fillcalc.present import sentences as words
from fillcalc.present.lines import TIME_ON_SITE, combined_lines, main_lines
from fillcalc.present.needs import COMMON, needs_of_all
from fillcalc.present.never import combined_sentences, visit_sentences
from fillcalc.present.quote import Quote, combined_quote, quote
from fillcalc.questions.visit import CombinedVisit

JOB = "For the quote"
NAME = "quote"


def quote_sheet(of: Told) -> Sheet:
    """The sheet of one case."""
    body = joined(make(of) for make in SECTIONS)
    return Sheet(NAME, NAME, JOB, of.case.title, body, ((NAME, JOB),))


def combined_quote_sheet(title: str, each: Sequence[Told], combined: CombinedVisit) -> Sheet:
    """The sheet of a visit with several cases. `each` are those of the visit, with its stages."""
    units = each[0].units
    cases, estimates = [of.case for of in each], [of.estimate for of in each]
    warned = [Warned(f"{place}. {one.sentence}", one.weight) for place, of in enumerate(each, 1) for one in of.warned]
    body = joined([
        head(title, JOB, words.GAUGE_VISIT, units),
        strip(combined_lines(combined, units), units),
        section("Cases", listed(f"{place}. {of.case.title}" for place, of in enumerate(each, 1)), kind="block bare"),
        boxed(warned),
        _combined_time(combined, units),
        side_by_side(
            _provided(cases, estimates, units, float(combined.to_drain_m3)),
            element("div", joined([_water_and_air(combined, units),
                                   _mail(combined_quote(cases, combined, estimates, units))]))),
        side_by_side(*(section(f"{place}. {of.case.title}", set_up(of)) for place, of in enumerate(each, 1)))])
    return Sheet(NAME, NAME, JOB, title, body, ((NAME, JOB),))


# --- the parts ----------------------------------------------------------------------------------

def _head(of: Told) -> Html:
    return head(of.case.title, JOB, of.gauge, of.units)


def _strip(of: Told) -> Html:
    return strip(main_lines(of.estimate, of.units, words.found_of(of.case)), of.units)


def _dangers(of: Told) -> Html:
    return boxed(of.warned)


def _columns(of: Told) -> Html:
    """To look at on one side, to read on the other."""
    return side_by_side(element("div", joined(make(of) for make in LOOK)),
                        element("div", joined(make(of) for make in READ)))


def _stages(of: Told) -> Html:
    return figure(of.plots.get("stages"))


def _time(of: Told) -> Html:
    notes = [*visit_sentences(of.estimate.visit, of.units), *words.visit_notes(of.estimate, of.units)]
    rows = table(tables.stage_rows(of.estimate, of.units), head=True, kind="figures")
    return section(tables.STAGES_TITLE, rows, paragraph(" ".join(notes)))


def _wanted(of: Told) -> Html:
    return _provided([of.case], [of.estimate], of.units)


def _line(of: Told) -> Html:
    return _mail(quote(of.case, of.estimate, of.units))


def _provided(cases: Sequence[Case], estimates: Sequence[Estimate], units: str, to_drain: float = nan) -> Html:
    wanted = needs_of_all(cases, estimates, units, to_drain)
    return section("The customer provides", listed(each.replace(COMMON, "") for each in wanted))


def _mail(quoted: Quote | None) -> Html:
    return section("The line for the mail", paragraph("" if quoted is None else quoted.sentence))


def _combined_time(combined: CombinedVisit, units: str) -> Html:
    """Low, likely and high of what is done once, of each case and of the whole, as a table and as whiskers."""
    rows, bars = tables.combined_rows(combined, units), charts.combined(combined, units)
    notes = [*combined_sentences(combined, units), *words.time_notes(combined.rework_s, units)]
    return side_by_side(section(TIME_ON_SITE, table(rows, head=True, kind="figures", bold=len(rows) - 2)),
                        figure(None if bars is None else plot(bars, "visit"), paragraph(" ".join(notes))))


def _water_and_air(combined: CombinedVisit, units: str) -> Html:
    return section("Water and air", table(tables.combined_needs(combined, units), head=True, kind="figures"))


SECTIONS: tuple[Section, ...] = (_head, _strip, _dangers, _columns)
"""The parts of the sheet of one case, in their order."""
LOOK: tuple[Section, ...] = (set_up, _stages)
READ: tuple[Section, ...] = (_time, _wanted, _line)
"""What stands beside one another below them."""

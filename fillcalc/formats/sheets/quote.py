"""The sheet for the quote: what an office sends to a customer. Nothing on it is private to the technician."""

from __future__ import annotations

from collections.abc import Sequence

from fillcalc.case.records import Case
from fillcalc.estimation.answers import Days, Estimate, Loads
from fillcalc.formats.html import Html, element, held, joined, listed, paragraph, section, table
from fillcalc.formats.plots import plot
from fillcalc.formats.sheets import gas
from fillcalc.formats.sheets.parts import (
    DANGER,
    Reported,
    Section,
    Sheet,
    Warned,
    boxed,
    figure,
    for_a_customer,
    head,
    side_by_side,
    strip,
)
from fillcalc.formats.sheets.pictures import set_up
from fillcalc.present import charts, tables
from fillcalc.present import sentences as words
from fillcalc.present.days import TITLE as WORKING_DAYS
from fillcalc.present.days import days_sentences
from fillcalc.present.gas import visit_dangers
from fillcalc.present.lines import TIME_ON_SITE, combined_lines, main_lines
from fillcalc.present.loads import TITLE as LOADS
from fillcalc.present.loads import load_rows, loads_words
from fillcalc.present.needs import COMMON, needs_of_all
from fillcalc.present.never import combined_sentences, visit_sentences
from fillcalc.present.quote import Quote, combined_quote, quote
from fillcalc.present.visit_notes import time_notes, visit_notes
from fillcalc.questions.visit import CombinedVisit, likely_visit

JOB = "For the quote"
NAME = "quote"


def quote_sheet(of: Reported) -> Sheet:
    """The sheet of one case."""
    body = joined(make(of) for make in (SECTIONS if of.estimate.gas is None else GAS_SECTIONS))
    return Sheet(NAME, NAME, JOB, of.case.title, body, ((NAME, JOB),))


def combined_quote_sheet(title: str, each: Sequence[Reported], combined: CombinedVisit) -> Sheet:
    """The sheet of a visit with several cases. `each` are those of the visit, with its stages."""
    units = each[0].units
    cases, estimates = [of.case for of in each], [of.estimate for of in each]
    loads, combined = [one.loads for one in estimates], likely_visit(combined, estimates)
    warned = [Warned(f"{place}. {one.sentence}", one.weight) for place, of in enumerate(each, 1)
              for one in for_a_customer(of)]
    body = joined([
        head(title, JOB, words.GAUGE_VISIT, units),
        boxed([Warned(one.replace("DANGER, ", ""), DANGER) for one in visit_dangers(cases, estimates, units)]),
        strip(combined_lines(combined, units), units),
        section("Cases", listed(_named(number, of) for number, of in enumerate(each, 1)), kind="block bare"),
        boxed(warned),
        _combined_time(combined, loads, units),
        _working_days(combined.days, loads, units),
        side_by_side(
            _provided(cases, estimates, units),
            element("div", joined([_used(combined, units),
                                   _mail(combined_quote(cases, combined, estimates, units))]))),
        side_by_side(*(section(f"{place}. {of.case.title}", set_up(of)) for place, of in enumerate(each, 1)))])
    return Sheet(NAME, NAME, JOB, title, body, ((NAME, JOB),))


# --- the parts ----------------------------------------------------------------------------------

def _head(of: Reported) -> Html:
    return head(of.case.title, JOB, of.gauge, of.units)


def _strip(of: Reported) -> Html:
    return strip(main_lines(of.estimate, of.units), of.units)


def _dangers(of: Reported) -> Html:
    return boxed(for_a_customer(of))


def _columns(of: Reported) -> Html:
    """To look at on one side, to read on the other."""
    return side_by_side(element("div", joined(make(of) for make in LOOK)),
                        element("div", joined(make(of) for make in READ)))


def _stages(of: Reported) -> Html:
    return figure(of.plot("stages"))


def _time(of: Reported) -> Html:
    notes = [*visit_sentences(of.estimate.visit, of.units), *visit_notes(of.estimate, of.units)]
    rows = table(tables.stage_rows(of.estimate, of.units), head=True, kind="figures")
    return section(tables.STAGES_TITLE, rows, paragraph(" ".join(notes)))


def _named(number: int, of: Reported) -> str:
    """A case of a visit, with its pieces and loads."""
    return ", ".join([f"{number}. {of.case.title}", *filter(None, [loads_words(of.estimate.loads, of.units)])])


def _loads(of: Reported) -> Html:
    """The pieces in their loads; nothing for one load."""
    rows = load_rows(of.estimate, of.units)
    if not rows:
        return Html("")
    shown = paragraph(f"{loads_words(of.estimate.loads, of.units)}.")
    return section(LOADS, table(rows, head=True, kind="figures"), shown)


def _days(of: Reported) -> Html:
    return _working_days(of.estimate.days, [of.estimate.loads], of.units)


def _working_days(days: Days | None, loads: Sequence[Loads | None], units: str) -> Html:
    """What is done on which day; nothing for one day."""
    lines = days_sentences(days, loads, units)
    return section(WORKING_DAYS, listed(lines)) if lines else Html("")


def _wanted(of: Reported) -> Html:
    return _provided([of.case], [of.estimate], of.units)


def _line(of: Reported) -> Html:
    return _mail(quote(of.case, of.estimate, of.units))


def _provided(cases: Sequence[Case], estimates: Sequence[Estimate], units: str) -> Html:
    wanted = needs_of_all(cases, estimates, units)
    return section("The customer provides", listed(each.replace(COMMON, "") for each in wanted))


def _mail(quoted: Quote | None) -> Html:
    return section("Quote", element("p", held("" if quoted is None else quoted.sentence)))


def _combined_time(combined: CombinedVisit, loads: Sequence[Loads | None], units: str) -> Html:
    """Low, likely and high of what is done once, of each case and of the whole, as a table and as whiskers."""
    rows, bars = tables.combined_rows(combined, units), charts.combined(combined, units)
    notes = [*combined_sentences(combined, units), *time_notes(loads, units)]
    return side_by_side(section(TIME_ON_SITE, table(rows, head=True, kind="figures", bold=len(rows) - 2)),
                        figure(None if bars is None else plot(bars, "visit"), paragraph(" ".join(notes))))


def _used(combined: CombinedVisit, units: str) -> Html:
    return section("What it uses", table(tables.combined_needs(combined, units), head=True, kind="figures"))


SECTIONS: tuple[Section, ...] = (_head, _strip, _dangers, _columns)
"""The parts of the sheet of one case, in their order."""
GAS_SECTIONS: tuple[Section, ...] = (_head, *gas.QUOTE, _columns)
"""The same of a test with gas."""
LOOK: tuple[Section, ...] = (set_up, _stages)
READ: tuple[Section, ...] = (_time, _loads, _days, _wanted, _line)
"""What stands beside one another below them."""

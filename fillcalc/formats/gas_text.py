"""The report of a test with gas: the danger before any figure, then whether the bottles do it and when to read."""

from __future__ import annotations

from fillcalc.case.records import Case
from fillcalc.cautions import cautions
from fillcalc.estimation.answers import Estimate, at_likely_values
from fillcalc.formats.data import plain
from fillcalc.formats.text import (
    answer_lines,
    assumption_lines,
    caution_lines,
    days_lines,
    loads_lines,
    quote_lines,
    section_lines,
    table,
    visit_lines,
    wrapped_lines,
)
from fillcalc.present import gas as present
from fillcalc.present import inputs, tables
from fillcalc.present import sentences as words
from fillcalc.present.gas_readings import gas_readings
from fillcalc.present.needs import TO_BRING, needs, to_bring
from fillcalc.present.never import visit_sentences
from fillcalc.present.quote import quote
from fillcalc.present.sentences import trade
from fillcalc.questions.likely import likely
from fillcalc.questions.readings.gas import hold_of
from fillcalc.units.printable import shown

NO_HOLD = "Give two readings of the hold, each with pressure, time and temperature, the supply closed."


def gas_report(case: Case, estimate: Estimate, units: str = "metric") -> str:
    """The report as lines of at most 80 columns, ending in a newline. `units` is metric or us."""
    case = at_likely_values(case)
    found, estimate = cautions(case, estimate, units), likely(estimate, units)
    head = [words.TITLE, *wrapped_lines(present.danger_lines(case, estimate, units)),
            *answer_lines(present.gas_lines(estimate, units), units)]
    title = wrapped_lines([shown(case.title)]) if case.title else []
    parts = [
        head,
        [*title, trade(words.gauge_sentence(estimate), units), *wrapped_lines(visit_sentences(estimate.visit, units))],
        section_lines("Energy and distance", present.energy_sentences(estimate, units)),
        *(_block(title, estimate, name, units) for name, title in present.BLOCKS.items()),
        section_lines("Steps of pressure", present.stop_sentences(estimate, units)),
        section_lines("The readings", gas_readings(case, units)),
        visit_lines(case, estimate, units),
        loads_lines(estimate, units),
        days_lines(estimate.days, [estimate.loads], units),
        section_lines(TO_BRING, to_bring([case], [estimate], units)),
        section_lines("The customer provides", needs(case, estimate, units)),
        quote_lines(quote(case, estimate, units)),
        assumption_lines(case, units),
        caution_lines(found, units),
        section_lines("Safety", present.gas_safety(units, case)[1:]),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def hold_report(case: Case, units: str = "metric") -> str:
    """What the readings of a hold with gas tell, as text."""
    said, own = gas_readings(case, units) or [NO_HOLD], inputs.own_sentences([case], units)
    parts = [[words.TITLE, *wrapped_lines(present.dangers_of(case, units)),
              *wrapped_lines([shown(case.title)] if case.title else [])],
             wrapped_lines(said, "  ", "    "), section_lines(inputs.OWN_TITLE, own),
             wrapped_lines(["Nothing here says that a piece has passed."])]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def hold_data(case: Case) -> dict[str, object]:
    """The same as data; "hold" is null without two timed readings."""
    return {"danger": list(present.dangers_of(case, "metric")), "title": case.title, "hold": plain(hold_of(case)),
            "own": inputs.own_sentences([case], "metric"),
            "safety": list(present.gas_safety(case=case))}


def _block(title: str, estimate: Estimate, name: str, units: str) -> list[str]:
    rows = tables.block_rows(getattr(estimate.gas, name), units)
    return [title, *table(rows)] if rows else []

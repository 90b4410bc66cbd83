"""A visit with several cases, as text and as data."""

from __future__ import annotations

from collections.abc import Sequence

from fillcalc.case.records import Case
from fillcalc.cautions import WEIGHTS, cautions
from fillcalc.cautions.pumping import AT_TEST
from fillcalc.estimation.answers import Caution, Estimate, Loads, at_likely_values
from fillcalc.formats.data import plain, quote_data
from fillcalc.formats.text import MARKS, answer_lines, days_lines, quote_lines, section_lines, table, wrapped
from fillcalc.present import inputs, tables
from fillcalc.present import sentences as words
from fillcalc.present.gas import visit_dangers, visit_safety
from fillcalc.present.lines import TIME_ON_SITE, combined_lines
from fillcalc.present.loads import loads_words
from fillcalc.present.needs import TO_BRING, needs_of_all, to_bring
from fillcalc.present.never import combined_sentences
from fillcalc.present.quote import combined_quote
from fillcalc.present.sentences import trade
from fillcalc.present.visit_notes import time_notes
from fillcalc.questions.likely import likely
from fillcalc.questions.visit import CombinedVisit, likely_visit
from fillcalc.units.printable import shown

VISIT = "A visit with"
"""How the title of a visit begins."""


def combined_data(cases: Sequence[Case], combined: CombinedVisit, estimates: Sequence[Estimate],
             units: str = "metric") -> dict[str, object]:
    """The visit as nested dicts and lists; SI numbers, sentences in `units` (metric or us)."""
    written, printed = [at_likely_values(case) for case in cases], [likely(one, units) for one in estimates]
    gas = visit_dangers(written, printed, units)
    data: dict[str, object] = {**({"danger": gas} if gas else {}), **plain(combined)}
    data["bring"] = to_bring(written, printed, units)
    data["needs"] = needs_of_all(written, printed, units)
    data["quote"] = quote_data(combined_quote(written, combined, printed, units))
    data["cautions"] = [{"title": title} | plain(row) for title, row in _cautions(written, estimates, units)]
    data["own"] = inputs.own_sentences(cases, units)
    data["safety"] = list(visit_safety(cases, units))
    return data


def combined_report(cases: Sequence[Case], combined: CombinedVisit, estimates: Sequence[Estimate],
               units: str = "metric") -> str:
    """The visit as lines of at most 80 columns, ending in a newline."""
    written, printed = [at_likely_values(case) for case in cases], [likely(one, units) for one in estimates]
    gas = [line for sentence in visit_dangers(written, printed, units) for line in wrapped(sentence)]
    combined = likely_visit(combined, printed)
    head = [words.TITLE, *gas, f"{VISIT} {len(cases)} case{'s' if len(cases) > 1 else ''}",
            trade(words.GAUGE_VISIT, units)]
    total = [*answer_lines(combined_lines(combined, units), units),
             *(line for sentence in combined_sentences(combined, units) for line in wrapped(sentence))]
    warned = [line for sentence in _warned(written, estimates, units) for line in wrapped(sentence)]
    wanted = needs_of_all(written, printed, units)
    loads = [one.loads for one in printed]
    notes = time_notes(loads, units)
    parts = [
        head, total,
        _named(combined, loads, units),
        [TIME_ON_SITE, *table(tables.combined_rows(combined, units)), *table(tables.combined_needs(combined, units)),
         *(line for note in notes for line in wrapped(note))],
        days_lines(combined.days, loads, units),
        section_lines(TO_BRING, to_bring(written, printed, units)),
        ["The customer provides", *(line for need in wanted for line in wrapped(need))],
        quote_lines(combined_quote(written, combined, printed, units)),
        section_lines(inputs.OWN_TITLE, inputs.own_sentences(cases, units)),
        ["Cautions", *warned] if warned else [],
        ["Safety", *(line for sentence in visit_safety(cases, units)[1:] for line in wrapped(sentence))],
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _named(combined: CombinedVisit, loads: Sequence[Loads | None], units: str) -> list[str]:
    """Which case is which, with its pieces and loads."""
    sentences = [", ".join([f"Case {number}: {shown(one.title)}", *filter(None, [loads_words(load, units)])])
                 for number, (one, load) in enumerate(zip(combined.cases, loads, strict=True), 1)]
    return [line for sentence in sentences for line in wrapped(sentence, "")]


def combined_quote_text(cases: Sequence[Case], combined: CombinedVisit, estimates: Sequence[Estimate],
                        units: str = "metric") -> str:
    """The quote of the visit alone, as text to paste."""
    written, printed = [at_likely_values(case) for case in cases], [likely(one, units) for one in estimates]
    return combined_quote(written, combined, printed, units).text


def _cautions(cases: Sequence[Case], estimates: Sequence[Estimate], units: str) -> list[tuple[str, Caution]]:
    """Title and caution, the heaviest first; a visit to come has not reached test pressure, whatever older readings
    say."""
    rows = [(case.title, row) for case, one in zip(cases, estimates, strict=True) for row in cautions(case, one, units)
            if row.code != AT_TEST]
    return sorted(rows, key=lambda item: WEIGHTS.index(item[1].weight))


def _warned(cases: Sequence[Case], estimates: Sequence[Estimate], units: str) -> list[str]:
    """The cautions as sentences that name their cases where there are several; what holds for all is said once."""
    found: dict[tuple[str, str], list[str]] = {}
    for title, row in _cautions(cases, estimates, units):
        found.setdefault((MARKS[row.weight], trade(row.text, units)), []).append(shown(title))
    if len(cases) == 1:
        return [f"{mark}: {sentence}" for mark, sentence in found]
    return [f"{mark}, {'every case' if len(whose) == len(cases) else ' and '.join(whose)}: {sentence}"
            for (mark, sentence), whose in found.items()]

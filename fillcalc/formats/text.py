"""The estimate as a text report, made to be read at 80 columns.

The first lines are the answers a customer asks for; what limits them, the other stages, what was
assumed, the cautions and the safety text follow. Every number is the same as in `fillcalc.formats.data`.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from fillcalc.case.records import Case
from fillcalc.cautions import WEIGHTS, cautions
from fillcalc.estimation.answers import Caution, Days, Estimate, Loads, at_likely_values
from fillcalc.present import inputs, tables
from fillcalc.present import sentences as words
from fillcalc.present.advice import advice_sentences
from fillcalc.present.days import TITLE as WORKING_DAYS
from fillcalc.present.days import days_sentences
from fillcalc.present.lines import Line, main_lines
from fillcalc.present.loads import TITLE as LOADS
from fillcalc.present.loads import load_rows, loads_words
from fillcalc.present.needs import TO_BRING, needs, to_bring
from fillcalc.present.never import visit_sentences
from fillcalc.present.quote import Quote, quote
from fillcalc.present.sentences import trade
from fillcalc.present.visit_notes import visit_notes
from fillcalc.questions.likely import likely
from fillcalc.units.printable import shown, together

WIDTH = 80
MOST_SWINGS = 6
"""Inputs that are told under what matters most; the data has them all."""
MARKS = {weight: weight.upper() for weight in WEIGHTS}


def report(case: Case, estimate: Estimate, units: str = "metric") -> str:
    """The report as lines of at most 80 columns, ending in a newline. `units` is metric or us."""
    if estimate.gas is not None:
        from fillcalc.formats.gas_text import gas_report

        return gas_report(case, estimate, units)
    case = at_likely_values(case)
    found, estimate = cautions(case, estimate, units), likely(estimate, units)
    parts = [
        _head(case, estimate, units),
        _main_answers(case, estimate, units),
        wrapped_lines([f"{MARKS[found[0].weight]}: {trade(found[0].text, units)}{_more(found)}"]) if found else [],
        section_lines("Pressure losses", words.fill_sentences(case, estimate, units)),
        _pump_up(case, estimate, units),
        section_lines("Stall and limits", words.limit_sentences(case, estimate, units)),
        _air(case, estimate, units),
        section_lines("The readings", words.of_its_readings(case, estimate, units)),
        section_lines("High points", words.sweep_sentences(estimate, units)),
        *(_block(title, getattr(estimate, name), units) for name, title in tables.BLOCKS.items()),
        visit_lines(case, estimate, units),
        loads_lines(estimate, units),
        days_lines(estimate.days, [estimate.loads], units),
        section_lines(TO_BRING, to_bring([case], [estimate], units)),
        section_lines("The customer provides", needs(case, estimate, units)),
        quote_lines(quote(case, estimate, units)),
        assumption_lines(case, units),
        caution_lines(found, units),
        section_lines("Safety", words.safety(units)[1:]),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _more(found: Sequence[Caution]) -> str:
    """How many cautions stand further down."""
    return f" ({len(found) - 1} more under Cautions)" if len(found) > 1 else ""


def quote_text(case: Case, estimate: Estimate, units: str = "metric") -> str:
    """The quote alone, as text to paste; "" for an estimate without a time on site."""
    found = quote(at_likely_values(case), likely(estimate, units), units)
    return "" if found is None else found.text


def _head(case: Case, estimate: Estimate, units: str) -> list[str]:
    title = [shown(case.title)] if case.title else []
    return [words.TITLE, *wrapped_lines(title), trade(words.gauge_sentence(estimate), units)]


def _main_answers(case: Case, estimate: Estimate, units: str) -> list[str]:
    folded = answer_lines(main_lines(estimate, units, words.found_of(case)), units)
    return [*folded, *wrapped_lines(visit_sentences(estimate.visit, units))]


def answer_lines(lines: Sequence[Line], units: str) -> list[str]:
    """The main answers: name, likely figure, and what stands beside it."""
    wide, name = max(len(line.value) for line in lines), max(len(line.label) for line in lines)
    sentences = [trade(f"{line.label:<{name}}  {line.value:<{wide}}  {'; '.join(line.more)}".rstrip(), units)
                 for line in lines]
    return [part.replace("\N{NO-BREAK SPACE}", " ") for one in sentences
            for part in textwrap.wrap(together(one), WIDTH, subsequent_indent=" " * (4 + name + wide))]


def _pump_up(case: Case, estimate: Estimate, units: str) -> list[str]:
    lines = section_lines("Pump-up", words.pump_sentences(case, estimate, units))
    if parts := tables.pumped_parts(estimate, units):
        lines = lines or ["Pump-up"]
        lines += ["  Where the pumped water goes, at likely values:", *table(parts)]
    if marks := tables.stroke_rows(estimate, units):
        lines += ["  Strokes on the way up, at likely values:", *table(marks)]
    return lines


def _air(case: Case, estimate: Estimate, units: str) -> list[str]:
    lines = section_lines("Trapped air", words.air_sentences(case, estimate, units))
    return [*lines, "  Pump-up by trapped air, at likely values:",
            *table(tables.ladder_rows(estimate, units))] if lines else []


def _block(title: str, record: object, units: str) -> list[str]:
    rows = tables.block_rows(record, units)
    return [title, *table(rows)] if rows else []


def visit_lines(case: Case, estimate: Estimate, units: str) -> list[str]:
    """The stages with what matters most, under their title."""
    rows = tables.stage_rows(estimate, units)
    if not rows:
        return []
    lines = [tables.STAGES_TITLE, *table(rows)]
    if estimate.visit is not None:
        lines += section_lines("", visit_notes(estimate, units))[1:]
    if estimate.matters:
        lines += [f"  {tables.MATTERS_TITLE}:",
                  *table(tables.swing_rows(case, estimate, units, MOST_SWINGS)),
                  *section_lines("", advice_sentences(case, estimate, units))[1:]]
    return lines


def loads_lines(estimate: Estimate, units: str) -> list[str]:
    """The pieces in their loads, one load and all; nothing for one load."""
    rows = load_rows(estimate, units)
    return [*section_lines(LOADS, [f"{loads_words(estimate.loads, units)}."]), *table(rows)] if rows else []


def days_lines(days: Days | None, loads: Sequence[Loads | None], units: str) -> list[str]:
    """The working days under their title; nothing for one day."""
    return section_lines(WORKING_DAYS, days_sentences(days, loads, units))


def quote_lines(found: Quote | None) -> list[str]:
    """The quote under its title; nothing where there is none."""
    return [] if found is None else section_lines("Quote", found.paragraphs)


def assumption_lines(case: Case, units: str) -> list[str]:
    """What is in doubt with its reason, a line each; the rest together."""
    doubtful, usual = inputs.assumed(case)
    lines = []
    for item in doubtful:
        text = f"{shown(item.path)} = {inputs.assumed_value(case, item, units)}: {item.why}"
        lines += wrapped_lines([text], "  ", "      ")
    if usual:
        lines += wrapped_lines([inputs.usual_sentence(case, usual, units)], "  ", "      ")
    typed = inputs.typed_sentence(case, units)
    return [*(["Assumed, because the case does not say", *lines] if lines else []),
            *(wrapped_lines([typed], "  ", "      ") if typed else [])]


def caution_lines(found: Iterable[Caution], units: str) -> list[str]:
    """Every caution with its weight, under their title."""
    lines = []
    for caution in found:
        lines += wrapped_lines([f"{MARKS[caution.weight]}: {trade(caution.text, units)}"], "  ", "      ")
    return ["Cautions", *lines] if lines else []


# --- laying out -------------------------------------------------------------------------------

def table(rows: Sequence[Sequence[str]], names: int = 1) -> list[str]:
    """Rows of cells as lines: the first columns, of names, to the left, the others to the right, two spaces between."""
    wide = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return ["    " + "  ".join(cell.ljust(wide[place]) if place < names else cell.rjust(wide[place])
                               for place, cell in enumerate(row)).rstrip() for row in rows]


def wrapped(text: str, first: str = "  ") -> list[str]:
    """The text in lines of at most 80 columns, later ones indented."""
    return wrapped_lines([text], first, "    ")


def section_lines(title: str, sentences: Sequence[str]) -> list[str]:
    """Sentences under their title; nothing where there are none."""
    return [title, *wrapped_lines(sentences, "  ", "    ")] if sentences else []


def wrapped_lines(sentences: Iterable[str], first: str = "", then: str = "") -> list[str]:
    """Each sentence in lines of at most 80 columns, the later ones indented by `then`."""
    lines: list[str] = []
    for sentence in sentences:
        here = first
        for word in together(" ".join(sentence.split())).split(" "):
            for piece in _pieces(word, WIDTH - len(then) - 1):
                if here.strip() and len(here) + 1 + len(piece) > WIDTH:
                    lines.append(here)
                    here = then
                here += (" " if here.strip() else "") + piece
        lines.append(here)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def _pieces(word: str, most: int) -> list[str]:
    return [word[start:start + most] for start in range(0, len(word), most)]

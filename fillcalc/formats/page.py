"""The estimate as a page: one HTML file that needs nothing else, for paper and for a phone.

It holds no script, asks for nothing from outside, and is the same bytes for the same case. Every number is
that of `fillcalc.formats.data`; every table that of `fillcalc.present.tables`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from importlib.resources import files
from math import nan
from re import DOTALL, sub

from fillcalc.case.names import name_of
from fillcalc.case.records import Assumption, Case
from fillcalc.cautions import cautions
from fillcalc.estimation.answers import Estimate, at_likely_values
from fillcalc.formats.html import Html, element, joined, lines, listed, paragraph, section, table, text
from fillcalc.formats.plots import Plot, drawn_bars, plots
from fillcalc.formats.text import MARKS, MOST_SWINGS
from fillcalc.present import charts, inputs, tables
from fillcalc.present import sentences as words
from fillcalc.present.advice import advice_sentences
from fillcalc.present.lines import Line, combined_lines, main_lines
from fillcalc.present.needs import needs_of_all
from fillcalc.present.never import combined_sentences, visit_sentences
from fillcalc.present.quote import Quote, combined_quote, quote
from fillcalc.present.sentences import trade
from fillcalc.questions.likely import likely, likely_stage
from fillcalc.questions.visit import CombinedVisit
from fillcalc.units import axis
from fillcalc.units.printable import shown

MARK = "fillcalc page"
"""Stands in every page as its generator, so that an older one can be told from a file of someone else's."""
POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
CHARACTERS, OF_A_ROW, OF_A_DRAWING, ONE_SHEET, TWO_SHEETS = 55, 0.3, 11.0, 206.0, 340.0
"""Characters to a line in small type, lines that a row adds, those of a drawing, what one sheet of A4 or Letter holds
in small type, and two in large; found by printing."""
DECIDES = 3
"""Sentences of the safety text that stand at the head of the page; the others have their own part."""
READINGS = 7
"""Lines of the table for readings; those at which the strokes are told come first."""


def page(case: Case, estimate: Estimate, units: str = "metric") -> str:
    """The whole page of one case. `units` is metric or us; the estimate is that of `with_ranges`."""
    case = at_likely_values(case)
    warned, estimate = _told(case, estimate, units), likely(estimate, units)
    body = [
        _head(case.title, case.note, words.gauge_sentence(estimate), units),
        _answers(main_lines(estimate, units, words.found_of(case)), units),
        _worst(warned),
        _case_flow(case, estimate, units, "",
                   _common([case], [estimate], units, quote(case, estimate, units), [warned])),
    ]
    return _document(case.title, joined(body))


def visit_page(cases: Sequence[Case], combined: CombinedVisit, estimates: Sequence[Estimate],
               units: str = "metric") -> str:
    """The page of several cases in one visit: the visit first, then each case. `units` is metric or us."""
    written = [at_likely_values(case) for case in cases]
    told = [replace(one, stages=tuple(likely_stage(stage, units) for stage in part.stages))
            for one, part in zip((likely(one, units) for one in estimates), combined.cases, strict=True)]
    title = f"A visit with {len(cases)} cases"
    each = [_told(case, one, units) for case, one in zip(written, estimates, strict=True)]
    warned = [(f"{place}. {sentence}", weight) for place, found in enumerate(each, 1) for sentence, weight in found]
    body = [
        _head(title, "", words.GAUGE_VISIT, units),
        _answers(combined_lines(combined, units), units),
        _worst(sorted(warned, key=lambda one: list(MARKS).index(one[1]))),
        _day(combined, units),
        _flow(Html(""), [_combined_figure(combined, units),
                         _common(written, told, units, combined_quote(written, combined, told, units),
                                                              each, float(combined.to_drain_m3))]),
        *(_one_of_combined(place, case, one, units)
          for place, (case, one) in enumerate(zip(written, told, strict=True), 1)),
    ]
    return _document(title, joined(body))


# --- the parts ----------------------------------------------------------------------------------

def _head(title: str, note: str, gauge: str, units: str) -> Html:
    return element("header", joined([
        element("h1", text(words.TITLE)), element("p", text(title, 200), "title"),
        element("p", lines(note), "note"),
        element("p", joined([element("b", text(" ".join(words.SAFETY[:DECIDES]))), text(trade(gauge, units))], "<br>"),
                "gauge")]))


def _answers(found: Sequence[Line], units: str) -> Html:
    return element("dl", joined(Html(
        f"<div><dt>{text(line.label)}</dt><dd><b>{text(line.value)}</b> "
        f"<span>{text(trade('; '.join(line.more), units))}</span></dd></div>") for line in found), "answers")


def _told(case: Case, estimate: Estimate, units: str) -> list[tuple[str, str]]:
    """The cautions as a sentence and its weight, the heaviest first."""
    return [(trade(row.text, units), row.weight) for row in cautions(case, estimate, units)]


def _worst(found: Sequence[tuple[str, str]]) -> Html:
    if not found:
        return Html("")
    (sentence, weight), more = found[0], len(found) - 1
    rest = text(f" {more} more below." if more else "")
    return Html(f'<p class="worst {weight}"><b>{MARKS[weight]}</b> {text(sentence)}{rest}</p>')


def _flow(charts: Html, rest: Sequence[Html]) -> Html:
    """The charts and what follows them: one under the other on a screen, one flow of columns on paper."""
    return element("div", joined([charts, element("div", joined(rest), "rest")]), "flow")


def _case_flow(case: Case, estimate: Estimate, units: str, prefix: str = "", *more: Html) -> Html:
    """Charts in three columns: filling, pumping, time on site; then `more` and all that is told of this case.

    The ladder of trapped air stands below them, or in the first column where that has but one chart.
    """
    found = {name: _figure(plot) for name, plot in plots(case, estimate, units, prefix).items()}
    ladder, none = _ladder(case, estimate, units), Html("")
    columns = [
        [found.get("filling", none), found.get("losses", ladder), _pumped(estimate, units)],
        [found.get("pumping", none), found.get("pump_curve", none)],
        [found.get("stages", none), _stages(estimate, units)],
    ]
    charts = element("div", joined(element("div", joined(column)) for column in columns), "charts")
    return _flow(charts, [ladder if "losses" in found else none, *more, *_rest(case, estimate, units)])


def _figure(plot: Plot) -> Html:
    return element("figure", joined([element("figcaption", text(plot.title)), Html(plot.svg), listed(plot.numbers)]))


def _pumped(estimate: Estimate, units: str) -> Html:
    return section("Where the pumped water goes, at likely values", table(tables.pumped_parts(estimate, units)))


def _stages(estimate: Estimate, units: str) -> Html:
    notes = paragraph(" ".join([*visit_sentences(estimate.visit, units), *words.visit_notes(estimate, units)]))
    return section(tables.STAGES_TITLE, table(tables.stage_rows(estimate, units), head=True, kind="figures"), notes)


def _rest(case: Case, estimate: Estimate, units: str) -> list[Html]:
    return [
        section("High points", listed(words.sweep_sentences(estimate, units))),
        section("The readings", listed(words.of_its_readings(case, estimate, units))),
        _readings(estimate, units),
        section(tables.MATTERS_TITLE, table(tables.swing_rows(case, estimate, units, MOST_SWINGS)),
                listed(advice_sentences(case, estimate, units))),
        *(section(title, table([row for name in names for row in tables.block_rows(getattr(estimate, name), units)]))
          for title, names in AFTER.items()),
        _inputs(case, units),
    ]


AFTER = {"Settle, hold, release, drain": ("settle", "hold", "release", "drain"), "Stored energy": ("energy",)}
"""Stages that are told as a list of their answers, by the title they share."""


def _ladder(case: Case, estimate: Estimate, units: str) -> Html:
    """The ladder without the column that marks the case's own row; that row is bold instead."""
    sentences = words.air_sentences(case, estimate, units)
    if not sentences:
        return Html("")
    rows = tables.ladder_rows(estimate, units)
    own = next((place for place, row in enumerate(rows[1:]) if row[-1]), -1)
    return section("Trapped air: the pump-up by it, at likely values",
                   table([row[:-1] for row in rows], head=True, kind="figures", bold=own),
                   listed(["Bold: this case.", *sentences] if own >= 0 else sentences), kind="block run")


def _readings(estimate: Estimate, units: str) -> Html:
    """A table to fill by hand while pumping: what is expected where strokes are counted, and room for what was seen."""
    pump = estimate.pressurise
    gauge, warm = axis("pressure", units, pump.test_gauge_pa).unit, axis("temperature", units).unit
    marks = tables.stroke_rows(estimate, units)
    if marks:
        rows: tables.Rows = [("expected", "at stroke", f"gauge, {gauge}", "strokes", "clock", f"water, {warm}")]
        expected = zip(marks[0][1:], marks[1][1:], strict=True)
        rows += [(pressure, strokes, "", "", "", "") for pressure, strokes in expected]
    else:
        rows = [(f"gauge, {gauge}", f"pumped, {axis('volume', units, pump.water_m3).unit}", "clock", f"water, {warm}")]
    rows += [("",) * len(rows[0])] * (1 + READINGS - len(rows))
    return section("Readings by hand, to find the trapped air",
                   table(rows, head=True, kind="blank"),
                   paragraph("Pump stopped, a minute waited, needle still. "
                             "For the command: fillcalc readings. No test record."))


def _inputs(case: Case, units: str) -> Html:
    doubtful, usual = inputs.assumed(case)
    as_usual = [(item.path, inputs.assumed_value(case, item, units)) for item in usual]
    typed = inputs.typed_sentence(case, units)
    return joined([
        section("Given", _grouped(inputs.given_rows(case, units)), *([paragraph(typed)] if typed else [])),
        section("Assumed, because the case does not say",
                element("ul", joined((element("li", each) for each in _by_reason(case, doubtful, units)), " ")),
                _grouped(inputs.grouped(case, as_usual, units)),
                kind="block run"),
    ])


def _grouped(rows: tables.Rows) -> Html:
    """Inputs with the title of their group before them; run in, so that a case stays on its sheets."""
    told = (joined([element("b", text(title)), text(values)], " ") for title, values in rows)
    return element("p", joined(told, ". "))


def _by_reason(case: Case, items: Sequence[Assumption], units: str) -> list[Html]:
    """The assumptions, those of one reason together."""
    found: dict[str, list[str]] = {}
    for item in items:
        said = f"{name_of(item.path, units, case)} {inputs.assumed_value(case, item, units)}"
        found.setdefault(item.why, []).append(said)
    return [joined([element("b", text(", ".join(values))), text(f"{shown(why)}.")], ": ")
            for why, values in found.items()]


def _common(cases: Sequence[Case], estimates: Sequence[Estimate], units: str, quoted: Quote | None,
            warnings: Sequence[Sequence[tuple[str, str]]], to_drain: float = nan) -> Html:
    """What the customer provides, the quote, every caution, and the safety sentences; each once for all cases."""
    wanted = needs_of_all(cases, estimates, units, to_drain)
    found = [(place, sentence, weight) for place, told in enumerate(warnings, 1) for sentence, weight in told]
    found.sort(key=lambda one: list(MARKS).index(one[2]))
    warned = [element("li", joined([element("b", text(MARKS[weight])),
                                    text(f"{place}. {sentence}" if len(cases) > 1 else sentence)], " "), weight)
              for place, sentence, weight in found]
    return joined([
        section("The customer provides", listed(wanted)),
        section("Quote", *([paragraph(quoted.sentence)] if quoted else [])),
        section("Cautions", element("ul", joined(warned, ""), "cautions"), kind="block"),
        section("Safety", listed(words.safety(units)[1 + DECIDES:]), kind="block run"),
    ])


# --- a visit ------------------------------------------------------------------------------------

def _day(combined: CombinedVisit, units: str) -> Html:
    """Low, likely and high of what is done once, of each case and of the whole; then the water and air of each."""
    rows = tables.combined_rows(combined, units)
    return section("Time on site", table(rows, head=True, bold=len(rows) - 2),
                   paragraph(" ".join([*combined_sentences(combined, units),
                                       *words.time_notes(combined.rework_s, units)])),
                   table(tables.combined_needs(combined, units), head=True), kind="combined")


def _combined_figure(combined: CombinedVisit, units: str) -> Html:
    bars = charts.combined(combined, units)
    return Html("") if bars is None else _figure(Plot(bars.title, drawn_bars(bars, "visit"), bars.notes))


def _one_of_combined(place: int, case: Case, estimate: Estimate, units: str) -> Html:
    return element("article", joined([
        element("h2", text(f"{place}. {case.title}", 210)), element("p", lines(case.note), "note"),
        _answers(main_lines(estimate, units, words.found_of(case)), units),
        _case_flow(case, estimate, units, f"case{place}")]), "case")


# --- the document -------------------------------------------------------------------------------

def _type(body: Html) -> str:
    """The size of type on paper: small where the whole page then fits one sheet, or would not fit two in large."""
    told = sub(r"<svg.*?</svg>", "", body, flags=DOTALL)
    drawings, rows = body.count("<svg"), told.count("<tr")
    lines_ = len(sub(r"<[^>]*>", "", told)) / CHARACTERS + rows * OF_A_ROW + drawings * OF_A_DRAWING
    return "large" if ONE_SHEET < lines_ <= TWO_SHEETS else "small"


def _document(title: str, body: Html) -> str:
    style = (files("fillcalc.formats") / "page.css").read_text(encoding="utf-8")
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="generator" content="{MARK}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{text(f"{words.TITLE}: {title}" if title else words.TITLE, 230)}</title>
<style>
{style}</style>
</head>
<body class="{_type(body)}">
<main>
{body}
</main>
</body>
</html>
"""

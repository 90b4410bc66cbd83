"""The estimate as a page: one HTML file that needs nothing else, for paper and for a phone.

It holds no script, asks for nothing from outside, and is the same bytes for the same case. Every number is
that of `fillcalc.formats.data`; every table that of `fillcalc.present.tables`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from importlib.resources import files
from math import isfinite, nan
from re import DOTALL, sub

from fillcalc.case.names import name_of
from fillcalc.case.records import Assumption, Case
from fillcalc.cautions.table import cautions
from fillcalc.estimation.answers import Estimate, Span, Stage, as_written
from fillcalc.formats.html import Html, element, joined, lines, listed, paragraph, section, table, text
from fillcalc.formats.plots import HOW_TO_READ, Plot, plots, stage_drawing
from fillcalc.formats.text import MARKS, MOST_SWINGS
from fillcalc.present import inputs, tables
from fillcalc.present import sentences as words
from fillcalc.present.advice import advice_sentences
from fillcalc.present.needs import day_quote, needs_of_all, quote
from fillcalc.present.never import day_sentences, range_of_visit, time_or_never, visit_sentences
from fillcalc.present.sentences import shower, trade
from fillcalc.questions.visit import Day
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
    case, estimate = as_written(case), as_written(estimate)
    body = [
        _head(case.title, case.note, words.GAUGE, units),
        _answers(tables.main_answers(case, estimate, units)),
        _worst(_told(case, estimate, units)),
        _case_flow(case, estimate, units, "", _common([case], [estimate], units, quote(case, estimate, units))),
    ]
    return _document(case.title, joined(body))


def visit_page(cases: Sequence[Case], day: Day, estimates: Sequence[Estimate], units: str = "metric") -> str:
    """The page of several cases in one visit: the day first, then each case. `units` is metric or us."""
    written = [as_written(case) for case in cases]
    told = [replace(one, stages=part.stages) for one, part in zip(estimates, day.cases, strict=True)]
    title = f"A visit with {len(cases)} cases"
    warned = [(f"{place}. {sentence}", weight) for place, (case, one) in enumerate(zip(written, told, strict=True), 1)
              for sentence, weight in _told(case, one, units)]
    body = [
        _head(title, "", words.GAUGE, units),
        _answers(_day_answers(day, units)),
        _worst(sorted(warned, key=lambda one: list(MARKS).index(one[1]))),
        _day(day, units),
        _flow(Html(""), [_day_figure(day, units), _common(written, told, units, day_quote(written, day, told, units),
                                                              float(day.to_drain_m3))]),
        *(_one_of_day(place, case, one, units) for place, (case, one) in enumerate(zip(written, told, strict=True), 1)),
    ]
    return _document(title, joined(body))


# --- the parts ----------------------------------------------------------------------------------

def _head(title: str, note: str, gauge: str, units: str) -> Html:
    return element("header", joined([
        element("h1", text(words.TITLE)), element("p", text(title, 200), "title"),
        element("p", lines(note), "note"),
        element("p", joined([element("b", text(" ".join(words.SAFETY[:DECIDES]))), text(trade(gauge, units))], "<br>"),
                "gauge")]))


def _answers(rows: tables.Rows) -> Html:
    return element("dl", joined(Html(f"<div><dt>{text(name)}</dt><dd><b>{text(value)}</b> "
                                     f"<span>{text(more)}</span></dd></div>") for name, value, more in rows), "answers")


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
    return section("Where the pumped water goes", table(tables.pumped_parts(estimate, units)))


def _stages(estimate: Estimate, units: str) -> Html:
    visit = estimate.visit
    notes = paragraph("" if visit is None else " ".join([*visit_sentences(visit, units), *words.time_notes(
        visit.rework_s, units, visit.as_written_s < visit.low_s)]))
    rows = tables.stage_rows(estimate, units)
    bold = len(rows) - 2 if visit is not None else -1
    return section("Time on site", table(rows, head=True, kind="figures", bold=bold), notes)


def _rest(case: Case, estimate: Estimate, units: str) -> list[Html]:
    return [
        section("High points", listed(words.sweep_sentences(estimate, units))),
        section("The readings", listed(words.of_its_readings(case, estimate, units))),
        _readings(estimate, units),
        section("What matters most", table(_swings(case, estimate, units), head=True),
                listed(advice_sentences(case, estimate, units))),
        *(section(title, table([row for name in names for row in tables.block_rows(getattr(estimate, name), units)]))
          for title, names in AFTER.items()),
        _inputs(case, units),
    ]


AFTER = {"Settle, hold, release, drain": ("settle", "hold", "release", "drain"), "Stored energy": ("energy",)}
"""Stages that are told as a list of their answers, by the title they share."""


def _swings(case: Case, estimate: Estimate, units: str) -> tables.Rows:
    rows = tables.swing_rows(case, estimate, units, MOST_SWINGS)
    return [("input", "time at its low", "at its high"), *rows] if rows else []


def _ladder(case: Case, estimate: Estimate, units: str) -> Html:
    """The ladder without the column that marks the case's own row; that row is bold instead."""
    sentences = words.air_sentences(case, estimate, units)
    if not sentences:
        return Html("")
    rows = tables.ladder_rows(estimate, units)
    own = next((place for place, row in enumerate(rows[1:]) if row[-1]), -1)
    return section("What trapped air adds", table([row[:-1] for row in rows], head=True, kind="figures", bold=own),
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


def _common(cases: Sequence[Case], estimates: Sequence[Estimate], units: str, quoted: Sequence[str],
            to_drain: float = nan) -> Html:
    """What the customer provides, the quote, every caution, and the safety sentences; each once for all cases."""
    both = list(zip(cases, estimates, strict=True))
    wanted = needs_of_all(cases, estimates, units, to_drain)
    found = [(place, sentence, weight) for place, (case, one) in enumerate(both, 1)
             for sentence, weight in _told(case, one, units)]
    found.sort(key=lambda one: list(MARKS).index(one[2]))
    warned = [element("li", joined([element("b", text(MARKS[weight])),
                                    text(f"{place}. {sentence}" if len(both) > 1 else sentence)], " "), weight)
              for place, sentence, weight in found]
    return joined([
        section("The customer provides", listed(wanted)),
        section("For the quote", *([listed(quoted[:-1])] if quoted else [])),
        section("Cautions", element("ul", joined(warned, ""), "cautions"), kind="block"),
        section("Safety", listed(words.safety(units)[1 + DECIDES:]), kind="block run"),
    ])


# --- a visit ------------------------------------------------------------------------------------

def _day_answers(day: Day, units: str) -> tables.Rows:
    say, total = shower(units), day.total_s
    without = dict.fromkeys(name for one in day.cases for name in one.without)
    return [
        ("On site", time_or_never(total.middle, say),
         range_of_visit(total.low, total.high, day.never_share, without, say)),
        ("Water", say(day.water_m3, "volume"), "as much to get rid of"),
        ("Free air", say(day.free_air_m3, "air_volume"), "for the pump"),
        ("A joint remade", f"+ {say(day.rework_s, 'duration')}", f"in {words.percent(day.remade_share)} of the tries"),
    ]


def _day(day: Day, units: str) -> Html:
    say = shower(units)
    rows: tables.Rows = [("", "as written", "low", "middle", "high", "water", "free air")]
    rows += [(stage.name, *(time_or_never(value, say) for value in
                            (stage.as_written_s, stage.low_s, stage.middle_s, stage.high_s)), "", "")
             for stage in day.once]
    rows += [(f"{place}. {one.title}" + (f", {one.pieces} pieces" if one.pieces > 1 else ""),
              *(time_or_never(value, say) for value in (one.time_s.as_written, one.time_s.low, one.time_s.middle,
                                                     one.time_s.high)),
              say(one.water_m3, "volume"), say(one.free_air_m3, "air_volume"))
             for place, one in enumerate(day.cases, 1)]
    total = day.total_s
    rows.append(("on site", *(time_or_never(value, say) for value in (total.as_written, total.low, total.middle,
                                                                   total.high)),
                 say(day.water_m3, "volume"), say(day.free_air_m3, "air_volume")))
    return section("The day", table(rows, head=True, bold=len(rows) - 2),
                   paragraph(" ".join([*day_sentences(day, units), *words.time_notes(
                       day.rework_s, units, total.as_written < total.low)])), kind="day")


def _day_figure(day: Day, units: str) -> Html:
    rows = [*day.once, *(_as_stage(f"case {place}", one.time_s) for place, one in enumerate(day.cases, 1)),
            day.rework, _as_stage("on site", day.total_s)]
    known = [one for one in rows if isfinite(one.high_s)]
    if not known:
        return Html("")
    return _figure(Plot("The day, low to high", stage_drawing(known, units, "day"), (HOW_TO_READ,)))


def _as_stage(name: str, span: Span) -> Stage:
    return Stage(name, span.as_written, span.low, span.middle, span.high)


def _one_of_day(place: int, case: Case, estimate: Estimate, units: str) -> Html:
    return element("article", joined([
        element("h2", text(f"{place}. {case.title}", 210)), element("p", lines(case.note), "note"),
        _answers(tables.main_answers(case, estimate, units)),
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

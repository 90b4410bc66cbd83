"""The sheet for the site: what is wanted beside the vessel, in the order in which it is wanted."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite

from fillcalc.cautions.rule import setting_window
from fillcalc.formats.html import Html, element, joined, listed, paragraph, section, table, text
from fillcalc.formats.sheets import gas
from fillcalc.formats.sheets.parts import (
    Reported,
    Section,
    Sheet,
    boxed,
    cautions_listed,
    figure,
    head,
    note,
    side_by_side,
    strip,
)
from fillcalc.formats.sheets.pictures import moments
from fillcalc.formats.sheets.record import record_part
from fillcalc.present import charts, inputs, tables
from fillcalc.present import sentences as words
from fillcalc.present.lines import PUMP_UP, Line, groups, main_lines
from fillcalc.present.needs import TO_BRING, to_bring
from fillcalc.units import axis

JOB = "On site"
NAME = "site"
READINGS = 10
"""Lines of the table for readings; those at which the strokes are told come first."""
MARKS_ARE = "The table is at likely values."
AFTER = {"Settle, hold, release, drain": ("settle", "hold", "release", "drain"), "Stored energy": ("energy",)}
"""Stages that are told as a list of their answers, by the title they share."""


def site_sheet(of: Reported) -> Sheet:
    """The sheet of one case."""
    body = joined(make(of) for make in (SECTIONS if of.estimate.gas is None else (_head, *gas.SITE, note, _inputs)))
    names = {"danger": "Danger", "regulator": _regulator_title(of), "strokes": _strokes_title(of),
             "cautions": "Cautions", "readings": "Readings", "record": "Record", "inputs": "Inputs"}
    jumps = tuple((of.name(part), said) for part, said in names.items() if f'id="{of.name(part)}"' in body)
    return Sheet(NAME, of.name(NAME), JOB, of.case.title, body, jumps)


# --- in the hand --------------------------------------------------------------------------------

def _head(of: Reported) -> Html:
    return head(of.case.title, JOB, of.gauge, of.units)


def _dangers(of: Reported) -> Html:
    return boxed(of.warned, of.name("danger"))


def _settings(of: Reported) -> Html:
    return side_by_side(_regulator(of), _strokes(of))


def _regulator(of: Reported) -> Html:
    """The regulator's setting, large, and where the pump stalls; for pumps without one, their limits."""
    setting, window, shown = _setting(of), setting_window(of.case, of.estimate), Html("")
    if setting and window:
        beside = "; ".join(setting.more) if isfinite(window.advised) else ""  # else the sentences say why
        shown = element("p", joined([element("b", text(setting.value)), text(beside)], " "), "setting")
    return section(_regulator_title(of), shown, listed(words.limit_sentences(of.case, of.estimate, of.units)),
                   name=of.name("regulator"))


def _setting(of: Reported) -> Line | None:
    found = (line for group in groups(of.case, of.estimate, of.units) for line in group.lines)
    return next((line for line in found if line.label == "Regulator setting"), None)


def _regulator_title(of: Reported) -> str:
    return "Regulator setting" if _setting(of) else "Pump and limits"


def _strokes(of: Reported) -> Html:
    """The strokes (or water) at parts of the test pressure, and what the needle does."""
    marks = tables.mark_rows(of.estimate, of.units)
    return section(_strokes_title(of), table(marks, head=True, kind="figures"),
                   listed([*([MARKS_ARE] if marks else []), *words.pump_sentences(of.case, of.estimate, of.units)]),
                   name=of.name("strokes"))


def _bring(of: Reported) -> Html:
    return section(TO_BRING, listed(to_bring([of.case], [of.estimate], of.units)))


def _strokes_title(of: Reported) -> str:
    return "Strokes and needle" if isfinite(of.estimate.pressurise.strokes) else PUMP_UP


def _strip(of: Reported) -> Html:
    return strip(main_lines(of.estimate, of.units, words.found_of(of.case)), of.units)


def _readings(of: Reported) -> Html:
    """A table to fill by hand while pumping: what is expected, where that is known, and room for what was seen."""
    pump, units = of.estimate.pressurise, of.units
    gauge, warm = axis("pressure", units, pump.test_gauge_pa).unit, axis("temperature", units).unit
    unit = axis("volume", units, pump.water_m3).unit
    pumped, at = ("strokes", "at stroke") if isfinite(pump.strokes) else (f"pumped, {unit}", f"after, {unit}")
    marks = [(pressure, count) for _, pressure, count in tables.mark_rows(of.estimate, units)[1:] if count != "0"]
    seen = (f"gauge, {gauge}", pumped, "clock", f"water, {warm}")
    rows: tables.Rows = [("expect", at, *seen) if marks else seen, *((*mark, "", "", "", "") for mark in marks)]
    rows += [("",) * len(rows[0])] * (1 + READINGS - len(rows))
    return section("Readings by hand, to find the trapped air",
                   paragraph("Pump stopped, a minute waited, needle still. No test record.", "first"),
                   table(rows, head=True, kind="blank"), name=of.name("readings"))


def _cautions(of: Reported) -> Html:
    return section("Cautions", cautions_listed(of.warned), name=of.name("cautions"))


def _safety(of: Reported) -> Html:
    """What is true of every job, in one box that is always the same."""
    return section("Safety", listed(words.safety(of.units)[1:]), kind="block safety")


# --- to look at ---------------------------------------------------------------------------------

def _look(of: Reported) -> Html:
    """Charts and tables that explain, one after the other in two columns."""
    parts = joined(make(of) for make in LOOK)
    return element("section", joined([element("h3", text("Why, and what if")), paragraph(charts.AT_LIKELY_VALUES),
                                      element("div", parts, "columns")]), "block look") if parts else parts


def _filling(of: Reported) -> Html:
    return figure(of.plot("filling"), listed(words.fill_sentences(of.case, of.estimate, of.units)))


def _losses(of: Reported) -> Html:
    return figure(of.plot("losses"))


def _pumping(of: Reported) -> Html:
    return figure(of.plot("pumping"))


def _pump_curve(of: Reported) -> Html:
    return figure(of.plot("pump_curve"))


def _pumped(of: Reported) -> Html:
    return section("Where the pumped water goes", table(tables.pumped_parts(of.estimate, of.units), kind="figures"))


def _air(of: Reported) -> Html:
    """The pump-up for more and less trapped air; the row of the case is bold instead of marked in a column."""
    sentences = words.air_sentences(of.case, of.estimate, of.units)
    if not sentences:
        return Html("")
    rows = tables.ladder_rows(of.estimate, of.units)
    own = next((place for place, row in enumerate(rows[1:]) if row[-1]), -1)
    return section("Pump-up by trapped air", table([row[:-1] for row in rows], head=True, kind="figures", bold=own),
                   listed(["Bold: this case.", *sentences] if own >= 0 else sentences))


def _ladder(of: Reported) -> Html:
    """The same as a curve; its numbers are those of the table."""
    plot = of.plot("ladder")
    return figure(None if plot is None else replace(plot, numbers=plot.numbers[:1]))


def _after(of: Reported) -> Html:
    return joined(
        section(title, table([row for name in names for row in tables.block_rows(getattr(of.estimate, name), of.units)],
                             kind="figures"))
        for title, names in AFTER.items())


def _high_points(of: Reported) -> Html:
    return section("High points", listed(words.sweep_sentences(of.estimate, of.units)))


def _found(of: Reported) -> Html:
    return section("What the readings tell", listed(words.of_its_readings(of.case, of.estimate, of.units)))


def _matters(of: Reported) -> Html:
    return figure(of.plot("matters"))


def _inputs(of: Reported) -> Html:
    """Every input by its name, in the groups of the form; the assumed ones are marked."""
    each = joined(section(title, table(rows, kind="inputs")) for title, rows in inputs.labelled(of.case, of.units))
    said = inputs.own_sentences([of.case], of.units)
    own = listed(said) if said else Html("")
    return section("Inputs", joined([element("div", each, "columns"), own]), kind="block whole", name=of.name("inputs"))


SECTIONS: tuple[Section, ...] = (_head, _dangers, _settings, _bring, moments, _cautions, _strip, _safety, _readings,
                                 _look, record_part, note, _inputs)
"""The parts of the sheet, in their order."""
LOOK: tuple[Section, ...] = (_found, _high_points, _filling, _losses, _pumping, _pump_curve, _pumped, _air, _ladder,
                             _after, _matters)
"""The parts that explain, in the order of the work."""

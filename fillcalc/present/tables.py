"""The rows of every table of a report, as text: the same cells on paper, on a page and at 80 columns.

Every function takes the case, the estimate that `fillcalc.questions.likely.likely` gives, and units, metric or us.
Foreign text has gone through `fillcalc.units.printable`; nothing is laid out or escaped here.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, nan
from typing import TypeAlias

import numpy as np

from fillcalc.case.records import Case
from fillcalc.case.stages import STAGES
from fillcalc.estimation.answers import STROKE_MARKS, Estimate, Rung, Span, Stage, answers
from fillcalc.present import sentences as words
from fillcalc.present.inputs import ranged_name
from fillcalc.present.lines import STAGE_NAMES
from fillcalc.present.never import NEVER
from fillcalc.present.sentences import UNKNOWN, shower, trade
from fillcalc.questions.likely import likely_span, likely_stage
from fillcalc.questions.visit import CombinedVisit
from fillcalc.units.spans import column

Rows: TypeAlias = list[tuple[str, ...]]

BLOCKS = STAGE_NAMES
"""Stages that are told as a plain list of their answers when the estimate has them."""
STAGES_TITLE = "Time on site, stage by stage"
MATTERS_TITLE = "What matters most: how far each input alone moves the time on site"
BY_HEAD = ("top_gauge_pa", "bottom_gauge_pa", "gauge_for_top_pa")
"""Pressures of the hold that differ by the head alone."""


def pumped_parts(estimate: Estimate, units: str) -> Rows:
    """Where the pumped water goes, at likely values: part, volume, share; empty where nothing is pumped."""
    parts = estimate.pressurise.parts
    named = [(said.label, float(getattr(parts, name))) for name, said in answers(type(parts)).items()]
    whole = sum(value for _, value in named)
    if not whole > 0:
        return []
    named = [(label, value) for label, value in named if value > 0]
    shown = column([[value] for _, value in named], "volume", units, like=whole)
    return [(label, f"{cells[0]} {shown.unit}", words.percent(value / whole))
            for (label, value), cells in zip(named, shown.cells, strict=True)]


def stroke_rows(estimate: Estimate, units: str) -> Rows:
    """The gauge and the strokes at it, a row each; empty where they are not known."""
    say, marks = shower(units), words.stroke_marks(estimate)
    if not all(isfinite(strokes) for strokes in marks):
        return []
    rows = [(say(share * estimate.pressurise.test_gauge_pa, "pressure"), say(strokes, "strokes"))
            for share, strokes in zip(STROKE_MARKS, marks, strict=True) if strokes > 0.0]  # the tap may reach some
    gauge, counted = zip(*rows, strict=True) if rows else ((), ())
    return [("Gauge", *gauge), ("Strokes", *counted)] if rows else []


def mark_rows(estimate: Estimate, units: str) -> Rows:
    """The same, a row for each part of the test pressure, with a head: part, gauge, strokes; for a pump without strokes
    the water pumped. At likely values; empty where neither is known."""
    test = float(estimate.pressurise.test_gauge_pa)
    say, (head, pumped) = shower(units), _pumped_to_marks(estimate, units)
    parts = [(words.percent(share), say(share * test, "pressure")) for share in STROKE_MARKS]
    return [("of test pressure", "gauge", head),
            *((*part, each) for part, each in zip(parts, pumped, strict=True))] if pumped else []


def _pumped_to_marks(estimate: Estimate, units: str) -> tuple[str, list[str]]:
    """What is pumped to reach each of the STROKE_MARKS, and what it is; empty where it is not known."""
    marks, history = words.stroke_marks(estimate), estimate.pressurise.history
    if all(isfinite(strokes) for strokes in marks):
        return "strokes", [shower(units)(strokes, "strokes") for strokes in marks]
    if history is None or not estimate.pressurise.reached:
        return "", []
    gauge, water = (np.asarray(values, dtype=float).reshape(len(values), -1)[:, 0]
                    for values in (history.pressure_gauge_pa, history.water_m3))
    if not (gauge.size > 1 and np.isfinite(gauge).all() and np.isfinite(water).all()):
        return "", []
    shown = column([np.interp(np.array(STROKE_MARKS) * gauge[-1], gauge, water).tolist()], "volume", units,
                   like=float(water[-1]))
    return f"pumped, {shown.unit}", list(shown.cells[0])


def ladder_rows(estimate: Estimate, units: str) -> Rows:
    """The pump-up for each amount of trapped air, at likely values, with a head; the last column marks the case's own.
    Each column has one unit, in its head."""
    rungs = sorted(estimate.air_ladder, key=lambda rung: float(rung.share))
    mine = min(rungs, key=lambda rung: abs(float(rung.share) - float(estimate.trapped_share)), default=None)
    own = nan if mine is None else float(mine.time_s)
    columns = []
    for name, head in (("share", "air"), ("water_m3", "water"), ("times_air_free", "times"), ("time_s", "pump-up"),
                       ("strokes", "strokes"), ("strokes_before_needle", "lifts at")):
        values = [float(getattr(rung, name)) for rung in rungs]
        like = _like_own(values, own) if name == "time_s" else nan
        shown = column([values], answers(Rung)[name].family, units, like)
        headed = f"{head}, {shown.unit}" if shown.unit not in ("", head) else head
        columns.append((headed, *shown.cells[0]))
    marked = ["< this case" if rung is mine else "" for rung in rungs]
    return known_columns(list(zip(*columns, ("", *marked), strict=True)))


def _like_own(values: Sequence[float], own: float) -> float:
    """What sets the unit of a column of times, s: the largest, but minutes where that of the case is below an hour."""
    largest = max((value for value in values if isfinite(value)), default=nan)
    return largest if own >= HOUR else min(largest, MINUTES) if isfinite(largest) else nan


def block_rows(record: object, units: str) -> Rows:
    """The answers of a record that can be had: label and figure; a change of nothing is left out, and so is what the
    head makes of the pressure where it makes nothing of it."""
    say = shower(units)
    if record is None:
        return []
    found = {name: (said, say(getattr(record, name), said.family)) for name, said in answers(type(record)).items()}
    if len({value for name, (_, value) in found.items() if name in BY_HEAD}) == 1:
        found = {name: each for name, each in found.items() if name not in BY_HEAD}
    if "time_to_half_bar_s" in found and found["time_s"][1] == found["time_to_half_bar_s"][1]:
        found.pop("time_to_half_bar_s")  # the full vessel shows more than half a bar
    if getattr(record, "wall_j", None) == 0.0:
        found["wall_j"] = (found["wall_j"][0], "none (taken as rigid)")
    return [(trade(said.label, units), value) for name, (said, value) in found.items() if value != UNKNOWN
            and not abs(getattr(record, name)) < LEAST_CHANGE.get(said.family, 0.0)]


def stage_label(name: str) -> str:
    """What a person calls a stage of the work by its name or key, or the whole of them."""
    stage = STAGES.get(name.replace("_", " "))
    if stage is None:
        return "time on site" if name == "on site" else name
    return stage.label or stage.name


def stage_rows(estimate: Estimate, units: str) -> Rows:
    """Low, likely and high of the stages that take time, in minutes, with a head; empty where there are none."""
    without = () if estimate.visit is None else estimate.visit.without
    stages = [stage for stage in estimate.stages if takes_time(stage)]
    if not stages:
        return []
    shown = column([[float(stage.low_s), float(stage.likely_s), float(stage.high_s)] for stage in stages],
                   "duration", units, like=MINUTES, missing=NEVER)
    rows: Rows = [(shown.unit, "low", "likely", "high")]
    for stage, cells in zip(stages, shown.cells, strict=True):
        rows.append((stage_label(stage.name),
                     *(UNKNOWN if stage.name in without and cell == NEVER else cell for cell in cells)))
    return rows


LEAST_CHANGE = {"pressure_change": 10.0, "temperature_change": 0.1}
"""A change below this, Pa and K, is none: no gauge and no thermometer on the metal shows it; judgement."""
HOUR = 3600.0
MINUTES = 600.0
"""A time that is shown in minutes, s."""


def visit_rows(once: Sequence[Stage], cases: Sequence[tuple[str, Span]], rework: Stage, total: Span,
               units: str) -> Rows:
    """Low, likely and high of what is done once, of each case and of the whole visit, in hours; with a head."""
    named = [(stage_label(one.name), one.low_s, one.likely_s, one.high_s) for one in (*once, rework)]
    named[-1:-1] = [(name, one.low, one.likely, one.high) for name, one in cases]
    named.append((stage_label("on site"), total.low, total.likely, total.high))
    shown = column([[float(value) for value in row[1:]] for row in named], "duration", units, like=2 * 3600.0,
                   missing=NEVER)
    return [("", "low", "likely", "high"),
            *((row[0], *cells) for row, cells in zip(named, shown.cells, strict=True))]


def combined_rows(combined: CombinedVisit, units: str) -> Rows:
    """The rows of a visit with several cases."""
    named = [(f"case {place}" + (f", {one.pieces} pieces" if one.pieces > 1 else ""), likely_span(one.time_s, units))
             for place, one in enumerate(combined.cases, 1)]
    return visit_rows([likely_stage(one, units) for one in combined.once], named, likely_stage(combined.rework, units),
                      likely_span(combined.total_s, units), units)


NEEDED = {"water_m3": ("water", "volume"), "free_air_m3": ("free air", "air_volume"), "gas_kg": ("gas", "mass"),
          "bottles": ("bottles", "count")}
"""What a visit uses up: the heads of its table, and the families."""


def combined_needs(combined: CombinedVisit, units: str) -> Rows:
    """Water, free air, gas and bottles of each case and of the whole visit, each in one unit, with a head; what none of
    them needs is left out."""
    columns = [["", *(f"case {place}" for place in range(1, len(combined.cases) + 1)), "in all"]]
    for name, (head, family) in NEEDED.items():
        if getattr(combined, name) > 0.0:
            values = [float(getattr(one, name)) for one in (*combined.cases, combined)]
            shown = column([[value] for value in values], family, units)
            columns.append([f"{head}, {shown.unit}" if shown.unit else head, *(cells[0] for cells in shown.cells)])
    return list(zip(*columns, strict=True)) if len(columns) > 1 else []


def takes_time(stage: Stage) -> bool:
    """False for a stage that takes no time in any sample; true where that cannot be had."""
    return not stage.at_likely_values_s == stage.high_s == 0


def swing_rows(case: Case, estimate: Estimate, units: str, most: int) -> Rows:
    """What matters most: the input, and by how much it alone moves the time on site, from its low to its high; all in
    one unit."""
    swings = estimate.matters[:most]
    shown = column([[abs(float(swing.high_s) - float(swing.low_s))] for swing in swings], "duration", units,
                   missing=NEVER)
    return [(ranged_name(case, swing.path, units), f"{cells[0]} {shown.unit}".strip() if cells[0] != NEVER else NEVER)
            for swing, cells in zip(swings, shown.cells, strict=True)]


def known_columns(rows: Sequence[Sequence[str]]) -> Rows:
    """A table with a head, without the columns in which nothing is known."""
    kept = [column for column in zip(*rows, strict=True) if any(cell != UNKNOWN for cell in column[1:])]
    return list(zip(*kept, strict=True))

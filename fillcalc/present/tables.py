"""The rows of every table of a report, as text: the same cells on paper, on a page and at 80 columns.

Every function takes the case and the estimate as written (`fillcalc.estimation.answers.as_written`) and units,
metric or us. Foreign text has gone through `fillcalc.units.printable`; nothing is laid out or escaped here.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, isnan
from typing import Any, TypeAlias

from fillcalc.case.names import place_of
from fillcalc.case.records import Assumption, Case
from fillcalc.case.shape_of import children_of, walk, word_of
from fillcalc.estimation.answers import STROKE_MARKS, Estimate, Stage, answers
from fillcalc.present import sentences as words
from fillcalc.present.never import range_of_visit, stage_time, time_or_never
from fillcalc.present.sentences import UNKNOWN, shower, trade
from fillcalc.units import show, write
from fillcalc.units.printable import shown

Rows: TypeAlias = list[tuple[str, ...]]

BLOCKS = {"settle": "Settle", "hold": "Hold", "release": "Release", "drain": "Drain", "energy": "Stored energy"}
"""Stages that are told as a plain list of their answers when the estimate has them."""


def main_answers(case: Case, estimate: Estimate, units: str) -> Rows:
    """What a customer asks for: name, figure, and what stands beside it."""
    say, fill, pump = shower(units), estimate.fill, estimate.pressurise
    fill_time = say(fill.time_s, "duration") if fill.finished else "never finishes"
    weight = f", {say(fill.water_kg, 'mass')}" if isfinite(fill.water_kg) else ""
    air = f"{say(estimate.trapped_share, 'share')}, {say(estimate.trapped_air_m3, 'volume')}"
    rows = [
        ("Fill time", fill_time,
         f"{say(fill.flow_start_m3_s, 'flow')} at the start{_ends(estimate, 'fill.time_s', units)}"),
        ("Water", say(fill.water_m3, "volume"), f"to fill{weight}"),
        ("Pump-up", *_pump_cells(estimate, units)),
        ("Trapped air", say(pump.times_air_free, "ratio"), f"as much to pump as with no air ({air})"),
    ]
    if estimate.visit is not None:
        visit = estimate.visit
        rows.append(("On site", time_or_never(visit.likely_s, say),
                     range_of_visit(visit.low_s, visit.high_s, visit.never_share, visit.without, say)))
    return [(name, value, trade(more, units)) for name, value, more in rows]


def _pump_cells(estimate: Estimate, units: str) -> tuple[str, str]:
    say, pump = shower(units), estimate.pressurise
    to = f"to {say(pump.test_gauge_pa, 'pressure')}"
    if not estimate.fill.finished:
        return UNKNOWN, "the vessel never fills"
    water = f"{say(pump.water_m3, 'volume')} {to}"
    if not pump.reached:
        stops = "stalls" if isfinite(pump.stall_no_friction_gauge_pa) else "a person stops"
        return "never gets there", f"{water}; {stops} at {say(pump.stall_gauge_pa, 'pressure')}"
    strokes = f", {say(pump.strokes, 'strokes')} strokes" if isfinite(pump.strokes) else ""
    return say(pump.time_s, "duration"), f"{water}{strokes}{_ends(estimate, 'pressurise.time_s', units)}"


def _ends(estimate: Estimate, path: str, units: str) -> str:
    """The low and high of a time; nothing where they are not known or read the same."""
    say = shower(units)
    low, high = next(((say(one.low, "duration"), time_or_never(one.high, say)) for one in estimate.spreads
                      if one.path == path and isfinite(one.low)), ("", ""))
    return "" if low == high else f"; {low} to {high}"


def pumped_parts(estimate: Estimate, units: str) -> Rows:
    """Where the pumped water goes: part, volume, share; empty where nothing is pumped."""
    say, pump = shower(units), estimate.pressurise
    if not (isfinite(pump.water_m3) and pump.water_m3 > 0):
        return []
    named = [(said.label, getattr(pump.parts, name)) for name, said in answers(type(pump.parts)).items()]
    return [(label, say(value, "volume"), words.percent(value / pump.water_m3)) for label, value in named if value > 0]


def stroke_rows(estimate: Estimate, units: str) -> Rows:
    """The gauge and the strokes at it, a row each; empty where they are not known."""
    say, marks = shower(units), words.stroke_marks(estimate)
    if not all(isfinite(strokes) for strokes in marks):
        return []
    gauge = [say(share * estimate.pressurise.test_gauge_pa, "pressure") for share in STROKE_MARKS]
    return [("Gauge", *gauge), ("Strokes", *(say(strokes, "strokes") for strokes in marks))]


def ladder_rows(estimate: Estimate, units: str) -> Rows:
    """The pump-up for each amount of trapped air, with a head; the last column marks the case's own."""
    say = shower(units)
    rows: Rows = [("air", "water", "x air-free", "pump-up", "strokes", "lifts at", "")]
    for rung in sorted(estimate.air_ladder, key=lambda rung: float(rung.share)):
        own = abs(float(rung.share) - float(estimate.trapped_share)) < 1e-9
        rows.append((say(rung.share, "share"), say(rung.water_m3, "volume"), say(rung.times_air_free, "ratio"),
                     say(rung.time_s, "duration"), say(rung.strokes, "strokes"),
                     say(rung.strokes_before_needle, "strokes"), "< this case" if own else ""))
    return known_columns(rows)


def block_rows(record: Any, units: str) -> Rows:
    """The answers of a record that can be had: label and figure."""
    say = shower(units)
    if record is None:
        return []
    return [(trade(said.label, units), value) for name, said in answers(type(record)).items()
            if (value := say(getattr(record, name), said.family)) != UNKNOWN]


def stage_rows(estimate: Estimate, units: str) -> Rows:
    """The stages that take time and the whole visit, with a head; empty where there are none."""
    rows: Rows = [("", "as written", "low", "likely", "high")]
    without = () if estimate.visit is None else estimate.visit.without
    rows += [(stage.name, *_span(stage, stage.name, without, units)) for stage in estimate.stages if takes_time(stage)]
    if estimate.visit is not None:
        rows.append(("on site", *_span(estimate.visit, "", (), units)))
    return known_columns(rows) if len(rows) > 1 else []


def takes_time(stage: Stage) -> bool:
    """False for a stage that takes no time in any try; true where that cannot be had."""
    return not stage.at_likely_values_s == stage.high_s == 0


def _span(record: Any, name: str, without: Sequence[str], units: str) -> list[str]:
    say = shower(units)
    return [stage_time(getattr(record, end), name, without, say)
            for end in ("at_likely_values_s", "low_s", "likely_s", "high_s")]


def swing_rows(estimate: Estimate, units: str, most: int) -> Rows:
    """What matters most: the input, and the time on site at its low and its high end."""
    say = shower(units)
    return [(trade(place_of(swing.path), units), time_or_never(swing.low_s, say), time_or_never(swing.high_s, say))
            for swing in estimate.matters[:most]]


def assumed(case: Case) -> tuple[list[Assumption], list[Assumption]]:
    """What nobody gave: that which is in doubt and has a range, and the rest, taken as usual."""
    doubtful = [item for item in case.assumptions if item.path in case.ranges]
    return doubtful, [item for item in case.assumptions if item.path not in case.ranges]


def usual_sentence(usual: Sequence[Assumption]) -> str:
    """The inputs taken as usual in one sentence; empty where there are none."""
    taken = ", ".join(f"{shown(item.path)} = {shown(item.value)}" for item in usual)
    return f"As usual: {taken}." if taken else ""


def given_rows(case: Case, units: str) -> Rows:
    """What the case gives: the path of each input and its value; readings and labels left out."""
    assumed_paths = {item.path for item in case.assumptions}
    rows: Rows = [(f"{key}.{child.word}", word_of(getattr(case, key), child))
            for key, child in children_of(type(case)).items() if child.word and not child.many]
    for path, declared, value in walk(case):
        if value is None or path in assumed_paths or path.startswith("reading.") or path in LABELS:
            continue
        family = case.families.get(path) or (declared.families[0] if declared.families else "")
        rows.append((path, shown(_given(value, declared.form, family, declared.families, units))))
    return rows


LABELS = ("format", "title", "note")
"""Inputs that say which case it is, not what is in it."""


def _given(value: Any, form: str, family: str, families: Sequence[str], units: str) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "true" if value else "false"
    if form == "points":
        return "; ".join(_given(row, "pair", family, families, units) for row in value)
    if isinstance(value, tuple):
        return " at ".join(show(each, of, units) for each, of in zip(reversed(value), reversed(families), strict=True))
    return write(value, family, units) if family and not isnan(value) else str(value)


def known_columns(rows: Sequence[Sequence[str]]) -> Rows:
    """A table with a head, without the columns in which nothing is known."""
    kept = [column for column in zip(*rows, strict=True) if any(cell != UNKNOWN for cell in column[1:])]
    return list(zip(*kept, strict=True))

"""The answers in short, line by line: the strip of the screen, the head of the report and of the page draw these.

Every function takes the estimate as `fillcalc.questions.likely.likely` gives it, at the case's own units, and returns
what stands in a line; how it is laid out is not decided here.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from math import isfinite, nan
from typing import TYPE_CHECKING

from fillcalc.case.records import Case, HandPump
from fillcalc.cautions.rule import setting_window
from fillcalc.estimation.answers import Estimate, answers
from fillcalc.estimation.regulator import Window
from fillcalc.present.days import beside_days
from fillcalc.present.loads import beside_loads
from fillcalc.present.never import NEVER, in_hundred, time_or_never
from fillcalc.present.sentences import UNKNOWN, losses_of, percent, share_found, shower, trade
from fillcalc.questions.likely import at, likely_span, range_of
from fillcalc.questions.setting import LOWER_RATIO, why_no_setting
from fillcalc.units.spans import show_ends, show_range

if TYPE_CHECKING:
    from fillcalc.questions.readings.answer import ReadingsAnswer
    from fillcalc.questions.visit import CombinedVisit

FILL, PUMP_UP, TRAPPED_AIR, TIME_ON_SITE = "Fill", "Pump-up", "Trapped air", "Time on site"
WORKING = "working…"
"""In the place of a figure whose low, likely and high are being worked out."""
STOP_ABOVE, STOP_REACHED = "STOP: above the pressure limit", "stop: test pressure is reached"
STOP_FALLEN = "stop: fallen below test pressure"


@dataclass(frozen=True)
class Line:
    """One answer: what it is, its likely figure, low to high, and what stands beside it."""

    label: str
    value: str
    range: str = ""
    """"30 to 33 min"; empty where the answer has no range, or both ends read as the figure does."""
    beside: tuple[str, ...] = ()
    """What matters most first; the last may go where there is no room."""
    ends: tuple[str, str] = ("", "")
    """Low and high apart, each with its unit, for a table; empty where `range` is."""
    of: str = ""
    """What the figures are of, where a table has no room for it beside each: "the water"."""
    stays: str = ""
    """The part beside it that goes last where there is no room for all."""

    @property
    def more(self) -> tuple[str, ...]:
        """All that stands beside the figure, its range first."""
        return tuple(part for part in (self.range, *self.beside) if part)


def working_lines(estimate: Estimate | None = None) -> tuple[Line, ...]:
    """The main answers while they are being worked out; `estimate` is that at likely values, where there is one."""
    labels: tuple[str, ...] = (FILL, PUMP_UP, TRAPPED_AIR, TIME_ON_SITE)
    if estimate is not None and estimate.gas is not None:
        from fillcalc.present.gas import labels_of

        labels = labels_of(estimate)
    return tuple(Line(label, WORKING) for label in labels)


def main_lines(estimate: Estimate, units: str, readings: ReadingsAnswer | None = None) -> tuple[Line, ...]:
    """What a customer asks for: fill, pump-up, trapped air, and time on site where stages were worked out.

    `readings` are what the readings of the case tell, where it has some.
    """
    if estimate.gas is not None:
        from fillcalc.present.gas import gas_lines

        return gas_lines(estimate, units)
    lines = [_fill(estimate, units), _pump_up(estimate, units), _air(estimate, units, readings)]
    if estimate.visit is not None:
        lines.append(on_site(estimate, units))
    return stopping(tuple(lines), readings)


def stopping(lines: tuple[Line, ...], readings: ReadingsAnswer | None) -> tuple[Line, ...]:
    """The lines, the pump-up with what the readings say of pumping on first."""
    if readings is None or not readings.reached.stop:
        return lines
    stand = readings.reached
    said = STOP_ABOVE if stand.above_limit else STOP_FALLEN if stand.fallen else STOP_REACHED
    return tuple(replace(line, range="", beside=(said, *line.more), ends=("", "")) if line.label == PUMP_UP else line
                 for line in lines)


def shown_range(estimate: Estimate, path: str, family: str, units: str) -> str:
    """Low to high of an answer, in the unit of its likely figure; empty where there is none."""
    three = range_of(estimate, path)
    missing = NEVER if family == "duration" else UNKNOWN
    if three is None or not isfinite(three.low):
        return ""
    return show_range(three.low, three.high, family, units, three.likely, missing)


def shown_ends(estimate: Estimate, path: str, family: str, units: str) -> tuple[str, str]:
    """The same as two figures, each with its unit."""
    three = range_of(estimate, path)
    missing = NEVER if family == "duration" else UNKNOWN
    if three is None or not isfinite(three.low):
        return "", ""
    return show_ends(three.low, three.high, family, units, three.likely, missing)


def _fill(estimate: Estimate, units: str) -> Line:
    fill, say = estimate.fill, shower(units)
    start = say(fill.flow_start_m3_s, "flow")
    if not fill.finished:
        stops = (f"stops at {say(fill.filled_share, 'share')}",) if isfinite(fill.filled_share) else ()
        return Line(FILL, "never full", "", (*stops, f"{start} at the start"))
    weight = f", {say(fill.water_kg, 'mass')}" if isfinite(fill.water_kg) else ""
    return Line(FILL, say(fill.time_s, "duration"), shown_range(estimate, "fill.time_s", "duration", units),
                (f"{say(fill.water_m3, 'volume')} of water{weight}", f"{start} at the start"),
                shown_ends(estimate, "fill.time_s", "duration", units))


def _pump_up(estimate: Estimate, units: str) -> Line:
    pump, say = estimate.pressurise, shower(units)
    water = f"{say(pump.water_m3, 'volume')} to {say(pump.test_gauge_pa, 'pressure')}"
    if not estimate.fill.finished:
        return Line(PUMP_UP, UNKNOWN, "", ("not before the vessel is full",))
    if not pump.reached:
        stops = "stalls" if isfinite(pump.stall_no_friction_gauge_pa) else "too hard for a person"
        return Line(PUMP_UP, NEVER, "", (f"{stops} at {say(pump.stall_gauge_pa, 'pressure')}", water))
    strokes = (f"{say(pump.strokes, 'strokes')} stroke{'' if say(pump.strokes, 'strokes') == '1' else 's'}",) \
        if isfinite(pump.strokes) else ()
    needle = (f"needle lifts at {say(pump.strokes_before_needle, 'strokes')}",) \
        if isfinite(pump.strokes_before_needle) else ()
    return Line(PUMP_UP, say(pump.time_s, "duration"), shown_range(estimate, "pressurise.time_s", "duration", units),
                (water, *strokes, *needle), shown_ends(estimate, "pressurise.time_s", "duration", units),
                stays="".join(strokes))


def _air(estimate: Estimate, units: str, readings: ReadingsAnswer | None) -> Line:
    pump, say = estimate.pressurise, shower(units)
    share = say(estimate.trapped_share, "share")
    amount: tuple[str, ...] = (f"{share} of air", say(estimate.trapped_air_m3, "volume"))
    if not isfinite(pump.times_air_free):
        return Line(TRAPPED_AIR, UNKNOWN, "", amount)
    path = "pressurise.times_air_free"
    value, ends = say(pump.times_air_free, "ratio"), shown_range(estimate, path, "ratio", units)
    apart, water = shown_ends(estimate, path, "ratio", units), f"{ends} the water" if ends else "the water"
    if readings is not None and isfinite(readings.share.likely):
        amount = (*amount, f"readings {say(share_found(readings, units).likely, 'share')}")
    return Line(TRAPPED_AIR, value, water, amount, apart, "the water")


def on_site(estimate: Estimate, units: str) -> Line:
    """The time on site, with how often it never comes."""
    visit, say = estimate.visit, shower(units)
    assert visit is not None
    likely = time_or_never(visit.likely_s, say)
    work = (*beside_days(estimate.days, units), *beside_loads(estimate.loads, units))
    return Line(TIME_ON_SITE, likely, range_on_site(visit.low_s, visit.likely_s, visit.high_s, units),
                beside_on_site(visit.never_share, visit.without, work),
                show_ends(float(visit.low_s), float(visit.high_s), "duration", units, float(visit.likely_s), NEVER)
                if isfinite(visit.low_s) else ("", ""))


def range_on_site(low: float, likely: float, high: float, units: str) -> str:
    """Low to high of a time on site; empty where not even the low comes."""
    return show_range(low, high, "duration", units, likely, NEVER) if isfinite(low) else ""


def beside_on_site(never_share: float, without: Collection[str], work: tuple[str, ...] = ()) -> tuple[str, ...]:
    """How often it never comes, the days and loads, and which stages are not in it."""
    never = () if not never_share > 0 else ("it cannot be finished",) if never_share == 1.0 else (
        f"{in_hundred(float(never_share)).lower()} are not finished",)
    return (*never, *work, f"without {' and '.join(without)}") if without else (*never, *work)


def combined_lines(combined: CombinedVisit, units: str) -> tuple[Line, ...]:
    """What a customer asks for of a visit with several cases."""
    say, total = shower(units), likely_span(combined.total_s, units)
    without = tuple(dict.fromkeys(name for one in combined.cases for name in one.without))
    lines = [
        Line(TIME_ON_SITE, time_or_never(total.likely, say),
             range_on_site(total.low, total.likely, total.high, units),
             beside_on_site(combined.never_share, without, beside_days(combined.days, units))),
    ]
    if combined.water_m3 > 0.0:
        lines.append(Line("Water", say(combined.water_m3, "volume"), "", ("all of it to dispose of",)))
    if combined.free_air_m3 > 0.0:
        lines.append(Line("Free air", say(combined.free_air_m3, "air_volume"), "", ("for the pump",)))
    if combined.gas_kg > 0.0:
        count = say(combined.bottles, "count")
        lines.append(Line("Gas", say(combined.gas_kg, "mass"), "",
                          (f"{count} bottle{'' if count == '1' else 's'}",) if combined.bottles > 0.0 else ()))
    return tuple(lines)


# --- the rest in short, where there is room -----------------------------------------------------

@dataclass(frozen=True)
class Group:
    """Lines of one stage of the work, under its heading."""

    heading: str
    lines: tuple[Line, ...]


def groups(case: Case, estimate: Estimate, units: str) -> tuple[Group, ...]:
    """What stands below the main answers on a large screen; every figure of it is in the report too."""
    if estimate.gas is not None:
        from fillcalc.present.gas import gas_groups

        return gas_groups(estimate, units)
    made = (Group(FILL, _filling(case, estimate, units)), Group(PUMP_UP, _pumping(case, estimate, units)),
            Group("Hold and after", _after(estimate, units)))
    return tuple(group for group in made if group.lines)


def _filling(case: Case, estimate: Estimate, units: str) -> tuple[Line, ...]:
    fill, say = estimate.fill, shower(units)
    lines = []
    parts = losses_of(case, estimate, units) if case.fill.measured_flow is None else []
    if parts:
        rest = tuple(f"{label} {percent(share)}" for label, share in parts[1:4] if share >= 0.005)
        lines.append(Line("Pressure losses", percent(parts[0][1]), "", (parts[0][0], *rest)))
    if isfinite(fill.flow_end_m3_s):
        lines.append(Line("Flow", say(fill.flow_start_m3_s, "flow"),
                          shown_range(estimate, "fill.flow_start_m3_s", "flow", units),
                          (f"{say(fill.flow_end_m3_s, 'flow')} at the end",)))
    if isfinite(fill.air_peak_gauge_pa):
        lines.append(Line("Air while filling", say(fill.air_peak_gauge_pa, "pressure"),
                          shown_range(estimate, "fill.air_peak_gauge_pa", "pressure", units), ("at most",)))
    return tuple(replace(line, beside=tuple(trade(part, units) for part in line.beside)) for line in lines)


def _pumping(case: Case, estimate: Estimate, units: str) -> tuple[Line, ...]:
    pump, say = estimate.pressurise, shower(units)
    lines = []
    if isfinite(pump.free_air_m3) and pump.free_air_m3 > 0:
        lines.append(Line("Free air", say(pump.free_air_m3, "air_volume"),
                          shown_range(estimate, "pressurise.free_air_m3", "air_volume", units), ("for the pump",)))
    if isfinite(pump.stall_gauge_pa) and not isinstance(case.pump, HandPump):
        lines.append(Line("Stall pressure", say(pump.stall_gauge_pa, "pressure"),
                          shown_range(estimate, "pressurise.stall_gauge_pa", "pressure", units),
                          (f"at most {say(pump.stall_no_friction_gauge_pa, 'pressure')}",)
                          if isfinite(pump.stall_no_friction_gauge_pa) else ()))
    window = setting_window(case, estimate)
    if window is not None:
        lines.append(_setting(window, units))
    return tuple(lines)


def _setting(window: Window, units: str) -> Line:
    """The one setting of the regulator, and what it lies between."""
    say = shower(units)
    highest = max(window.highest, 0.0) if isfinite(window.highest) else nan
    between = show_range(window.lowest, highest, "pressure", units)
    if window.guarded:
        return Line("Regulator setting", "none is safe", "", ("only the relief valve guards", LOWER_RATIO))
    if not isfinite(window.advised):
        return Line("Regulator setting", "none is safe" if window.none_safe else "none", "",
                    (why_no_setting(window, say),))
    if not isfinite(window.highest):
        return Line("Regulator setting", say(window.advised, "pressure"), "",
                    (f"above {say(window.lowest, 'pressure')}", "no limit given"))
    if window.relies:
        return Line("Regulator setting", say(window.advised, "pressure"), "",
                    (f"above {say(window.lowest, 'pressure')}", "the relief valve may lift"))
    return Line("Regulator setting", say(window.advised, "pressure"), "", (
        between or f"above {say(window.lowest, 'pressure')}",
        "relief valve" if window.relief else f"pressure limit {say(window.limit, 'pressure')}"))


SHORT_OF_AFTER = ("settle.drop_water_pa", "settle.drop_air_pa", "hold.pressure_per_kelvin_pa",
                  "hold.leak_per_division_m3_s", "release.time_s", "drain.time_s", "drain.lowest_abs_pa",
                  "energy.air_j", "energy.all_gas_j")
"""Answers of what follows the pump-up that are told in short."""


def _after(estimate: Estimate, units: str) -> tuple[Line, ...]:
    """The stages after the pump-up, each answer in the words of its declaration."""
    say, lines = shower(units), []
    for path in SHORT_OF_AFTER:
        block, _, name = path.partition(".")
        record = getattr(estimate, block)
        if record is None or (value := at(record, name)) is None or not isfinite(value):
            continue
        said = answers(type(record))[name]
        named = () if said.label == block else (trade(said.label, units),)
        ends = shown_range(estimate, path, said.family, units)
        lines.append(Line(STAGE_NAMES[block], say(value, said.family), "", (*named, ends) if ends else named))
    return tuple(lines)


STAGE_NAMES = {"settle": "Settle", "hold": "Hold", "release": "Release", "drain": "Drain", "energy": "Stored energy"}
"""Records of what follows the pump-up, by the name of their stage."""

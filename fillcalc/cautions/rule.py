"""The declaration of a caution, and what rules of several stages ask of a case."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite, nan
from typing import SupportsFloat, TypeAlias

from fillcalc.arrays import Array, first
from fillcalc.case.no_flow import highest_why, no_flow
from fillcalc.case.records import AirDrivenPump, Case
from fillcalc.estimation.answers import Estimate, Hold
from fillcalc.estimation.limits import lowest_rating, relief_protects
from fillcalc.estimation.regulator import Window, window_of
from fillcalc.job.setup import drive_gauge

WEIGHTS = ("danger", "warning", "caution", "notice")
"""Signal words, the heaviest first: can kill or maim; can injure or break something; spoils the job; good to know."""

Say: TypeAlias = Callable[[SupportsFloat | None, str], str]
"""Formats a number in SI of a given family as text with its unit."""


@dataclass(frozen=True)
class Rule:
    """One caution: `when` it applies and the `sentence` that states it.

    Both take the case and the estimate at likely values, as plain numbers. A comparison with NaN is false, so a rule
    that needs an unknown figure stays silent.
    """

    code: str
    weight: str
    when: Callable[[Case, Estimate], object]
    sentence: Callable[[Case, Estimate, Say], str]
    path: str = ""
    """Of the input that it asks about; empty where it is about several."""
    stops: bool = False
    """It forbids filling or pumping."""
    own_gear: bool = False
    """It is about what the technician brings and how it is set: nothing for a customer to read."""
    raises: bool = False
    """What it advises raises the pressure, which nobody is told once another forbids pumping."""


def above(value: Array | float | None, limit: Array | float | None) -> bool:
    """Return whether value > limit; false where either is None or NaN."""
    return value is not None and limit is not None and bool(value > limit)


def lowest_limit(case: Case, estimate: Estimate) -> tuple[float, str]:
    """Return the lowest pressure limit, Pa gauge, and the part it belongs to; NaN and "" where none was given."""
    regulator = estimate.regulator
    if regulator is not None:
        return float(regulator.limit_gauge_pa) if regulator.limit_of else nan, regulator.limit_of
    name, value = lowest_rating(case)
    return value, name


def limit(case: Case, estimate: Estimate) -> float:
    """Return the lowest pressure limit, Pa gauge; NaN where none was given."""
    return lowest_limit(case, estimate)[0]


def relief_set(case: Case) -> float:
    """Return the set pressure of the relief valve, Pa gauge; NaN without one."""
    return nan if case.relief_valve is None else float(case.relief_valve.set)


def relieved(case: Case, estimate: Estimate) -> bool:
    """Return whether a relief valve keeps the line under the lowest limit.

    It must be set low enough for its accumulation and not be known to pass less than the pump delivers.
    """
    return relief_protects(case, limit(case, estimate), estimate.pressurise.relief_flow_m3_s)


def setting_window(case: Case, estimate: Estimate) -> Window | None:
    """Return the window of regulator settings at likely values; None for a pump without a regulator."""
    return window_of(case, first(estimate.pressurise.relief_flow_m3_s))


def no_setting(case: Case, estimate: Estimate) -> bool:
    """Return whether no practical setting, and no relief valve, keeps the line under its limit."""
    window = setting_window(case, estimate)
    return window is not None and window.none_safe


def regulator_setting(case: Case) -> float:
    """Return the regulator setting as given, Pa gauge; NaN where there is none."""
    pump = case.pump
    if not isinstance(pump, AirDrivenPump) or pump.regulator_pressure is None:
        return nan
    return float(pump.regulator_pressure)


def drive_pressure(case: Case) -> float:
    """Return the pressure of the air that drives the running pump, Pa gauge; NaN for other pumps."""
    return float(drive_gauge(case)) if isinstance(case.pump, AirDrivenPump) else nan


def can_stall_above(case: Case, estimate: Estimate) -> bool:
    """Return whether the pump can exceed the lowest limit, without friction and with its air at the highest."""
    return above(estimate.pressurise.stall_no_friction_gauge_pa, limit(case, estimate))


def highest_reach(estimate: Estimate) -> float:
    """Return the highest pressure the pump can put on the line, Pa gauge; the test pressure for one that does
    not stall."""
    stall = float(estimate.pressurise.stall_no_friction_gauge_pa)
    return stall if isfinite(stall) else float(estimate.pressurise.test_gauge_pa)


def reach(case: Case, estimate: Estimate, say: Say) -> str:
    """Return a sentence on the highest pressure the pump can reach, with its arithmetic where it is that of a ratio."""
    highest = float(estimate.pressurise.stall_no_friction_gauge_pa)
    if not isfinite(highest):
        return "A hand pump does not stall."
    return f"The pump can reach {say(highest, 'pressure')}{from_air(case, highest, say)}."


def from_air(case: Case, highest: float, say: Say) -> str:
    """Return what makes the highest pressure, Pa gauge: ratio, air at no flow and where that comes from; "" where it
    is no product of them, as with a curve that was measured."""
    pump = case.pump
    if not isinstance(pump, AirDrivenPump) or pump.ratio is None:
        return ""
    ratio, air = first(pump.ratio), no_flow(case)[1]
    if abs(ratio * air - highest) > 1e-3 * highest:
        return ""
    return f" ({ratio:g} × {say(air, 'pressure')} of air when nothing flows: {highest_why(case, say)})"


def held(estimate: Estimate) -> Hold | None:
    """Return the hold where test pressure is reached, else None."""
    hold = estimate.hold
    return hold if hold is not None and isfinite(hold.pressure_per_kelvin_pa) else None


def hold_of(estimate: Estimate) -> Hold:
    """Return the hold; a rule that says something of it asks `held` first."""
    assert estimate.hold is not None
    return estimate.hold


def shows(case: Case, estimate: Estimate, change: float) -> bool:
    """Return whether the gauge shows a pressure change, Pa: more than one division, or 1 % of test pressure."""
    division = case.gauge.division
    return above(change, 0.01 * estimate.pressurise.test_gauge_pa if division is None else division)


def is_assumed(case: Case, path: str) -> bool:
    """Return whether the input at a path is a default."""
    return any(item.path == path for item in case.assumptions)

"""What a caution is declared as, and what several of their rules ask."""

from __future__ import annotations

from collections.abc import Callable
from math import nan
from typing import Any, TypeAlias

from fillcalc.answers import Estimate, Regulator
from fillcalc.case.records import Case
from fillcalc.limits import ratings
from fillcalc.record import record

Say: TypeAlias = Callable[[Any, str], str]
"""A number in SI and its family to text with its unit."""


@record(frozen=True)
class Rule:
    """One caution: `when` it applies, and the `sentence` that says so.

    Both see the case and the estimate as written: plain numbers. A comparison with NaN is false, so a rule that needs
    a figure is silent where the figure cannot be had.
    """

    code: str
    weight: str
    when: Callable[[Case, Estimate], Any]
    sentence: Callable[[Case, Estimate, Say], str]


def above(value: Any, limit: Any) -> bool:
    """value > limit, false where either was not given or cannot be had."""
    return value is not None and limit is not None and bool(value > limit)


def lowest_limit(case: Case, estimate: Estimate) -> tuple[float, str]:
    """The lowest limit on the pressure side, Pa gauge, and which part has it; NaN and "" where none was given."""
    regulator = estimate.regulator
    if regulator is not None:
        return float(regulator.limit_gauge_pa) if regulator.limit_of else nan, regulator.limit_of
    name, value = min(ratings(case), key=lambda rating: float(rating[1]), default=("", nan))
    return float(value), name


def limit(case: Case, estimate: Estimate) -> float:
    """The lowest limit alone, Pa gauge."""
    return lowest_limit(case, estimate)[0]


def relieved(case: Case, estimate: Estimate) -> bool:
    """A relief valve is fitted, set at or below the lowest limit."""
    return case.relief_valve is not None and bool(case.relief_valve.set <= limit(case, estimate))


@record(frozen=True)
class Window:
    """Settings of the regulator that do, Pa gauge; none where the lowest is above the highest, NaN without a limit."""

    lowest: float
    highest: float
    shifts: bool
    """The lowest is what the pump needs to shift, not what reaches test pressure."""
    relief: bool
    """The highest is what the relief valve stands, not the lowest limit."""


def setting_window(case: Case, regulator: Regulator) -> Window:
    """The regulator's window for a case and its regulator as written, with the least drive that shifts the pump and
    a relief valve below the limit in it; one that no setting can stay below is left out."""
    lowest, highest = float(regulator.lowest_gauge_pa), float(regulator.highest_gauge_pa)
    pump: Any = case.pump
    shifts = above(pump.lowest_drive, lowest)
    if shifts:
        lowest = float(pump.lowest_drive)
    lifts = nan if case.relief_valve is None else float(case.relief_valve.set) / float(pump.ratio)
    relief = lowest <= lifts < highest
    return Window(lowest, lifts if relief else highest, shifts, relief)


def can_stall_above(case: Case, estimate: Estimate) -> bool:
    """Whether the pump at no friction can pass the lowest limit."""
    return above(estimate.pressurise.stall_no_friction_gauge_pa, limit(case, estimate))

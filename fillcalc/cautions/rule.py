"""What a caution is declared as, and what several of their rules ask."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import nan
from typing import Any, TypeAlias

from fillcalc.case.no_flow import first
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.limits import ratings, relief_protects
from fillcalc.estimation.regulator import Window, window_of

Say: TypeAlias = Callable[[Any, str], str]
"""A number in SI and its family to text with its unit."""


@dataclass(frozen=True)
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
    """A relief valve is fitted that keeps the line under the lowest limit: set low enough for its accumulation, and
    not known to pass less than the pump gives."""
    return relief_protects(case, limit(case, estimate), estimate.pressurise.relief_flow_m3_s)


def setting_window(case: Case, estimate: Estimate) -> Window | None:
    """The regulator's window at likely values, with the one setting to use; None for a pump without a regulator."""
    return window_of(case, first(estimate.pressurise.relief_flow_m3_s))


def can_stall_above(case: Case, estimate: Estimate) -> bool:
    """Whether the pump can pass the lowest limit: at no friction, with the air at its highest."""
    return above(estimate.pressurise.stall_no_friction_gauge_pa, limit(case, estimate))

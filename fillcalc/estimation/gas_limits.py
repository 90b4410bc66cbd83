"""What the supply of a test with gas can put on the vessel, and what keeps it under the lowest limit."""

from __future__ import annotations

from math import isfinite

from fillcalc.arrays import first
from fillcalc.case.records import Booster, Case
from fillcalc.estimation.limits import lowest_rating, relief_below

EXACT = 1.0 + 1e-9
"""What two equal pressures may differ by."""


def gas_limit(case: Case) -> float:
    """Return the lowest pressure limit on the gas, Pa gauge; NaN where none was given."""
    return lowest_rating(case)[1]


def supply_reach(case: Case) -> float:
    """Return the pressure that the supply can put on the vessel when the regulator fails, Pa gauge."""
    given = case.gas_supply
    assert given is not None
    if isinstance(given, Booster):
        return first(given.ratio) * first(given.drive_pressure)
    return first(given.pressure)


def setting_reach(case: Case) -> float:
    """Return the pressure that the regulator, as it is set, lets onto the vessel, Pa gauge."""
    return min(first(case.gas_line.regulator_pressure), supply_reach(case))


def can_pass_limit(case: Case) -> bool:
    """Return whether a failed regulator can put more than the lowest limit on the vessel; true where none is known."""
    return not supply_reach(case) <= gas_limit(case) * EXACT


def relief_holds(case: Case) -> bool:
    """Return whether a relief valve is set low enough to hold the lowest limit, where one is known."""
    if case.relief_valve is None:
        return False
    limit = gas_limit(case)
    return not isfinite(limit) or first(case.relief_valve.set) <= relief_below(limit) * EXACT

"""How high the regulator of a test with gas is turned."""

from __future__ import annotations

from math import inf, nan

from fillcalc.arrays import first
from fillcalc.case.records import Case


def not_to_be_passed(case: Case) -> float:
    """The lowest of the relief valve's setting, the vessel's limit and the gauge's full scale, Pa gauge; infinite
    where none is known."""
    known = (None if case.relief_valve is None else case.relief_valve.set, case.vessel.never_above,
             case.gauge.full_scale)
    return min((first(each) for each in known if each is not None), default=inf)


def halfway(case: Case, test_gauge_pa: float) -> float:
    """What the regulator is turned to near test pressure, Pa gauge: halfway from there to what must not be passed.

    NaN where that is not known, or not above test pressure. Judgement: gas must still flow, and a regulator that
    creeps must have some way to go.
    """
    top = not_to_be_passed(case)
    return 0.5 * (test_gauge_pa + top) if test_gauge_pa < top < inf else nan

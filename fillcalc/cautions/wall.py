"""Cautions of the wall: its hoop stress at test pressure, and a thickness far beyond what that pressure needs.

A wall typed in another unit, or ten times wrong, is told before anyone pumps.
"""

from __future__ import annotations

from math import nan

from fillcalc.case.ends import ALLOWED
from fillcalc.case.records import Case
from fillcalc.case.solid import inside_of
from fillcalc.cautions.rule import Rule, Say
from fillcalc.estimation.answers import Estimate
from fillcalc.job.resolve import yield_of

NEAR_YIELD = 0.9
"""Share of yield that a test may bring the wall to; codes for hydrostatic tests allow about that, from memory."""
BEYOND_YIELD = 1.25
"""Times yield above which the better common grades of the same material yield too; judgement."""
TOO_THICK = 10.0
"""Times the thickness needed from which a person is asked; judgement."""
LEAST_MADE = 2e-3
"""m; walls of vessels and pipes are rarely made thinner, whatever the pressure; common practice, no source."""


THIN = 1e-6
"""m; a wall so thin that its stress goes with one over its thickness."""


def _thickness(case: Case) -> float:
    """Return the wall, m; NaN where the case gives no thickness."""
    wall = case.vessel.wall
    if wall is None or isinstance(wall, str) or case.families.get("vessel.wall", "bore") != "bore":
        return nan
    return float(wall)


def _hoop(case: Case, thickness: float) -> float:
    """Return the hoop stress at test pressure in a wall of a thickness, m, Pa; NaN of a shape where it tells none."""
    inside = inside_of(case.vessel)
    return nan if inside is None else case.test_gauge * float(inside.hoop(thickness))


def hoop_stress(case: Case) -> float:
    """Return the hoop stress at the bore at test pressure, Pa; NaN where the case gives no thickness."""
    return _hoop(case, _thickness(case))


def needed_wall(case: Case) -> float:
    """Return the thickness that keeps the hoop stress of a thin wall at `ALLOWED`, m."""
    return _hoop(case, THIN) * THIN / ALLOWED


def _over_yield(case: Case) -> float:
    """Return the hoop stress at test pressure over the yield of a common grade of the material."""
    return hoop_stress(case) / yield_of(case.vessel)[1]


def _stress(case: Case, say: Say) -> str:
    material, yields = yield_of(case.vessel)
    return (f"At {say(case.test_gauge, 'pressure')} a wall of {say(_thickness(case), 'bore')} sees "
            f"{say(hoop_stress(case), 'stress')}; common {material} yields at {say(yields, 'stress')}")


def _too_thick(case: Case, estimate: Estimate) -> bool:
    return bool(_thickness(case) > TOO_THICK * max(needed_wall(case), LEAST_MADE))


def _much_more(case: Case, say: Say) -> str:
    wall, needed = _thickness(case), needed_wall(case)
    return (f"Vessel wall {say(wall, 'bore')} is {wall / needed:.0f} times the {say(needed, 'bore')} that "
            f"{say(case.test_gauge, 'pressure')} needs here. Check the unit.")


WALL: tuple[Rule, ...] = (
    Rule("wall would yield", "danger", lambda case, e: _over_yield(case) > BEYOND_YIELD,
         lambda case, e, say: f"{_stress(case, say)}. Do not pump until the wall is checked.", "vessel.wall"),
    Rule("wall near yield", "warning", lambda case, e: NEAR_YIELD < _over_yield(case) <= BEYOND_YIELD,
         lambda case, e, say: f"{_stress(case, say)}. Check wall, diameter and grade on the drawing.", "vessel.wall"),
    Rule("wall far thicker than needed", "notice", _too_thick, lambda case, e, say: _much_more(case, say),
         "vessel.wall"),
)
"""The rules of the wall, of tests with water and with gas, heaviest first."""

"""Cautions of the wall: its hoop stress at test pressure, and a thickness far beyond what that pressure needs.

A wall typed in another unit, or ten times wrong, is told before anyone pumps.
"""

from __future__ import annotations

from math import nan

from fillcalc.case.ends import ALLOWED
from fillcalc.case.records import Case, Sphere
from fillcalc.case.solid import sized
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


def _sizes(case: Case) -> tuple[float, float, float]:
    """Return inside diameter m, wall m and test pressure Pa gauge; NaN where the case gives no thickness."""
    vessel = sized(case.vessel)
    diameter, wall = getattr(vessel, "diameter", None), vessel.wall
    if diameter is None or wall is None or isinstance(wall, str) or case.families.get("vessel.wall", "bore") != "bore":
        return nan, nan, nan
    return float(diameter), float(wall), case.test_gauge


def hoop_stress(case: Case) -> float:
    """Return the hoop stress at the bore at test pressure, Pa; NaN where the case gives no thickness.

    Lame: p (k^2 + 1) / (k^2 - 1) of a cylinder and p (k^3 + 2) / (2 k^3 - 2) of a sphere, k outside over inside
    diameter; for thin walls p d / 2 t and p d / 4 t.
    """
    diameter, wall, test = _sizes(case)
    k = 1.0 + 2.0 * wall / diameter
    if isinstance(case.vessel, Sphere):
        return test * (k**3 + 2.0) / (2.0 * (k**3 - 1.0))
    return test * (k**2 + 1.0) / (k**2 - 1.0)


def needed_wall(case: Case) -> float:
    """Return the thickness that keeps the hoop stress of a thin wall at `ALLOWED`, m: p d / 2 S; of a sphere half."""
    diameter, _, test = _sizes(case)
    return test * diameter / ((4.0 if isinstance(case.vessel, Sphere) else 2.0) * ALLOWED)


def _over_yield(case: Case) -> float:
    """Return the hoop stress at test pressure over the yield of a common grade of the material."""
    return hoop_stress(case) / yield_of(case.vessel)[1]


def _stress(case: Case, say: Say) -> str:
    (_, wall, test), (material, yields) = _sizes(case), yield_of(case.vessel)
    return (f"At {say(test, 'pressure')} a wall of {say(wall, 'bore')} sees {say(hoop_stress(case), 'stress')}; common "
            f"{material} yields at {say(yields, 'stress')}")


def _too_thick(case: Case, estimate: Estimate) -> bool:
    _, wall, _ = _sizes(case)
    return bool(wall > TOO_THICK * max(needed_wall(case), LEAST_MADE))


def _much_more(case: Case, say: Say) -> str:
    diameter, wall, test = _sizes(case)
    needed = needed_wall(case)
    return (f"Vessel wall {say(wall, 'bore')} is {wall / needed:.0f} times the {say(needed, 'bore')} that "
            f"{say(test, 'pressure')} needs on {say(diameter, 'bore')}. Check the unit.")


WALL: tuple[Rule, ...] = (
    Rule("wall would yield", "danger", lambda case, e: _over_yield(case) > BEYOND_YIELD,
         lambda case, e, say: f"{_stress(case, say)}. Do not pump until the wall is checked.", "vessel.wall"),
    Rule("wall near yield", "warning", lambda case, e: NEAR_YIELD < _over_yield(case) <= BEYOND_YIELD,
         lambda case, e, say: f"{_stress(case, say)}. Check wall, diameter and grade on the drawing.", "vessel.wall"),
    Rule("wall far thicker than needed", "notice", _too_thick, lambda case, e, say: _much_more(case, say),
         "vessel.wall"),
)
"""The rules of the wall, of tests with water and with gas, heaviest first."""

"""What follows from the size of a vessel alone: how high it stands, and how thick a flat end is usually made."""

from __future__ import annotations

from math import sqrt

from fillcalc.case import records
from fillcalc.case.fields import Number
from fillcalc.case.solid import sized

ALLOWED = 138e6
"""Allowable stress of a plain carbon steel plate, Pa; the figure usual in ASME II-D, from memory."""
ATTACHED = 0.3
"""C of ASME VIII-1 UG-34 for a flat end welded into a shell; 0.17 to 0.5 by the weld, from memory."""
TEST_OVER_DESIGN, USUAL_FACTOR = 1.43, 1.5
"""Test over design pressure where no design pressure is known (EN 13445), and the most that is usual."""
HEAD_DEPTH = {"flat": 0.0, "hemispherical": 0.5, "elliptical 2:1": 0.25, "dished": 1.0 - sqrt(0.9**2 - 0.4**2)}
"""Depth of one end over the diameter; dished is DIN 28011."""


def flat_end_thickness(diameter: float, design_pa: float | None, test_pa: float) -> float:
    """Thickness of a flat end by the form of ASME VIII-1 UG-34, m: D sqrt(C P / S).

    P is the design pressure, at least test / 1.5; test / 1.43 where none is given. From memory; check your own copy.
    """
    known = design_pa is not None and design_pa > 0.0
    pressure = max(float(design_pa or 0.0), test_pa / USUAL_FACTOR) if known else test_pa / TEST_OVER_DESIGN
    return diameter * sqrt(ATTACHED * pressure / ALLOWED)


def full_height(vessel: records.Vessel) -> Number:
    """From the lowest inside point to the highest, m; of a pipe run its rise; None where it is not known."""
    vessel = sized(vessel)
    if isinstance(vessel, (records.Sphere, records.LyingCylinder)):
        return vessel.diameter
    if isinstance(vessel, records.StandingCylinder):
        if vessel.height is None or vessel.diameter is None:
            return None
        return vessel.height + 2.0 * HEAD_DEPTH[vessel.ends or "flat"] * vessel.diameter
    return vessel.rise if isinstance(vessel, records.PipeRun) else getattr(vessel, "height", None)

"""How thick a flat end is usually made."""

from __future__ import annotations

from math import sqrt

ALLOWED = 138e6
"""Allowable stress of a plain carbon steel plate, Pa; the figure usual in ASME II-D, from memory."""
ATTACHED = 0.3
"""C of ASME VIII-1 UG-34 for a flat end welded into a shell; 0.17 to 0.5 by the weld, from memory."""
TEST_OVER_DESIGN, USUAL_FACTOR = 1.43, 1.5
"""Test over design pressure where no design pressure is known (EN 13445), and the most that is usual."""


def flat_end_thickness(diameter: float, design_pa: float | None, test_pa: float) -> float:
    """Thickness of a flat end by the form of ASME VIII-1 UG-34, m: D sqrt(C P / S).

    P is the design pressure, at least test / 1.5; test / 1.43 where none is given. From memory; check your own copy.
    """
    known = design_pa is not None and design_pa > 0.0
    pressure = max(float(design_pa or 0.0), test_pa / USUAL_FACTOR) if known else test_pa / TEST_OVER_DESIGN
    return diameter * sqrt(ATTACHED * pressure / ALLOWED)

"""Air through the vent: an isentropic orifice with a discharge coefficient."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.properties.media import AIR_GAS_CONSTANT
from fillcalc.properties.media import HEAT_CAPACITY_RATIO as RATIO

GAMMA_PART = (RATIO - 1.0) / RATIO
CRITICAL = (2.0 / (RATIO + 1.0)) ** (RATIO / (RATIO - 1.0))
"""Pressure ratio at which the flow chokes, 0.5283."""
CHOKED = (2.0 / (RATIO + 1.0)) ** ((RATIO + 1.0) / (2.0 * (RATIO - 1.0))) * RATIO**0.5
SMALLEST_ROOT = 1e-6
"""Smallest square root of the overpressure that is told from nothing, Pa^0.5."""


def scale(area: Array, temperature: Array) -> Array:
    """What all flows through a vent go by: area times sqrt(R T), m3/s; `area` in m2, with its coefficient, and K.

    Source: as `outflow_by`.
    """
    return area * np.sqrt(AIR_GAS_CONSTANT * temperature)


def outflow_by(by: Array, root: Array, outside_abs: Array) -> tuple[Array, Array]:
    """R T times the mass flow of air through the vent, Pa m3/s, and its slope with `root`.

    Args:
        by: `scale` of vent and air, m3/s.
        root: square root of the overpressure inside, Pa^0.5, at least 0.
        outside_abs: pressure outside, Pa abs.

    In the root the flow starts as a straight line, so nothing is singular at no overpressure. Choked, it is `CHOKED`
    times `by` as a volume at the pressure inside. Shapes broadcast. Source: isentropic flow of an ideal gas, J.
    Anderson, Modern Compressible Flow, ch. 5.
    """
    root = np.maximum(root, SMALLEST_ROOT)
    square = root * root
    inside = outside_abs + square
    left = np.expm1(-GAMMA_PART * np.log1p(square / outside_abs))  # minus the part of the heat that turns to speed
    lift = np.sqrt(-left)
    warmth = 1.0 + left
    flow = (float(np.sqrt(2.0 / GAMMA_PART)) * by * outside_abs) * lift / warmth
    slope = flow * root / inside * (GAMMA_PART * (2.0 + warmth / (lift * lift)))
    is_choked = outside_abs <= CRITICAL * inside
    choked_scale = CHOKED * by
    return np.where(is_choked, choked_scale * inside, flow), np.where(is_choked, 2.0 * choked_scale * root, slope)

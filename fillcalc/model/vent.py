"""Air through the vent: an isentropic orifice with a discharge coefficient."""

from __future__ import annotations

import numpy as np

from fillcalc.media import AIR_GAS_CONSTANT
from fillcalc.media import HEAT_CAPACITY_RATIO as RATIO
from fillcalc.model.arrays import Array

GAMMA_PART = (RATIO - 1.0) / RATIO
CRITICAL = (2.0 / (RATIO + 1.0)) ** (RATIO / (RATIO - 1.0))
"""Pressure ratio at which the flow chokes, 0.5283."""
CHOKED = (2.0 / (RATIO + 1.0)) ** ((RATIO + 1.0) / (2.0 * (RATIO - 1.0))) * RATIO**0.5
SMALLEST_ROOT = 1e-6
"""Smallest square root of the overpressure that is told from nothing, Pa^0.5."""


def ceiling(area: Array, temperature: Array) -> Array:
    """Volume flow of a choked vent at the pressure inside, m3/s: it does not rise with pressure.

    `area` is discharge coefficient times area, m2; temperature K. Shapes broadcast.
    Source: as `outflow`, at the critical ratio.
    """
    return CHOKED * np.sqrt(AIR_GAS_CONSTANT * temperature) * area


def outflow(root: Array, outside_abs: Array, area: Array, temperature: Array) -> tuple[Array, Array]:
    """R T times the mass flow of air through the vent, Pa m3/s, and its slope with `root`.

    Args:
        root: square root of the overpressure inside, Pa^0.5, at least 0.
        outside_abs: pressure outside, Pa abs.
        area: discharge coefficient times area, m2.
        temperature: of the air inside, K.

    In the root the flow starts as a straight line, so nothing is singular at no overpressure. Shapes
    broadcast. Source: isentropic flow of an ideal gas, J. Anderson, Modern Compressible Flow, ch. 5.
    """
    root = np.maximum(root, SMALLEST_ROOT)
    inside = outside_abs + root * root
    speed = np.sqrt(AIR_GAS_CONSTANT * temperature)
    choked_scale = CHOKED * speed * area
    cooled = -np.expm1(-GAMMA_PART * np.log1p(root * root / outside_abs))
    lift = np.sqrt(cooled)
    scale = area * speed * np.sqrt(2.0 / GAMMA_PART) * outside_abs ** (1.0 / RATIO)
    power = inside**GAMMA_PART
    flow = scale * power * lift
    slope = scale * power * GAMMA_PART * root / inside * (2.0 * lift + (1.0 - cooled) / lift)
    is_choked = outside_abs <= CRITICAL * inside
    return np.where(is_choked, choked_scale * inside, flow), np.where(is_choked, 2.0 * choked_scale * root, slope)


def mass_flow(inside_abs: Array, outside_abs: Array, area: Array, temperature: Array) -> Array:
    """Mass flow of air through the vent, kg/s; pressures Pa abs, area m2 with its coefficient, K.

    Source: as `outflow`.
    """
    root = np.sqrt(np.maximum(inside_abs - outside_abs, 0.0))
    flow = outflow(root, outside_abs, area, temperature)[0] / (AIR_GAS_CONSTANT * temperature)
    return np.where(inside_abs > outside_abs, flow, 0.0)

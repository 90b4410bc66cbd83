"""What the vent of the model passes, in the figures of a textbook."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.vent import CHOKED, outflow_by, scale
from fillcalc.properties.media import AIR_GAS_CONSTANT


def ceiling(area: Array | float, temperature: Array | float) -> Array:
    """Volume flow of a choked vent at the pressure inside, m3/s; `area` m2 with its coefficient, K."""
    return CHOKED * scale(np.asarray(area), np.asarray(temperature))


def outflow(root: Array, outside_abs: float, area: float, temperature: float) -> tuple[Array, Array]:
    """R T times the mass flow, Pa m3/s, and its slope with the root of the overpressure."""
    return outflow_by(scale(np.asarray(area), np.asarray(temperature)), root, np.asarray(outside_abs))


def mass_flow(inside_abs: Array, outside_abs: Array, area: Array | float, temperature: Array | float) -> Array:
    """Mass flow of air, kg/s; none against the pressure."""
    root = np.sqrt(np.maximum(inside_abs - outside_abs, 0.0))
    flow = outflow_by(scale(np.asarray(area), np.asarray(temperature)), root, outside_abs)[0]
    return np.where(inside_abs > outside_abs, flow / (AIR_GAS_CONSTANT * temperature), 0.0)

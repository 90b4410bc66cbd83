"""Letting the pressure down, through a valve or at a rate."""

from __future__ import annotations

import numpy as np

from fillcalc.model.arrays import Array
from fillcalc.model.held import Held
from fillcalc.model.quadrature import gauss

NODES = 8
BAR = 1e5
HOUR = 3600.0
LEAST_TIME = 60.0
"""s; turning a valve down gently takes a minute whatever the rate; common practice."""
HALF_BAR = 0.5e5


def through_valve(held: Held, kv: Array, high_gauge: Array, low_gauge: Array) -> Array:
    """Time for the pressure to fall from one gauge pressure to another through a valve, s.

    Args:
        held: the closed vessel.
        kv: m3/h of water of 1000 kg/m3 at 1 bar, shape (N,).
        high_gauge, low_gauge: Pa gauge, shape (N,); low at least 0.

    The valve passes Q = Kv sqrt(P / (rho / 1000)) at the density of the site's pressure (IEC 60534-1); it is
    taken as not choked, so a valve that chokes takes longer. Integrated over P = p_atm sinh^2(theta), 8 nodes:
    within 1e-6 of a fine integration. Zero where high is not above low.
    """
    scale = held.outside_abs
    top, bottom = (np.arcsinh(np.sqrt(np.maximum(p, 0.0) / scale)) for p in (high_gauge, low_gauge))
    nodes, weights = gauss(NODES)
    width = np.maximum(top - bottom, 0.0)
    theta = bottom + nodes[:, None] * width
    gauge = scale * np.sinh(theta) ** 2
    solid, air = held.water_slopes(scale + gauge)
    per_root = kv / HOUR * np.sqrt(1000.0 / held.water.density(scale) / BAR)
    time = (solid + held.air * air) * 2.0 * np.sqrt(scale) * np.cosh(theta) / per_root
    return np.asarray((time * weights[:, None]).sum(axis=0) * width)


def at_rate(rate: Array, high_gauge: Array, low_gauge: Array) -> Array:
    """Time to come down from one gauge pressure to another at a rate in Pa/s, s; from the top to zero at
    least a minute, and less of the way in proportion. Shapes broadcast.
    Common practice: a minute at least.
    """
    whole = np.maximum(high_gauge / rate, LEAST_TIME)
    return np.asarray(whole * np.clip(1.0 - low_gauge / high_gauge, 0.0, 1.0))

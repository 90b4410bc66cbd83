"""Letting the pressure down, through a valve or at a rate."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.held import Held
from fillcalc.model.quadrature import gauss

NODES = 8
BAR = 1e5
HOUR = 3600.0
LEAST_TIME = 60.0
"""s; turning a valve down gently takes a minute whatever the rate; common practice."""
HALF_BAR = 0.5e5
ROOT_FROM = 0.1
"""Part of the site's pressure that must be left of the air's pressure at no gauge pressure for the root's map."""


def through_valve(held: Held, kv: Array, high_gauge: Array, low_gauge: Array) -> Array:
    """Time for the pressure to fall from one gauge pressure to another through a valve, s.

    Args:
        held: the closed vessel.
        kv: m3/h of water of 1000 kg/m3 at 1 bar, shape (N,).
        high_gauge, low_gauge: Pa gauge where the gauge stands, shape (N,). The valve stands with the gauge, and the
            pressure ends at what the full open vessel shows there.

    The valve passes Q = Kv sqrt(P / (rho / 1000)) at the density of the site's pressure (IEC 60534-1); it is
    taken as not choked, so a valve that chokes takes longer. Integrated in a variable that straightens both the root
    of the flow and the pole of the air, 8 nodes: within 1e-6 of a fine integration. Zero where high is not above low.
    """
    low = np.maximum(low_gauge, held.full_gauge)
    gauge, weight = _nodes(held, low, np.maximum(high_gauge, low))
    solid, air = held.water_slopes(held.zero_abs + gauge)
    per_root = kv / HOUR * np.sqrt(1000.0 / held.water.density(held.outside_abs) / BAR)
    time = (solid + held.air * air) / (per_root * np.sqrt(np.maximum(gauge, np.finfo(float).tiny)))
    return np.asarray((time * weight).sum(axis=0))


def _nodes(held: Held, low: Array, high: Array) -> tuple[Array, Array]:
    """Gauge pressures and weights, Pa, (nodes, N), of an integral from low to high.

    With c the pressure of the air at no gauge pressure, P = c sinh^2(theta) straightens the root at P = 0 and the
    pole at P = -c. Where the head takes most of the site's pressure from c, the air's own pressure exp(u) does.
    """
    nodes, weights = gauss(NODES)
    scale = held.zero_abs + 0.0 * low
    by_root = scale > ROOT_FROM * held.outside_abs
    safe = np.where(by_root, scale, held.outside_abs)
    top, bottom = (np.where(by_root, np.arcsinh(np.sqrt(p / safe)), np.log(np.where(by_root, 1.0, scale + p)))
                   for p in (high, low))
    here = bottom + nodes[:, None] * (top - bottom)
    angle = np.where(by_root, here, 0.0)
    grown = np.exp(np.where(by_root, 0.0, here))
    gauge = np.where(by_root, safe * np.sinh(angle) ** 2, grown - scale)
    slope = np.where(by_root, 2.0 * safe * np.sinh(angle) * np.cosh(angle), grown)
    return gauge, slope * weights[:, None] * (top - bottom)


def at_rate(rate: Array, high_gauge: Array, low_gauge: Array, end_gauge: Array | float = 0.0) -> Array:
    """Time to come down from one gauge pressure to another at a rate in Pa/s, s; from the top to the end at
    least a minute, and less of the way in proportion. The end, Pa, is what the full open vessel shows. Shapes
    broadcast. Common practice: a minute at least.
    """
    way = np.maximum(high_gauge - end_gauge, 1.0)
    whole = np.maximum(way / rate, LEAST_TIME)
    return np.asarray(whole * np.clip((high_gauge - np.maximum(low_gauge, end_gauge)) / way, 0.0, 1.0))

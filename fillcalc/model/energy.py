"""What a vessel under pressure gives back when it lets go, and how far to stand."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.held import At
from fillcalc.model.quadrature import gauss
from fillcalc.properties.media import HEAT_CAPACITY_RATIO as RATIO
from fillcalc.properties.media import Water

NODES = 8
TNT = 4_266_920.0
"""Energy of a kilogram of TNT, J, as ASME PCC-2 (2008) has it; others take 4.18 to 4.62 MJ."""
SHARE_OF_AIR = 0.01
"""Trapped share that is much whatever its energy; judgement."""
LEAST_ENERGY = 100.0
"""Energy of the trapped air, J, below which it is not worth a caution; judgement."""
GLASS = 20.0
"""Scaled distance at which glass breaks, m/kg^(1/3); PCC-2, from memory."""
NEAR, NEAR_ENERGY = 30.0, 135.5e6
FAR, FAR_ENERGY = 60.0, 271e6
"""Least distances in m of PCC-2 up to an energy in J; above the last the scaled distance decides."""


def of_water(at: At) -> Array:
    """Energy in the squeezed water inside the vessel at a gauge pressure, J: the integral of p dV.

    At the pressure of half height, isothermal, against the site's pressure; the water of the test hose is not in it.
    Shape (N,). Derived: the integral itself.
    """
    held, gauge = at.held, at.water_abs - at.held.outside_abs
    nodes, weights = gauss(NODES)
    part = nodes[:, None] * gauge
    rho, slope = held.water.density_slope(held.outside_abs + part)
    each = (part * slope / rho**2 * weights[:, None]).sum(axis=0) * gauge
    space = at.solid - held.hose - held.hose_stretch * at.gauge - held.air * at.pocket
    return np.asarray(at.density * space * each)


def of_liquid(volume: Array, gauge: Array, temperature: Array, outside_abs: Array) -> Array:
    """Energy of water that fills `volume`, m3, at a pressure, Pa gauge, J; temperature K, Pa abs outside.

    Derived: as `of_water`, the integral of p dV, without wall and air.
    """
    water = Water(temperature)
    nodes, weights = gauss(NODES)
    part = nodes[:, None] * gauge
    rho, slope = water.density_slope(outside_abs + part)
    each = (part * slope / rho**2 * weights[:, None]).sum(axis=0) * gauge
    return np.asarray(water.density(outside_abs + gauge) * volume * each)


def of_wall(at: At) -> Array:
    """Energy in the stretched wall at a gauge pressure, J: half of stretch times pressure squared, at half height.

    Derived: the work of a linear spring.
    """
    return np.asarray(0.5 * at.held.stretch * (at.water_abs - at.held.outside_abs) ** 2)


def of_gas(gauge: Array, outside_abs: Array, volume: Array) -> Array:
    """Energy of a gas of `volume` m3 at a gauge pressure, J: isentropic down to the pressure outside, Pa abs.

    E = p V / (k - 1) (1 - (p_out/p)^((k-1)/k)), k = 1.4 for air and nitrogen. Shapes broadcast. Source: ASME PCC-2
    (2008), article 5.1, appendix II; check your own copy.
    """
    top = outside_abs + gauge
    left = -np.expm1((RATIO - 1.0) / RATIO * np.log(outside_abs / top))
    return np.asarray(top * volume / (RATIO - 1.0) * left)


def of_pocket(at: At) -> Array:
    """Energy in the trapped air at a gauge pressure, J; its space there is that of a real gas.

    Derived: `of_gas` on the squeezed space.
    """
    return of_gas(at.air_abs - at.held.outside_abs, at.held.outside_abs, at.held.air * at.pocket)


def tnt(energy: Array) -> Array:
    """Kilograms of TNT with this energy in J (PCC-2, 2008)."""
    return np.asarray(energy / TNT)


def scaled_distance(energy: Array, times: float = 1.0, scaled: float = GLASS) -> Array:
    """Distance in m for an energy in J: scaled x (times x TNT)^(1/3); later editions of PCC-2 take times = 2
    (from memory)."""
    return np.asarray(scaled * np.cbrt(times * tnt(energy)))


def gas_distance(energy: Array, times: float = 1.0) -> Array:
    """How far to stand from a vessel full of gas with this energy in J, m.

    The greater of 30 m to 135.5 MJ, 60 m to 271 MJ, and the scaled distance; shapes kept. Source: ASME PCC-2 (2008),
    article 5.1, appendix III; `times` = 2 for later editions (from memory). They differ: check your own copy.
    """
    energy = np.asarray(energy, float)
    least = np.where(energy <= NEAR_ENERGY, NEAR, np.where(energy <= FAR_ENERGY, FAR, 0.0))
    return np.maximum(least, scaled_distance(energy, times))


def is_much(share: float, air: float, rest: float) -> bool:
    """Whether the trapped air stores so much that the vessel must be vented again before test pressure.

    Its share of the volume, its energy, that of water and wall, J. Definition: the share over `SHARE_OF_AIR`, or the
    energy over that of the rest, by judgement; never with less than `LEAST_ENERGY`.
    """
    return bool((share >= SHARE_OF_AIR or air > rest) and air > LEAST_ENERGY)

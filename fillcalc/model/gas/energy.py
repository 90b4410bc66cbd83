"""What a vessel full of gas gives back when it lets go, by the formulas that are in use, which differ by two."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.energy import of_gas, of_liquid
from fillcalc.properties.gases import HEAT_RATIO, Gas


def isentropic(gas: Gas, volume: Array, gauge: Array, temperature: Array, outside_abs: Array) -> Array:
    """Energy of a real gas, J: its internal energy less that after expanding to the pressure outside without heat.

    `volume` m3, pressures Pa gauge and Pa abs, temperature K. Derived: the first law, m (u1 - u2) with equal entropy,
    as a share of the ideal gas.
    """
    return ideal(volume, gauge, outside_abs) * gas.energy_share(outside_abs + gauge, temperature, outside_abs)


def ideal(volume: Array, gauge: Array, outside_abs: Array) -> Array:
    """The same of an ideal gas, J, as ASME PCC-2 has it; volume m3, pressure Pa gauge and Pa abs. Source: as
    `energy.of_gas`, ASME PCC-2."""
    return of_gas(gauge, outside_abs, volume)


def constant_volume(volume: Array, gauge: Array) -> Array:
    """Energy by the formula of W. Brode, J: the heat that brings the gas to its pressure in its own volume.

    E = (p - p0) V/(k - 1); volume m3, `gauge` Pa. Source: Brode, J. Appl. Phys. 26 (1955) 766, from memory.
    """
    return gauge * volume / (HEAT_RATIO - 1.0)


def isothermal(volume: Array, abs_: Array, outside_abs: Array) -> Array:
    """The most work that the gas can do at the temperature of its surroundings, J; volume m3, pressures Pa abs.

    E = p V (ln(p/p0) - 1 + p0/p). Derived: the integral of p dV less the work against the air outside.
    """
    ratio = abs_ / outside_abs
    return abs_ * volume * (np.log(ratio) - 1.0 + 1.0 / ratio)


def of_water(volume: Array, gauge: Array, temperature: Array, outside_abs: Array) -> Array:
    """Energy of the same vessel full of water, J. Source: as `energy.of_liquid`, the integral of p dV."""
    return of_liquid(volume, gauge, temperature, outside_abs)

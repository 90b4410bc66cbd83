"""Adapters: properties of water and air."""

from __future__ import annotations

from typing import Any

from scipy.optimize import brentq

from fillcalc.properties.media import STANDARD_ATMOSPHERE, air, atmosphere, water


def absolute(pressure_abs: float | None, pressure_gauge: float | None) -> float:
    """The absolute pressure of a row that gives it either way; gauge is over the standard atmosphere."""
    if pressure_abs is not None:
        return pressure_abs
    assert pressure_gauge is not None
    return STANDARD_ATMOSPHERE + pressure_gauge


def density(temperature: float, pressure_abs: float | None = None, pressure_gauge: float | None = None) -> float:
    return water(temperature).density(absolute(pressure_abs, pressure_gauge))


def density_over(temperature: float, reference: float) -> float:
    """Density at a reference temperature over that at the temperature, at 1 atm."""
    return density(reference, STANDARD_ATMOSPHERE) / density(temperature, STANDARD_ATMOSPHERE)


def release_pressure(temperature: float, density: float) -> float:
    """The pressure at which water has a density, Pa abs."""
    at = water(temperature)
    return brentq(lambda p: at.density(p) - density, 0.6e5, 2500e5, xtol=1e-6, rtol=1e-14)


def compressibility(temperature: float, pressure_abs: float | None = None,
                    pressure_gauge: float | None = None) -> float:
    density, slope = water(temperature).density_slope(absolute(pressure_abs, pressure_gauge))
    return slope / density


def bulk_modulus(temperature: float, pressure_abs: float | None = None, pressure_gauge: float | None = None) -> float:
    return 1.0 / compressibility(temperature, pressure_abs, pressure_gauge)


def mean_bulk_modulus(temperature: float, pressure_gauge: float) -> float:
    """Pressure over the relative shrinkage from 1 atm."""
    at = water(temperature)
    return pressure_gauge / (1.0 - at.density(STANDARD_ATMOSPHERE) / at.density(STANDARD_ATMOSPHERE + pressure_gauge))


def expansion(temperature: float, pressure_abs: float | None = None, pressure_gauge: float | None = None) -> float:
    return water(temperature).expansion(absolute(pressure_abs, pressure_gauge))


ADAPTERS: dict[str, Any] = {
    "water density": density,
    "ratio of water densities": density_over,
    "pressure of water at a density": release_pressure,
    "specific volume of water": lambda **given: 1.0 / density(**given),
    "heat capacity of water": lambda temperature, pressure_abs: water(temperature).heat_capacity(pressure_abs),
    "viscosity of water": lambda temperature: water(temperature).viscosity(STANDARD_ATMOSPHERE),
    "compressibility of water": compressibility,
    "bulk modulus of water": bulk_modulus,
    "mean bulk modulus of water": mean_bulk_modulus,
    "expansion of water": expansion,
    "compressibility factor of air": lambda temperature, pressure_abs: air(temperature).compressibility_factor(
        pressure_abs),
    "density of air": lambda temperature, pressure_abs: air(temperature).density(pressure_abs),
    "standard atmosphere": atmosphere,
}

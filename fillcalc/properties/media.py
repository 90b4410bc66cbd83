"""Water and air: density, its slopes, heat capacity, viscosity, compressibility; the standard atmosphere.

Everything comes from small tables fitted to CoolProp by `fillcalc.properties.build` (Water: IAPWS-95, Wagner and
Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387, viscosity of IAPWS R12-08; Air: Lemmon et al., J. Phys.
Chem. Ref. Data 29 (2000) 331). A table is a polynomial in temperature and pressure; a `Water` or an `Air`
stands for one temperature, or one for each sample, and carries the polynomial in pressure that is left.

Shapes: a temperature of shape S and a pressure that broadcasts against S give the broadcast shape, so
pressures may be (), (N,), (nodes, 1) or (nodes, N) beside temperatures (N,), and anything beside a scalar.
A scalar and an array agree to 1e-14. The cost is fixed. Nothing is raised: outside its range a
quantity has the value at the nearest end, and a NaN stays a NaN.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TypeAlias

import numpy as np

from fillcalc.arrays import Array

Number: TypeAlias = "float | Array"
"""A float, or an array with one value for each sample."""

GRAVITY = 9.80665
"""Standard acceleration of free fall, m/s2 (ISO 80000-3)."""
STANDARD_ATMOSPHERE = 101325.0
"""Pa (ISO 2533)."""
AIR_GAS_CONSTANT = 8.31451 / 0.02896546
"""J/(kg K), 287.049: molar gas constant and molar mass that go with the equation of state of the air table."""
HEAT_CAPACITY_RATIO = 1.4
"""Of air, as an ideal diatomic gas."""

WATER_TEMPERATURES = (273.16, 333.15)
"""Range of the water table, K."""
WATER_PRESSURES = (0.5e5, 2502e5)
"""Range of the fit of the water table, Pa abs; the top is 2500 bar gauge on any site. Its polynomial goes on to no
pressure, for high sites."""
AIR_TEMPERATURES = (243.15, 333.15)
"""Range of the air table, K."""
AIR_PRESSURES = (0.0, 2502e5)
"""Range of the air table, Pa abs."""
AIR_SCALE = 300e5
"""The air table runs in p/(p + this), Pa: even in it, where Z is steep in the pressure."""
AIR_TOP = AIR_PRESSURES[1] / (AIR_PRESSURES[1] + AIR_SCALE)
"""Upper end of p/(p + AIR_SCALE)."""

DENSITY, HEAT_CAPACITY, LOG_VISCOSITY = range(3)
"""Order of the quantities in water.npy."""

_TABLES = os.path.join(os.path.dirname(__file__), "tables")


@cache
def _table(name: str) -> Array:
    """A shipped table: terms of temperature on the last axis but one, of pressure on the last."""
    table: Array = np.load(os.path.join(_TABLES, f"{name}.npy"))
    table.flags.writeable = False
    return table


def _unit(value: Number, ends: tuple[float, float], least: float | None = None) -> Array:
    """The value on a scale from -1 to 1 between the ends, held at the ends, or at `least` instead of the lower."""
    low, high = ends
    held = np.minimum(np.maximum(value, low if least is None else least), high)
    return (held - 0.5 * (low + high)) * (2.0 / (high - low))


def _water_pressure(p_abs: Number) -> Array:
    """The pressure on the scale of the water table."""
    return _unit(p_abs, WATER_PRESSURES, least=0.0)


def _polynomial(terms: Array, x: Array) -> Array:
    """The polynomial at x, by Horner's rule: terms on the first axis, the rest of each term broadcasts against x."""
    total = terms[-1] + 0.0 * x
    for term in terms[-2::-1]:
        total *= x
        total += term
    return total


def _polynomial_slope(terms: Array, x: Array) -> tuple[Array, Array]:
    """The polynomial and its derivative by x, in one pass."""
    total = terms[-1] + 0.0 * x
    slope = 0.0 * total
    for term in terms[-2::-1]:
        slope *= x
        slope += total
        total *= x
        total += term
    return total, slope


def _powers(x: Array, count: int) -> Array:
    """The powers of x from 0 up, on a first axis; the rest is the shape of x."""
    powers = np.ones((count, *np.shape(x)))
    powers[1:] = x
    return np.multiply.accumulate(powers, axis=0)


def _collapsed(table: Array, powers: Array) -> Array:
    """What is left of a table at these powers of the temperature: terms of pressure, then the shape of the
    temperature."""
    count = table.shape[0]
    return (table.T @ powers[:count].reshape(count, -1)).reshape(table.shape[1:] + powers.shape[1:])


def _slope_table(table: Array, ends: tuple[float, float]) -> Array:
    """The table of the slope by temperature, 1/K, of a table between these ends."""
    return table[1:] * (np.arange(1.0, len(table))[:, None] * (2.0 / (ends[1] - ends[0])))


@dataclass(frozen=True, eq=False)
class Water:
    """Liquid water at one temperature, or at one for each sample.

    Range 273.16 to 333.15 K and 0 to 2502 bar abs; outside, the value at the nearest end. Pressures are
    absolute, in Pa; water below its boiling pressure is taken as liquid still. Errors are the largest seen against
    CoolProp over the whole range.
    """

    temperature: Number
    """K, any shape S."""

    @cached_property
    def _warmth(self) -> Array:
        return _powers(_unit(self.temperature, WATER_TEMPERATURES), _table("water").shape[1])

    def _terms(self, quantity: int) -> Array:
        return _collapsed(_table("water")[quantity], self._warmth)

    @cached_property
    def _density(self) -> Array:
        return self._terms(DENSITY)

    @cached_property
    def _density_by_temperature(self) -> Array:
        return _collapsed(_slope_table(_table("water")[DENSITY], WATER_TEMPERATURES), self._warmth)

    @cached_property
    def _heat_capacity(self) -> Array:
        return self._terms(HEAT_CAPACITY)

    @cached_property
    def _log_viscosity(self) -> Array:
        return self._terms(LOG_VISCOSITY)

    def density(self, p_abs: Number) -> Array:
        """Density, kg/m3, within 5e-9 of IAPWS-95. p_abs in Pa; shape broadcast(S, p_abs)."""
        return _polynomial(self._density, _water_pressure(p_abs))

    def density_slope(self, p_abs: Number) -> tuple[Array, Array]:
        """Density, kg/m3, and its slope by pressure at constant temperature, kg/(m3 Pa), in one pass.

        The slope is that of the table, within 6e-6 of IAPWS-95; both have the shape broadcast(S, p_abs).
        """
        density, slope = _polynomial_slope(self._density, _water_pressure(p_abs))
        return density, slope * (2.0 / (WATER_PRESSURES[1] - WATER_PRESSURES[0]))

    def density_temperature_slope(self, p_abs: Number) -> Array:
        """Slope of the density by temperature at constant pressure, kg/(m3 K); shape broadcast(S, p_abs)."""
        return _polynomial(self._density_by_temperature, _water_pressure(p_abs))

    def expansion(self, p_abs: Number) -> Array:
        """Thermal expansion -(1/rho) drho/dT, 1/K, within 1e-8 /K; negative below 4 degC at low pressure."""
        return -self.density_temperature_slope(p_abs) / self.density(p_abs)

    def heat_capacity(self, p_abs: Number) -> Array:
        """Heat capacity at constant pressure, J/(kg K), within 1e-6 of IAPWS-95."""
        return _polynomial(self._heat_capacity, _water_pressure(p_abs))

    def viscosity(self, p_abs: Number) -> Array:
        """Dynamic viscosity, Pa s, within 1e-6 of IAPWS R12-08."""
        return np.exp(_polynomial(self._log_viscosity, _water_pressure(p_abs)))


def water(temperature: Number) -> Water:
    """Water at a temperature in K; a float or an array with one value for each sample."""
    return Water(np.asarray(temperature, dtype=float)[()])


@dataclass(frozen=True, eq=False)
class Air:
    """Dry air as a real gas at one temperature, or at one for each sample.

    Range 243.15 to 333.15 K and 0 to 2502 bar abs; outside, the compressibility factor at the nearest end.
    Pressures are absolute, in Pa. The table holds ln Z over p/(p + 300 bar), so at zero pressure Z is
    exactly one. Errors are the largest seen against CoolProp over the whole range.
    """

    temperature: Number
    """K, any shape S."""

    @cached_property
    def _warmth(self) -> Array:
        return _powers(_unit(self.temperature, AIR_TEMPERATURES), len(_table("air")))

    @cached_property
    def _terms(self) -> Array:
        return _collapsed(_table("air"), self._warmth)

    @cached_property
    def _gas(self) -> Number:
        """R T, J/kg."""
        return AIR_GAS_CONSTANT * self.temperature

    def compressibility_factor(self, p_abs: Number) -> Array:
        """Z = p/(rho R T), within 1e-6. p_abs in Pa; shape broadcast(S, p_abs)."""
        held = np.minimum(np.maximum(p_abs, AIR_PRESSURES[0]), AIR_PRESSURES[1])
        part = held / (held + AIR_SCALE)
        return np.exp(part * _polynomial(self._terms, part * (2.0 / AIR_TOP) - 1.0))

    def density(self, p_abs: Number) -> Array:
        """Density, kg/m3, within 1e-6. p_abs in Pa; shape broadcast(S, p_abs)."""
        return p_abs / (self.compressibility_factor(p_abs) * self._gas)

    @cached_property
    def _terms_by_temperature(self) -> Array:
        return _collapsed(_slope_table(_table("air"), AIR_TEMPERATURES), self._warmth)

    def expansion(self, p_abs: Number) -> Array:
        """Thermal expansion -(1/rho) drho/dT, 1/K, within 2e-4 of itself; 1/T at no pressure."""
        held = np.minimum(np.maximum(p_abs, AIR_PRESSURES[0]), AIR_PRESSURES[1])
        part = held / (held + AIR_SCALE)
        return 1.0 / self.temperature + part * _polynomial(self._terms_by_temperature, part * (2.0 / AIR_TOP) - 1.0)

    def density_slope(self, p_abs: Number) -> tuple[Array, Array]:
        """Density, kg/m3, and its slope by pressure at constant temperature, kg/(m3 Pa), in one pass.

        The slope is that of the table, within 2e-4 of itself; both have the shape broadcast(S, p_abs).
        """
        held = np.minimum(np.maximum(p_abs, AIR_PRESSURES[0]), AIR_PRESSURES[1])
        whole = held + AIR_SCALE
        part = held / whole
        value, slope = _polynomial_slope(self._terms, part * (2.0 / AIR_TOP) - 1.0)
        slope *= part * (2.0 / AIR_TOP)
        slope += value
        per_pressure = 1.0 / (np.exp(part * value) * self._gas)
        return p_abs * per_pressure, per_pressure * (1.0 - slope * part * (AIR_SCALE / whole))


def air(temperature: Number) -> Air:
    """Dry air at a temperature in K; a float or an array with one value for each sample."""
    return Air(np.asarray(temperature, dtype=float)[()])


def atmosphere(altitude: Number) -> Array:
    """Pressure of the standard atmosphere at an altitude in m, Pa abs; same shape as the altitude.

    ISO 2533:1975, lowest layer: good from -2000 to 11 000 m. The geometric altitude is turned into the
    geopotential one. Standard day: weather moves the real pressure by up to 5 %.
    """
    radius, lapse, sea_level, gas = 6356766.0, 0.0065, 288.15, 287.05287
    height = radius * np.asarray(altitude, dtype=float)[()] / (radius + altitude)
    return STANDARD_ATMOSPHERE * (1.0 - lapse * height / sea_level) ** (GRAVITY / (gas * lapse))

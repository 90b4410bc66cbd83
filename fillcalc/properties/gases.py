"""Nitrogen and air as real gases at the pressures of bottles: pressure, energy, enthalpy and their slopes.

Four tables for each gas, fitted to CoolProp by `fillcalc.properties.build` (Nitrogen: Span et al., J. Phys. Chem. Ref.
Data 29 (2000) 1361; Air: Lemmon et al., the same volume, 331). The first two are parts of the Helmholtz energy, so that
pressure, internal energy and enthalpy belong together and balances close: the residual part a_r = d B(1/T, d)
with d the density over its scale, and the ideal part a_0 = ln d + A(1/T). The third holds what free convection takes of
conductivity and viscosity, and the choked flow through a hole; the fourth the energy of an expansion.

Range 0.5 to 400 bar abs and -100 to 200 degC; colder gas, down to 130 K, is right below 20 bar, convection and choked
flow down to 150 K. Outside, the tables
are held at their nearest end. Shapes: density and temperature broadcast; nothing is raised, a NaN stays a NaN.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache
from typing import TypeAlias

import numpy as np

from fillcalc.arrays import Array
from fillcalc.properties.media import Number, _table, _unit

NITROGEN, AIR = "nitrogen", "air"
COOLPROP_NAMES = {NITROGEN: "Nitrogen", AIR: "Air"}
"""What CoolProp calls each gas."""
GAS_CONSTANTS = {NITROGEN: 8.31451 / 0.02801348, AIR: 8.31451 / 0.02896546}
"""J/(kg K), 296.80 and 287.05: molar gas constant and molar mass that go with the equations of state."""
DENSITY_SCALES = {NITROGEN: 620.0, AIR: 680.0}
"""kg/m3; above the density at 400 bar and -100 degC."""
GAS_TEMPERATURES = (130.0, 480.0)
"""Range of the tables of the Helmholtz energy, K."""
COLD_SCALE = 2.0 / (1.0 / GAS_TEMPERATURES[0] - 1.0 / GAS_TEMPERATURES[1])
"""K; slope of the scale of 1/T."""
FLOW_TEMPERATURES = (150.0, 480.0)
"""Range of the table of transport and choked flow, K; a bottle that empties quickly falls to some 180 K."""
FLOW_DENSITIES = 0.65
"""Top of its range, over the density scale: some 400 bar on site."""
SLOPE_OVER = 5.0
"""K over which the slope is taken with which transport goes on below its table."""
HEAT_RATIO = 1.4
"""Ratio of the heat capacities of a thin diatomic gas."""
ENERGY_TEMPERATURES = (223.15, 343.15)
"""Range of the table of energy, K."""
ENERGY_OUTSIDE = (float(np.log(0.4e5)), float(np.log(1.2e5)))
"""Range of it in the logarithm of the pressure outside, Pa abs."""
ENERGY_PRESSURES = (float(np.log(0.45e5)), float(np.log(402e5)))
"""Range of it in the logarithm of the pressure, Pa abs."""
TRANSPORT, CHOKED = range(2)
"""Order of the quantities in the tables of flow."""


def cold(temperature: Number, ends: tuple[float, float]) -> Array:
    """One over the temperature on a scale from -1 to 1, from the warm end to the cold one."""
    return _unit(1.0 / temperature, (1.0 / ends[1], 1.0 / ends[0]))


def _powers(x: Array, count: int) -> Array:
    """The powers of x (N,) from 0 up, (count, N); each half from the half before it."""
    powers = np.ones((count, x.size))
    powers[1] = x
    have = 2
    while have < count:
        more = min(have - 1, count - have)
        np.multiply(powers[1:1 + more], powers[have - 1], out=powers[have:have + more])
        have += more
    return powers


@dataclass(frozen=True, eq=False)
class At:
    """A gas at a density and temperature; SI, all of one shape."""

    density: Array
    temperature: Array
    pressure: Array
    """Pa abs."""
    energy: Array
    """Internal energy, J/kg, from CoolProp's zero."""
    heat_capacity: Array
    """At constant volume, J/(kg K)."""
    pressure_by_density: Array
    """Pa m3/kg, at constant temperature."""
    pressure_by_temperature: Array
    """Pa/K, at constant density."""
    energy_by_density: Array
    """J m3/kg2, at constant temperature."""

    @property
    def enthalpy(self) -> Array:
        """J/kg."""
        return self.energy + self.pressure / self.density


def row(at: At, place: int) -> At:
    """One row of a gas at several densities and temperatures."""
    return At(*(getattr(at, each.name)[place] for each in fields(at)))


@cache
def _stack(name: str) -> Array:
    """The residual table and its first two slopes by the scaled 1/T, one above the other, as one matrix."""
    table = _table(f"gas_{name}")
    terms = np.arange(len(table), dtype=float)
    first, second = np.zeros_like(table), np.zeros_like(table)
    first[:-1] = table[1:] * terms[1:, None]
    second[:-2] = table[2:] * (terms[2:] * terms[1:-1])[:, None]
    return np.ascontiguousarray(np.concatenate([table.T, first.T, second.T]))


@cache
def _ideal(name: str) -> Array:
    """The ideal table and its first two slopes, as rows."""
    table = _table(f"gas_{name}_ideal")
    first = np.polynomial.polynomial.polyder(table)
    second = np.polynomial.polynomial.polyder(table, 2)
    return np.stack([np.pad(part, (0, len(table) - len(part))) for part in (table, first, second)])


@cache
def _slopes_by_density(name: str) -> Array:
    """What turns powers of the scaled density into the powers themselves and into their first two slopes by d."""
    count = _table(f"gas_{name}").shape[1]
    first = np.diag(2.0 * np.arange(1.0, count), -1)
    return np.ascontiguousarray(np.concatenate([np.eye(count), first, first @ first]))


_Three: TypeAlias = tuple[Array, Array, Array]
_Parts: TypeAlias = tuple[_Three, _Three, _Three, Array, Array, Array]


@dataclass(frozen=True)
class Gas:
    """One of the gases, by its name in a case."""

    name: str

    @property
    def gas_constant(self) -> float:
        """J/(kg K)."""
        return GAS_CONSTANTS[self.name]

    def at(self, density: Number, temperature: Number) -> At:
        """The gas at a density, kg/m3, and a temperature, K; within 1e-5 of the pressure and 1 J/kg of CoolProp."""
        density, temperature = np.broadcast_arrays(np.asarray(density, float), np.asarray(temperature, float))
        gas, scale = self.gas_constant, DENSITY_SCALES[self.name]
        (b, bd, bdd), (bx, bxd, _), (bxx, _, _), _, first0, second0 = self._colder(
            self._parts(density, temperature), temperature)
        tau = COLD_SCALE / temperature
        d = density / scale
        dbd = d * bd
        squeeze = d * (b + dbd)
        warm = gas * temperature
        by_density = bx + d * bxd
        return At(
            density, temperature,
            pressure=density * warm * (1.0 + squeeze),
            energy=warm * tau * (first0 + d * bx),
            heat_capacity=-gas * tau**2 * (second0 + d * bxx),
            pressure_by_density=warm * (1.0 + squeeze + d * (b + 3.0 * dbd + d * d * bdd)),
            pressure_by_temperature=density * gas * (1.0 + squeeze - tau * d * by_density),
            energy_by_density=gas * COLD_SCALE / scale * by_density,
        )

    def _parts(self, density: Array, temperature: Array) -> _Parts:
        """B and its first two slopes by d, the same of its first and of its second slope by x; the ideal part A and its
        first two slopes by x."""
        shape = np.shape(density)
        x = cold(temperature, GAS_TEMPERATURES).ravel()
        y = _unit(density, (0.0, DENSITY_SCALES[self.name])).ravel()
        terms, ideals, slopes = _stack(self.name), _ideal(self.name), _slopes_by_density(self.name)
        rows = _powers(x, ideals.shape[1])
        left = (terms @ rows[: terms.shape[1]]).reshape(3, -1, x.size)
        right = (slopes @ _powers(y, left.shape[1])).reshape(3, -1, x.size)
        table = np.einsum("ajn,bjn->abn", left, right).reshape(3, 3, *shape)
        return (*table, *(ideals @ rows).reshape(3, *shape))

    def _colder(self, parts: _Parts, temperature: Array) -> _Parts:
        """The same for gas colder than the tables: B a parabola in 1/T, the ideal heat capacity steady."""
        past = np.maximum(COLD_SCALE / temperature - COLD_SCALE / GAS_TEMPERATURES[0], 0.0)
        if not past.any():
            return parts
        (b, bd, bdd), (bx, bxd, bxdd), (bxx, bxxd, bxxdd), ideal, first0, second0 = parts
        end = COLD_SCALE / GAS_TEMPERATURES[0]
        heat = -second0 * end**2
        first0 = first0 + np.where(past > 0.0, heat * (1.0 / (end + past) - 1.0 / end), 0.0)
        second0 = np.where(past > 0.0, -heat / (end + past) ** 2, second0)
        half = 0.5 * past**2
        return ((b + bx * past + bxx * half, bd + bxd * past + bxxd * half, bdd + bxdd * past + bxxdd * half),
                (bx + bxx * past, bxd + bxxd * past, bxdd + bxxdd * past), (bxx, bxxd, bxxdd), ideal, first0, second0)

    def density(self, pressure: Number, temperature: Number) -> Array:
        """Density, kg/m3, at a pressure, Pa abs, and a temperature, K; Newton from the ideal gas."""
        pressure, temperature = np.broadcast_arrays(np.asarray(pressure, float), np.asarray(temperature, float))
        found = pressure / (self.gas_constant * temperature)
        for _ in range(30):
            here = self.at(found, temperature)
            step = (pressure - here.pressure) / np.maximum(here.pressure_by_density, 0.05 * self.gas_constant
                                                           * temperature)
            found = np.maximum(found + step, 0.1 * found)
            if not np.any(np.abs(step) > 1e-13 * found):
                break
        return found

    def at_pressure(self, pressure: Number, temperature: Number) -> At:
        """The gas at a pressure, Pa abs, and a temperature, K."""
        return self.at(self.density(pressure, temperature), temperature)

    def convection(self, at: At) -> Array:
        """What free convection goes by, (k^2/mu rho^2 beta cp)^(1/3), in W/(m2 K) / (m K/s2)^(1/3).

        k is the conductivity and mu the viscosity, from a table; beta the thermal expansion and cp the heat capacity:
        rho^2 beta cp = rho p_T cp / p_rho, cp = cv + T p_T^2 / (rho^2 p_rho), with the slopes of the pressure.
        """
        by_warmth, by_density = at.pressure_by_temperature, at.pressure_by_density
        capacity = at.heat_capacity + at.temperature * by_warmth**2 / (at.density**2 * by_density)
        transport = np.exp(self._flow(TRANSPORT, at.density, at.temperature))
        colder = np.minimum(at.temperature - FLOW_TEMPERATURES[0], 0.0)
        if np.any(colder < 0.0):  # below the table in a straight line over the temperature
            near = np.exp(self._flow(TRANSPORT, at.density, FLOW_TEMPERATURES[0] + SLOPE_OVER))
            transport = transport + (near - transport) / SLOPE_OVER * colder
        return np.cbrt(transport * at.density * by_warmth * capacity / by_density)

    def choked_flux(self, at: At) -> Array:
        """Mass flux of choked flow through a hole without losses, kg/(m2 s), of a real gas upstream."""
        by = np.exp(self._flow(CHOKED, at.density, at.temperature))
        return by * at.pressure / np.sqrt(self.gas_constant * at.temperature)

    def energy_share(self, pressure: Number, temperature: Number, outside: Number) -> Array:
        """What an expansion without heat gives, as a share of what an ideal gas of k = 1.4 gives.

        `pressure` and that `outside`, down to which it expands, Pa abs; `temperature` K. Dense cold gas becomes partly
        liquid on the way; that is in it.
        """
        pressure, temperature, outside = np.broadcast_arrays(*(
            np.asarray(each, float) for each in (pressure, temperature, outside)))
        table = _table(f"gas_{self.name}_energy")
        by_outside = _powers(_unit(np.log(outside), ENERGY_OUTSIDE).ravel(), len(table))
        by_warmth = _powers(_unit(temperature, ENERGY_TEMPERATURES).ravel(), table.shape[1])
        by_pressure = _powers(_unit(np.log(pressure), ENERGY_PRESSURES).ravel(), table.shape[2])
        left = np.einsum("zin,in->zn", np.einsum("zij,jn->zin", table, by_pressure), by_warmth)
        return np.einsum("zn,zn->n", left, by_outside).reshape(np.shape(pressure))

    def _flow(self, quantity: int, density: Number, temperature: Number) -> Array:
        density, temperature = np.broadcast_arrays(np.asarray(density, float), np.asarray(temperature, float))
        table = _table(f"gas_{self.name}_flow")[quantity]
        x = cold(temperature, FLOW_TEMPERATURES).ravel()
        y = _unit(density, (0.0, FLOW_DENSITIES * DENSITY_SCALES[self.name])).ravel()
        left = table.T @ _powers(x, len(table))
        return np.einsum("jn,jn->n", left, _powers(y, len(left))).reshape(np.shape(density))

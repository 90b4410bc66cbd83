"""Where the gas comes from: bottles one after the other, an air line, or a booster between bottles and vessel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.gas.flow import valve
from fillcalc.model.gas.vessel import Holder
from fillcalc.properties.gases import HEAT_RATIO, At, Gas

CLEARANCE = 0.1
"""Dead space of a gas cylinder over what a stroke sweeps; common practice, no source."""
FALL = 1.3e-6
"""K/Pa; Joule-Thomson effect between 200 bar and none at 15 degC, where the search begins."""
EASILY = 0.6
"""Density taken for a lower bound, over that of an ideal gas as warm as the bottle; Z is below 1.7 up to 400 bar."""
LEAST_INLET = 5e5
"""Pa abs; a booster is not fed with less, common practice."""
LEAST_FILLED = 0.2
"""Share of a stroke that must still fill with new gas; a bottle that gives less is changed, judgement."""


@dataclass(frozen=True)
class Booster:
    """An air-driven booster. Numbers of shape (N,)."""

    ratio: Array
    drive_gauge: Array
    """Pa."""
    stroke: Array
    """m3 swept in a stroke."""
    rate: Array
    """Strokes a second at no load."""

    def stall_gauge(self) -> Array:
        """Pressure at which it stalls, Pa gauge. Derived: the balance of forces, ratio times drive."""
        return self.ratio * self.drive_gauge

    def flow(self, inlet: At, outlet_abs: Array, outside_abs: Array) -> Array:
        """Mass flow, kg/s; pressures Pa abs.

        Stroke times rate times density at the inlet, less what the dead space gives back: 1 - c ((p2/p1)^(1/k) - 1).
        The rate falls as the root of what is left to the stall. Derived: the sum of swept and dead space; its
        constants are common practice.
        """
        left = np.clip(1.0 - (outlet_abs - outside_abs) / self.stall_gauge(), 0.0, 1.0)
        squeeze = np.maximum(outlet_abs / inlet.pressure, 1.0) ** (1.0 / HEAT_RATIO)
        filled = np.clip(1.0 - CLEARANCE * (squeeze - 1.0), 0.0, 1.0)
        return self.stroke * self.rate * np.sqrt(left) * filled * inlet.density


@dataclass(frozen=True)
class Supply:
    """Bottles of one kind, or an air line; numbers of shape (N,). An air line has endless volume."""

    gas: Gas
    holder: Holder
    """The bottles open together."""
    pressure_abs: Array
    """Of a full bottle, or of the line, Pa."""
    temperature: Array
    """Of the full bottle, K."""
    groups: Array
    """How many times such bottles can be opened; endless for an air line."""
    difference: Array
    """Pa: a bottle is changed where it is no more than this above the vessel."""
    change: Array
    """s to change bottles."""
    regulator_abs: Array
    """Pa, at the regulator's outlet."""
    kv: Array
    """m3/h of regulator, needle valve and hose together."""
    x_t: Array
    most: Array
    """kg/s that the supply gives at most; endless for bottles."""
    booster: Booster | None = None

    def full(self) -> At:
        """The gas in a full bottle, at its pressure in Pa abs and temperature in K. Source: as `throttled`."""
        return self.gas.at_pressure(self.pressure_abs, self.temperature)

    def change_at(self, vessel_abs: Array) -> Array:
        """The bottle pressure at which it is changed, Pa abs. Definition: the sum of vessel's pressure and difference;
        with a booster the least that it is fed with, and the least that fills its stroke."""
        if self.booster is None:
            return vessel_abs + self.difference
        return np.maximum(LEAST_INLET, vessel_abs / (1.0 + (1.0 - LEAST_FILLED) / CLEARANCE) ** HEAT_RATIO)

    def highest(self, outside_abs: Array) -> Array:
        """The highest vessel pressure that it can reach with a full bottle, Pa abs. Definition: the least of regulator,
        bottle less the difference, and the booster's stall, each times one."""
        if self.booster is not None:
            return np.minimum(self.regulator_abs, self.booster.stall_gauge() + outside_abs)
        return np.minimum(self.regulator_abs, self.pressure_abs - self.difference)

    def enthalpy(self, at: At, vessel_abs: Array) -> Array:
        """The enthalpy that the gas brings into the vessel, J/kg, whose pressure is Pa abs.

        The regulator passes no heat, so it is that of the bottle; a booster's gas is taken to cool to the surroundings
        in the line. Derived: the first law of a throttle, equal energy.
        """
        if self.booster is None:
            return at.enthalpy
        return self.gas.at_pressure(vessel_abs, self.holder.surroundings + 0.0 * vessel_abs).enthalpy

    def most_flow(self, at: At, vessel_abs: Array, outside_abs: Array, asked: Array) -> Array:
        """The most that can flow into the vessel, kg/s; pressures Pa abs.

        Gas leaves the regulator as cold as the Joule-Thomson effect makes it, and so the denser; where no more is
        `asked`, kg/s, than passes as warm gas, that is not worked out. Source: as `flow.valve`, IEC 60534-2-1.
        """
        if self.booster is not None:
            return np.minimum(self.booster.flow(at, vessel_abs, outside_abs), self.most)
        upstream = np.minimum(self.regulator_abs, at.pressure)
        density = EASILY * upstream / (self.gas.gas_constant * at.temperature)
        let = valve(self.kv, self.x_t, (upstream, density), vessel_abs)
        if not (asked <= let).all():
            density, _ = throttled(self.gas, at, upstream)
            let = valve(self.kv, self.x_t, (upstream, density), vessel_abs)
        return np.minimum(let, self.most)


def throttled(gas: Gas, at: At, pressure: Array) -> tuple[Array, Array]:
    """Density, kg/m3, and temperature, K, of a gas after a throttle to a pressure in Pa abs that passes no heat.

    Newton in density and temperature together, from a near Joule-Thomson effect. Derived: the first law, equal
    enthalpy.
    """
    enthalpy = at.enthalpy
    temperature = at.temperature - FALL * (at.pressure - pressure)
    density = np.minimum(pressure / (gas.gas_constant * temperature), at.density)
    for _ in range(2):
        here = gas.at(density, temperature)
        off, short = pressure - here.pressure, enthalpy - here.enthalpy
        by_density = here.energy_by_density + here.pressure_by_density / density - here.pressure / density**2
        by_warmth = here.heat_capacity + here.pressure_by_temperature / density
        whole = here.pressure_by_density * by_warmth - here.pressure_by_temperature * by_density
        density = density + (off * by_warmth - short * here.pressure_by_temperature) / whole
        temperature = temperature + (here.pressure_by_density * short - by_density * off) / whole
    return density, temperature

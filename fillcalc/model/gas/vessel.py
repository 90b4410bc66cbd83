"""What holds gas: its space, its wall as one lump, and the heat between gas, wall and surroundings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.properties.gases import At, Gas
from fillcalc.properties.media import GRAVITY

FREE = 0.13
"""Nu over Ra^(1/3) of turbulent free convection; F. Incropera and D. DeWitt, Fundamentals of Heat and Mass Transfer,
ch. 9 gives 0.10 to 0.15 (from memory)."""


@dataclass(frozen=True)
class Holder:
    """A vessel, or the bottles that are open together. Numbers of shape (N,)."""

    volume: Array
    """m3."""
    area: Array
    """Inside, m2; the outside is taken as large."""
    wall_heat: Array
    """Heat capacity of the wall, J/K."""
    film: Array
    """Heat passed inside as a multiple of free convection."""
    outside_film: Array
    """Heat passed from wall to surroundings, W/(m2 K)."""
    surroundings: Array
    """K."""

    def heat_to_wall(self, gas: Gas, at: At, wall: Array) -> Array:
        """Heat from the gas to its wall, W; `wall` K.

        h = 0.13 k (g beta rho^2 cp dT / (mu k))^(1/3), with the properties of the gas at its own temperature; the
        size of the vessel falls out. Source: as `FREE`, F. Incropera and D. DeWitt, ch. 9, from memory.
        """
        warmer = at.temperature - wall
        film = FREE * self.film * gas.convection(at) * np.cbrt(GRAVITY * np.abs(warmer))
        return film * self.area * warmer

    def heat_outside(self, wall: Array) -> Array:
        """Heat from the wall to the surroundings, W; `wall` K. Derived: film times area times difference."""
        return self.outside_film * self.area * (wall - self.surroundings)

    def slopes(self, at: At, flow: Array, enthalpy: Array, heat: Array) -> tuple[Array, Array]:
        """Slopes of density, kg/(m3 s), and temperature, K/s, with a flow in, kg/s, that brings `enthalpy`, J/kg,
        and `heat` lost to the wall, W.

            d(m u)/dt = W h - Q   with   du = cv dT + (du/drho) drho

        Derived: the balance of energy of an open vessel.
        """
        brought = enthalpy - at.energy - at.density * at.energy_by_density
        return flow / self.volume, (flow * brought - heat) / (at.density * self.volume * at.heat_capacity)

    def flow_for(self, at: At, rate: Array, enthalpy: Array, heat: Array) -> Array:
        """The flow in, kg/s, that raises the pressure at `rate`, Pa/s. Derived: `slopes`, in which the rate is the sum
        of the slopes of density and temperature, each times that of the pressure."""
        brought = enthalpy - at.energy - at.density * at.energy_by_density
        mass_heat = at.density * self.volume * at.heat_capacity
        by_flow = at.pressure_by_density / self.volume + at.pressure_by_temperature * brought / mass_heat
        return (rate + at.pressure_by_temperature * heat / mass_heat) / by_flow

    def fall_rate(self, at: At, heat: Array) -> Array:
        """How fast the pressure falls when nothing flows, Pa/s. Derived: `slopes` without flow, over time."""
        return at.pressure_by_temperature * heat / (at.density * self.volume * at.heat_capacity)

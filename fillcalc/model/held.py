"""A closed vessel full of water with some air in it: one mass balance from which the rest follows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fillcalc.arrays import Array
from fillcalc.properties.media import Air, Water

LEAST_PART = 0.05
"""Part of the site's pressure below which no trapped air is counted: a gauge that shows less than the head."""


@dataclass(frozen=True, eq=False, repr=False)
class Held:
    """A closed vessel. Numbers of shape (N,) or broadcasting to it.

    `volume` m3 inside, net of internals; `stretch` m3/Pa that the wall gives; `growth` m3/K that the
    shell gains on warming; `air` m3 of free air at the site's pressure; `hose` m3 in the test hose and
    `hose_stretch` m3/Pa that it gives; `outside_abs` Pa abs; water and air tables at its temperature.
    `head` Pa of water from the gauge up to the trapped air, negative where the gauge stands higher; `column` Pa of
    water from the bottom to the air.
    Derived: a balance of mass of water, air, wall and hose at one temperature.

    Every pressure is what the gauge shows where it stands. The trapped air sits at the top and sees the head less;
    the water has its density at half height, which is exact to the first order in the column; the wall's volume
    counts from the full vessel open at the top.
    """

    volume: Array
    stretch: Array
    growth: Array
    air: Array
    hose: Array
    hose_stretch: Array
    outside_abs: Array
    water: Water
    air_table: Air
    head: Array | float = 0.0
    column: Array | float = 0.0

    @cached_property
    def full_gauge(self) -> Array:
        """What the gauge shows with the vessel just full and open at the top, Pa: the head, never less than nothing.

        A gauge above the vessel shows nothing until the water reaches it. Derived: hydrostatics.
        """
        return np.maximum(self.head, 0.0) + 0.0 * self.outside_abs

    @cached_property
    def zero_abs(self) -> Array:
        """Pressure of the trapped air when the gauge shows nothing, Pa abs; a number to add, it may be negative."""
        return self.outside_abs - self.head

    def air_abs(self, gauge: Array) -> Array:
        """Pressure of the trapped air at a gauge pressure, Pa abs; at least a twentieth of the site's."""
        return np.maximum(self.zero_abs + gauge, LEAST_PART * self.outside_abs)

    def water_abs(self, gauge: Array) -> Array:
        """Pressure of the water at half height at a gauge pressure, Pa abs; at least as `air_abs`."""
        return self.air_abs(gauge) + 0.5 * self.column

    @cached_property
    def free_density(self) -> Array:
        """Density of the water at the site's pressure, kg/m3."""
        return self.water.density(self.outside_abs)

    @cached_property
    def free_air_density(self) -> Array:
        """Density of the air at the site's pressure, kg/m3."""
        return self.air_table.density(self.outside_abs)

    def at(self, gauge: Array) -> At:
        """The vessel at a gauge pressure, Pa, shape (..., N)."""
        return At(self, gauge)

    def squeezed(self, pressure_abs: Array) -> tuple[Array, Array]:
        """Volume of the pocket for each m3 of free air, and its slope, 1/Pa; real gas, isothermal.

        Pressure of the pocket, Pa abs, shape (..., N).
        """
        rho, slope = self.air_table.density_slope(pressure_abs)
        part = self.free_air_density / rho
        return part, -part * slope / rho

    def water_slopes(self, pressure_abs: Array) -> tuple[Array, Array]:
        """Water that one Pa more takes, m3/Pa at the site's pressure: without air, and for each m3
        of free air. Pressure of the trapped air, Pa abs, shape (..., N)."""
        return self.at(pressure_abs - self.zero_abs).slopes

    def between(self, start: At, end: At) -> tuple[Array, Array, Array, Array]:
        """Water from one gauge pressure to another, m3 at the site's pressure, as four parts that sum
        to the whole exactly: water squeezed, wall stretched, air squeezed, test hose.

        The two may be of a vessel that differs in its air alone. The product rule with the means of the two ends
        leaves no remainder.
        """
        rho_step, rho_mean = end.density - start.density, 0.5 * (end.density + start.density)
        rise, mean = end.gauge - start.gauge, 0.5 * (end.gauge + start.gauge)
        above = mean - self.head
        air_start, air_end = self.air * start.pocket, self.air * end.pocket
        reference = self.free_density
        return (
            (self.volume + self.stretch * above - 0.5 * (air_start + air_end)) * rho_step / reference,
            rho_mean * self.stretch * rise / reference,
            rho_mean * (air_start - air_end) / reference,
            ((self.hose + self.hose_stretch * mean) * rho_step + rho_mean * self.hose_stretch * rise) / reference,
        )

    def water_between(self, start_gauge: Array, end_gauge: Array) -> tuple[Array, Array, Array, Array]:
        """`between` two gauge pressures, Pa; m3."""
        return self.between(self.at(start_gauge), self.at(end_gauge))

    def water_to(self, start_gauge: Array, end_gauge: Array) -> Array:
        """Water from one gauge pressure to another, m3 at the site's pressure."""
        return whole(self.water_between(start_gauge, end_gauge))


def whole(parts: tuple[Array, Array, Array, Array]) -> Array:
    """The sum of the parts of the water, m3. Definition: their sum."""
    compression, wall, air, hose = parts
    return compression + wall + air + hose


@dataclass(frozen=True, eq=False)
class At:
    """A closed vessel at a gauge pressure, Pa, shape (..., N); what is asked of it is worked out once.

    Derived: the balance of `Held` and its slopes.
    """

    held: Held
    gauge: Array

    @cached_property
    def air_abs(self) -> Array:
        """Pressure of the trapped air, Pa abs."""
        return self.held.air_abs(self.gauge)

    @cached_property
    def water_abs(self) -> Array:
        """Pressure of the water at half height, Pa abs."""
        return self.held.water_abs(self.gauge)

    @cached_property
    def density(self) -> Array:
        """Density of the water, kg/m3."""
        return self._by_pressure[0]

    @cached_property
    def pocket(self) -> Array:
        """Volume of the pocket for each m3 of free air; real gas, isothermal."""
        return self._by_pressure[2]

    @cached_property
    def _by_pressure(self) -> tuple[Array, Array, Array, Array]:
        """Density of the water and its slope, pocket and its slope."""
        return (*self.held.water.density_slope(self.water_abs), *self.held.squeezed(self.air_abs))

    @cached_property
    def solid(self) -> Array:
        """Space inside vessel and hose, m3; what the trapped air takes of it is not taken off."""
        held = self.held
        return held.volume + held.hose + held.stretch * (self.gauge - held.head) + held.hose_stretch * self.gauge

    @cached_property
    def slopes(self) -> tuple[Array, Array]:
        """Water that one Pa more takes, m3/Pa at the site's pressure: without air, and for each m3 of free air."""
        held = self.held
        rho, rho_slope, part, part_slope = self._by_pressure
        by_solid = rho_slope * self.solid + rho * (held.stretch + held.hose_stretch)
        by_air = -(rho_slope * part + rho * part_slope)
        return by_solid / held.free_density, by_air / held.free_density

    @cached_property
    def compliance(self) -> Array:
        """Water that a fall of one pascal lets out, m3/Pa at the site's pressure, air and test hose in it."""
        solid, air = self.slopes
        return solid + self.held.air * air

    @cached_property
    def per_kelvin(self) -> Array:
        """Rise of the shut-in pressure for each kelvin of warming of water, air and wall, Pa/K.

        Minus dm/dT over dm/dp; the pocket is a real gas, the test hose does not grow.
        """
        held, compliance = self.held, self.compliance
        pocket = held.air * self.pocket
        warmed = (held.water.density_temperature_slope(self.water_abs) * (self.solid - pocket)
                  + self.density * (held.growth - pocket * held.air_table.expansion(self.air_abs)))
        return -warmed / (compliance * held.free_density)

"""A closed vessel full of water with some air in it: one mass balance from which the rest follows."""

from __future__ import annotations

from functools import cached_property

from fillcalc.media import Air, Water
from fillcalc.model.arrays import Array
from fillcalc.record import record


@record(frozen=True)
class Held:
    """A closed vessel. Numbers of shape (N,) or broadcasting to it.

    `volume` m3 inside, net of internals; `stretch` m3/Pa that the wall gives; `growth` m3/K that the
    shell gains on warming; `air` m3 of free air at the site's pressure; `hose` m3 in the test hose and
    `hose_stretch` m3/Pa that it gives; `outside_abs` Pa abs; water and air tables at its temperature.
    Derived: a balance of mass of water, air, wall and hose at one temperature.
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

    @cached_property
    def free_density(self) -> Array:
        """Density of the water at the site's pressure, kg/m3."""
        return self.water.density(self.outside_abs)

    @cached_property
    def free_air_density(self) -> Array:
        """Density of the air at the site's pressure, kg/m3."""
        return self.air_table.density(self.outside_abs)

    def squeezed(self, pressure_abs: Array) -> tuple[Array, Array]:
        """Volume of the pocket for each m3 of free air, and its slope, 1/Pa; real gas, isothermal.

        Pressure Pa abs, shape (..., N).
        """
        rho, slope = self.air_table.density_slope(pressure_abs)
        part = self.free_air_density / rho
        return part, -part * slope / rho

    def water_slopes(self, pressure_abs: Array) -> tuple[Array, Array]:
        """Water that one Pa more takes, m3/Pa at the site's pressure: without air, and for each m3
        of free air. Pressure Pa abs, shape (..., N)."""
        rho, rho_slope = self.water.density_slope(pressure_abs)
        part, part_slope = self.squeezed(pressure_abs)
        gauge = pressure_abs - self.outside_abs
        solid = self.volume + self.stretch * gauge + self.hose + self.hose_stretch * gauge
        by_solid = rho_slope * solid + rho * (self.stretch + self.hose_stretch)
        by_air = -(rho_slope * part + rho * part_slope)
        reference = self.free_density
        return by_solid / reference, by_air / reference

    def water_between(self, start_gauge: Array, end_gauge: Array) -> tuple[Array, Array, Array, Array]:
        """Water from one gauge pressure to another, m3 at the site's pressure, as four parts that sum
        to the whole exactly: water squeezed, wall stretched, air squeezed, test hose.

        The product rule with the means of the two ends leaves no remainder.
        """
        low, high = self.outside_abs + start_gauge, self.outside_abs + end_gauge
        rho_low, rho_high = self.water.density(low), self.water.density(high)
        rho_step, rho_mean = rho_high - rho_low, 0.5 * (rho_high + rho_low)
        air_low, air_high = (self.air * self.squeezed(p)[0] for p in (low, high))
        gain = self.stretch * (end_gauge - start_gauge)
        shell_mean = self.volume + 0.5 * self.stretch * (start_gauge + end_gauge)
        hose_mean = self.hose + 0.5 * self.hose_stretch * (start_gauge + end_gauge)
        reference = self.free_density
        return (
            (shell_mean - 0.5 * (air_low + air_high)) * rho_step / reference,
            rho_mean * gain / reference,
            rho_mean * (air_low - air_high) / reference,
            (hose_mean * rho_step + rho_mean * self.hose_stretch * (end_gauge - start_gauge)) / reference,
        )

    def water_to(self, start_gauge: Array, end_gauge: Array) -> Array:
        """Water from one gauge pressure to another, m3 at the site's pressure."""
        compression, wall, air, hose = self.water_between(start_gauge, end_gauge)
        return compression + wall + air + hose

    def pressure_per_kelvin(self, gauge: Array) -> Array:
        """Rise of the shut-in pressure for each kelvin of warming of water, air and wall, Pa/K.

        Minus dm/dT over dm/dp; the pocket is a real gas, the test hose does not grow.
        """
        pressure = self.outside_abs + gauge
        rho = self.water.density(pressure)
        rho_warm = -rho * self.water.expansion(pressure)
        part, _ = self.squeezed(pressure)
        solid = self.volume + self.stretch * gauge + self.hose + self.hose_stretch * gauge
        pocket = self.air * part
        warmed = rho_warm * (solid - pocket) + rho * (self.growth - pocket * self.air_table.expansion(pressure))
        solid_slope, air_slope = self.water_slopes(pressure)
        compliance = (solid_slope + self.air * air_slope) * self.free_density
        return -warmed / compliance

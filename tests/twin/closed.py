"""The shut vessel: mass of water inside against pressure and temperature, and what follows from differences of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, cached_property
from math import pi

from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin import properties as media
from tests.twin.inputs import Numbers, Wall, value
from tests.twin.shape import shape_of


@dataclass(frozen=True)
class ClosedVessel:
    volume: float
    gross_volume: float
    wall: Wall
    air: float
    """Trapped air at the atmosphere, m3, with that of a dry test hose."""
    hose_volume: float
    hose_stretch: float
    """m3/Pa of the whole test hose."""
    atmosphere_abs: float
    temperature: float
    surface: float
    """Height of the full vessel's water above the bottom, m."""
    gauge_height: float
    layers: tuple[tuple[float, float], ...] = ()
    """Height of the middle of each thin layer, and its part of the volume; none for the pressure at half height."""
    exponent: float = 1.0
    """Of the air as it is squeezed: p V^n is constant."""
    squeezed_from: float = 0.0
    """Gauge pressure at which the air was as cool as the water."""

    @cached_property
    def free_density(self) -> float:
        return media.water_density(self.atmosphere_abs, self.temperature)

    def pressure_at(self, gauge: float, height: float) -> float:
        """Pa abs at a height, by hydrostatics from what the gauge shows where it stands."""
        return self.atmosphere_abs + gauge + self.free_density * media.GRAVITY * (self.gauge_height - height)

    @cached_property
    def full(self) -> float:
        """What the gauge shows with the vessel just full and open."""
        return max(self.atmosphere_abs - self.pressure_at(0.0, self.surface), 0.0)

    def air_abs(self, gauge: float) -> float:
        return self.pressure_at(gauge, self.surface)

    @cached_property
    def air_mass(self) -> float:
        """kg of trapped air."""
        return self.air * media.air_density(self.atmosphere_abs, self.temperature)

    def density(self, gauge: float, warmer: float = 0.0) -> float:
        """Mean of the layers."""
        layers = self.layers or ((self.surface / 2, 1.0),)
        return sum(part * media.water_density(self.pressure_at(gauge, height), self.temperature + warmer)
                   for height, part in layers)

    def vessel_space(self, gauge: float, warmer: float = 0.0) -> float:
        """The volume is that of the full vessel open at the top."""
        above = self.air_abs(gauge) - self.atmosphere_abs
        return (self.volume + self.wall.stretch_per_pa * above * self.gross_volume
                + self.wall.growth_per_kelvin * warmer * self.volume)

    def air_space(self, gauge: float, warmer: float = 0.0) -> float:
        if self.air == 0.0:
            return 0.0
        ratio = self.air_abs(gauge) / self.air_abs(max(self.squeezed_from, self.full))
        warm = self.temperature * max(ratio, 1.0) ** (1.0 - 1.0 / self.exponent)
        return self.air_mass / media.air_density(self.air_abs(gauge), warm + warmer)

    def hose_space(self, gauge: float) -> float:
        return self.hose_volume + self.hose_stretch * gauge

    def mass(self, gauge: float, warmer: float = 0.0) -> float:
        """kg of water inside vessel and test hose."""
        space = self.vessel_space(gauge, warmer) - self.air_space(gauge, warmer) + self.hose_space(gauge)
        return self.density(gauge, warmer) * space

    def water(self, start: float, end: float) -> float:
        """m3 at the atmosphere to go from one gauge pressure to another."""
        layered = replace(self, layers=_layers(self.surface))
        return (layered.mass(end) - layered.mass(start)) / self.free_density

    @cached_property
    def water_by_pressure(self) -> Callable[[float], float]:
        """m3/Pa at a gauge pressure; integrals over the same panels ask for the same pressures."""
        return cache(self._water_by_pressure)

    def _water_by_pressure(self, gauge: float) -> float:
        density = self.density(gauge)
        slope = media.water_density_by_pressure(self.pressure_at(gauge, self.surface / 2), self.temperature)
        space = self.vessel_space(gauge) - self.air_space(gauge) + self.hose_space(gauge)
        growth = self.wall.stretch_per_pa * self.gross_volume + self.hose_stretch
        if self.air:
            air_abs = self.air_abs(gauge)
            growth += (self.air_space(gauge) * media.air_density_by_pressure(air_abs, self.temperature)
                       / media.air_density(air_abs, self.temperature))
        return (slope * space + density * growth) / self.free_density

    def parts(self, start: float, end: float) -> dict[str, float]:
        """The same water by where it goes, with the means of both ends."""
        first, last, base = self.density(start), self.density(end), self.free_density
        mean = (first + last) / 2
        inside = [self.vessel_space(p) - self.air_space(p) for p in (start, end)]
        return {
            "compression_m3": sum(inside) / 2 * (last - first) / base,
            "wall_m3": mean * (self.vessel_space(end) - self.vessel_space(start)) / base,
            "air_m3": -mean * (self.air_space(end) - self.air_space(start)) / base,
            "hose_m3": (last * self.hose_space(end) - first * self.hose_space(start)) / base,
        }

    def pressure_per_kelvin(self, gauge: float) -> float:
        """Pa/K of the shut-in vessel, by central differences of the mass."""
        small_p, small_t = max(gauge * 1e-4, 200.0), 2e-3
        by_pressure = (self.mass(gauge + small_p) - self.mass(gauge - small_p)) / (2 * small_p)
        by_warmth = (self.mass(gauge, small_t) - self.mass(gauge, -small_t)) / (2 * small_t)
        return -by_warmth / by_pressure

    def warming(self, start: float, end: float) -> float:
        """K by which the water warms when it is squeezed quickly."""
        path = solve_ivp(lambda p, t: [media.water_warming(self.pressure_at(p, self.surface / 2), t[0])], (start, end),
                         [self.temperature], rtol=1e-10, atol=1e-10)
        return float(path.y[0, -1] - self.temperature)

    def fall(self, start: float, end: float) -> float:
        """Pa that the shut-in pressure falls when what the water gained in warmth is gone again."""
        full = self.mass(end, self.warming(start, end))
        ends = self.full - 0.9 * self.atmosphere_abs, 2.0 * end + 1e5
        return end - float(brentq(lambda p: self.mass(p) - full, *ends, xtol=1e-6))

    def fall_of_shrunk_air(self, end: float, lost: float) -> float:
        """Pa that the shut-in pressure falls when water must take the place of so much of the squeezed air."""
        left = self.mass(end) - lost * self.density(end)
        if left <= self.mass(self.full):
            return end - self.full
        return end - float(brentq(lambda p: self.mass(p) - left, self.full, end, xtol=1e-7))

    def energy(self, gauge: float) -> dict[str, float]:
        """J: work against the atmosphere that comes back, for water, wall, air; and the vessel full of gas."""
        def of_water(p: float) -> float:
            absolute = self.atmosphere_abs + p  # p counts at half height
            slope = media.water_density_by_pressure(absolute, self.temperature)
            return p * slope / media.water_density(absolute, self.temperature) ** 2

        in_vessel = self.density(gauge) * (self.vessel_space(gauge) - self.air_space(gauge))
        middle = self.pressure_at(gauge, self.surface / 2) - self.atmosphere_abs
        water = in_vessel * quad(of_water, 0.0, middle, epsrel=1e-9)[0]
        return {
            "water_j": float(water),
            "wall_j": self.wall.stretch_per_pa * self.gross_volume * middle**2 / 2,
            "air_j": self._gas_energy(self.air_abs(gauge) - self.atmosphere_abs, self.air_space(gauge)),
            "all_gas_j": self._gas_energy(gauge, self.volume),
        }

    def _gas_energy(self, gauge: float, volume: float) -> float:
        """Isentropic expansion to the atmosphere, ideal gas, integrated as such: k p_a V/(k-1) is not used."""
        if volume == 0.0:
            return 0.0
        top = self.atmosphere_abs + gauge
        last = volume * (top / self.atmosphere_abs) ** (1 / media.GAMMA)
        return float(quad(lambda v: top * (volume / v) ** media.GAMMA, volume, last, epsrel=1e-10)[0])

    def with_air(self, air: float) -> ClosedVessel:
        return replace(self, air=air)


def _layers(height: float) -> tuple[tuple[float, float], ...]:
    """Even layers of a vessel with upright walls; one where there is no height. Other shapes are as symmetric."""
    many = 16 if height > 0 else 1
    return tuple((height * (place + 0.5) / many, 1 / many) for place in range(many))


def closed_vessel(case: records.Case, given: Numbers, trapped: float) -> ClosedVessel:
    """`trapped` is the air in the vessel itself, at the atmosphere."""
    height = shape_of(case.vessel).height
    hose_volume = hose_stretch = 0.0
    hose = case.test_hose
    if hose is not None:
        hose_volume = pi / 4 * float(hose.bore) ** 2 * float(hose.length)
        hose_stretch = value(hose.stretch, 0.015e-6 / 1e5) * float(hose.length)
    pocket = hose_volume if case.trapped_air.test_hose == "dry" else 0.0
    return ClosedVessel(given.volume, given.gross_volume, given.wall, trapped + pocket, hose_volume, hose_stretch,
                        given.atmosphere_abs, given.water_temperature,
                        max(height - value(case.vent.below_highest_point, 0.0), 0.0), value(case.gauge.height, 0.0))

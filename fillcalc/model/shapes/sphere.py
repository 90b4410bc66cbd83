"""A sphere. Derived: solid geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model import wall
from fillcalc.model.shapes.shape import Shape


@dataclass(frozen=True)
class Sphere(Shape):
    """A ball of an inside diameter, m."""

    diameter: Array

    def volume(self) -> Array:
        """pi D^3 / 6, m3."""
        return np.pi * np.asarray(self.diameter, float) ** 3 / 6.0

    def height(self) -> Array:
        """Its diameter, m."""
        return np.asarray(self.diameter, float)

    def volume_below(self, level: Array) -> Array:
        """A cap of a ball, m3: pi h^2 (1.5 D - h) / 3."""
        level = np.asarray(level, float)
        return np.pi * level**2 * (1.5 * np.asarray(self.diameter, float) - level) / 3.0

    def widening(self, part: Array) -> Array:
        """Share by height, from the circle at that level."""
        d = np.asarray(self.diameter, float)
        level = part * d
        chord = 2.0 * np.sqrt(np.maximum(level * (d - level), 0.0))
        return np.asarray(0.25 * np.pi * chord**2 * d / self.volume())

    def elastic(self, thickness: wall.Thickness, metal: wall.Metal, gauge: Array) -> Array:
        """Lamé's ball, m3/Pa. Source: as `wall.sphere`."""
        return self.volume() * wall.sphere(self.diameter, thickness.shell, metal.young, metal.poisson)

    def hoop(self, thickness: Array | float) -> Array | float:
        """Over the pressure, by a thickness in m. Source: as `wall.sphere_hoop`."""
        return wall.sphere_hoop(self.diameter, thickness)

    def surface(self, thickness: Array | float, water: Array) -> Array:
        """pi D^2 outside, m2."""
        return np.pi * np.asarray(self.diameter + 2.0 * thickness) ** 2

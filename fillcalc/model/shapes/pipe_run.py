"""A run of pipe. Derived: solid geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model import wall
from fillcalc.model.shapes.circle import proportional, segment
from fillcalc.model.shapes.level import LevelTable
from fillcalc.model.shapes.shape import LOWEST, Pocket, Shape


@dataclass(frozen=True)
class PipeRun(Shape):
    """A length of pipe filled from its low end: bore, length, and its far end above its inlet, m.

    Its volume goes with the level, as it rises evenly.
    """

    diameter: Array
    length: Array
    rise: Array | float

    def volume(self) -> Array:
        """pi/4 D^2 L, m3."""
        return 0.25 * np.pi * np.asarray(self.diameter, float) ** 2 * self.length

    def height(self) -> Array:
        """Its rise, m."""
        return np.asarray(self.rise, float)

    def tallest(self) -> Array:
        """Rise and bore, m."""
        return self.height() + self.diameter

    def is_even(self) -> bool:
        """Whether the section is even: it rises evenly."""
        return True

    def volume_below(self, level: Array) -> Array:
        """In proportion to the level, m3."""
        return proportional(self.volume(), self.height(), level)

    def widening(self, part: Array) -> Array:
        """Share by height: one."""
        return np.ones(np.shape(part))

    def share_above_vent(self, below_top: Array) -> Array:
        """Share that is the smaller of the pocket of a level pipe and the part of its rise above the vent."""
        d, top = np.asarray(self.diameter, float), self.height()
        level_pipe = segment(d, np.minimum(below_top, d)) / (0.25 * np.pi * d**2)
        sloping = np.where(top > 0.0, below_top / np.where(top > 0.0, top, 1.0), 1.0)
        return np.clip(np.minimum(level_pipe, sloping), 0.0, 1.0)

    def pocket(self, table: LevelTable, air: Array) -> Pocket:
        """Within its bore, along a level or sloping top, m and m2."""
        bore = np.asarray(self.diameter, float)
        cut = 0.25 * np.pi * bore**2 * self.length / np.maximum(self.height(), LOWEST)
        return Pocket(np.minimum(np.cbrt(air), bore), np.minimum(cut, bore * self.length))

    def elastic(self, thickness: wall.Thickness, metal: wall.Metal, gauge: Array) -> Array:
        """Lamé's shell, m3/Pa. Source: as `wall.cylinder`."""
        return self.volume() * wall.cylinder(self.diameter, thickness.shell, metal.young, metal.poisson,
                                             metal.anchored)

    def hoop(self, thickness: Array | float) -> Array | float:
        """Over the pressure, by a thickness in m. Source: as `wall.cylinder_hoop`."""
        return wall.cylinder_hoop(self.diameter, thickness)

    def surface(self, thickness: Array | float, water: Array) -> Array:
        """pi D L outside, m2."""
        return np.pi * np.asarray(self.diameter + 2.0 * thickness) * self.length

    def run(self) -> tuple[Array, Array] | None:
        """Its own bore and length, m."""
        return self.diameter, self.length

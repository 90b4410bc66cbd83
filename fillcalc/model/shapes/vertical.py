"""A vertical cylinder. Derived: solid geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.shapes.cylinder import Cylinder


@dataclass(frozen=True)
class VerticalCylinder(Cylinder):
    """A cylinder on its lower end; `length` is its height between the tangent lines."""

    def height(self) -> Array:
        """From tip to tip, m."""
        return np.asarray(self.length + 2.0 * self.head.depth * np.asarray(self.diameter), float)

    def volume_below(self, level: Array) -> Array:
        """Lower end, shell and upper end, m3. Derived: solid geometry."""
        d, level = np.asarray(self.diameter, float), np.asarray(level, float)
        depth = self.head.depth * d
        bottom = self.head.upright_below(d, np.minimum(level, depth))
        body = 0.25 * np.pi * d**2 * np.clip(level - depth, 0.0, self.length)
        upper = self.head.volume * d**3 - self.head.upright_below(d, np.clip(self.height() - level, 0.0, depth))
        return bottom + body + upper

    def widening(self, part: Array) -> Array:
        """Share by height, from the circle at that level."""
        if self.is_even():
            return np.ones(np.shape(part))
        d, top = np.asarray(self.diameter, float), self.height()
        level = part * top
        inward = np.minimum(np.minimum(level, top - level), self.head.depth * d)
        radius = self.head.radius(inward / d) * d
        return np.asarray(np.pi * radius**2 * top / self.volume())

    def is_even(self) -> bool:
        """Whether its ends are flat."""
        return self.head.depth == 0.0

    def panels(self) -> tuple[Array | float, ...]:
        """The tangent lines, and where crown and knuckle of a dished end meet, as a share of the height."""
        marks = [mark * np.asarray(self.diameter, float) / self.height() for mark in self.head.elevations]
        return (0.0, *marks, *(1.0 - mark for mark in reversed(marks)), 1.0)

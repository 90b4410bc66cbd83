"""A horizontal cylinder. Derived: solid geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.shapes.circle import segment
from fillcalc.model.shapes.cylinder import Cylinder


@dataclass(frozen=True)
class HorizontalCylinder(Cylinder):
    """A cylinder on its side."""

    def height(self) -> Array:
        """Its diameter, m."""
        return np.asarray(self.diameter, float)

    def volume_below(self, level: Array) -> Array:
        """A segment along the shell, and its two ends, m3. Derived: solid geometry."""
        d, level = np.asarray(self.diameter, float), np.asarray(level, float)
        return self.length * segment(d, level) + 2.0 * self.head.lying_below(d, level)

    def widening(self, part: Array) -> Array:
        """Share by height of a strip along the shell and of its two ends."""
        d = np.asarray(self.diameter, float)
        level = part * d
        chord = 2.0 * np.sqrt(np.maximum(level * (d - level), 0.0))
        surface = self.length * chord + 2.0 * self.head.lying_surface(d, level)
        return np.asarray(surface * d / self.volume())

    def panels(self) -> tuple[Array | float, ...]:
        """Bottom and top of the crown of a dished end, as a share of the height."""
        return (0.0, *self.head.levels, 1.0)

"""A body of no known shape. Derived: geometry, of a prism."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model import wall
from fillcalc.model.shapes.circle import proportional
from fillcalc.model.shapes.level import LevelTable
from fillcalc.model.shapes.shape import LOWEST, Pocket, Shape


@dataclass(frozen=True)
class KnownVolume(Shape):
    """A valve body or a vessel known by its volume, m3 (here `gross`), and its height `top`, m, alone.

    Its volume goes with the level.
    """

    gross: Array
    top: Array | float

    def volume(self) -> Array:
        """As given, m3."""
        return np.asarray(self.gross, float)

    def height(self) -> Array:
        """As given, m."""
        return np.asarray(self.top, float)

    def is_even(self) -> bool:
        """Whether the section is even: taken so."""
        return True

    def volume_below(self, level: Array) -> Array:
        """In proportion to the level, m3."""
        return proportional(self.volume(), self.height(), level)

    def widening(self, part: Array) -> Array:
        """Share by height: one."""
        return np.ones(np.shape(part))

    def pocket(self, table: LevelTable, air: Array) -> Pocket:
        """A round pocket bounds the thickness, m, and volume over height is the surface, m2."""
        gross, top = self.volume(), self.height()
        flat = np.where(top > LOWEST, gross / np.maximum(top, LOWEST), np.cbrt(gross) ** 2)
        return Pocket(np.cbrt(air), flat)

    def elastic(self, thickness: wall.Thickness, metal: wall.Metal, gauge: Array) -> Array:
        """Not known, NaN m3/Pa: a thickness says nothing without a diameter."""
        return np.full_like(self.volume(), np.nan)

    def surface(self, thickness: Array | float, water: Array) -> Array:
        """That of a cube of its water, m2. Derived: geometry, 6 V^(2/3)."""
        return 6.0 * np.cbrt(water) ** 2

"""What every shape of a vessel has to answer. A new shape is a subclass in a file of its own.

Derived: solid geometry; the walls as `fillcalc.model.wall`.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model import wall
from fillcalc.model.shapes.level import NODES, LevelTable

LOWEST = 1e-3
"""Height in m, of a vessel or a run, below which it counts as level."""


@dataclass(frozen=True)
class Pocket:
    """Trapped air under pressure in one piece: `thickness` m, and the `surface` m2 that it shares with the water."""

    thickness: Array
    surface: Array


class Shape(ABC):
    """The inside of one vessel, with nothing in it; a frozen dataclass of lengths in m, floats or arrays (N,).

    Levels are in m above the lowest inside point, arrays that broadcast against the shape. Shapes are the same upside
    down, so what holds for water at the bottom holds for air at the top.
    """

    @abstractmethod
    def volume(self) -> Array:
        """Volume inside, m3."""

    @abstractmethod
    def height(self) -> Array:
        """From the lowest inside point to the highest, m; of a pipe run its rise."""

    @abstractmethod
    def volume_below(self, level: Array) -> Array:
        """Volume below a level from 0 to the height, m3."""

    @abstractmethod
    def widening(self, part: Array) -> Array:
        """Share of the volume for each part of the height, at a level over height of 0 to 1: the slope of
        `volume_below` over the volume, one for an even section."""

    @abstractmethod
    def elastic(self, thickness: wall.Thickness, metal: wall.Metal, gauge: Array) -> Array:
        """Volume gained for each pascal of a wall of known thickness, m3/Pa, up to a gauge pressure in Pa."""

    @abstractmethod
    def surface(self, thickness: Array | float, water: Array) -> Array:
        """Outside surface that loses heat, m2, round a wall of a thickness in m, zero where it is not known.

        `water` is what it holds, m3, by which a body of no known shape goes.
        """

    def is_even(self) -> bool:
        """Whether the section is the same at every level, so that the volume goes with the level."""
        return False

    def panels(self) -> tuple[Array | float, ...]:
        """Levels as a share of the height, from 0 to 1, between which the surface changes smoothly."""
        return (0.0, 1.0)

    def tallest(self) -> Array:
        """No inside point is higher above the bottom than this, m."""
        return self.height()

    def share_above_vent(self, below_top: Array) -> Array:
        """Share of the volume that lies above a vent which sits `below_top` m under the highest point."""
        return np.clip(self.volume_below(np.minimum(below_top, self.height())) / self.volume(), 0.0, 1.0)

    def level_table(self) -> LevelTable:
        """The table for one vessel (numbers in m, not arrays); 2049 nodes, level good to 3e-7 of the height."""
        if self.is_even():
            return LevelTable(np.empty(0), np.empty(0), True)
        part = np.sin(np.linspace(0.0, 0.5 * np.pi, NODES)) ** 2
        share = self.volume_below(part * self.height()) / self.volume()
        return LevelTable(np.arcsin(np.sqrt(np.clip(share, 0.0, 1.0))), part, False)

    def pocket(self, table: LevelTable, air: Array) -> Pocket:
        """The pocket of so much air, m3 at its own pressure, at the highest point.

        It lies as the same volume of water would at the bottom, and is never thicker than a round pocket.
        Derived: solid geometry.
        """
        gross, top = self.volume(), self.height()
        part = table(air / gross)
        return Pocket(np.minimum(np.cbrt(air), part * top), self.widening(part) * gross / top)

    def stretch(self, given: wall.Wall, metal: wall.Metal, gauge: Array) -> Array:
        """Volume gained for each pascal of gauge pressure, m3/Pa; that of a flat end falls towards `gauge`, Pa."""
        match given:
            case wall.Rigid():
                return np.zeros_like(self.volume())
            case wall.Gain():
                return self.volume() * given.share / given.gauge
            case wall.Thickness():
                return self.elastic(given, metal, gauge)

    def hoop(self, thickness: Array | float) -> Array | float:
        """Hoop stress at the bore of a wall of a thickness in m, over the pressure; NaN where a thickness alone does
        not tell it."""
        return np.nan

    def flat_end(self, given: wall.Wall, metal: wall.Metal) -> wall.FlatEnd | None:
        """One flat end of known thickness, m; None for every other end."""
        return None

    def collapse(self, given: wall.Wall, metal: wall.Metal) -> Array | float:
        """Outside pressure that folds it, Pa, as `wall.collapse`; infinite where that is not known."""
        return np.inf

    def run(self) -> tuple[Array, Array] | None:
        """Bore and length in m along which the water flows through it; None for a vessel that it stands in."""
        return None

"""What a cylinder with two ends has, whichever way it stands. Derived: solid geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model import wall
from fillcalc.model.shapes.heads import FLAT, HEMISPHERICAL, Head
from fillcalc.model.shapes.shape import Shape


@dataclass(frozen=True)
class Cylinder(Shape):
    """Inside diameter, and length between the tangent lines, m; its two ends are alike."""

    diameter: Array
    length: Array
    head: Head = FLAT

    def volume(self) -> Array:
        """Shell and two ends, m3: pi/4 D^2 L + 2 v D^3."""
        d = np.asarray(self.diameter, float)
        return 0.25 * np.pi * d**2 * self.length + 2.0 * self.head.volume * d**3

    def elastic(self, thickness: wall.Thickness, metal: wall.Metal, gauge: Array) -> Array:
        """The shell's strain over the whole volume, m3/Pa; hemispherical ends as a ball, flat ends with their bulge.

        Derived: Lamé's shells and the plate of `wall.FlatEnd`.
        """
        by_shell = wall.cylinder(self.diameter, thickness.shell, metal.young, metal.poisson, metal.anchored)
        give = self.volume() * by_shell
        if self.head is HEMISPHERICAL:
            ends = np.pi * self.diameter**3 / 6.0
            return give + ends * (wall.sphere(self.diameter, thickness.shell, metal.young, metal.poisson) - by_shell)
        end = self.flat_end(thickness, metal)
        return give if end is None else give + 2.0 * end.stretch(gauge)

    def hoop(self, thickness: Array | float) -> Array | float:
        """Of the shell, over the pressure, by a thickness in m. Source: as `wall.cylinder_hoop`."""
        return wall.cylinder_hoop(self.diameter, thickness)

    def flat_end(self, given: wall.Wall, metal: wall.Metal) -> wall.FlatEnd | None:
        """One flat end of known thickness, m, or None."""
        if not isinstance(given, wall.Thickness) or given.end is None or self.head is not FLAT:
            return None
        return wall.FlatEnd(self.diameter, given.end, metal.young, metal.poisson, given.end_fixity)

    def collapse(self, given: wall.Wall, metal: wall.Metal) -> Array | float:
        """Of the shell between its ends, Pa. Source: as `wall.collapse`."""
        if not isinstance(given, wall.Thickness):
            return np.inf
        return wall.collapse((self.diameter, self.length), given.shell, metal.young, metal.poisson)

    def surface(self, thickness: Array | float, water: Array) -> Array:
        """Shell and two ends, m2, which count as flat whatever they are: pi D (L + D/2)."""
        outside = np.asarray(self.diameter + 2.0 * thickness)
        return np.pi * outside * (self.length + 0.5 * self.diameter)

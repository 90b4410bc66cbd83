"""The ends of a cylinder: flat, hemispherical, elliptical 2:1 and dished. Lengths go by the inside diameter.

Derived: solid geometry, held against `fluids.TANK` in the tests.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from math import asin, cos, pi, sin, sqrt
from types import MappingProxyType

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.quadrature import gauss
from fillcalc.model.shapes.circle import segment

DISH_KNUCKLE = 0.1
"""Knuckle radius over diameter of a dished end, its crown radius being the diameter (DIN 28011)."""
NODES = 24


class Head(ABC):
    """One end of a cylinder. `depth` is over the inside diameter, `volume` over its cube."""

    depth: float
    volume: float
    elevations: tuple[float, ...]
    """Distances from the tip over the diameter at which the surface of an upright end stops being smooth."""
    levels: tuple[float, ...] = ()
    """The same for an end on its side: levels over the diameter between bottom and top."""

    @abstractmethod
    def radius(self, elevation: Array) -> Array:
        """Ratio of radius to diameter at a distance from the tip over the diameter, at most the depth."""

    @abstractmethod
    def upright_below(self, diameter: Array, level: Array) -> Array:
        """Volume of a lower end below a level above its tip, m3; levels in m, at most the depth."""

    @abstractmethod
    def lying_below(self, diameter: Array, level: Array) -> Array:
        """Volume of an end on its side below a level above the lowest point of the cylinder, m3."""

    @abstractmethod
    def lying_surface(self, diameter: Array, level: Array) -> Array:
        """Surface of the water in an end on its side at such a level, m2."""


class Flat(Head):
    """A flat end, with nothing in it."""

    depth = 0.0
    volume = 0.0
    elevations = ()

    def radius(self, elevation: Array) -> Array:
        """Ratio of radius to diameter: a half."""
        return np.full(np.shape(elevation), 0.5)

    def upright_below(self, diameter: Array, level: Array) -> Array:
        """Nothing, as of every flat end: 0 m3 or m2."""
        return np.zeros(np.broadcast_shapes(np.shape(diameter), np.shape(level)))

    def lying_below(self, diameter: Array, level: Array) -> Array:
        """Nothing, as of every flat end: 0 m3 or m2."""
        return np.zeros(np.broadcast_shapes(np.shape(diameter), np.shape(level)))

    def lying_surface(self, diameter: Array, level: Array) -> Array:
        """Nothing, as of every flat end: 0 m3 or m2."""
        return np.zeros(np.broadcast_shapes(np.shape(diameter), np.shape(level)))


class Ellipsoidal(Head):
    """Half of an ellipsoid of revolution."""

    def __init__(self, depth: float) -> None:
        self.depth = depth
        self.volume = pi / 6.0 * depth
        self.elevations = (depth,)

    def radius(self, elevation: Array) -> Array:
        """Ratio of radius to diameter, of an ellipse."""
        return np.asarray(0.5 * np.sqrt(np.maximum(1.0 - (1.0 - elevation / self.depth) ** 2, 0.0)))

    def upright_below(self, diameter: Array, level: Array) -> Array:
        """A cap of an ellipsoid, m3: pi (D/2)^2 h^2 (3 a - h) / (3 a^2) with the half axis a."""
        axis = self.depth * diameter
        return pi * (0.5 * diameter) ** 2 * level**2 * (3.0 * axis - level) / (3.0 * axis**2)

    def lying_below(self, diameter: Array, level: Array) -> Array:
        """2 a/D of half a cap of the ball round it, m3: the ellipsoid is that ball, flattened."""
        return 2.0 * self.depth * pi * level**2 * (1.5 * diameter - level) / 6.0

    def lying_surface(self, diameter: Array, level: Array) -> Array:
        """Half an ellipse, m2."""
        half_chord = np.sqrt(np.maximum(level * (diameter - level), 0.0))
        return pi * self.depth * half_chord**2


class Dished(Head):
    """A crown of the radius of the diameter and a knuckle of a tenth of it: DIN 28011."""

    def __init__(self) -> None:
        knuckle, centre = DISH_KNUCKLE, 0.5 - DISH_KNUCKLE
        self.angle = asin(centre / (1.0 - knuckle))
        """Where the crown meets the knuckle, rad from the axis."""
        self.crown_depth = 1.0 - cos(self.angle)
        self.depth = 1.0 - sqrt((1.0 - knuckle) ** 2 - centre**2)
        self.volume = self._volume(centre)
        self.elevations = (self.crown_depth, self.depth)
        crown = 0.5 - sin(self.angle)
        self.levels = (crown, 1.0 - crown)
        x, w = gauss(NODES)
        around = self.angle + (0.5 * pi - self.angle) * x
        self._profile_radius = np.concatenate([np.sin(self.angle * x), centre + knuckle * np.sin(around)])
        self._profile_step = np.concatenate([self.angle * w * np.sin(self.angle * x),
                                             (0.5 * pi - self.angle) * w * knuckle * np.sin(around)])

    def _volume(self, centre: float) -> float:
        """A cap of a ball and a ring of a torus, integrated along the axis; 0.0990. Derived: by hand."""
        knuckle, angle = DISH_KNUCKLE, self.angle
        cap = pi * self.crown_depth**2 * (3.0 - self.crown_depth) / 3.0
        turn = 0.5 * pi - angle
        ring = pi * knuckle * (centre**2 * cos(angle) + centre * knuckle * (turn + sin(angle) * cos(angle))
                               + knuckle**2 * (cos(angle) - cos(angle) ** 3 / 3.0))
        return cap + ring

    def radius(self, elevation: Array) -> Array:
        """Ratio of radius to diameter, of the crown below and of the knuckle above."""
        crown = np.sqrt(np.maximum(elevation * (2.0 - elevation), 0.0))
        knuckle = 0.5 - DISH_KNUCKLE + np.sqrt(np.maximum(DISH_KNUCKLE**2 - (self.depth - elevation) ** 2, 0.0))
        return np.where(elevation < self.crown_depth, crown, knuckle)

    def upright_below(self, diameter: Array, level: Array) -> Array:
        """A cap in closed form and the knuckle by Gauss quadrature, m3."""
        z = level / diameter
        in_crown = np.minimum(z, self.crown_depth)
        crown = pi * in_crown**2 * (3.0 - in_crown) / 3.0
        end = np.arccos(np.clip((self.depth - np.maximum(z, self.crown_depth)) / DISH_KNUCKLE, -1.0, cos(self.angle)))
        x, w = gauss(NODES)
        at = self.angle + (end - self.angle) * x.reshape((-1,) + (1,) * np.ndim(end))
        ring = pi * (0.5 - DISH_KNUCKLE + DISH_KNUCKLE * np.sin(at)) ** 2 * DISH_KNUCKLE * np.sin(at)
        return (crown + np.tensordot(w, ring, (0, 0)) * (end - self.angle)) * diameter**3

    def lying_below(self, diameter: Array, level: Array) -> Array:
        """Segments of circles, summed over the depth by Gauss quadrature, m3."""
        z = np.asarray(level / diameter)
        radius = self._profile_radius.reshape((-1,) + (1,) * z.ndim)
        area = segment(2.0 * radius, np.clip(z - 0.5 + radius, 0.0, 2.0 * radius))
        return np.tensordot(self._profile_step, area, (0, 0)) * diameter**3

    def lying_surface(self, diameter: Array, level: Array) -> Array:
        """The depth of crown and knuckle, summed across the chord by Gauss quadrature, m2."""
        half_chord = np.sqrt(np.maximum(level * (diameter - level), 0.0))
        off, widest = np.asarray(level / diameter - 0.5), np.asarray(half_chord / diameter)
        x, w = (node.reshape((-1,) + (1,) * off.ndim) for node in gauss(NODES))
        crown_wide = np.sqrt(np.maximum(sin(self.angle) ** 2 - off**2, 0.0))
        across = crown_wide * x
        crown = (np.sqrt(1.0 - off**2 - across**2) - (1.0 - self.depth)) * w * crown_wide
        across = crown_wide + (widest - crown_wide) * np.sin(0.5 * pi * x)
        step = (widest - crown_wide) * 0.5 * pi * np.cos(0.5 * pi * x) * w
        out = np.sqrt(off**2 + across**2) - (0.5 - DISH_KNUCKLE)
        knuckle = np.sqrt(np.maximum(DISH_KNUCKLE**2 - out**2, 0.0)) * step
        return 2.0 * (crown + knuckle).sum(axis=0) * diameter**2


FLAT, HEMISPHERICAL, ELLIPTICAL, DISHED = Flat(), Ellipsoidal(0.5), Ellipsoidal(0.25), Dished()

HEADS: Mapping[str, Head] = MappingProxyType({
    "flat": FLAT, "hemispherical": HEMISPHERICAL, "elliptical 2:1": ELLIPTICAL, "dished": DISHED})
"""By the word in a file."""

"""How much a vessel gains under pressure and on warming."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from fillcalc.arrays import Array

MEMBRANE = (0.146, 0.262)
"""Cube of the bulge over the thickness that a plate resists with as a membrane, rim clamped and rim free to turn, both
free to draw in; S. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., table 82; the same from
R. Roark's 0.857 and 0.376 (from memory)."""
THICK_PART = 0.5
"""Bulge over thickness from which a flat end carries as a membrane and the plate's own formula no longer holds."""


@dataclass(frozen=True)
class Metal:
    """What a wall is made of: Young's modulus in Pa, Poisson's ratio, linear expansion in 1/K."""

    young: Array
    poisson: Array
    expansion: Array
    anchored: bool = False
    """Cannot grow lengthwise."""


@dataclass(frozen=True)
class Rigid:
    """A wall that gives nothing."""


@dataclass(frozen=True)
class Gain:
    """A wall known by the share of its volume that the vessel gains at a gauge pressure, Pa."""

    share: Array
    gauge: Array


@dataclass(frozen=True)
class Thickness:
    """A wall of known thickness, m, and that of flat ends, None where they give nothing."""

    shell: Array
    end: Array | None = None
    end_fixity: Array | float = 1.0
    """As in `FlatEnd`."""


Wall: TypeAlias = Thickness | Gain | Rigid
"""What is known of a wall."""


def cylinder(diameter: Array | float, wall: Array, young: Array, poisson: Array, anchored: bool = False) -> Array:
    """Gain in volume over volume and pressure of a thick cylinder, 1/Pa.

    Inside diameter and wall in m, Young's modulus in Pa; shapes broadcast. Closed ends, free to grow
    lengthwise, or anchored (plane strain). Source: Lamé, as in S. Timoshenko, Strength of Materials
    II, 3rd ed., ch. VI; from 2 x hoop strain + axial strain at the bore.
    """
    k2 = (1.0 + 2.0 * wall / diameter) ** 2
    if anchored:
        return 2.0 * (1.0 + poisson) * (1.0 - 2.0 * poisson + k2) / (young * (k2 - 1.0))
    return (3.0 * (1.0 - 2.0 * poisson) + 2.0 * k2 * (1.0 + poisson)) / (young * (k2 - 1.0))


def sphere(diameter: Array, wall: Array, young: Array, poisson: Array) -> Array:
    """Gain in volume over volume and pressure of a thick sphere, 1/Pa; arguments as `cylinder`.

    Source: Lamé, as in S. Timoshenko and J. Goodier, Theory of Elasticity, 3rd ed., art. 136.
    """
    k3 = (1.0 + 2.0 * wall / diameter) ** 3
    return 1.5 * (k3 * (1.0 + poisson) + 2.0 * (1.0 - 2.0 * poisson)) / (young * (k3 - 1.0))


def cylinder_hoop(diameter: Array | float, wall: Array | float) -> Array | float:
    """Hoop stress at the bore of a cylinder over the pressure, a ratio; diameter and wall in m, shapes broadcast.

    (k^2 + 1) / (k^2 - 1), k outside over inside diameter; D / 2t of a thin wall. Source: as `cylinder`.
    """
    k = 1.0 + 2.0 * wall / diameter
    return (k**2 + 1.0) / (k**2 - 1.0)


def sphere_hoop(diameter: Array | float, wall: Array | float) -> Array | float:
    """The same of a sphere: (k^3 + 2) / (2 k^3 - 2), a ratio; m, shapes broadcast; D / 4t. Source: as `sphere`."""
    k = 1.0 + 2.0 * wall / diameter
    return 0.5 * (k**3 + 2.0) / (k**3 - 1.0)


@dataclass(frozen=True)
class FlatEnd:
    """One flat end: a thin round plate, thinner than about a fifth of its diameter.

    `diameter` and `thickness` m, `young` Pa. `fixity` is the share of the clamping moment that the shell puts on the
    rim: 1 clamped, 0 simply supported; between them the two deflections mix in that proportion. Source: S. Timoshenko
    and S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., art. 16 and 17.
    """

    diameter: Array
    thickness: Array
    young: Array
    poisson: Array
    fixity: Array | float = 1.0

    def slight(self) -> Array:
        """Bulge at the centre for each pascal while it is small, m/Pa: a^4 / (64 D) clamped, (5 + nu)/(1 + nu) of that
        simply supported."""
        stiffness = self.young * self.thickness**3 / (12.0 * (1.0 - self.poisson**2))
        free = (5.0 + self.poisson) / (1.0 + self.poisson)
        return (0.5 * self.diameter) ** 4 / (64.0 * stiffness) * (self.fixity + (1.0 - self.fixity) * free)

    def bulge(self, gauge: Array) -> Array:
        """Bulge at the centre at a gauge pressure in Pa, m: x + A x^3 = slight bulge, all over the thickness.

        From memory: `MEMBRANE`, mixed by the fixity as the deflections are.
        """
        clamped, free = MEMBRANE
        membrane = self.fixity * clamped + (1.0 - self.fixity) * free
        slight = self.slight() * gauge / self.thickness
        third = np.arcsinh(1.5 * np.sqrt(3.0 * membrane) * slight) / 3.0
        return self.thickness * 2.0 * np.sinh(third) / np.sqrt(3.0 * membrane)

    def stretch(self, gauge: Array) -> Array:
        """Volume that it gives way up to a gauge pressure in Pa, over that pressure, m3/Pa.

        A third of pi a^2 times the bulge when clamped, (7 + nu)/(1 + nu) of the clamped volume when simply supported.
        As a membrane it gives less in the proportion of the bulges.
        """
        slight = self.slight()
        stiffness = self.young * self.thickness**3 / (12.0 * (1.0 - self.poisson**2))
        free = (7.0 + self.poisson) / (1.0 + self.poisson)
        swept = np.pi * (0.5 * self.diameter) ** 6 / (192.0 * stiffness) * (self.fixity + (1.0 - self.fixity) * free)
        return swept * self.bulge(gauge) / (slight * gauge)


def thermal(expansion: Array, poisson: Array, anchored: bool = False) -> Array:
    """Gain in volume over volume and temperature, 1/K, from the linear expansion in 1/K.

    Three times the linear expansion when free; 2 (1 + nu) times when held lengthwise (plane strain).
    Derived: Hooke's law with the length free or held.
    """
    return 2.0 * (1.0 + poisson) * expansion if anchored else 3.0 * expansion


def collapse(size: tuple[Array, Array], wall: Array, young: Array, poisson: Array) -> Array:
    """Outside pressure, less what stands inside, at which a perfect cylinder folds, Pa.

    `size` is diameter and length between stiff ends, m; wall m; Young's modulus Pa; shapes broadcast. For
    short thin shells that fold elastically; dents bring real ones to a quarter of it. Infinite for a shell so short
    that the formula has no meaning. Source: D. Windenburg and C. Trilling, Trans. ASME 56 (1934) 819, eq. 9 (from
    memory).
    """
    diameter, length = size
    slim = wall / diameter
    span = length / diameter - 0.45 * np.sqrt(slim)
    top = 2.42 * young * slim**2.5 / (1.0 - poisson**2) ** 0.75
    return np.where(span > 0.0, top / np.where(span > 0.0, span, 1.0), np.inf)


def collapse_long(diameter: Array, wall: Array, young: Array, poisson: Array) -> Array:
    """Return the outside pressure, less that inside, at which a long perfect tube folds, Pa.

        p = 2 E / (1 - nu^2) (t / D)^3

    Diameter and wall m, Young's modulus Pa; shapes broadcast. For thin tubes without stiffeners that fold
    elastically; dents bring real ones to a quarter of it. Source: M. Bresse, as in S. Timoshenko and J. Gere, Theory
    of Elastic Stability (1961), ch. 7 (from memory).
    """
    return 2.0 * young / (1.0 - poisson**2) * (wall / diameter) ** 3

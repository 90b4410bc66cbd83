"""How much a vessel gains under pressure and on warming."""

from __future__ import annotations

import numpy as np

from fillcalc.model.arrays import Array


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


def flat_end(diameter: Array, thickness: Array, young: Array, poisson: Array) -> Array:
    """Volume that one clamped flat end gives way, over pressure, m3/Pa; arguments as `cylinder`.

    Thin plate, clamped at the rim: below a thickness of about a fifth of the diameter. Source: S.
    Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., art. 17.
    """
    radius = 0.5 * diameter
    return np.pi * radius**6 * (1.0 - poisson**2) / (16.0 * young * thickness**3)


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

"""A volume in the place of one dimension: the dimension that gives it, in closed form or by Newton's method.

Checked against the volumes of `fillcalc.model.shapes`.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case import records
from fillcalc.case.pipes import pipe
from fillcalc.model.shapes import HEADS, Shape
from fillcalc.tree import at, put
from fillcalc.units import UnitProblem

STEPS = 8
"""Newton steps; from above, each squares the error, and the first is no more than a third."""
SHORTEST = 1e-3
"""m; the legal range of a height. A volume drawn smaller than the two ends gives this."""


def length_of(volume: Array | float, diameter: Array | float, ends: str = "flat") -> Array | float:
    """Length in m between the tangent lines of a cylinder of a volume in m3; negative where its ends hold more."""
    return (volume - 2.0 * HEADS[ends].volume * diameter**3) / (0.25 * pi * diameter**2)


def diameter_of(volume: Array | float, length: Array | float, ends: str = "flat") -> Array:
    """Inside diameter in m of a cylinder of a volume in m3 and a length in m; shapes broadcast.

    Solves `2 e D^3 + pi/4 L D^2 = V`, a cubic that rises with D, from above.
    """
    cubic, square = 2.0 * HEADS[ends].volume, 0.25 * pi * np.asarray(length, float)
    diameter = np.sqrt(volume / square)
    if cubic > 0.0:
        diameter = np.minimum(diameter, np.cbrt(volume / cubic))
        for _ in range(STEPS):
            over = (cubic * diameter + square) * diameter**2 - volume
            diameter = diameter - over / ((3.0 * cubic * diameter + 2.0 * square) * diameter)
    return diameter


def sized(vessel: records.Vessel) -> records.Vessel:
    """The vessel with the dimension filled in that its volume, or its nominal size, stands for.

    Unchanged where nothing is missing, or more than can be filled in. Leaves are floats or arrays.
    """
    if isinstance(vessel, records.PipeRun) and vessel.diameter is None and vessel.size is not None \
            and vessel.schedule is not None:
        try:
            bore, wall = pipe(vessel.size, vessel.schedule)
        except UnitProblem:  # the reader tells of it
            return vessel
        vessel = replace(vessel, diameter=bore, wall=wall if vessel.wall is None else vessel.wall)
    names = vessel.dimensions
    empty = [name for name in names if getattr(vessel, name) is None]
    volume = getattr(vessel, "volume", None)
    if len(empty) != 1 or volume is None:
        return vessel
    (name,), ends = empty, getattr(vessel, "ends", None) or "flat"
    if names == ("diameter",):
        value = np.cbrt(6.0 / pi * volume)
    elif name == "diameter":
        value = diameter_of(volume, getattr(vessel, names[1]), ends)
    else:
        value = np.maximum(length_of(volume, at(vessel, "diameter"), ends), SHORTEST)
    return put(vessel, name, value if np.ndim(value) else float(value))


def inside_of(vessel: records.Vessel) -> Shape | None:
    """The inside of a vessel as far as it is known; None where a dimension is missing."""
    vessel = sized(vessel)
    if any(getattr(vessel, name) is None for name in vessel.dimensions or ("volume",)):
        return None
    return vessel.inside()


def sphere_diameter(volume: float) -> float:
    """Diameter in m of a sphere of a volume in m3."""
    return float(np.cbrt(6.0 / pi * volume))


BY_SHAPE = (0.606, 1.0, 1.817)
"""Height of a lying cylinder three diameters long, of a sphere, and of a standing cylinder three diameters high, over
the diameter of a sphere of the same volume. Derived: V = pi/6 D^3, and pi/4 D^2 L with L = 3 D."""

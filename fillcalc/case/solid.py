"""A volume in the place of one dimension: the dimension that gives it, by the volumes of `fillcalc.model.shapes`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from math import cbrt, pi
from typing import TYPE_CHECKING

from fillcalc.arrays import Array, first
from fillcalc.case import records
from fillcalc.case.pipes import pipe
from fillcalc.case.shape_of import leaves_of
from fillcalc.tree import put
from fillcalc.units import UnitProblem

if TYPE_CHECKING:
    from fillcalc.model.shapes import Shape

SHORTEST, LONGEST = 1e-3, 1e7
"""m; ends of what a dimension may be. A volume smaller than what the two ends hold gives the shortest."""
HALVINGS = 64
"""Of the logarithm between them: to the last figure."""


def dimension_of(vessel: records.Vessel, name: str, volume: Array | float) -> Array:
    """Return the dimension of a vessel, m, at which it has a volume, m3; all others are there. Shapes broadcast.

    By halving, for any shape: the volume rises with every dimension.
    """
    import numpy as np

    low, high = np.log(SHORTEST), np.log(LONGEST)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        is_less = put(vessel, name, np.exp(middle)).inside().volume() < volume
        low, high = np.where(is_less, middle, low), np.where(is_less, high, middle)
    return np.exp(low)


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
    value = dimension_of(vessel, empty[0], volume)
    return put(vessel, empty[0], value if value.ndim else float(value))


def inside_of(vessel: records.Vessel) -> Shape | None:
    """The inside of a vessel as far as it is known; None where a dimension is missing."""
    vessel = sized(vessel)
    if any(getattr(vessel, name) is None for name in vessel.dimensions or ("volume",)):
        return None
    return vessel.inside()


def follows(vessel: records.Vessel, assumed: Iterable[records.Assumption]) -> Iterator[tuple[str, str, float]]:
    """Key, family and SI value, at likely values, of each dimension, or of the volume, that follows from what is given.

    What was assumed follows from nothing.
    """
    whole, inside = sized(vessel), inside_of(vessel)
    taken = {item.path for item in assumed}
    for key in (*vessel.dimensions, "volume"):
        if getattr(vessel, key, 0.0) is not None or f"vessel.{key}" in taken or inside is None:
            continue
        value = inside.volume() if key == "volume" else getattr(whole, key)
        yield key, leaves_of(type(vessel))[key].families[0], first(value)


def sphere_diameter(volume: float) -> float:
    """Diameter in m of a sphere of a volume in m3."""
    return cbrt(6.0 / pi * volume)


BY_SHAPE = (0.606, 1.0, 1.817)
"""Height of a lying cylinder three diameters long, of a sphere, and of a standing cylinder three diameters high, over
the diameter of a sphere of the same volume. Derived: V = pi/6 D^3, and pi/4 D^2 L with L = 3 D."""

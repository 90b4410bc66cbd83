"""Parts of a circle and of a body of even section that every shape is built of."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array


def segment(diameter: Array, level: Array) -> Array:
    """Area of a circle below a level above its lowest point, m2; both in m, shapes broadcast.

    r^2 (a - sin a cos a) with cos a = 1 - level / r. Derived: geometry, a sector less a triangle.
    """
    radius = 0.5 * diameter
    safe = np.where(radius > 0.0, radius, 1.0)
    angle = np.arccos(np.clip(1.0 - level / safe, -1.0, 1.0))
    return radius * radius * (angle - np.sin(angle) * np.cos(angle))


def proportional(volume: Array, top: Array, level: Array) -> Array:
    """Volume below a level of a body whose volume goes with the level, m3; all of it where it has no height.

    Derived: geometry, the same section at every level.
    """
    return volume * np.where(top > 0.0, level / np.where(top > 0.0, top, 1.0), 1.0)

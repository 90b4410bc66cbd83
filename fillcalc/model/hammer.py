"""The surge when the last air leaves: the water in the fill line stops as it meets the vent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array
from fillcalc.properties.media import HEAT_CAPACITY_RATIO as RATIO

WAVE_SPEEDS = (300.0, 1400.0)
"""m/s; from a soft hose to a rigid pipe (from memory; water without a wall has 1,480 m/s). The bound takes the last."""
BISECTIONS = 60


@dataclass(frozen=True)
class Column:
    """The water that moves in the fill line: the bores and lengths of its hoses, m, one entry for each."""

    bores: tuple[Array, ...]
    lengths: tuple[Array, ...]
    density: Array

    def inertance(self) -> Array:
        """Pressure for each rate of change of flow, Pa s2/m3. Derived: Newton's law for a column of water."""
        rows = [self.density * length / _area(bore) for bore, length in zip(self.bores, self.lengths, strict=True)]
        return np.add.reduce(rows)


def _area(bore: Array) -> Array:
    return 0.25 * np.pi * np.square(bore)


def joukowsky(density: Array | float, wave_speed: Array | float, speed: Array | float) -> Array | float:
    """Rise of pressure where a column of water is stopped at once, Pa: rho c dv; kg/m3, m/s, m/s.

    Shapes broadcast. Source: N. Joukowsky, Über den hydraulischen Stoss in Wasserleitungsröhren, 1898 (from memory).
    """
    return density * wave_speed * speed


def surge(column: Column, lost_flow: Array, compliance: Array, air: Array, outside_abs: Array) -> Array:
    """Most rise of pressure in the vessel when the flow of the line falls by `lost_flow`, m3/s; Pa.

    Joukowsky's rise in the narrowest hose is the bound of a vessel that does not give. One that does takes up the
    column's energy: `compliance`, m3/Pa, is that of water and wall, and `air` the free air that is left, m3, squeezed
    without losing heat. The lower of the two counts. All of shape (N,), or broadcasting.
    Derived: 1/2 I dQ^2 = 1/2 C p^2 + work on the air; held against the method of characteristics in the tests.
    """
    speed = lost_flow / np.minimum.reduce([_area(bore) for bore in column.bores])
    bound = np.asarray(joukowsky(column.density, WAVE_SPEEDS[-1], speed))
    moving = 0.5 * column.inertance() * np.square(lost_flow)
    low, high = np.zeros_like(bound), bound
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        takes = 0.5 * compliance * np.square(middle) + _squeezed(air, middle, outside_abs) < moving
        low, high = np.where(takes, middle, low), np.where(takes, high, middle)
    return high


def _squeezed(air: Array, rise: Array, outside_abs: Array) -> Array:
    """Work of a gauge pressure on free air, heat kept in, without that of the air outside, J."""
    ratio = 1.0 + rise / outside_abs
    kept = ratio ** (-1.0 / RATIO)
    return outside_abs * air * ((ratio * kept - 1.0) / (RATIO - 1.0) - (1.0 - kept))

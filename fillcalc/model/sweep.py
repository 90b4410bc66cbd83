"""Sweeping air out of the high points of a pipe run by the flow of the water."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array
from fillcalc.properties.media import GRAVITY

SAFETY = 1.1
"""S_F of Escarameia (2007)."""
POCKETS = ((0.06, 0.45), (0.12, 0.50), (0.30, 0.57), (2.0, 0.61))
"""Upper end of n = pocket over (pi D^3/4), and a; the bands from memory, the form read."""


def pocket_term(pocket: Array, bore: Array) -> Array:
    """a of Escarameia for a pocket in m3 in a pipe of a bore in m; beyond n = 2 that of the largest. Broadcasts.

    Source: as `clearing_speed`.
    """
    n = pocket / (0.25 * np.pi * bore**3)
    ends = np.array([end for end, _ in POCKETS[:-1]])
    return np.array([a for _, a in POCKETS])[np.searchsorted(ends, n, side="right")]


def clearing_speed(bore: Array, slope: Array, term: Array, safety: float = SAFETY) -> Array:
    """Speed of the water that carries a pocket down the leg after a high point, m/s.

    v = S sqrt(g D) (0.56 sqrt(sin slope) + a). Bore in m, slope of the downstream leg in rad, `term` a of
    `pocket_term`. Shapes broadcast. Good to 22.5 degrees in 150 mm; steeper or smaller is extrapolated.
    Source: M. Escarameia, Investigating hydraulic removal of air from water pipelines, Proc. ICE Water
    Management 160 (2007) 25; form read, a from memory.
    """
    return np.asarray(safety * np.sqrt(GRAVITY * bore) * (0.56 * np.sqrt(np.sin(slope)) + term))


def speed(flow: Array, bore: Array) -> Array:
    """Speed in m/s of a flow in m3/s in a bore in m. Definition: flow over area."""
    return np.asarray(flow / (0.25 * np.pi * bore**2))

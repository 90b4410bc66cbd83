"""Evenly spread points for the draws, read when first asked for."""

from __future__ import annotations

import os

import numpy as np

from fillcalc.arrays import Array

DRAWS = 8192
"""Points in a set: a power of two, on which the balance of Sobol points rests."""
MOST_COLUMNS = 32
"""Inputs that can be drawn at once."""


def sobol(columns: int) -> Array:
    """Scrambled Sobol points, shape (8192, columns), each strictly between 0 and 1.

    Every column takes each of the 8192 equal slices once, at a place of its own inside the slice to
    1/65536. Always the same points. Raises ValueError for more than 32 columns. Source: Joe and Kuo, SIAM
    J. Sci. Comput. 30 (2008) 2635, scrambled by Matousek, as scipy.stats.qmc makes them.
    """
    if not 0 <= columns <= MOST_COLUMNS:
        raise ValueError(f"{columns} columns asked for; there are {MOST_COLUMNS}")
    stored = np.load(os.path.join(os.path.dirname(__file__), "tables", "sobol.npy"))
    spread: Array = (stored[:columns] + 0.5) * (1.0 / 65536.0)
    return spread.T

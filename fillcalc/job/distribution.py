"""How the values of an uncertain input are spread between its low and its high end: one place for all of them."""

from __future__ import annotations

import numpy as np

from fillcalc.case.records import Range
from fillcalc.model.arrays import Array

LOGARITHMIC_FROM = 5.0
"""High over low above which a range of positive values is spread in the logarithm."""


def quantile(asked: Range, rank: Array) -> Array:
    """Return the value below which a share `rank` of all values lies.

    `rank` is from 0 to 1, any shape; the result has its shape and the unit of the range.

    Two values are flat: `low + (high - low) p`. With a likely value m that is the median, half of all values lie on
    each side, and each side thins out linearly to its end, with the density `(x - low)/(m - low)^2` below and
    `(high - x)/(high - m)^2` above:

        x = low  + (m - low)  sqrt(2 p)          p <= 1/2
        x = high - (high - m) sqrt(2 (1 - p))    p >= 1/2

    Where all are positive and high/low is above 5, the same holds for the logarithms. A side of no width has its half
    of the values at m. Derived: the integrals of the two densities, inverted.
    """
    low, high, likely = asked.low, asked.high, asked.likely
    rank = np.asarray(rank, float)
    if not high > low:
        return np.full(rank.shape, low)
    if likely is None:
        return np.asarray(low + (high - low) * rank)
    if low > 0.0 and high > LOGARITHMIC_FROM * low:
        spread = np.exp(_two_sides(float(np.log(low)), float(np.log(likely)), float(np.log(high)), rank))
    else:
        spread = _two_sides(low, likely, high, rank)
    return np.where(rank == 0.5, likely, np.clip(spread, low, high))


def _two_sides(low: float, middle: float, high: float, rank: Array) -> Array:
    below = low + (middle - low) * np.sqrt(2.0 * np.minimum(rank, 0.5))
    above = high - (high - middle) * np.sqrt(2.0 * (1.0 - np.maximum(rank, 0.5)))
    return np.where(rank < 0.5, below, above)

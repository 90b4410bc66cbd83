"""How the values of an uncertain input are spread between its low and its high end: one place for all of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Range

LOGARITHMIC_FROM = 5.0
"""High over low above which a range of positive values is spread in the logarithm."""


def quantile(asked: Range, rank: Array) -> Array:
    """Return the value below which a share `rank` of all values lies, as `quantiles` of one range.

    `rank` is from 0 to 1, any shape; the result has its shape and the unit of the range.
    """
    rank = np.asarray(rank, float)
    return quantiles([asked], rank.reshape(1, -1)).reshape(rank.shape)


def quantiles(asked: Sequence[Range], rank: Array) -> Array:
    """Return the values below which a share `rank` of all values of each range lies.

    `rank` is from 0 to 1, shape (ranges, n); the result has its shape and in each row the unit of its range.

    Two values are flat: `low + (high - low) p`. With a likely value m that is the median, half of all values lie on
    each side, and each side thins out linearly to its end, with the density `(x - low)/(m - low)^2` below and
    `(high - x)/(high - m)^2` above:

        x = low  + (m - low)  sqrt(2 p)          p <= 1/2
        x = high - (high - m) sqrt(2 (1 - p))    p >= 1/2

    Where all are positive and high/low is above 5, the same holds for the logarithms. A side of no width has its half
    of the values at m; a range of no width all of them. Derived: the integrals of the two densities, inverted.
    """
    ends = np.array([(each.low, each.low if each.likely is None else each.likely, each.high) for each in asked], float)
    flat = np.array([each.likely is None for each in asked])
    in_log = ~flat & (ends[:, 0] > 0.0) & (ends[:, 2] > LOGARITHMIC_FROM * ends[:, 0])
    bent = ends.copy()
    bent[in_log] = np.log(ends[in_log])
    values = _two_sides(bent, rank)
    values[in_log] = np.exp(values[in_log])
    low, middle, high = (column[:, None] for column in ends.T)
    values = np.where(rank == 0.5, middle, np.clip(values, low, high))
    values[flat] = (low + (high - low) * rank)[flat]
    return np.where(high > low, values, low)


def _two_sides(ends: Array, rank: Array) -> Array:
    low, middle, high = (column[:, None] for column in ends.T)
    below = low + (middle - low) * np.sqrt(2.0 * np.minimum(rank, 0.5))
    above = high - (high - middle) * np.sqrt(2.0 * (1.0 - np.maximum(rank, 0.5)))
    return np.where(rank < 0.5, below, above)

"""Low, likely and high of samples."""

from __future__ import annotations

import numpy as np

from fillcalc.arrays import Array

PERCENTS = (0.10, 0.50, 0.90)
"""Low, likely and high: one sample in ten lies below, half, nine in ten."""


def percentiles(values: Array, finished_only: bool = False) -> Array:
    """Low, likely and high along the last axis; shape (3, ...).

    Straight between neighbours, the k-th of n sorted values standing for (k - 1)/(n - 1) of them. What is not finite
    counts as larger than all that is, and a percentile among it is NaN; with `finished_only` it is left out.
    """
    finite = np.isfinite(values)
    if finite.all() or not finished_only:
        return _quantiles(np.where(finite, values, np.inf))
    flat = values.reshape(-1, values.shape[-1])
    rows = [row[np.isfinite(row)] for row in flat]
    each = np.stack([_quantiles(row) if row.size else np.full(len(PERCENTS), np.nan) for row in rows], axis=-1)
    return each.reshape(len(PERCENTS), *values.shape[:-1])


NEAR_MIDDLE = 0.25
"""How far from the middle of the samples, as a part of the way to the nearer end, the run at likely values still stands
for the likely figure; judgement. It keeps the figure the same as in tables and pictures, which need one run."""


def low_likely_high(at_likely_values: Array, drawn: Array, finished_only: bool = False) -> Array:
    """Low, likely and high along the last axis of the samples, (3, ...), as `percentiles`.

    The likely figure is that of the run at likely values, (...), where this lies near the middle of the samples; else
    the middle.
    """
    low, middle, high = percentiles(drawn, finished_only)
    nearer = np.fmin(middle - low, high - middle)
    is_near = np.abs(at_likely_values - middle) <= NEAR_MIDDLE * nearer
    return np.stack([low, np.where(is_near, at_likely_values, middle), high])


def _quantiles(values: Array) -> Array:
    places = np.multiply(PERCENTS, values.shape[-1] - 1)
    lower = np.floor(places).astype(int)
    upper = np.minimum(lower + 1, values.shape[-1] - 1)
    ordered = np.partition(values, sorted({*lower.tolist(), *upper.tolist()}), axis=-1)
    low, high = ordered[..., lower], ordered[..., upper]
    part = places - lower
    known = np.where(part > 0.0, high, low) < np.inf
    step = np.where(known, high, 0.0) - np.where(known, low, 0.0)
    return np.moveaxis(np.where(known, np.where(known, low, np.nan) + step * part, np.nan), -1, 0)

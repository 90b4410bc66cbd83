"""Least squares with errors that are correlated in time, and weighted mixtures of normal errors."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf
from statistics import NormalDist

import numpy as np

from fillcalc.arrays import Array

LEAST, MOST = 0.0, 0.97
"""Of the autocorrelation from one point to the next."""
NODES = 24
"""Normal deviates that stand for a normal error, each in the middle of its part of the whole."""


def durbin_watson(residual: Array) -> float:
    """Return the sum of the squared differences of neighbouring residuals over the sum of their squares.

    About 2 (1 - r) with r their autocorrelation: 2 without any, near 0 with a slow wander. Source: J. Durbin and
    G. Watson, Biometrika 37 (1950) 409 (from memory).
    """
    square = float(residual @ residual)
    return float(np.sum(np.diff(residual) ** 2)) / square if square > 0.0 else 2.0


def autocorrelation(residual: Array, unknowns: int) -> float:
    """Return the first-order autocorrelation of residuals, made up for what the fit took of it.

    Of n points the plain figure r is too low by about (unknowns + 3 r)/n. Source: the form of F. Marriott and J. Pope,
    Biometrika 41 (1954) 390, for a mean (from memory); with more unknowns judgement.
    """
    square = float(residual @ residual)
    if not square > 0.0:
        return LEAST
    plain = float(residual[1:] @ residual[:-1]) / square
    return float(np.clip(plain + (unknowns + 3.0 * plain) / len(residual), LEAST, MOST))


def whitened(columns: Array, steps: Array, phi: float) -> Array:
    """Return columns, shape (n, ...), with each row less its part of the row before, so that errors with the
    autocorrelation `phi` over one step have no correlation and the same size.

    `steps`, shape (n - 1,), are the steps between the rows, 1 for the usual one: r = phi^step, and each row is
    (y_i - r y_(i-1)) / sqrt(1 - r^2), the first as it is. Source: S. Prais and C. Winsten, Cowles Commission paper 383
    (1954) (from memory), with the step in the exponent.
    """
    if phi <= 0.0:
        return columns
    part = phi**steps
    size = np.sqrt(1.0 - part**2)
    shape = (-1, *[1] * (columns.ndim - 1))
    later = (columns[1:] - part.reshape(shape) * columns[:-1]) / size.reshape(shape)
    return np.concatenate([columns[:1], later])


@dataclass(frozen=True)
class Solved:
    """Least squares for several goals at once: unknowns (columns, goals), their covariance for errors of size one
    (columns, columns), and what is left of each goal with the known rows below it (rows, goals)."""

    unknown: Array
    covariance: Array
    left: Array


def least_squares(columns: Array, goals: Array, known: Array) -> Solved:
    """Return the unknowns of columns (n, k) for goals (n, m), all with errors of size one.

    `known`, shape (k,), is the size of each unknown over that of its error where it is known to be near zero, as one
    over a standard deviation; 0 where nothing is known of it. Columns that the rows and what is known leave open have
    no answer: LinAlgError.
    """
    wide = np.vstack([columns, np.diag(known)])
    size = np.linalg.norm(wide, axis=0)
    size = np.where(size > 0.0, size, 1.0)
    first, root = np.linalg.qr(wide / size)
    target = np.vstack([goals, np.zeros((len(known), goals.shape[1]))])
    inverse = np.linalg.inv(root)
    unknown = inverse @ (first.T @ target) / size[:, None]
    covariance = inverse @ inverse.T / np.outer(size, size)
    return Solved(unknown, covariance, target - wide @ unknown)


def spare_points(points: int, unknowns: int, phi: float) -> float:
    """Return how many points are to spare, at least 3, each of so many that hang together by `phi` being as much as
    (1 - phi)/(1 + phi) of one that stands alone. Derived: the variance of a mean of an autoregressive series."""
    return max(points * (1.0 - phi) / (1.0 + phi) - unknowns, 3.0)


def student(spare: float) -> Array:
    """Return `NODES` deviates of Student's distribution, each the middle of an equal part of it.

    The normal deviates widened by the terms in 1/spare up to the third. Range: 3 and more. Source: M. Abramowitz and
    I. Stegun, Handbook of Mathematical Functions (1964), 26.7.5 (from memory).
    """
    normal = NormalDist()
    z = np.array([normal.inv_cdf((place + 0.5) / NODES) for place in range(NODES)])
    n = max(spare, 3.0)
    return np.asarray(z + (z**3 + z) / (4 * n) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * n**2)
                      + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * n**3))


def below(deviate: Array) -> Array:
    """Return the share of a normal distribution below deviates, at least 1e-12; by the error function."""
    each = [0.5 * (1.0 + erf(float(one) / 2.0**0.5)) for one in np.ravel(deviate)]
    return np.maximum(np.array(each).reshape(np.shape(deviate)), 1e-12)


def quantiles(values: Array, weights: Array, shares: tuple[float, ...]) -> tuple[float, ...]:
    """Return the values below which these shares of the weight lie; both arrays have one shape."""
    order = np.argsort(values, axis=None)
    sorted_, weight = np.ravel(values)[order], np.ravel(weights)[order]
    below = np.cumsum(weight) - 0.5 * weight
    return tuple(float(np.interp(share * weight.sum(), below, sorted_)) for share in shares)

"""Quantiles of Student's t and of the beta distribution, and the uncertainty of a counted share.

Plain numbers in and out, double precision; the tests hold them to scipy's.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import exp, lgamma, log, log1p, sqrt

ROUNDS = 400
TINY = 1e-300
NORMAL_95 = 1.959963984540054
"""Normal deviate that 95 of 100 stay within, either way."""


def beta_below(x: float, a: float, b: float) -> float:
    """Return the chance that a beta-distributed share lies below `x`, from 0 to 1: the regularised incomplete beta
    function I_x(a, b).

    By its continued fraction (Abramowitz and Stegun 1964, 26.5.8), evaluated by Lentz's method.
    """
    if not 0.0 < x < 1.0:
        return 0.0 if x <= 0.0 else 1.0
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x))
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - front * _fraction(1.0 - x, b, a) / b
    return front * _fraction(x, a, b) / a


def _fraction(x: float, a: float, b: float) -> float:
    c, d = 1.0, 1.0 / _kept(1.0 - (a + b) * x / (a + 1.0))
    value = d
    for m in range(1, ROUNDS):
        for part in (m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)),
                     -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))):
            d, c = 1.0 / _kept(1.0 + part * d), _kept(1.0 + part / c)
            value *= d * c
        if abs(d * c - 1.0) < 1e-15:
            break
    return value


def _kept(value: float) -> float:
    return value if abs(value) > TINY else TINY


def beta_quantile(rank: float, a: float, b: float) -> float:
    """Return the share, from 0 to 1, below which a beta-distributed one lies with the chance `rank`."""
    return _root(lambda x: beta_below(x, a, b) - rank, 0.0, 1.0)


def t_below(t: float, freedom: float) -> float:
    """Return the chance that Student's t with so many degrees of freedom lies below `t`.

    Half of I_x(freedom/2, 1/2) with x = freedom/(freedom + t^2) lies beyond t (Abramowitz and Stegun 1964, 26.7.1).
    """
    beyond = 0.5 * beta_below(freedom / (freedom + t * t), 0.5 * freedom, 0.5)
    return 1.0 - beyond if t > 0.0 else beyond


@lru_cache(maxsize=256)
def t_quantile(rank: float, freedom: float) -> float:
    """Return the value below which Student's t with so many degrees of freedom lies with the chance `rank`."""
    if rank == 0.5:
        return 0.0
    if rank < 0.5:
        return -t_quantile(1.0 - rank, freedom)
    high = 2.0
    while t_below(high, freedom) < rank:
        high *= 2.0
    return _root(lambda t: t_below(t, freedom) - rank, 0.0, high)


def _root(rising: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if rising(middle) < 0.0 else (low, middle)
    return 0.5 * (low + high)


def wilson(hits: int, of: int, deviate: float = NORMAL_95) -> tuple[float, float]:
    """Return low and high of the share that `hits` of so many tell of, 95 of 100 such spans holding the true one.

    (p + z^2/2n -+ z sqrt(p (1 - p)/n + z^2/4n^2)) / (1 + z^2/n), the score interval of Wilson 1927. (0, 1) of none.
    """
    if of <= 0:
        return 0.0, 1.0
    share, square = hits / of, deviate * deviate / of
    half = deviate * sqrt(share * (1.0 - share) / of + square / (4.0 * of))
    low, high = ((share + 0.5 * square + sign * half) / (1.0 + square) for sign in (-1.0, 1.0))
    return max(low, 0.0), min(high, 1.0)

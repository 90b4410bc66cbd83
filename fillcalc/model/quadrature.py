"""Gauss-Legendre nodes, and the map that makes a pump-up smooth."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from fillcalc.arrays import Array


@lru_cache(maxsize=16)
def gauss(n: int) -> tuple[Array, Array]:
    """Nodes in (0, 1) and weights of n-point Gauss-Legendre, each of shape (n,).

    Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 25.4.30; Golub and Welsch, Math. Comp. 23 (1969)
    221 (from memory).
    """
    k = np.arange(1.0, n)
    beside = k / np.sqrt(4.0 * k**2 - 1.0)
    nodes, vectors = np.linalg.eigh(np.diag(beside, 1) + np.diag(beside, -1))
    return 0.5 * (nodes + 1.0), vectors[0] ** 2


def below_anchor(edges_abs: Array, anchor_abs: Array, n: int) -> tuple[Array, Array]:
    """Nodes and weights for integrals over pressure that stay smooth up to the anchor.

    The map p = anchor exp(-y^2) takes both a pole at zero pressure (squeezed air) and a square-root
    zero of the flow at the anchor (a stall).

    Args:
        edges_abs: panel edges, rising on axis 0, Pa abs, shape (m + 1, N); none above the anchor.
        anchor_abs: Pa abs, shape (N,).
        n: nodes in each panel.

    Returns:
        Pressures (m, n, N) in Pa abs, rising on the first two axes, and weights (m, n, N) in Pa, so
        that the sum of weight x f over axis 1 is the integral of f over each panel. Derived: a change of variable.
    """
    nodes, weights = gauss(n)
    y = np.sqrt(np.maximum(np.log(anchor_abs / edges_abs), 0.0))
    start, width = y[:-1, None, :], (y[1:] - y[:-1])[:, None, :]
    here = start + nodes[:, None] * width
    pressure = anchor_abs * np.exp(-here * here)
    return pressure, -2.0 * here * pressure * width * weights[:, None]

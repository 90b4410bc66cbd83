"""Adapters: flat ends, and thin walls under vacuum."""

from __future__ import annotations

from typing import Any

import numpy as np

from fillcalc.model import wall


def flat_end(diameter: float, thickness: float, young: float, poisson: float) -> float:
    """Volume that a clamped end gives while its bulge is slight, m3/Pa."""
    end = wall.FlatEnd(np.asarray(diameter), np.asarray(thickness), np.asarray(young), np.asarray(poisson))
    return float(end.stretch(np.asarray(1.0)))


def folding(diameter: float, length: float, thickness: float, young: float, poisson: float) -> float:
    size = (np.asarray(diameter), np.asarray(length))
    return float(wall.collapse(size, np.asarray(thickness), np.asarray(young), np.asarray(poisson)))


ADAPTERS: dict[str, Any] = {
    "volume that a clamped flat end gives": flat_end,
    "pressure at which a thin cylinder folds": folding,
}

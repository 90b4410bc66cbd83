"""The level in a vessel against how much of it is filled. Derived: solid geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array

NODES = 2049


@dataclass(frozen=True)
class LevelTable:
    """Level over height against the filled share: `angle` is arcsin(sqrt(share)), rising."""

    angle: Array
    level: Array
    straight: bool

    def __call__(self, share: Array) -> Array:
        """Level as a part of the height for a filled share of 0 to 1, any shape."""
        if self.straight:
            return np.asarray(share, float)
        return np.interp(np.arcsin(np.sqrt(np.clip(share, 0.0, 1.0))), self.angle, self.level)

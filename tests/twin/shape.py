"""Level against volume, from the tank geometry of fluids; prisms and pipe runs by hand."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any

import fluids
import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin import inputs

NODES = 2001


@dataclass(frozen=True)
class Shape:
    gross_volume: float
    height: float
    _volume_at: Any
    _level_at: Any

    def volume_at(self, level: float) -> float:
        """Gross volume below a level."""
        return float(self._volume_at(min(max(level, 0.0), self.height)))

    def level_at(self, share: float) -> float:
        """Level when this share of the volume is filled."""
        return float(self._level_at(min(max(share, 0.0), 1.0)))


def shape_of(vessel: records.Vessel) -> Shape:
    if isinstance(vessel, records.PipeRun):
        bore, _ = inputs.pipe(vessel)
        return _prism(pi / 4 * bore**2 * float(vessel.length), float(vessel.rise or 0.0))
    if isinstance(vessel, records.ValveBody | records.ByVolume):
        return _prism(float(vessel.volume), float(vessel.height or 0.0))
    if isinstance(vessel, records.Sphere):
        radius = float(vessel.diameter) / 2
        return _tabulated(lambda h: pi * h**2 * (radius - h / 3), 2 * radius)
    if isinstance(vessel, records.StandingCylinder):
        if vessel.ends == "flat":
            return _prism(pi / 4 * float(vessel.diameter) ** 2 * float(vessel.height), float(vessel.height))
        tank = _tank(vessel, float(vessel.height), horizontal=False)
        return _tabulated(tank.V_from_h, float(tank.h_max))
    assert isinstance(vessel, records.LyingCylinder)
    tank = _tank(vessel, float(vessel.length), horizontal=True)
    return _tabulated(tank.V_from_h, float(tank.h_max))


def _tank(vessel: Any, length: float, horizontal: bool) -> Any:
    diameter = float(vessel.diameter)
    heads: dict[str, Any] = {
        "flat": {},
        "hemispherical": {"sideA": "spherical", "sideB": "spherical",
                          "sideA_a": diameter / 2, "sideB_a": diameter / 2},
        "elliptical 2:1": {"sideA": "ellipsoidal", "sideB": "ellipsoidal",
                           "sideA_a": diameter / 4, "sideB_a": diameter / 4},
        "dished": {"sideA": "torispherical", "sideB": "torispherical",
                   "sideA_f": 1.0, "sideB_f": 1.0, "sideA_k": 0.1, "sideB_k": 0.1},
    }[vessel.ends]
    return fluids.TANK(D=diameter, L=length, horizontal=horizontal, **heads)


def _prism(volume: float, height: float) -> Shape:
    return Shape(volume, height,
                 lambda level: volume * level / height if height else volume,
                 lambda share: height * share)


def _tabulated(volume_at: Any, height: float) -> Shape:
    """A fine table in variables that straighten both ends, so that no root finder runs within the fill."""
    angle = np.linspace(0.0, pi, NODES)
    levels = height * (1 - np.cos(angle)) / 2
    volumes = np.array([0.0, *[float(volume_at(level)) for level in levels[1:-1]], float(volume_at(height))])
    total = float(volumes[-1])
    filled = np.arcsin(np.sqrt(np.clip(volumes / total, 0.0, 1.0)))
    table = PchipInterpolator(filled, angle)

    def level_at(share: float) -> float:
        return height * (1 - np.cos(float(table(np.arcsin(np.sqrt(share)))))) / 2

    return Shape(total, height, volume_at, level_at)


def level_exact(shape: Shape, share: float) -> float:
    """The same level by a root finder; slow, a check on the table."""
    return float(brentq(lambda h: shape.volume_at(h) - share * shape.gross_volume, 0.0, shape.height, xtol=1e-14))

"""Adapters: volumes, levels and stretch of vessels; pipe sizes."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import brentq

from fillcalc.case.ends import flat_end_thickness
from fillcalc.case.pipes import pipe
from fillcalc.model import wall
from tests.shapes import shape


def stretch(form: str, thickness: float, young: float, poisson: float, pressure: float,
            diameter: float | None = None, outside_diameter: float | None = None) -> float:
    """Gain of volume over volume at a pressure: of a "free" or "anchored" cylinder, or a "sphere"."""
    if diameter is None:
        assert outside_diameter is not None
        diameter = outside_diameter - 2.0 * thickness
    if form == "sphere":
        return pressure * wall.sphere(diameter, thickness, young, poisson)
    return pressure * wall.cylinder(diameter, thickness, young, poisson, form == "anchored")


def stretch_constant(form: str, radius_over_wall: float, young: float, poisson: float) -> float:
    """Gain of volume over volume and pressure, for one radius over wall, 1/Pa."""
    return wall.cylinder(2.0 * radius_over_wall, 1.0, young, poisson, form == "anchored") / radius_over_wall


def volume(form: str, ends: str = "flat", diameter: float | None = None, span: float = 0.0,
           outside_diameter: float | None = None, thickness: float = 0.0) -> float:
    if diameter is None:
        assert outside_diameter is not None
        diameter = outside_diameter - 2.0 * thickness
    return float(shape(form, ends, diameter, span).volume())


def volume_below(form: str, diameter: float, level: float, ends: str = "flat", span: float = 0.0) -> float:
    return float(shape(form, ends, diameter, span).volume_below(np.asarray(level)))


def plate_load(fixity: float, bulge_over_thickness: float, poisson: float) -> float:
    """q a^4 / (E t^4) under which a round plate bulges by so many thicknesses."""
    end = wall.FlatEnd(2.0, 0.01, 2e11, poisson, fixity)
    load = brentq(lambda q: float(end.bulge(q)) - bulge_over_thickness * 0.01, 1e-3, 1e12, xtol=1e-6)
    return load / (2e11 * 0.01**4)


def plate_bulge(fixity: float, poisson: float) -> float:
    """w E t^3 / (q a^4) of a round plate that bulges slightly."""
    return float(wall.FlatEnd(2.0, 0.01, 2e11, poisson, fixity).slight()) * 2e11 * 0.01**3


ADAPTERS: dict[str, Any] = {
    "load of a bulging plate": plate_load,
    "slight bulge of a plate": plate_bulge,
    "thickness of a flat end": lambda diameter, design, test: flat_end_thickness(diameter, design, test),
    "stretch of a wall": stretch,
    "stretch constant of a thin wall": stretch_constant,
    "volume of a vessel": volume,
    "volume below a level": volume_below,
    "bore of a pipe size": lambda size, schedule: pipe(size, schedule)[0],
    "wall of a pipe size": lambda size, schedule: pipe(size, schedule)[1],
}

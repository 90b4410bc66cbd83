"""Adapters: a closed vessel full of water."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import brentq

from fillcalc.model import wall
from fillcalc.model.held import Held
from fillcalc.properties.media import STANDARD_ATMOSPHERE, air, water
from tests.shapes import shape


def held(temperature: float, volume: float, stretch: float = 0.0, growth: float = 0.0, pocket: float = 0.0) -> Held:
    """A vessel at sea level: m3, m3/Pa, m3/K, m3 of free air."""
    return Held(volume, stretch, growth, pocket, 0.0, 0.0, STANDARD_ATMOSPHERE, water(temperature), air(temperature))


def need_rigid(temperature: float, volume: float, pressure_gauge: float) -> float:
    return held(temperature, volume).water_to(0.0, pressure_gauge)


def need_of_mass(temperature: float, mass: float, pressure_gauge: float) -> float:
    """Water squeezed into a rigid vessel that holds this mass under pressure; m3."""
    full = mass / water(temperature).density(STANDARD_ATMOSPHERE + pressure_gauge)
    return need_rigid(temperature, full, pressure_gauge)


def need_by_stretch(temperature: float, volume: float, pressure_gauge: float, gain: float,
                    pocket: float = 0.0) -> float:
    """Water into a vessel that gains this share of its volume at the pressure."""
    return held(temperature, volume, volume * gain / pressure_gauge, 0.0, pocket).water_to(0.0, pressure_gauge)


def times_air_free(pocket: float, **given: Any) -> float:
    return need_by_stretch(pocket=pocket, **given) / need_by_stretch(**given)


def need_pipe(form: str, temperature: float, outside_diameter: float, thickness: float, length: float,
              pressure_gauge: float, young: float, poisson: float) -> float:
    bore = outside_diameter - 2.0 * thickness
    volume = float(shape("pipe", diameter=bore, span=length).volume())
    give = wall.cylinder(bore, thickness, young, poisson, form == "anchored")
    return held(temperature, volume, volume * give).water_to(0.0, pressure_gauge)


def need_sphere(temperature: float, diameter: float, thickness: float, pressure_gauge: float, young: float,
                poisson: float) -> float:
    volume = float(shape("sphere", diameter=diameter).volume())
    give = wall.sphere(diameter, thickness, young, poisson)
    return held(temperature, volume, volume * give).water_to(0.0, pressure_gauge)


def pocket_take(temperature: float, pocket: float, pressure_gauge: float) -> float:
    """Water that takes the place of a squeezed pocket."""
    return pocket * (1.0 - pocket_share(temperature, pressure_gauge))


def pocket_share(temperature: float, pressure_gauge: float) -> float:
    return held(temperature, 0.0, pocket=1.0).squeezed(STANDARD_ATMOSPHERE + pressure_gauge)[0]


def plot_intercept(temperature: float, pressure_gauge: float, from_gauge: float | None = None) -> float:
    """Where the straight part of the pocket's volume over pressure meets no pressure, over the pocket.

    A tangent at the pressure, or the secant from another one.
    """
    take = 1.0 - pocket_share(temperature, pressure_gauge)
    if from_gauge is None:
        slope = -held(temperature, 0.0, pocket=1.0).squeezed(STANDARD_ATMOSPHERE + pressure_gauge)[1]
    else:
        slope = (take - 1.0 + pocket_share(temperature, from_gauge)) / (pressure_gauge - from_gauge)
    return take - pressure_gauge * slope


def _steel_pipe(form: str, temperature: float, expansion: float, **given: float) -> Held:
    """A metre cube of water in a rigid vessel, or in a pipe free or anchored."""
    if form == "rigid":
        return held(temperature, 1.0)
    bore = given["outside_diameter"] - 2.0 * given["thickness"]
    give = wall.cylinder(bore, given["thickness"], given["young"], given["poisson"], form == "anchored")
    return held(temperature, 1.0, give, wall.thermal(expansion, given["poisson"], form == "anchored"))


def per_kelvin(form: str, temperature: float, pressure_gauge: float = 0.0, expansion: float = 0.0,
               **given: float) -> float:
    return _steel_pipe(form, temperature, expansion, **given).at(np.asarray(pressure_gauge)).per_kelvin


def turning_temperature(form: str, pressure_gauge: float, **given: float) -> float:
    """The temperature below which the shut-in pressure falls on warming."""
    return brentq(lambda t: per_kelvin(form, t, pressure_gauge, **given), 274.0, 300.0)


ADAPTERS: dict[str, Any] = {
    "water to pressurise a rigid vessel": need_rigid,
    "water to pressurise a rigid vessel that holds a mass": need_of_mass,
    "water to pressurise a vessel of known stretch": need_by_stretch,
    "pump volume over the air-free one": times_air_free,
    "water to pressurise a pipe": need_pipe,
    "water to pressurise a sphere": need_sphere,
    "water taken by an air pocket": pocket_take,
    "air pocket under pressure": pocket_share,
    "intercept of the pressure-volume plot": plot_intercept,
    "shut-in pressure per kelvin": per_kelvin,
    "temperature where warming changes sign": turning_temperature,
}

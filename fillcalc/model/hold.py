"""The vessel shut in at pressure: what falls or rises without a leak, and what a leak looks like."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array
from fillcalc.model.held import At, Held, whole
from fillcalc.model.pocket import convection, cooling_time, dissolved, warm_after, warm_later
from fillcalc.properties.media import HEAT_CAPACITY_RATIO as RATIO
from fillcalc.properties.media import air, water

ITERATIONS, NEAR = 6, 1e-11
"""Newton steps at most, and the step in the logarithm of the pressure that is not worth taking."""
WARMING_STEPS = 3
"""Steps in pressure while water warms: within 2e-5 of the end of them to 600 bar."""
SLIGHT = 1e-3
"""Fall over the pressure of the trapped air below which the compliance half way down gives it, to 1e-7."""
THINNEST = 1e-7
"""m; the least thickness of a pocket, which is cool at once."""
SUN = (150.0, 900.0)
"""W/m2 that bare metal square to the sun takes up: 500 W/m2 on bright metal (0.3) to 1000 W/m2 on dark (0.9); common
practice, no source."""
STILL_AIR = 10.0
"""W/(m2 K) from a surface to still air by convection and radiation; common practice."""
STEEL_HEAT = 3.6e6
"""Heat that a cubic metre of steel takes, J/(m3 K)."""


def warming(held: Held, low_gauge: Array, high_gauge: Array) -> Array:
    """Kelvin by which water warms when it is squeezed quickly from one gauge pressure to another, Pa.

    dT/dp = T beta / (rho c_p) along the isentrope, by steps of Kutta's third order: 0.035 K to 24 bar, 1.07 K to
    600 bar from 20 degrees. Negative below 4 degrees at low pressure. Shape (N,). Derived: the first law.
    """
    start = np.asarray(held.water.temperature, float)
    step = (high_gauge - low_gauge) / WARMING_STEPS

    def slope(gauge: Array, warmer: Array) -> Array:
        media = water(start + warmer)
        pressure = held.water_abs(gauge)
        return np.asarray(
            media.temperature * media.expansion(pressure) / (media.density(pressure) * media.heat_capacity(pressure)))

    warmer = 0.0 * step
    for number in range(WARMING_STEPS):
        low = low_gauge + number * step
        first = slope(low, warmer)
        second = slope(low + 0.5 * step, warmer + 0.5 * step * first)
        third = slope(low + step, warmer + step * (2.0 * second - first))
        warmer = warmer + step * (first + 4.0 * second + third) / 6.0
    return warmer


def fall_of_water(low: At, high: At) -> Array:
    """Fall of the shut-in pressure while water warmed by pumping cools back, Pa; the fall if nobody pumps again.

    Derived: the balance of `Held` when what shrinks at that pressure, by the mean expansion on the way, is gone.
    """
    held = high.held
    warmer = warming(held, low.gauge, high.gauge)
    half = np.asarray(held.water.temperature, float) + 0.5 * warmer
    cooling = replace(held, water=water(half), air_table=air(half)).at(high.gauge)
    return np.asarray(high.gauge - pressure_after(high, warmer * cooling.per_kelvin * cooling.compliance))


def fall_of_pocket(low: At, high: At, pump_time: Array, thickness: Array, later: Array | float = 0.0) -> Array:
    """The most that the shut-in pressure falls while the trapped air cools, Pa; shape (N,).

    Squeezed without heat from the low gauge pressure the pocket is larger and warmer than the water. While it is
    pumped, and so many seconds later, it loses that by conduction through its own thickness in m and by free
    convection under its top (`pocket.warm_after`, `warm_later`); the metal is taken at the water's temperature. Split
    pockets and wet walls cool sooner. The air-free fall of the water is not in it. Derived: adiabat against isotherm.
    """
    held = high.held
    squeezed = (low.air_abs / high.air_abs) ** (1.0 / RATIO)
    hot = np.maximum(low.pocket * squeezed - high.pocket, 0.0)
    kelvin = np.asarray(held.water.temperature, float)
    layer = np.maximum(thickness, THINNEST)
    tau, free = cooling_time(layer, high.air_abs), convection(layer, high.air_abs, kelvin)
    warm = warm_after(kelvin * hot / high.pocket, pump_time, tau, free)
    left = warm_later(warm, later, tau, free)
    return _fall_of_shrunk(high, held.air * high.pocket * left / kelvin)


def fall_of_solution(at: At, surface: Array, temperature: Array, time: Array | float) -> Array:
    """The most that the shut-in pressure falls in a time in s while trapped air goes into solution, Pa.

    By the air's surface in m2 on still water, temperature K; never more than all the air that there is.
    Derived: `pocket.dissolved` in the balance of `Held`.
    """
    return _fall_of_shrunk(at, np.minimum(dissolved(surface, temperature, time), at.held.air * at.pocket))


def _fall_of_shrunk(at: At, lost: Array) -> Array:
    """Fall of the shut-in pressure when the trapped air shrinks by so much, m3 at its own pressure, Pa."""
    return np.asarray(at.gauge - pressure_after(at, lost * at.density / at.held.free_density))


def pressure_after(start: At, lost: Array) -> Array:
    """Gauge pressure, Pa, after so much water (m3 at the site's pressure, at least 0) has left a shut vessel.

    A slight fall goes by the compliance half way down, where the balance would be a difference of equals. Others by
    Newton in the logarithm of the absolute pressure of the trapped air, within 1e-6 of the start; what the full open
    vessel shows where more was lost than it takes to get there. Shape (N,). Derived: the balance of `Held`.
    """
    held = start.held
    least = held.zero_abs + held.full_gauge
    fall = lost / start.compliance
    slight = fall < SLIGHT * start.air_abs
    half_way = held.at(start.gauge - 0.5 * np.where(slight, fall, 0.0))
    at = held.at(np.maximum(start.gauge - np.where(slight, lost / half_way.compliance, 0.0), held.full_gauge))
    for _ in range(ITERATIONS):
        slope = at.compliance * at.air_abs
        step = (whole(held.between(at, start)) - lost) / slope
        step = step * ((np.abs(step) >= NEAR) & ~slight)  # each row stops by itself, whatever the others do
        if not step.any():
            break
        pressure = np.clip(at.air_abs * np.exp(np.clip(step, -2.0, 2.0)), least, start.air_abs)
        at = held.at(pressure - held.zero_abs)
    return at.gauge


def leak_of_fall(at: At, fall: Array, time: Array) -> Array:
    """Leak that a fall of the gauge pressure (Pa) over a time (s) means, m3/s, at constant temperature.

    For a small fall: compliance times fall over time. Infinite for no time. Derived: compliance times the fall in time.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(at.compliance * fall / time)


def hidden_by_air(at: At) -> Array:
    """How much more must leak for the same fall than from the same vessel without air, a ratio of at least 1.

    Derived: a ratio of compliances.
    """
    solid, air = at.slopes
    return np.asarray(1.0 + at.held.air * air / solid)


@dataclass(frozen=True, eq=False, repr=False)
class Body:
    """What warms and cools: water m3, metal m3, outside surface m2, and the heat of the water J/(m3 K)."""

    water: Array
    metal: Array
    surface: Array
    water_heat: Array


def time_constant(body: Body, film: Array | float = STILL_AIR) -> Array:
    """Time in which a full vessel loses 63 % of a difference in temperature to still air, s.

    (Heat of water and metal) / (film coefficient in W/(m2 K) x surface). Wind, sun, ground and lagging change it
    several times over. Derived: Newton's cooling of one lump.
    """
    return np.asarray((body.water * body.water_heat + body.metal * STEEL_HEAT) / (film * body.surface))


def drift(per_kelvin: Array, difference: Array, time: Array, constant: Array) -> Array:
    """Change of the shut-in pressure in a time (s) while the water goes towards surroundings that are warmer by a
    `difference` in K, Pa; a fall is negative. `per_kelvin` Pa/K, `constant` s; shapes broadcast.
    Derived: Newton's cooling of one lump.
    """
    return np.asarray(per_kelvin * difference * -np.expm1(-time / constant))


def sun(body: Body, time: Array | float) -> tuple[Array, Array]:
    """Kelvin by which full sun warms a bare vessel full of water in a time in s, bright metal and dark; nothing given
    back to the air. Its shadow is its surface over pi, which is a long cylinder square to the sun.

    Absorbed W/m2 times shadow over the heat of water and metal. Derived: the first law. Judgement: `SUN`.
    """
    heat = body.water * body.water_heat + body.metal * STEEL_HEAT
    bright, dark = (np.asarray(gain * body.surface / np.pi * time / heat) for gain in SUN)
    return bright, dark

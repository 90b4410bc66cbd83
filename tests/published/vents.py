"""Adapters: air through the vent, and the fill."""

from __future__ import annotations

from typing import Any

import numpy as np

from fillcalc.case.fields import inputs
from fillcalc.case.records import Vent
from fillcalc.model.fill import fill
from fillcalc.model.filling import Filled, Filling
from fillcalc.model.hammer import joukowsky
from fillcalc.model.line import Line, Source
from fillcalc.model.vent import CRITICAL
from fillcalc.properties.media import STANDARD_ATMOSPHERE, air, water
from fillcalc.units import read_quantity
from tests.model.vents import ceiling, mass_flow
from tests.published.lines import ZERO, line
from tests.shapes import shape

AMPLE = 1e3
"""m2; a vent that is no hindrance."""


def area(coefficient: float, bore: float) -> float:
    return coefficient * 0.25 * np.pi * bore**2


def free_air(coefficient: float, bore: float, pressure_gauge: float, temperature: float,
             outside_abs: float) -> float:
    """Air through a hole into the open, m3/s measured outside at the same temperature."""
    mass = mass_flow(outside_abs + pressure_gauge + ZERO, outside_abs + ZERO, area(coefficient, bore), temperature)
    return float(mass[0] / air(temperature).density(outside_abs))


def mass(coefficient: float, bore: float, inside_abs: float, outside_abs: float, temperature: float) -> float:
    return float(mass_flow(inside_abs + ZERO, outside_abs + ZERO, area(coefficient, bore), temperature)[0])


def conductance(coefficient: float, bore: float, temperature: float, inside_abs: float,
                reference_density: float) -> float:
    """ISO 6358 sonic conductance of a choked hole, m3/(s Pa)."""
    return mass(coefficient, bore, inside_abs, STANDARD_ATMOSPHERE, temperature) / (reference_density * inside_abs)


def _filled(supply: Line, volume: float, height: float, vent_area: float, from_top: bool = False) -> Filled:
    task = Filling(supply, volume + ZERO, volume + ZERO, height + ZERO, vent_area + ZERO, STANDARD_ATMOSPHERE + ZERO,
                   288.15 + ZERO, from_top)
    return fill(task, shape("prism", span=height, volume=volume).level_table())


def _stiff(pressure: float, conductance: float, density: float) -> Line:
    """A source that gives conductance x sqrt(pressure), and nothing else."""
    source = Source(pressure + ZERO, (conductance**-2 + ZERO,), (ZERO,), ZERO)
    return Line(source, (), ZERO, ZERO, ZERO, 1.0 + ZERO, density + ZERO, 1e-3 + ZERO)


def rising_level(area: float, height: float, pressure: float, conductance: float, temperature: float) -> float:
    """Time to fill a prism from below through an ample vent."""
    density = water(temperature).density(STANDARD_ATMOSPHERE)
    return float(_filled(_stiff(pressure, conductance, density), area * height, height, AMPLE).time[0])


def sealed_share(pressure: float) -> float:
    """Share of air left in a flat sealed vessel on a tap."""
    return 1.0 - float(_filled(_stiff(pressure, 1e-6, 999.0), 1.0, 0.0, 0.0).water[0])


def speed_up(pressure: float, **given: Any) -> float:
    """Flow at the start of a fill of a flat vessel with an ample vent."""
    return float(_filled(line(pressure, **given), 0.2, 0.0, AMPLE).flow_start[0])


def coefficient_range() -> tuple[float, float]:
    """Low and high of the discharge coefficient that a vent has when nobody gave one."""
    default = inputs(Vent)["coefficient"].default
    assert default is not None
    low, *_, high = (float(text) for text in default.spread)
    return low, high


ADAPTERS: dict[str, Any] = {
    "surge of a stopped column": lambda density, wave_speed, speed: float(joukowsky(density, wave_speed, speed)),
    "free air through a hole": free_air,
    "mass of air through a hole": mass,
    "sonic conductance of a hole": conductance,
    "critical pressure ratio": lambda: CRITICAL,
    "most water that a vent lets in": lambda coefficient, bore, temperature: ceiling(area(coefficient, bore),
                                                                                     temperature),
    "time to fill a prism from below": rising_level,
    "air left in a sealed vessel": sealed_share,
    "flow at the start of a fill": speed_up,
    "range of the vent's coefficient": coefficient_range,
    "read a quantity": lambda text, family: read_quantity(text, (family,))[0],
}

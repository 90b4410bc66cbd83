"""Adapters: pumps and pumping up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fillcalc.arrays import spread
from fillcalc.case.read import read_text
from fillcalc.job import setup
from fillcalc.job.resolve import resolve
from fillcalc.model import pump as pumps
from fillcalc.model.held import Held
from fillcalc.model.pressurise import Duty, pump_up
from fillcalc.properties.media import STANDARD_ATMOSPHERE, Water, air

ZERO = np.zeros(1)
WIDE_OPEN = 1e6
"""C_e over C of an exhaust that is no hindrance."""


def pump(ratio: float, supply_abs: float, outside_abs: float, conductance: float, exhaust: str | float = "ample",
         friction: float = 0.0, free_air: float = np.inf) -> pumps.AirDriven:
    """An air-driven pump; exhaust as its C_e, or "ample"."""
    c_e = WIDE_OPEN * conductance if isinstance(exhaust, str) else exhaust
    given = (ratio, supply_abs, outside_abs, friction, conductance, c_e, 1.0, free_air, 1.0)
    return pumps.AirDriven(*(one + ZERO for one in given))


def stall(**given: Any) -> float:
    return float(pumps.stall(pump(**given))[0])


def _at(part_of_stall: float, given: dict[str, Any]) -> tuple[float, float, float]:
    """Flow, free air for each m3 of water at the site's pressure, outlet pressure."""
    machine = pump(**given)
    gauge = part_of_stall * pumps.stall(machine)
    flow, per_water = pumps.flow(machine, gauge)
    return float(flow[0]), float(per_water[0]), float(gauge[0])


def flow(part_of_stall: float, **given: Any) -> float:
    return _at(part_of_stall, given)[0]


def air_per_water(part_of_stall: float, **given: Any) -> float:
    """Free air for each volume of water, at 100 kPa."""
    return _at(part_of_stall, given)[1] * given["outside_abs"] / pumps.REFERENCE


def air_taken(part_of_stall: float, **given: Any) -> float:
    """Free air, m3/s at 100 kPa."""
    return flow(part_of_stall, **given) * air_per_water(part_of_stall, **given)


def exhaust_abs(part_of_stall: float, **given: Any) -> float:
    """Pressure behind the air piston: that in the drive chamber less that of the outlet over the ratio."""
    _, per_water, gauge = _at(part_of_stall, given)
    return per_water * given["outside_abs"] / given["ratio"] - gauge / given["ratio"]


def near_stall(part_of_stall: float, ratio: float, supply_abs: float, outside_abs: float, conductance: float) -> float:
    """The flow over the asymptote near stall."""
    b = pumps.CRITICAL_RATIO
    law = conductance * pumps.REFERENCE / ratio * np.sqrt(
        2.0 * (1.0 - part_of_stall) * (1.0 - outside_abs / supply_abs) / (1.0 - b))
    given = {"ratio": ratio, "supply_abs": supply_abs, "outside_abs": outside_abs, "conductance": conductance}
    return float(flow(part_of_stall, **given) / law)


def supply_flow(conductance: float, supply_abs: float, chamber_abs: float) -> float:
    """Air through the supply port of a pump of ratio one against a chamber's pressure, m3/s at 100 kPa."""
    outside = 0.5e5
    machine = pump(1.0, supply_abs, outside, conductance)
    rate, per_water = pumps.flow(machine, chamber_abs - outside + ZERO)
    return float(rate[0] * per_water[0] * outside / pumps.REFERENCE)


def efficiency_gain(ratio: float, to_ratio: float, pressure_gauge: float, supply_abs: float,
                    outside_abs: float) -> float:
    """What another area ratio does to the work of the water over the air taken."""
    taken = []
    for area_ratio in (ratio, to_ratio):
        machine = pump(area_ratio, supply_abs, outside_abs, 1e-8)
        taken.append(float(pumps.flow(machine, pressure_gauge + ZERO)[1][0]))
    return taken[0] / taken[1] - 1.0


@dataclass(frozen=True, eq=False)
class Stiff(Water):
    """Water that does not give way."""

    def density(self, p_abs: Any) -> Any:
        return 1000.0 + 0.0 * p_abs

    def density_slope(self, p_abs: Any) -> tuple[Any, Any]:
        return 1000.0 + 0.0 * p_abs, 0.0 * p_abs


def springy(compliance: float, outside_abs: float) -> Held:
    """A vessel that takes the same water for each pascal, m3/Pa."""
    return Held(ZERO, compliance + ZERO, ZERO, ZERO, ZERO, ZERO, outside_abs + ZERO, Stiff(288.15), air(288.15))


def pump_time(compliance: float, pressure_gauge: float, **given: Any) -> float:
    goal = pressure_gauge + ZERO
    none = np.empty((0, 1))
    asked = Duty(ZERO, goal, none, np.inf + ZERO, ZERO, ZERO, none, none)
    return float(pump_up(springy(compliance, given["outside_abs"]), pump(**given), asked).time[0])


def strokes(pressure_gauge: float, compliance: float, stroke: float) -> float:
    """Strokes of a pump by hand into a vessel that takes the same water for each pascal."""
    goal = pressure_gauge + ZERO
    none = np.empty((0, 1))
    asked = Duty(ZERO, goal, none, np.inf + ZERO, ZERO, ZERO, none, none)
    hand = pumps.Steady(stroke + ZERO, np.inf + ZERO, np.inf + ZERO)
    return float(pump_up(springy(compliance, STANDARD_ATMOSPHERE), hand, asked).pumped[0]) / stroke


RECEIVER = """
format = 1
[vessel]
shape = "other"
volume = "1 m3"
[tap]
pressure = "3 bar"
[test]
pressure = "24 bar"
[surroundings]
pressure = "{outside} Pa abs"
[fill]
measured_flow = "10 L/min"
[pump]
kind = "air-driven"
ratio = 60
drive_pressure = "{low} Pa"
flow_at_zero = "1 L/min"
[air_supply]
flow = "250 L/min"
receiver = "{volume} L"
receiver_pressure = "{high} Pa"
"""


def reserve(receiver: float, high_gauge: float, low_gauge: float, outside_abs: float) -> float:
    """Free air in a receiver above what drives the pump."""
    text = RECEIVER.format(outside=outside_abs, low=low_gauge, high=high_gauge, volume=receiver * 1e3)
    case = spread(resolve(read_text(text)), 1)
    return float(setup.duty(case, ZERO).reserve[0])


ADAPTERS: dict[str, Any] = {
    "pressure at which a pump stalls": stall,
    "flow of an air-driven pump": flow,
    "free air taken by a pump": air_taken,
    "free air for each volume of water": air_per_water,
    "pressure behind the air piston": exhaust_abs,
    "flow over the law near the stall": near_stall,
    "air through a supply port": supply_flow,
    "gain of efficiency by another ratio": efficiency_gain,
    "time to pump up a springy vessel": pump_time,
    "strokes into a springy vessel": strokes,
    "free air in a receiver": reserve,
}

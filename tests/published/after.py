"""Adapters: what comes after the pump has stopped, and the sweeping of high points."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fillcalc.arrays import Array, spread
from fillcalc.case.fields import inputs
from fillcalc.case.read import read_text
from fillcalc.case.records import Drain
from fillcalc.estimation import afterwards
from fillcalc.job import setup
from fillcalc.job.resolve import resolve
from fillcalc.model import drain as draining
from fillcalc.model import energy, hold, pocket, release, sweep
from fillcalc.model.shapes import KnownVolume, Shape
from fillcalc.properties.media import water
from tests.published.closed import held
from tests.published.pumps import springy
from tests.shapes import shape

ZERO = np.zeros(1)
AMPLE = 1e3
"""m2; a vent that is no hindrance."""

PIPE = """
format = 1
[vessel]
shape = "pipe run"
diameter = "{bore} mm"
wall = "{wall} mm"
length = "100 m"
[water]
temperature = "15 degC"
[tap]
pressure = "3 bar"
[fill]
measured_flow = "10 L/min"
[test]
pressure = "24 bar"
[pump]
kind = "hand"
"""


def _through(bore: float, coefficient: float, inside: Shape) -> draining.Draining:
    """An open vessel over a plain hole."""
    return draining.Draining(
        inside.volume(), inside.height(), ZERO, bore + ZERO, ZERO, coefficient + ZERO, AMPLE + ZERO, 101325.0 + ZERO,
        288.15 + ZERO, 999.0 + ZERO, 1e-3 + ZERO)


def drain_time(form: str, diameter: float, full: float, bore: float, coefficient: float, start: float = 1.0,
               stop: float = 0.0) -> float:
    """Time for an open vessel to drain from one share of its height to another through a hole, s."""
    inside = shape(form, "flat", diameter + ZERO, full + ZERO, volume=0.25 * np.pi * diameter**2 * full + ZERO)
    task = _through(bore, coefficient, inside)
    time = draining.drain(task, inside, stop)[0]
    if start < 1.0:
        time = time - draining.drain(task, inside, start)[0]
    return float(time[0])


def half_over_all(form: str, **given: float) -> float:
    return drain_time(form, stop=0.5, **given) / drain_time(form, **given)


@dataclass(frozen=True)
class Tapered(KnownVolume):
    """A tank whose area goes straight with the level; `lowest` and `highest` are its areas over their mean."""

    lowest: float = 1.0
    highest: float = 1.0

    def widening(self, part: Array) -> Array:
        return self.lowest + (self.highest - self.lowest) * part


def tapered(bottom: float, top: float, depth: float, hole: float, hole_height: float, coefficient: float,
            levels: tuple[float, float]) -> float:
    """Time to drain a tapered tank from one level to another through a hole in its side, s."""
    high, low = (level - hole_height for level in levels)
    lowest, highest = (bottom + (top - bottom) * level / depth for level in (hole_height, levels[0]))
    mean = 0.5 * (lowest + highest)
    inside = Tapered(mean * high + ZERO, high + ZERO, lowest / mean, highest / mean)
    return float(draining.drain(_through(hole, coefficient, inside), inside, low / high)[0][0])


def drain_coefficient() -> float:
    default = inputs(Drain)["coefficient"].default
    assert default is not None
    return float(default.text)


def release_time(compliance: float, kv: float, high: float, low: float) -> float:
    vessel = springy(compliance, 101325.0)
    return float(release.through_valve(vessel, kv + ZERO, high + ZERO, low + ZERO)[0])


def warming(temperature: float, pressure_gauge: float) -> float:
    return float(hold.warming(held(temperature, 1.0), ZERO, pressure_gauge + ZERO)[0])


def fall(temperature: float, pressure_gauge: float) -> float:
    vessel = held(temperature, 1.0)
    return float(hold.fall_of_water(vessel.at(ZERO), vessel.at(pressure_gauge + ZERO))[0])


def time_constant(outside_diameter: float, thickness: float, film: float) -> float:
    text = PIPE.format(bore=1e3 * (outside_diameter - 2.0 * thickness), wall=1e3 * thickness)
    case = spread(resolve(read_text(text)), 1)
    cools = afterwards.cooling_body(case, setup.body(case), water(case.water.temperature))
    return float(hold.time_constant(cools, film)[0])


def sun_rise(outside_diameter: float, thickness: float, time: float) -> tuple[float, float]:
    """Rise of the shut-in pressure of a steel pipe at 24 bar on bright and on dark metal, Pa."""
    text = PIPE.format(bore=1e3 * (outside_diameter - 2.0 * thickness), wall=1e3 * thickness)
    case = spread(resolve(read_text(text)), 1)
    vessel = setup.body(case)
    media = water(case.water.temperature)
    per_kelvin = float(setup.held(case, vessel).at(24e5 + ZERO).per_kelvin[0])
    bright, dark = hold.sun(afterwards.cooling_body(case, vessel, media), time)
    return per_kelvin * float(bright[0]), per_kelvin * float(dark[0])


def water_energy(temperature: float, volume: float, pressure_gauge: float) -> float:
    return float(energy.of_water(held(temperature, volume).at(pressure_gauge + ZERO))[0])


def wall_energy(volume: float, gain: float, pressure_gauge: float) -> float:
    vessel = held(293.15, volume, volume * gain / pressure_gauge)
    return float(energy.of_wall(vessel.at(np.asarray(pressure_gauge))))


def pocket_energy(temperature: float, pocket: float, pressure_gauge: float) -> float:
    return float(energy.of_pocket(held(temperature, 1.0, pocket=pocket).at(np.asarray(pressure_gauge))))


def gas_energy(volume: float, pressure_gauge: float, outside_abs: float) -> float:
    return float(energy.of_gas(np.asarray(pressure_gauge), np.asarray(outside_abs), np.asarray(volume)))


def clearing(bore: float, slope: float, term: float, safety: float) -> float:
    return float(sweep.clearing_speed(np.asarray(bore), np.asarray(slope), np.asarray(term), safety))


ADAPTERS: dict[str, Any] = {
    "time to drain": drain_time,
    "time to half the level over the whole": half_over_all,
    "time to drain a tapered tank": tapered,
    "default coefficient of a drain": drain_coefficient,
    "time to let the pressure down": release_time,
    "warming of pumped water": warming,
    "fall while the water cools": fall,
    "time constant of cooling": time_constant,
    "rise of a pipe in the sun": sun_rise,
    "air taken up by water": lambda temperature: float(pocket.solubility(temperature)) * 273.15 / temperature,
    "energy of squeezed water": water_energy,
    "energy of a stretched wall": wall_energy,
    "energy of a squeezed pocket": pocket_energy,
    "energy of a vessel full of gas": gas_energy,
    "TNT": lambda joules: float(energy.tnt(joules)),
    "scaled distance": lambda joules, times=1.0: float(energy.scaled_distance(joules, times)),
    "distance from a vessel full of gas": lambda joules: float(energy.gas_distance(joules)),
    "speed that clears a pocket": clearing,
    "speed of a flow": lambda flow, bore: float(sweep.speed(flow, bore)),
}

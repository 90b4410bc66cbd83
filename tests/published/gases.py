"""Adapters: the gas test."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from fillcalc.model.gas import energy, flow, leak, supply
from fillcalc.model.gas.letting_off import Task, Vent, let_off
from fillcalc.model.gas.raising import Raise, Raised, raise_pressure
from fillcalc.model.gas.supply import Supply
from fillcalc.model.gas.vessel import Holder
from fillcalc.properties.gases import Gas

ENDLESS = 1e15


def _one(value: float) -> Any:
    return np.array([float(value)])


def _holder(volume: float, film: float, temperature: float) -> Holder:
    """A vessel with a wall that no heat warms."""
    return Holder(*(_one(value) for value in (volume, 6.0, ENDLESS, film, 0.0, temperature)))


def filled(gas: str, source_abs: float, end_abs: float, temperature: float, outside_abs: float = 101325.0) -> Raised:
    """A vessel of 1 m3 filled without heat from a source that stays as it is."""
    line = Supply(Gas(gas), _holder(np.inf, 1.0, temperature), *(_one(value) for value in (
        source_abs, temperature, np.inf, 0.0, 0.0, source_abs, 1.0, 0.7, np.inf)))
    nothing = np.zeros((1, 1))
    return raise_pressure(Raise(_holder(1.0, 0.0, temperature), line, _one(outside_abs), nothing + end_abs, nothing,
                                _one(np.inf), _one(1.0)))


def fallen(**inputs: Any) -> float:
    """Its pressure when it has cooled again, Pa abs."""
    done = filled(**inputs)
    return float(Gas(inputs["gas"]).at(done.test.density, inputs["temperature"]).pressure[0])


def choking_ends(area: float, start_abs: float, temperature: float, film: float, gas: str) -> float:
    """Time until the flow out of 1 m3 no longer chokes, s."""
    outside = 101325.0
    vent = Vent(_one(np.nan), _one(0.7), _one(area))
    start = (_one(start_abs), _one(temperature), _one(temperature))
    task = Task(Gas(gas), _holder(1.0, film, temperature), vent, start, _one(outside / flow.CRITICAL), _one(outside))
    return float(let_off(replace(task, tolerance=1e-6)).time[0])


def joule_thomson(gas: str, pressure_abs: float, temperature: float) -> float:
    """Fall of temperature over fall of pressure, K/Pa."""
    at = Gas(gas).at_pressure(_one(pressure_abs), _one(temperature))
    return float((temperature - supply.throttled(Gas(gas), at, _one(pressure_abs - 1e4))[1][0]) / 1e4)


def _at(gas: str, pressure_abs: float, temperature: float) -> Any:
    return Gas(gas).at_pressure(pressure_abs, temperature)


def isentropic(gas: str, volume: float, pressure_abs: float, temperature: float) -> float:
    return float(energy.isentropic(Gas(gas), volume, pressure_abs - 101325.0, temperature, 101325.0))


ADAPTERS: dict[str, Any] = {
    "gas in a bottle": lambda gas, volume, pressure_abs, temperature: volume * float(
        _at(gas, pressure_abs, temperature).density),
    "choked flux of a gas": lambda gas, pressure_abs, temperature: float(
        Gas(gas).choked_flux(_at(gas, pressure_abs, temperature))),
    "Joule-Thomson effect": joule_thomson,
    "gas filled without heat": lambda **inputs: float(filled(**inputs).test.temperature[0]),
    "mass filled without heat": lambda **inputs: float(filled(**inputs).test.density[0]),
    "pressure when it has cooled": fallen,
    "leak of a falling pressure": lambda volume, rate: float(leak.throughput(volume, rate)),
    "leak at the gauge's conditions": lambda gas, volume, rate, pressure_abs, temperature: float(
        leak.flow_at(volume, _at(gas, pressure_abs, temperature), rate)),
    "a kelvin in a shut vessel": lambda gas, pressure_abs, temperature: float(
        leak.pressure_per_kelvin(_at(gas, pressure_abs, temperature))),
    "time to the end of choking": choking_ends,
    "energy of a real gas": isentropic,
    "energy by p V": lambda volume, pressure_abs: float(energy.constant_volume(volume, pressure_abs - 101325.0)),
    "energy by the ideal gas": lambda volume, pressure_abs: float(
        energy.ideal(volume, pressure_abs - 101325.0, 101325.0)),
    "energy at one temperature": lambda volume, pressure_abs: float(
        energy.isothermal(volume, pressure_abs, 101325.0)),
    "gas through a valve": lambda kv, x_t, upstream_abs, density, downstream_abs: float(
        flow.valve(kv, x_t, (upstream_abs, density), downstream_abs)),
}

"""From a resolved case with gas to what the model is given: vessel, supply, stops, vent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fillcalc.arrays import Array, length, spread
from fillcalc.case.records import AirLine, Booster, Bottles, Case
from fillcalc.job.resolve import resolve
from fillcalc.job.setup import pieces_at_once, stops_given
from fillcalc.model.gas import supply as supplies
from fillcalc.model.gas.flow import in_series, kv_of_hose
from fillcalc.model.gas.letting_off import HALF_BAR, Task, Vent
from fillcalc.model.gas.raising import Raise
from fillcalc.model.gas.vessel import Holder
from fillcalc.properties.gases import GAS_CONSTANTS, Gas
from fillcalc.properties.materials import MATERIALS
from fillcalc.units.tables import ATMOSPHERE, NORMAL

STOPS = (0.5, 0.6, 0.7, 0.8, 0.9)
"""Shares of test pressure at which a test with gas pauses: half, then tenths; common practice, as codes ask for."""
AT_HALF, AT_TENTHS = 300.0, 120.0
"""s at them; common practice."""
BOTTLE_AREA = 8.5
"""Inside of a bottle over its volume^(2/3); one six diameters long."""
BOTTLE_METAL = 1.2 * 480.0
"""J/K of a steel bottle's metal for each litre it holds: 1.2 kg/L, common practice."""
LITRE = 1e-3


@dataclass(frozen=True)
class GasJob:
    """What the model of a test with gas is given. Numbers of shape (N,), that at likely values first."""

    case: Case
    """Resolved, every leaf of shape (N,)."""
    gas: Gas
    raising: Raise
    letting_off: Task
    test_gauge: Array
    """Pa."""


def gas_job(case: Case) -> GasJob:
    """The job of a case with gas, whose leaves are floats, or arrays (N,)."""
    case = resolve(case)
    case = spread(case, length(case))
    gas, test, outside = gas_in(case), case.test.pressure, case.surroundings.pressure
    holder = vessel(case)
    stops, pauses = _stops(case)
    # The gauge moves by no more than a division in the whole hold.
    quiet = case.gauge.division / np.maximum(case.test.hold, 1.0)
    assert case.test.rise_limit is not None
    task = Raise(holder, supply(case, gas), outside, stops + outside, pauses, case.test.rise_limit + 0.0 * test, quiet)
    warm = case.surroundings.temperature
    off = Task(gas, holder, _vent(case), (test + outside, warm, warm), np.minimum(HALF_BAR, 0.5 * test) + outside,
               outside)
    return GasJob(case, gas, task, off, test)


def gas_in(case: Case) -> Gas:
    """Return which gas the case is tested with."""
    assert case.test.medium is not None
    return Gas(case.test.medium)


def vessel(case: Case) -> Holder:
    """The pieces on the manifold as one holder of gas."""
    inside, pieces = case.vessel.inside(), pieces_at_once(case)
    gross = inside.volume()
    given = case.vessel.material
    heat = MATERIALS[given].heat_capacity if given in MATERIALS else 480.0
    return Holder(
        volume=gross * (1.0 - case.vessel.internals) * pieces,
        area=inside.surface(0.0, gross) * pieces,
        wall_heat=case.vessel.empty_weight * heat * pieces,
        film=case.test.heat_passed,
        outside_film=case.test.heat_outside,
        surroundings=case.surroundings.temperature,
    )


def is_brittle(case: Case) -> bool:
    """Return whether the vessel's metal breaks without stretching first."""
    given = case.vessel.material
    return given in MATERIALS and MATERIALS[given].brittle


def supply(case: Case, gas: Gas) -> supplies.Supply:
    """Bottles, line or booster with what stands between it and the vessel."""
    given, line, outside = case.gas_supply, case.gas_line, case.surroundings.pressure
    assert given is not None
    one = np.ones_like(outside)
    kv = line.kv
    if line.hose_bore is not None and line.hose_length is not None:
        kv = in_series(kv, kv_of_hose(line.hose_length, line.hose_bore))
    many, difference, change, groups = np.inf * one, 0.0 * one, 0.0 * one, np.inf * one
    film, most, booster = one, np.inf * one, None
    if isinstance(given, Bottles):
        together = np.minimum(given.at_once, given.bottles) * one
        many, difference, change, film = given.volume * together, given.difference, given.change_over, given.heat_passed
        groups = given.bottles / together
    if isinstance(given, AirLine) and given.flow is not None:
        most = _mass_flow(case, gas, given.flow)
    if isinstance(given, Booster):
        booster = supplies.Booster(given.ratio, given.drive_pressure, given.stroke, given.strokes_per_minute / 60.0)
    bottles = Holder(many, BOTTLE_AREA * np.cbrt(many) ** 2 if isinstance(given, Bottles) else one,
                     BOTTLE_METAL / LITRE * many if isinstance(given, Bottles) else one, film,
                     case.test.heat_outside, case.surroundings.temperature)
    return supplies.Supply(gas, bottles, given.pressure + outside, case.surroundings.temperature, groups, difference,
                           change, line.regulator_pressure + outside, kv, line.choked_drop, most, booster)


def _mass_flow(case: Case, gas: Gas, flow: Array) -> Array:
    """A flow of free air, or an amount in time, as kg/s."""
    if case.families.get("gas_supply.flow") == "normal_flow":
        return np.asarray(flow * ATMOSPHERE / (GAS_CONSTANTS[gas.name] * NORMAL))
    surroundings = case.surroundings
    return np.asarray(flow * gas.density(surroundings.pressure, surroundings.temperature))


def _stops(case: Case) -> tuple[Array, Array]:
    """Pressures of the stops, the last the test pressure, Pa gauge, and the pauses, s; both (stops, N)."""
    test = case.test.pressure
    given = stops_given(case)
    if not given and not case.vessel.practice().bench:
        given = [(share * test, (AT_HALF if share == STOPS[0] else AT_TENTHS) + 0.0 * test) for share in STOPS]
    below = [each for each in given if np.all(each[0] < test)]
    stops, pauses = zip(*below, (test, 0.0 * test), strict=True)
    return np.stack(stops), np.stack(pauses)


def _vent(case: Case) -> Vent:
    """The valve, or the hole, that lets off."""
    given = case.gas_vent
    nothing = np.full_like(case.surroundings.pressure, np.nan)
    if given.bore is None:
        assert given.kv is not None
        return Vent(given.kv, case.gas_line.choked_drop, nothing)
    return Vent(nothing, case.gas_line.choked_drop, given.coefficient * 0.25 * np.pi * given.bore**2)

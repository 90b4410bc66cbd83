"""From the pumped-up vessel to the empty one: what the model says of the stages after the pump has stopped."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypedDict

import numpy as np

from fillcalc.arrays import Array, Flags
from fillcalc.case.records import Case, ValveBody
from fillcalc.estimation.answers import DrainAnswer, Energy, Hold, ReleaseAnswer, Settle, Sweep
from fillcalc.job.setup import Body, air_at_top, wall_of
from fillcalc.model import drain as draining
from fillcalc.model import energy as energies
from fillcalc.model import hold as holding
from fillcalc.model import release as releasing
from fillcalc.model import sweep as sweeping
from fillcalc.model.filling import Filled
from fillcalc.model.held import At
from fillcalc.model.pressurise import PumpedUp
from fillcalc.model.shapes.level import LevelTable
from fillcalc.model.status import Status
from fillcalc.model.wall import Thickness
from fillcalc.properties.media import GRAVITY, Water

GAUGE_LEAST, GAUGE_MOST = 1.5, 4.0
"""Full scale over test pressure that a gauge may have; ASME VIII-1 UG-102, best about 2."""
SUNNY = 600.0
"""s of sun for which the warming is told."""


@dataclass(frozen=True)
class Done:
    """What the earlier stages came to. Numbers of shape (N,)."""

    body: Body
    filled: Filled
    pumped: PumpedUp
    start: At
    """The closed vessel before the pump."""
    test: At
    """The closed vessel at test pressure."""
    table: LevelTable


class Blocks(TypedDict, total=False):
    """The blocks of an estimate from settle to sweep."""

    settle: Settle
    hold: Hold
    release: ReleaseAnswer
    drain: DrainAnswer
    energy: Energy
    sweep: tuple[Sweep, ...]


def afterwards(case: Case, done: Done, times_alone: bool = False) -> Blocks:
    """The blocks of an estimate from settle to sweep, for a resolved case whose leaves are (N,); `times_alone` leaves
    out those in which no stage of the work has its time.

    NaN where the fill did not finish; settle, hold and release also where test pressure is not reached.
    """
    full = done.filled.status == Status.DONE
    reached = full & ((done.pumped.status == Status.DONE) | (done.pumped.status == Status.STARTS_ABOVE))
    times: Blocks = {"release": _release(case, done, reached), "drain": _drain(case, done, full)}
    if times_alone:
        return times
    return times | {
        "settle": _settle(case, done, reached),
        "hold": _hold(case, done, reached),
        "energy": _energy(case, done, full & (done.pumped.status != Status.BELOW_HEAD)),
        "sweep": _sweep(case, done),
    }


def _where(condition: Flags, value: Array) -> Array:
    return np.where(condition, value, np.nan)


def _settle(case: Case, done: Done, reached: Flags) -> Settle:
    start, test, time = done.start, done.test, np.nan_to_num(done.pumped.time)
    thickness = air_at_top(done.body, done.table, test).thickness
    wait = 0.0 if case.labour.each.settle is None else case.labour.each.settle
    air = [holding.fall_of_pocket(start, test, time, thickness, later) for later in (0.0, wait)]
    return Settle(_where(reached, holding.fall_of_water(start, test)), *(_where(reached, fall) for fall in air))


def _hold(case: Case, done: Done, reached: Flags) -> Hold:
    test, gauge = done.test.gauge, case.gauge
    per_kelvin = done.test.per_kelvin
    weight = done.test.held.free_density * GRAVITY
    above = weight * (done.body.height - gauge.height)
    leak = holding.leak_of_fall(done.test, gauge.division, case.test.hold)
    difference = case.surroundings.temperature - case.water.temperature
    cools = cooling_body(case, done.body, done.test.held.water)
    constant = holding.time_constant(cools)
    bright, dark = holding.sun(cools, SUNNY)
    outdoors = np.zeros_like(reached) if isinstance(case.vessel, ValveBody) else reached  # a valve is on a bench
    surface = air_at_top(done.body, done.table, done.test).surface * done.body.pieces
    solution = holding.fall_of_solution(done.test, surface, case.water.temperature, case.test.hold)
    return Hold(
        pressure_per_kelvin_pa=_where(reached, per_kelvin),
        leak_per_division_m3_s=_where(reached & np.isfinite(leak), leak),
        hidden_by_air=_where(reached, holding.hidden_by_air(done.test)),
        drift_pa=_where(reached, holding.drift(per_kelvin, difference, case.test.hold, constant)),
        solution_pa=_where(reached, solution),
        sun_low_k=_where(outdoors, bright),
        sun_high_k=_where(outdoors, dark),
        sun_high_pa=_where(outdoors, dark * per_kelvin),
        top_gauge_pa=_where(reached, test - above),
        bottom_gauge_pa=_where(reached, test + weight * gauge.height),
        gauge_for_top_pa=_where(reached, test + above),
        gauge_fits=_gauge_fits(case, test),
    )


def _gauge_fits(case: Case, test: Array) -> Flags:
    scale = case.gauge.full_scale
    return (scale >= GAUGE_LEAST * test) & (scale <= GAUGE_MOST * test)


def cooling_body(case: Case, body: Body, media: Water) -> holding.Body:
    """Water, metal and surface of the vessel of a resolved case; where no wall is known the metal is left out,
    and a shape without dimensions is a cube."""
    given = wall_of(case)
    thick = given.shell if isinstance(given, Thickness) else 0.0
    surface = body.inside.surface(thick, body.volume / body.pieces) * body.pieces
    outside = case.surroundings.pressure
    return holding.Body(body.volume, surface * thick, surface, media.density(outside) * media.heat_capacity(outside))


def _release(case: Case, done: Done, reached: Flags) -> ReleaseAnswer:
    test = done.test.gauge
    zero, half = np.zeros_like(test), np.minimum(releasing.HALF_BAR, test)
    if case.release.kv is not None:
        times = [releasing.through_valve(done.test.held, case.release.kv, test, low) for low in (zero, half)]
    else:
        assert case.release.rate is not None
        end = done.test.held.full_gauge
        times = [releasing.at_rate(case.release.rate, test, low, end) for low in (zero, half)]
    return ReleaseAnswer(*(_where(reached, time) for time in times))


def drain_task(case: Case, body: Body, media: Water) -> draining.Draining:
    """The drain of a resolved case."""
    port = case.drain
    bore = case.vent.bore if port.vent_bore is None else port.vent_bore
    area = case.vent.coefficient * 0.25 * np.pi * np.square(bore)
    return draining.Draining(
        volume=body.volume, height=body.height, fall=port.fall, bore=port.bore, hose=port.hose_length,
        coefficient=port.coefficient,
        vent_area=np.zeros_like(area) if case.vent.shut and port.vent_bore is None else area,
        outside_abs=case.surroundings.pressure, air_temperature=case.surroundings.temperature,
        density=media.density(case.surroundings.pressure), viscosity=media.viscosity(case.surroundings.pressure),
    )


def _drain(case: Case, done: Done, full: Flags) -> DrainAnswer:
    task = drain_task(case, done.body, done.test.held.water)
    time, lowest = draining.drain(task, done.body.inside)
    return DrainAnswer(_where(full, time), _where(full, lowest), _where(full, draining.shut_vent_abs(task)))


def _energy(case: Case, done: Done, full: Flags) -> Energy:
    held, test = done.test.held, done.test.gauge
    gas = energies.of_gas(test, held.outside_abs, held.volume)
    return Energy(
        water_j=_where(full, energies.of_water(done.test)),
        wall_j=_where(full, energies.of_wall(done.test)),
        air_j=_where(full, energies.of_pocket(done.test)),
        all_gas_j=_where(full, gas),
        gas_distance_m=_where(full, energies.gas_distance(gas)),
        gas_distance_later_m=_where(full, energies.gas_distance(gas, 2.0)),
    )


def _sweep(case: Case, done: Done) -> tuple[Sweep, ...]:
    """Each crest of a pipe run; its pocket is its part of the trapped air."""
    crests, run = case.vessel.high_points(), done.body.inside.run()
    if run is None or not crests:
        return ()
    pieces, (bore, _) = done.body.pieces, run
    term = sweeping.pocket_term(done.body.trapped / pieces / len(crests), bore)
    speed = sweeping.speed(done.filled.flow_end / pieces, bore)
    needs = [sweeping.clearing_speed(bore, crest.slope, term) for crest in crests]
    return tuple(Sweep(need, speed, speed >= need) for need in needs)

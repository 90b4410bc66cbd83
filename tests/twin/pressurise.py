"""Pump-up: time, strokes and free air, each as an integral over pressure; with a receiver, marched."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import inf, isfinite, sqrt
from typing import Any

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin.closed import ClosedVessel
from tests.twin.inputs import value
from tests.twin.pump import AirDriven, Point, Pump, no_flow_at_most

NAN = float("nan")
MARKS = (0.10, 0.25, 0.50, 0.75, 1.00)
RUNGS = (0.0, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.10)


@dataclass(frozen=True)
class PumpUp:
    closed: ClosedVessel
    pump: Pump
    start: float
    test: float
    leak_at_test: float
    rise_limit: float
    air_flow: float
    """Free air a second; inf when nothing was said of the supply."""
    stored_air: float
    """Free air that the receiver gives before the supply sags."""
    steps: tuple[tuple[float, float], ...]
    """Pressure and pause."""
    stall_no_friction: float
    """The most that the pump can put on the line, its air at its highest."""

    def leak(self, gauge: float) -> float:
        return self.leak_at_test * sqrt(gauge / self.test) if self.leak_at_test else 0.0

    def pumped_rate(self, gauge: float, point: Point) -> float:
        """Water a second, after throttling under a rise limit."""
        if not isfinite(self.rise_limit):
            return point.flow
        return min(point.flow, self.closed.water_by_pressure(gauge) * self.rise_limit + self.leak(gauge))

    def rise(self, gauge: float, point: Point) -> float:
        """Pa/s."""
        return (self.pumped_rate(gauge, point) - self.leak(gauge)) / self.closed.water_by_pressure(gauge)

    def supplied(self, gauge: float) -> Point:
        """The pump on what the compressor gives."""
        if isinstance(self.pump, AirDriven) and isfinite(self.air_flow):
            return self.pump.at_with(gauge, self.air_flow)
        return self.pump.at(gauge)

    def reach(self) -> float:
        """Highest gauge pressure that the pump gets to, its own leak included."""
        top = min(self.pump.stall, self.test * 10)
        if not self.leak_at_test:
            return self.pump.stall

        def spare(gauge: float) -> float:
            return self.pump.at(gauge).flow - self.leak(gauge)

        grid = np.linspace(0.0, top, 401)
        for low, high in itertools.pairwise(grid):
            if spare(low) > 0 >= spare(high):
                return float(brentq(spare, low, high, xtol=1e-6))
        return self.pump.stall


def pump_up(case: records.Case, closed: ClosedVessel, pump: Pump, pressures: tuple[float, float]) -> PumpUp:
    """`pressures` are start and test, gauge."""
    start, test = pressures
    stops = []
    for place, step in enumerate(case.test.steps, 1):
        share = case.families.get(f"test.steps.{place}.at") == "share"
        stops.append((float(step.at) * (test if share else 1.0), float(step.pause)))
    most = (max(no_flow_at_most(case), pump.setting) * pump.ratio if isinstance(pump, AirDriven)
            else pump.stall_no_friction)
    supply = case.air_supply
    air_flow, stored = inf, 0.0
    if supply is not None and isinstance(pump, AirDriven):
        air_flow = float(supply.flow)
        if case.families.get("air_supply.flow") == "normal_flow":
            site = value(case.surroundings.temperature, 288.15)
            air_flow *= 101325.0 / closed.atmosphere_abs * site / 273.15
        if supply.receiver is not None and supply.receiver_pressure is not None:
            stored = float(supply.receiver) * max(float(supply.receiver_pressure) - pump.setting, 0.0)
            stored /= closed.atmosphere_abs
    return PumpUp(closed, pump, start, test, value(case.test.assumed_leak, 0.0), value(case.test.rise_limit, inf),
                  air_flow, stored, tuple(sorted(stops)), most)


def integral(integrand: Callable[[float], float], start: float, end: float) -> float:
    """Over pressure, on panels that crowd at low pressure, each adaptive."""
    if end <= start:
        return 0.0
    shift = 2e4
    edges = np.exp(np.linspace(np.log(start + shift), np.log(end + shift), 13)) - shift
    edges[0], edges[-1] = start, end
    return float(sum(quad(integrand, a, b, epsabs=0.0, epsrel=1e-9, limit=200)[0]
                     for a, b in itertools.pairwise(edges)))


def run(job: PumpUp, end: float | None = None) -> dict[str, float]:
    """Time, pumped water and free air from the start to a gauge pressure."""
    end = job.test if end is None else end
    if job.stored_air > 0:
        return _march(job, end)
    return _totals(job, job.supplied, job.start, end)


def _totals(job: PumpUp, point_at: Callable[[float], Point], start: float, end: float) -> dict[str, float]:
    limited, point_at = point_at == job.supplied, cache(point_at)  # the integrals ask for the same pressures

    @cache
    def seconds(gauge: float) -> float:
        return 1 / job.rise(gauge, point_at(gauge))

    def pumped(gauge: float) -> float:
        return job.closed.water_by_pressure(gauge) + job.leak(gauge) * seconds(gauge)

    def air(gauge: float) -> float:
        assert isinstance(job.pump, AirDriven)
        point = point_at(gauge)
        rate = job.pumped_rate(gauge, point)
        if rate >= point.flow:
            return pumped(gauge) * job.pump.air_per_water(point)
        taken = job.pump.air_rate(job.pump.behind_a_valve(gauge, rate))
        most = job.air_flow if limited else inf
        return min(taken, most) * seconds(gauge)

    time = integral(seconds, start, end)
    water = job.closed.water(start, end)
    if job.leak_at_test:
        water += integral(lambda p: job.leak(p) * seconds(p), start, end)
    free = integral(air, start, end) if isinstance(job.pump, AirDriven) else NAN
    return {"time": time, "pumped": water, "air": free}


def _march(job: PumpUp, end: float) -> dict[str, float]:
    """Pressure up in small legs, the receiver's air beside it; it empties, fills in pauses, and is full at first."""
    pump = job.pump
    assert isinstance(pump, AirDriven)
    stored = job.stored_air
    totals = {"time": 0.0, "pumped": 0.0, "air": 0.0}
    here = job.start
    stops = [(p, pause) for p, pause in job.steps if here <= p < end]
    while here < end:
        goal = min([p for p, _ in stops if p > here] + [end])
        here, stored = _leg(job, (here, goal), stored, totals)
        for place, pause in list(stops):
            if place == here:
                stored = min(job.stored_air, stored + pause * job.air_flow)
                stops.remove((place, pause))
    return totals


def _leg(job: PumpUp, span: tuple[float, float], stored: float, totals: dict[str, float]) -> tuple[float, float]:
    """One stretch without a change of regime; ends where the receiver runs out, fills up, or the goal is met."""
    pump = job.pump
    assert isinstance(pump, AirDriven)
    here, goal = span

    def surplus(gauge: float) -> float:
        """Free air a second left over when the pump has all it asks for."""
        point = pump.at(gauge)
        return job.air_flow - pump.air_rate(pump.behind_a_valve(gauge, job.pumped_rate(gauge, point)))

    slightly = here + 1e-9 * (goal - here)
    at_edge = (stored <= 0 and surplus(slightly) < 0) or (stored >= job.stored_air and surplus(slightly) >= 0)
    if at_edge:
        grid = np.linspace(slightly, goal, 257)
        signs = [surplus(float(p)) < 0 for p in grid]
        stop = goal
        for low, high, first, second in zip(grid[:-1], grid[1:], signs[:-1], signs[1:], strict=True):
            if first != second:
                stop = float(brentq(surplus, low, high, xtol=1e-6))
                break
        source = job.supplied if stored <= 0 else pump.at
        for name, amount in _totals(job, source, here, stop).items():
            totals[name] += amount
        return stop, stored

    def slope(gauge: float, state: Any) -> list[float]:
        return [surplus(gauge) / job.rise(gauge, pump.at(gauge))]

    def empty(_: float, state: Any) -> float:
        return float(state[0])

    def full(_: float, state: Any) -> float:
        return job.stored_air * (1 + 1e-9) - float(state[0])

    empty.terminal = full.terminal = True  # type: ignore[attr-defined]
    empty.direction = full.direction = -1  # type: ignore[attr-defined]
    way = solve_ivp(slope, (here, goal), [stored], method="DOP853", events=(empty, full), rtol=1e-10,
                    atol=1e-10 * job.stored_air, max_step=(goal - here) / 50)
    stop, left = goal, float(way.y[0][-1])
    if way.t_events[0].size:
        stop, left = float(way.t_events[0][0]), 0.0
    elif way.t_events[1].size:
        stop, left = float(way.t_events[1][0]), job.stored_air
    for name, amount in _totals(job, pump.at, here, stop).items():
        totals[name] += amount
    return stop, left


def answers(job: PumpUp, division: float | None) -> dict[str, Any]:
    """Answers of the pump-up, keyed like the JSON but without the leading name."""
    closed, pump = job.closed, job.pump
    bare = closed.with_air(0.0)
    above = job.start >= job.test > closed.full
    reached = above or job.reach() > job.test
    top = job.test if reached else max(min(job.reach(), job.test), job.start)
    water, without = (0.0, 0.0) if above else (closed.water(job.start, top), bare.water(job.start, job.test))
    found: dict[str, Any] = {
        "water_m3": water, "water_no_air_m3": without, "reached": reached,
        "stall_gauge_pa": pump.stall, "stall_no_friction_gauge_pa": job.stall_no_friction,
        "start_gauge_pa": job.start, "test_gauge_pa": job.test, "curve_residual": pump.residual,
    }
    if not above:
        found.update({f"parts.{name}": part for name, part in closed.parts(job.start, top).items()})
    if not reached or above:
        return found
    whole = run(job)
    found["pause_s"] = sum(pause for place, pause in job.steps if job.start < place <= job.test)
    found.update(times_air_free=water / without, time_s=whole["time"])
    found.update(strokes=whole["pumped"] / pump.stroke, free_air_m3=whole["air"])
    for place, share in enumerate(MARKS):
        mark = share * job.test
        pumped = 0.0 if mark <= job.start else run(job, mark)["pumped"]
        found[f"strokes_at.{place}"] = pumped / pump.stroke
    if division is not None:
        lifted = min(job.start + division, job.test)
        found["strokes_before_needle"] = run(job, lifted)["pumped"] / pump.stroke
    return found

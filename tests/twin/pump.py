"""The three kinds of pump, one point at a time: what they give against a pressure, and the air they take."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log, sqrt

import numpy as np
from scipy.optimize import brentq, least_squares

from fillcalc.case import records
from tests.twin.inputs import DEFAULT_FRICTION, value
from tests.twin.properties import REFERENCE_PRESSURE_ABS as REFERENCE

CRITICAL = 0.3
DEFAULT_STROKE = 11e-6
MID_CURVE = 0.8


def strokes_per_minute(stroke: float) -> float:
    """What is assumed: 145 for 11 mL, falling with the stroke to the power 0.4, from 30 to 200."""
    return max(30.0, min(200.0, 145.0 * (stroke / DEFAULT_STROKE) ** -0.4))


def sonic_share(ratio: float) -> float:
    """ISO 6358: one while choked, else a quarter of an ellipse."""
    if ratio <= CRITICAL:
        return 1.0
    if ratio >= 1.0:
        return 0.0
    return sqrt(1 - ((ratio - CRITICAL) / (1 - CRITICAL)) ** 2)


@dataclass(frozen=True)
class Point:
    """The pump at one outlet pressure."""

    flow: float
    """m3/s of water."""
    chamber_abs: float
    """Pressure in the drive chamber when a stroke ends, Pa absolute."""


class AirDriven:
    def __init__(self, pump: records.AirDrivenPump, atmosphere_abs: float, friction: float | None = None,
                 setting: float | None = None) -> None:
        self.ratio = float(pump.ratio)
        self.atmosphere = atmosphere_abs
        self.drive = value(pump.drive_pressure, 5.5e5)
        self.setting = self.drive if pump.regulator_pressure is None else float(pump.regulator_pressure)
        self.setting = min(self.setting, self.drive)
        if setting is not None:
            self.setting = setting
        self.air_strokes = value(pump.air_strokes, 1.0)
        self.friction = friction_share(pump) if friction is None else friction
        if pump.stroke is not None:
            self.stroke = float(pump.stroke)
        elif pump.strokes_per_litre is not None:
            self.stroke = 1.0 / float(pump.strokes_per_litre)
        else:
            self.stroke = DEFAULT_STROKE
        self.mid_curve = value(pump.mid_curve, 1.0 if pump.points else MID_CURVE)
        self.residual = 0.0
        self.fill_conductance, self.exhaust_conductance = self._fit(pump)

    def _fit(self, pump: records.AirDrivenPump) -> tuple[float, float]:
        """Sonic conductances, fitted at the drive pressure."""
        points = [(float(p), float(q)) for p, q in pump.points or ()]
        if len(points) > 1:
            return self._fit_points(points)
        if points:
            at, flow = points[0]
        elif pump.flow_at_zero is not None:
            at, flow = 0.0, float(pump.flow_at_zero)
        else:
            at, flow = 0.0, value(pump.strokes_per_minute, strokes_per_minute(self.stroke)) / 60 * self.stroke
        supply = self.atmosphere + self.drive
        back = at / self.ratio + self.friction * self.drive

        def balance(exhaust: float) -> float:
            """Filling C p0 phi/r and emptying 2 C p0 phi are one rate: C cancels."""
            ratio = (exhaust + back) / supply
            return sonic_share(ratio) / ratio - 2 * sonic_share(self.atmosphere / exhaust)

        exhaust = brentq(balance, self.atmosphere, supply - back, xtol=1e-9, rtol=1e-15)
        ratio = (exhaust + back) / supply
        fill = flow * self.ratio / (REFERENCE * sonic_share(ratio) / ratio)
        return fill, 2 * fill

    def _fit_points(self, points: list[tuple[float, float]]) -> tuple[float, float]:
        def flows(conductances: tuple[float, float]) -> np.ndarray:
            return np.array([self._point(p, self.drive, conductances).flow for p, _ in points])

        seen = np.array([q for _, q in points])
        best = None
        scale = self.ratio * seen.max() / REFERENCE
        for fill_guess in (0.3, 1.0, 3.0):
            for exhaust_guess in (1.0, 2.0, 6.0, 20.0):
                fitted = least_squares(lambda x: flows((float(np.exp(x[0])), float(np.exp(x[1])))) / seen - 1,
                                      [log(scale * fill_guess), log(scale * exhaust_guess)],
                                      xtol=1e-15, ftol=1e-15, gtol=1e-15)
                if best is None or fitted.cost < best.cost:
                    best = fitted
        assert best is not None
        self.residual = float(np.abs(best.fun).max())
        return float(np.exp(best.x[0])), float(np.exp(best.x[1]))

    def _point(self, gauge: float, setting: float, conductances: tuple[float, float]) -> Point:
        fill, empty = conductances
        supply = self.atmosphere + setting
        back = gauge / self.ratio + self.friction * setting
        if self.atmosphere + back >= supply:
            return Point(0.0, supply)

        def balance(exhaust: float) -> float:
            ratio = (exhaust + back) / supply
            return fill * sonic_share(ratio) / ratio - empty * sonic_share(self.atmosphere / exhaust)

        exhaust = brentq(balance, self.atmosphere, supply - back, xtol=1e-9, rtol=1e-15)
        ratio = (exhaust + back) / supply
        return Point(fill * REFERENCE * sonic_share(ratio) / ratio / self.ratio, exhaust + back)

    def at(self, gauge: float) -> Point:
        """Whatever air it asks for."""
        point = self._point(gauge, self.setting, (self.fill_conductance, self.exhaust_conductance))
        return Point(point.flow * self._bend(gauge), point.chamber_abs)

    def _bend(self, gauge: float) -> float:
        """What is left of the flow in the middle of the curve; the piston goes so much slower, on as much less air."""
        share = min(gauge / self.stall, 1.0)
        return 1 - 4 * (1 - self.mid_curve) * share * (1 - share)

    def at_with(self, gauge: float, free_air: float) -> Point:
        """With so much free air a second and no more: the supply sags until both agree."""
        free = self.at(gauge)
        if self.air_rate(free) <= free_air:
            return free
        back = gauge / self.ratio + self.friction * self.setting

        bend = self._bend(gauge)

        def piston_rate(exhaust: float) -> float:
            return bend * self.exhaust_conductance * REFERENCE * sonic_share(self.atmosphere / exhaust)

        def balance(exhaust: float) -> float:
            return self.air_strokes * piston_rate(exhaust) * (exhaust + back) - free_air * self.atmosphere

        exhaust = brentq(balance, self.atmosphere, free.chamber_abs - back + 1.0, xtol=1e-9, rtol=1e-15)
        return Point(piston_rate(exhaust) / self.ratio, exhaust + back)

    def behind_a_valve(self, gauge: float, flow: float) -> Point:
        """The pump when a valve lets so much less through than it would give: it works against more pressure."""
        if flow >= self.at(gauge).flow:
            return self.at(gauge)
        against = brentq(lambda p: self.at(p).flow - flow, gauge, self.stall * (1 - 1e-15), xtol=1e-9, rtol=1e-15)
        return self.at(float(against))

    def air_rate(self, point: Point) -> float:
        """Free air a second, at the site's atmosphere."""
        return point.flow * self.air_per_water(point)

    def air_per_water(self, point: Point) -> float:
        return self.air_strokes * self.ratio * point.chamber_abs / self.atmosphere

    @property
    def stall(self) -> float:
        return self.ratio * self.setting * (1 - self.friction)


class Steady:
    """A hand pump, or an electric one up to its relief valve."""

    def __init__(self, pump: records.HandPump | records.ElectricPump) -> None:
        if isinstance(pump, records.HandPump):
            self.stroke = value(pump.stroke, 10e-6)
            self.stroke_rate = value(pump.stroke_rate, 40 / 60)
            self.power = value(pump.power, 75.0)
            self.stall = value(pump.stroke_work, 150.0) / self.stroke
            self.stall_no_friction = inf
        else:
            self.stroke = value(pump.stroke, float("nan"))
            self.flow = float(pump.flow)
            self.power = inf
            self.stall = self.stall_no_friction = float(pump.relief)
        self.residual = 0.0

    def at(self, gauge: float) -> Point:
        if gauge >= self.stall:
            return Point(0.0, 0.0)
        if self.power == inf:
            return Point(self.flow, 0.0)
        work = gauge * self.stroke
        rate = self.stroke_rate if work <= 0 else min(self.stroke_rate, self.power / work)
        return Point(rate * self.stroke, 0.0)


Pump = AirDriven | Steady


def friction_share(pump: records.AirDrivenPump) -> float:
    """Of the gauge pressure that drives the pump; a stall that was seen outranks what was written."""
    if pump.stall is not None:
        drive, outlet = (float(p) for p in pump.stall)
        return 1 - outlet / (float(pump.ratio) * drive)
    return value(pump.friction, DEFAULT_FRICTION[1])


def no_flow_at_most(case: records.Case) -> float:
    """Air at the pump when it has stalled, the most that is to be expected, Pa gauge."""
    pump = case.pump
    assert isinstance(pump, records.AirDrivenPump)
    if pump.no_flow_pressure is not None:
        return float(pump.no_flow_pressure)
    drive = value(pump.drive_pressure, 5.5e5)
    full = None if case.air_supply is None else case.air_supply.receiver_pressure
    before = 1.45 * drive if full is None else max(float(full), drive)
    return before if pump.regulator_pressure is None else min(float(pump.regulator_pressure) + creep(case), before)


def creep(case: records.Case) -> float:
    """Lock-up of the regulator, at the high end."""
    pump = case.pump
    assert isinstance(pump, records.AirDrivenPump)
    spread = case.ranges.get("pump.lock_up")
    return value(pump.lock_up, 0.0) if spread is None else spread.high


def pump_of(case: records.Case, atmosphere_abs: float) -> Pump:
    pump = case.pump
    if isinstance(pump, records.AirDrivenPump):
        return AirDriven(pump, atmosphere_abs)
    assert isinstance(pump, records.HandPump | records.ElectricPump)
    return Steady(pump)

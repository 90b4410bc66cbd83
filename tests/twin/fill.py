"""The fill marched in time, and the tap bringing the full vessel to its own pressure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin.closed import ClosedVessel
from tests.twin.inputs import Numbers, value
from tests.twin.line import PARTS, Line
from tests.twin.properties import GAS_CONSTANT_AIR, GRAVITY, circle, orifice_mass_flow
from tests.twin.shape import Shape

NAN = float("nan")
TOP_UP_SHARE = 0.999
SHARE_POINTS = 4001
LAST_DROP = 1e-8
"""Share of the water that is added at the end's own flow: without trapped air the gas space goes to nothing."""


@dataclass
class Filling:
    """What the march needs, gathered once."""

    line: Line
    shape: Shape
    volume: float
    end: float
    """Water in the vessel when the fill ends."""
    atmosphere_abs: float
    temperature: float
    vent_area: float
    """Times the coefficient; zero when shut."""
    from_top: bool
    is_pipe: bool

    def level(self, water: float) -> float:
        """Where the line has to lift the water to."""
        return self.shape.height if self.from_top else self.surface(water)

    def surface(self, water: float) -> float:
        return self.shape.level_at(water / self.volume)

    def flow(self, water: float, air_gauge: float) -> float:
        wetted = min(water / self.volume, 1.0) if self.is_pipe else 0.0
        return self.line.flow(self.level(water), air_gauge, wetted)

    def air_out(self, gauge: float) -> float:
        return orifice_mass_flow(self.vent_area, self.atmosphere_abs + gauge, gauge, self.temperature)

    def slope(self, _: float, state: Any) -> list[float]:
        """d/dt of water and air pressure above the atmosphere."""
        water, gauge = float(state[0]), float(state[1])
        pressure = self.atmosphere_abs + gauge
        flow = self.flow(min(water, self.end), gauge)
        gas = max(self.volume - water, 1e-12 * self.volume)
        out = GAS_CONSTANT_AIR * self.temperature * self.air_out(gauge)
        return [flow, (pressure * flow - out) / gas]


def trapped_volume(shape: Shape, given: Numbers, below: float) -> float:
    """Air left, at the atmosphere: as given, or what stands above a vent below the highest point."""
    if given.trapped_air is not None:
        return given.trapped_air
    return given.volume * (1 - shape.volume_at(shape.height - below) / shape.gross_volume)


def filling(case: records.Case, given: Numbers, shape: Shape) -> Filling:
    is_pipe = isinstance(case.vessel, records.PipeRun)
    vent = case.vent
    area = 0.0 if vent.shut else value(vent.coefficient, 0.6) * circle(value(vent.bore, 8e-3))
    air = trapped_volume(shape, given, value(vent.below_highest_point, 0.0))
    return Filling(
        line=Line(case, given),
        shape=shape,
        volume=given.volume,
        end=given.volume - air,
        atmosphere_abs=given.atmosphere_abs,
        temperature=given.air_temperature,
        vent_area=area,
        from_top=case.fill.from_ == "top" and not is_pipe,
        is_pipe=is_pipe,
    )


def fill(case: records.Case, job: Filling, closed: ClosedVessel) -> dict[str, Any]:
    """Answers of the fill, keyed like the JSON but without the leading name."""
    line = job.line
    start = job.flow(0.0, 0.0)
    answers: dict[str, Any] = {"flow_start_m3_s": start}
    stall = _stall(job)
    if stall is not None:
        status, water, gauge = stall
        answers.update(finished=False, status=status, time_s=NAN, water_m3=water, filled_share=water / job.volume,
                       water_kg=water * line.density, level_m=job.surface(water), air_peak_gauge_pa=gauge)
        return answers

    nearly = job.end * (1 - LAST_DROP)

    def full(_: float, state: Any) -> float:
        return float(state[0]) - nearly

    full.terminal = True  # type: ignore[attr-defined]
    longest = 400 * job.volume / start
    if job.vent_area:
        longest += 20 * job.volume / (150.0 * job.vent_area)
    run = solve_ivp(job.slope, (0.0, longest), [0.0, 0.0], method="Radau", events=full, dense_output=True,
                    rtol=1e-9, atol=[1e-12 * job.volume, 1e-4], first_step=1e-9 * job.volume / start)
    if not run.t_events[0].size:
        raise RuntimeError(f"the fill did not end: {run.message}")
    time = float(run.t_events[0][0])
    times = np.linspace(0.0, time, SHARE_POINTS)
    states = run.sol(times)
    last = max(float(run.y_events[0][0][1]), 0.0)
    end_flow = job.flow(job.end, last)
    time += LAST_DROP * job.end / end_flow
    answers.update(finished=True, status="done", time_s=time, water_m3=job.end, filled_share=job.end / job.volume,
                   water_kg=job.end * line.density, level_m=job.surface(job.end), flow_end_m3_s=end_flow,
                   air_peak_gauge_pa=float(max(states[1].max(), run.y[1].max())),
                   run_to_waste_s=value(case.fill.run_to_waste, 0.0) / end_flow)
    answers.update(_shares(job, times, states))
    answers.update(_top_up(case, job, closed))
    return answers


def _stall(job: Filling) -> tuple[str, float, float] | None:
    """Where the fill stands still, if it does: shut-in air against the source, or the head alone."""
    line = job.line

    def spare(water: float, gauge: float) -> float:
        return line.static - line.head(job.level(water)) - gauge

    def squeezed(water: float) -> float:
        return job.atmosphere_abs * water / (job.volume - water)

    if job.vent_area == 0.0:
        edge = min(job.end, job.volume * (1 - 1e-12))
        if spare(0.0, 0.0) <= 0:
            return "head", 0.0, 0.0
        if spare(edge, squeezed(edge)) > 0:
            return None
        water = float(brentq(lambda w: spare(w, squeezed(w)), 0.0, edge, xtol=1e-16, rtol=1e-13))
        return "air", water, squeezed(water)
    if spare(job.end, 0.0) > 0 and spare(0.0, 0.0) > 0:
        return None
    if spare(0.0, 0.0) <= 0:
        return "head", 0.0, 0.0
    return "head", float(brentq(lambda w: spare(w, 0.0), 0.0, job.end, xtol=1e-16, rtol=1e-13)), 0.0


def _shares(job: Filling, times: Any, states: Any) -> dict[str, float]:
    """Each loss over the water volume, as a part of the source's static pressure over it."""
    rows: dict[str, list[float]] = {part: [] for part in (*PARTS, "height", "vent")}
    waters = np.minimum(states[0], job.end)
    for water, gauge in zip(waters, states[1], strict=True):
        gauge = max(float(gauge), 0.0)
        flow = job.flow(float(water), gauge)
        wetted = float(water) / job.volume if job.is_pipe else 0.0
        for part, lost in job.line.parts(flow, wetted).items():
            rows[part].append(lost)
        rows["height"].append(job.line.head(job.level(float(water))))
        rows["vent"].append(gauge)
    whole = job.line.static * (waters[-1] - waters[0])
    return {f"shares.{part}": float(np.trapezoid(row, waters)) / whole for part, row in rows.items()}


def tap_reach(job: Filling) -> float:
    """Gauge pressure at the highest point when the tap has stopped flowing."""
    top = job.line.density * GRAVITY * (job.shape.height - job.line.source_height)
    return max(job.line.static - top, 0.0)


def start_gauge(case: records.Case, job: Filling, closed: ClosedVessel) -> float:
    """What the gauge shows before pumping: never less than with the vessel just full."""
    start = case.test.start_pressure
    if start == "tap":
        return max(job.line.static - job.line.density * GRAVITY * (closed.gauge_height - job.line.source_height),
                   closed.full)
    return max(value(None if start == "full" else start, 0.0), closed.full)


def _top_up(case: records.Case, job: Filling, closed: ClosedVessel) -> dict[str, float]:
    """Water the tap gives to the full vessel and its test hose, and the time to 99.9 % of what it can put on."""
    start = start_gauge(case, job, closed)
    if start <= closed.full:
        return {"top_up_m3": 0.0, "top_up_s": 0.0}
    reach = tap_reach(job)
    last = min(closed.air_abs(start) - closed.atmosphere_abs, TOP_UP_SHARE * reach)
    wetted = 1.0 if job.is_pipe else 0.0

    at_top = closed.air_abs(0.0) - closed.atmosphere_abs

    def seconds_per_pa(top: float) -> float:
        """By the pressure at the highest point."""
        return closed.water_by_pressure(top - at_top) / job.line.flow(job.shape.height, top, wetted)

    first = closed.full + at_top
    time = quad(seconds_per_pa, first, last, epsabs=0.0, epsrel=1e-9, limit=400)[0]
    return {"top_up_m3": closed.water(closed.full, start), "top_up_s": float(time)}

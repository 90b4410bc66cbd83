"""The fill marched in time, and the tap bringing the full vessel to its own pressure."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import inf
from typing import Any

import fluids
import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from fillcalc.case import records
from tests.twin.closed import ClosedVessel
from tests.twin.inputs import Numbers, pipe, value
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
    contents: float = inf
    """Water in one container, m3."""
    plan: float = inf
    """Its plan area, m2; infinite where the level does not fall."""
    pause: float = 0.0
    """Seconds to change it for the next."""
    since: float = 0.0

    def containers(self) -> list[tuple[float, float]]:
        """Water in the vessel when each container takes over, and when it is empty or the fill ends."""
        marks = [0.0]
        while marks[-1] + self.contents < self.end * (1 - 1e-12):
            marks.append(marks[-1] + self.contents)
        return list(pairwise([*marks, self.end]))

    def sink(self, water: float, since: float) -> None:
        """Let the container that took over at `since` fall to where it stands now."""
        self.line.fallen = (water - since) / self.plan

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
        self.sink(min(water, self.end), self.since)
        flow = self.flow(min(water, self.end), gauge)
        gas = max(self.volume - water, 1e-12 * self.volume)
        out = GAS_CONSTANT_AIR * self.temperature * self.air_out(gauge)
        return [flow, (pressure * flow - out) / gas]


def trapped_volume(vessel: records.Vessel, shape: Shape, given: Numbers, below: float) -> float:
    """Air left, at the atmosphere: as given, or what stands above a vent below the highest point, the crown empty.

    In a pipe run it is no more than what stands above the vent along the whole pipe, were it level.
    """
    if given.trapped_air is not None:
        return given.trapped_air
    above = given.gross_volume - shape.volume_at(shape.height - below)
    if not isinstance(vessel, records.PipeRun):
        return above
    bore, _ = pipe(vessel)
    level = fluids.TANK(D=bore, L=float(vessel.length), horizontal=True)
    whole_way = given.gross_volume - float(level.V_from_h(max(bore - below, 0.0)))
    return min(above, whole_way) if shape.height else whole_way


def filling(case: records.Case, given: Numbers, shape: Shape) -> Filling:
    is_pipe = isinstance(case.vessel, records.PipeRun)
    vent = case.vent
    area = 0.0 if vent.shut else value(vent.coefficient, 0.6) * circle(value(vent.bore, 8e-3))
    air = trapped_volume(case.vessel, shape, given, value(vent.below_highest_point, 0.0))
    held = isinstance(case.tap, records.HeaderTank | records.Bucket | records.TransferPump)
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
        contents=value(case.tap.contents, inf),
        plan=value(case.tap.area, inf) if held and case.tap.contents is not None else inf,
        pause=value(case.fill.change_over, 0.0),
    )


def fill(case: records.Case, job: Filling, closed: ClosedVessel) -> dict[str, Any]:
    """Answers of the fill, keyed like the JSON but without the leading name."""
    line = job.line
    start = job.flow(0.0, 0.0)
    answers: dict[str, Any] = {"flow_start_m3_s": start}
    stall = _stall(job)
    if stall is not None:
        status, water, gauge = stall
        before = [_from_one(job, since, until) for since, until in job.containers() if until < water]
        answers.update(finished=False, status=status, time_s=NAN, water_m3=water, filled_share=water / job.volume,
                       water_kg=water * line.density, level_m=job.surface(water),
                       air_peak_gauge_pa=max([gauge, *(run.peak for run in before)]),
                       bottom_peak_gauge_pa=max([gauge + _column(job, water), *(run.bottom for run in before)]))
        return answers

    runs = [_from_one(job, since, until) for since, until in job.containers()]
    time = sum(run.time for run in runs)
    last = runs[-1]
    job.sink(job.end, job.since)
    answers.update(finished=True, status="done", water_m3=job.end, filled_share=job.end / job.volume,
                   water_kg=job.end * line.density, level_m=job.surface(job.end), flow_end_m3_s=last.end_flow,
                   air_peak_gauge_pa=max(run.peak for run in runs),
                   bottom_peak_gauge_pa=max(run.bottom for run in runs),
                   run_to_waste_s=value(case.fill.run_to_waste, 0.0) / last.end_flow)
    answers.update(_shares(job, runs))
    job.sink(job.end, job.since)
    answers.update(_top_up(case, job, closed))
    answers.update(flowing_s=time)
    return answers


def changed(job: Filling, given: float, flowing: float) -> dict[str, float]:
    """Time and count of the change-overs for the water that fill, top-up, run to waste and pump take together."""
    count = 0
    while given - (count + 1) * job.contents > 1e-9 * job.contents:
        count += 1
    return {"change_overs": count, "change_over_s": count * job.pause, "given_m3": given,
            "time_s": flowing + count * job.pause}


@dataclass
class _Run:
    """What one container gave."""

    time: float
    end_flow: float
    peak: float
    bottom: float
    since: float
    times: Any
    states: Any


def _from_one(job: Filling, since: float, until: float) -> _Run:
    """March from air at rest to the end of one container, or of the fill."""
    job.since = since
    span = until - since
    job.sink(since, since)
    start = job.flow(since, 0.0)
    nearly = until - LAST_DROP * span

    def full(_: float, state: Any) -> float:
        return float(state[0]) - nearly

    full.terminal = True  # type: ignore[attr-defined]
    longest = 400 * job.volume / start
    if job.vent_area:
        longest += 20 * job.volume / (150.0 * job.vent_area)
    run = solve_ivp(job.slope, (0.0, longest), [since, 0.0], method="Radau", events=full, dense_output=True,
                    rtol=1e-9, atol=[1e-12 * job.volume, 1e-4], first_step=1e-9 * span / start)
    if not run.t_events[0].size:
        raise RuntimeError(f"the fill did not end: {run.message}")
    time = float(run.t_events[0][0])
    times = np.linspace(0.0, time, SHARE_POINTS)
    states = run.sol(times)
    last = max(float(run.y_events[0][0][1]), 0.0)
    job.sink(until, since)
    end_flow = job.flow(until, last)
    bottom = max(float(gauge) + _column(job, min(float(water), until))
                 for water, gauge in zip(*np.hstack([states, run.y]), strict=True))
    return _Run(time + LAST_DROP * span / end_flow, end_flow, float(max(states[1].max(), run.y[1].max())), bottom,
                since, times, states)


def _column(job: Filling, water: float) -> float:
    """Pressure of the water at the bottom."""
    return job.line.density * GRAVITY * job.surface(water)


def _stall(job: Filling) -> tuple[str, float, float] | None:
    """Where the fill stands still, if it does: shut-in air against the source, or the head alone."""
    line = job.line

    def spare(water: float, gauge: float) -> float:
        job.sink(water, since)
        return line.static - line.head(job.level(water)) - gauge

    def squeezed(water: float) -> float:
        return job.atmosphere_abs * water / (job.volume - water)

    for since, until in job.containers():
        shut = job.vent_area == 0.0
        edge = min(until, job.volume * (1 - 1e-12))
        if spare(since, squeezed(since) if shut else 0.0) <= 0:
            return "air" if shut and since > 0 else "head", since, squeezed(since) if shut else 0.0
        if spare(edge, squeezed(edge) if shut else 0.0) > 0:
            continue

        def left(water: float, shut: bool = shut) -> float:
            return spare(water, squeezed(water) if shut else 0.0)

        water = float(brentq(left, since, edge, xtol=1e-16, rtol=1e-13))
        return "air" if shut else "head", water, squeezed(water) if shut else 0.0
    return None


def _shares(job: Filling, runs: list[_Run]) -> dict[str, float]:
    """Each loss over the water volume, as a part of the source's static pressure over it; the height is what is left,
    so that a fall which the line cannot use does not count."""
    total = dict.fromkeys((*PARTS, "height", "vent"), 0.0)
    whole = 0.0
    for run in runs:
        rows: dict[str, list[float]] = {part: [] for part in total}
        waters = np.minimum(run.states[0], job.end)
        for water, gauge in zip(waters, run.states[1], strict=True):
            gauge = max(float(gauge), 0.0)
            job.sink(float(water), run.since)
            flow = job.flow(float(water), gauge)
            wetted = float(water) / job.volume if job.is_pipe else 0.0
            lost = job.line.parts(flow, wetted)
            for part in PARTS:
                rows[part].append(lost[part])
            rows["height"].append(job.line.static - gauge - sum(lost.values()))
            rows["vent"].append(gauge)
        for part in total:
            total[part] += float(np.trapezoid(rows[part], waters))
        whole += job.line.static * (waters[-1] - waters[0])
    return {f"shares.{part}": lost / whole for part, lost in total.items()}


def tap_reach(job: Filling) -> float:
    """Gauge pressure at the highest point when the tap has stopped flowing."""
    top = job.line.head(job.shape.height)
    return max(job.line.static - top, 0.0)


def start_gauge(case: records.Case, job: Filling, closed: ClosedVessel) -> float:
    """What the gauge shows before pumping: never less than with the vessel just full."""
    start = case.test.start_pressure
    if start == "tap":
        return max(job.line.static - job.line.head(closed.gauge_height), closed.full)
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

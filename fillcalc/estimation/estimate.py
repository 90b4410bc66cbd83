"""A case through all the stages, in the order of the work; no formula stands here."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array, spread, take
from fillcalc.case.medium import is_gas
from fillcalc.case.records import AirDrivenPump, Case
from fillcalc.estimation.afterwards import Done, afterwards
from fillcalc.estimation.answers import (
    LADDER,
    STROKE_MARKS,
    Estimate,
    Fill,
    FillHistory,
    Pressurise,
    PumpCurve,
    PumpHistory,
    Regulator,
    Rung,
    Shares,
    WaterParts,
)
from fillcalc.estimation.fill_limits import fill_pressures
from fillcalc.estimation.regulator import window_of
from fillcalc.job.job import job_of
from fillcalc.job.setup import at_drive, worst
from fillcalc.model import pump as pumps
from fillcalc.model.fill import fill
from fillcalc.model.filling import Filled, Filling, change_overs
from fillcalc.model.held import At, Held, whole
from fillcalc.model.pressurise import Duty, PumpedUp, pump_up, top_up
from fillcalc.model.status import Status

WRITTEN = slice(0, 1)
"""The row of the case as written."""
CURVE_POINTS = 41
HISTORY_POINTS = 40


def estimate(case: Case, times_alone: bool = False) -> Estimate:
    """Everything the tool says of a case; with `times_alone` without the pressures of the fill, settle, hold, energy
    and sweep, which no time of a stage hangs on.

    Leaves of the case are floats, or arrays (N,) with one value for each sample (the case as written
    first); every answer is then an array (N,), shape (1,) for a case of floats. Lists (strokes at the
    marks, histories, curves) have their own first axis; histories, curves, ladder and regulator are those
    of the case as written. Nothing raises: what cannot be had is NaN and a status says why.
    """
    if is_gas(case):
        from fillcalc.estimation.gas import gas_estimate

        return gas_estimate(case)
    job, pressures = job_of(case), None if times_alone else fill_pressures(case)
    case, vessel, task, closed, asked = job.case, job.body, job.filling, job.closed, job.duty
    filled = fill(task, job.level)
    pumping = _Pumping(closed, job.driver, asked)
    first = take(pumping, WRITTEN)
    path = _written_path(first, case.gauge.division[0])
    pumped = _all_rows(closed, job.driver, asked, path)
    done = filled.status == Status.DONE
    start, test = closed.at(np.minimum(asked.start_gauge, pumped.top_gauge)), closed.at(asked.test_gauge)
    return Estimate(
        fill=_fill_answer(case, task, filled,
                          (*top_up(closed, task.line, task.at_top, asked.start_gauge, task.most),
                           np.where(np.isfinite(pumped.time), pumped.pumped, 0.0))),
        trapped_air_m3=vessel.trapped,
        trapped_share=vessel.trapped / vessel.volume,
        volume_m3=vessel.volume,
        height_m=vessel.height,
        pressurise=_pressurise_answer(case, pumping, _Ways(_after(pumped, done), path, start, test), job.misfit),
        air_ladder=_ladder(first, case, float(vessel.trapped[0])),
        regulator=_regulator(first, case, float(_relief_flow(case, job.driver)[0])),
        fill_pressures=pressures,
        **afterwards(case, Done(vessel, filled, pumped, start, test, job.level), times_alone),
    )


@dataclass(frozen=True)
class _Pumping:
    """What a pump-up needs."""

    closed: Held
    driver: pumps.Pump
    asked: Duty


@dataclass(frozen=True)
class _Ways:
    """The pump-up of every sample, that as written with its marks, and the closed vessel at start and test pressure."""

    pumped: PumpedUp
    path: PumpedUp
    start: At
    test: At


def _written_path(first: _Pumping, division: float) -> PumpedUp:
    """The pump-up as written, through the needle's first division, the stroke marks and the chart's points."""
    asked = first.asked
    rising = np.linspace(0.0, 1.0, HISTORY_POINTS + 2)[1:-1, None] ** 2
    marks = [
        asked.start_gauge + division,
        *(part * asked.test_gauge for part in STROKE_MARKS),
        *(asked.start_gauge + rising * (asked.test_gauge - asked.start_gauge)),
    ]
    return pump_up(first.closed, first.driver, replace(asked, marks=np.stack(marks)))


def _all_rows(closed: Held, driver: pumps.Pump, asked: Duty, path: PumpedUp) -> PumpedUp:
    """The pump-up of every sample, with that as written in the first row."""
    if len(asked.test_gauge) == 1:
        return path
    pumped = pump_up(closed, driver, asked)
    for name in ("status", "time", "pumped", "free_air", "stall_gauge", "top_gauge", "limited_by"):
        getattr(pumped, name)[0] = getattr(path, name)[0]
    return pumped


def _fill_answer(case: Case, task: Filling, filled: Filled, after: tuple[Array, Array, Array]) -> Fill:
    """The fill; `after` is the water that tops the vessel up, its time, and the water that the pump takes."""
    done = filled.status == Status.DONE
    topped, topped_time, pumped = after
    given = np.where(done, filled.water + case.fill.run_to_waste + topped + pumped, np.nan)
    changed = change_overs(task.contents, given)
    pause = changed * task.change_over
    driven = task.line.source.pressure * filled.water
    shares = (part / np.where(driven > 0.0, driven, np.nan) for part in filled.parts)
    names = ("time_s", "water_m3", "level_m", "flow_m3_s", "air_gauge_pa")
    history = filled.history or (np.full((1, 1), np.nan),) * len(names)
    return Fill(
        status=filled.status,
        finished=done,
        time_s=filled.time + pause,
        change_over_s=pause,
        change_overs=changed,
        given_m3=given,
        run_to_waste_s=np.where(done, case.fill.run_to_waste / np.where(done, filled.flow_end, 1.0), np.nan),
        water_m3=filled.water,
        water_kg=filled.water * task.line.density,
        filled_share=filled.water / task.volume,
        top_up_m3=np.where(done, topped, np.nan),
        top_up_s=np.where(done, topped_time, np.nan),
        flow_start_m3_s=filled.flow_start,
        flow_end_m3_s=filled.flow_end,
        air_peak_gauge_pa=filled.air_peak_gauge,
        bottom_peak_gauge_pa=filled.bottom_peak_gauge,
        level_m=filled.level,
        shares=Shares(*shares),
        history=FillHistory(**dict(zip(names, history, strict=True)),
                            gauge_pa=_gauge_while_filling(case, task, history[2], history[4])),
    )


def _gauge_while_filling(case: Case, task: Filling, level: Array, air_gauge: Array) -> Array:
    """What the gauge shows at a level, m, under air at a pressure, Pa; (nodes, 1), never less than nothing."""
    above = level - np.ravel(case.gauge.height)[0]
    return np.maximum(air_gauge + np.ravel(task.weight)[0] * above, 0.0)


def _after(pumped: PumpedUp, done: Array) -> PumpedUp:
    """The pump-up where the fill was finished; nothing where it was not."""
    if done.all():
        return pumped
    blank = {name: np.where(done, getattr(pumped, name), np.nan) for name in ("time", "pumped", "free_air")}
    return replace(pumped, status=np.where(done, pumped.status, int(Status.NOT_STARTED)), **blank)


def _bare(closed: Held) -> Held:
    """The same without air."""
    return replace(closed, air=np.zeros_like(closed.air))


def _stroke(case: Case) -> Array | float:
    stroke = getattr(case.pump, "stroke", None)
    return np.nan if stroke is None else stroke


def _pressurise_answer(case: Case, pumping: _Pumping, ways: _Ways, residual: Array) -> Pressurise:
    closed, driver, asked = pumping.closed, pumping.driver, pumping.asked
    pumped, path, start = ways.pumped, ways.path, ways.start
    reached = (pumped.status == Status.DONE) | (pumped.status == Status.STARTS_ABOVE)
    finished = pumped.status != Status.NOT_STARTED
    end = ways.test if np.array_equal(pumped.top_gauge, asked.test_gauge) else closed.at(pumped.top_gauge)
    parts = closed.between(start, end)
    no_air = whole(_bare(closed).between(start, ways.test))
    stored = whole(parts)
    stroke = _stroke(case)
    lifted = closed.at(np.minimum(start.gauge + case.gauge.division, pumped.top_gauge))
    needle = whole(closed.between(start, lifted)) / stroke
    needle = np.concatenate([path.at_water[1, :1] / np.ravel(stroke)[:1], needle[1:]])
    return Pressurise(
        status=pumped.status,
        reached=reached,
        water_m3=np.where(finished, stored, np.nan),
        water_no_air_m3=np.where(finished, no_air, np.nan),
        times_air_free=np.where(reached & (no_air > 0.0), stored / np.where(no_air > 0.0, no_air, 1.0), np.nan),
        parts=WaterParts(*(np.where(finished, part, np.nan) for part in parts)),
        time_s=pumped.time,
        pause_s=_pauses(asked, pumped),
        strokes=np.where(reached, pumped.pumped / stroke, np.nan),
        strokes_at=_strokes_at(pumped, path, stroke),
        strokes_before_needle=np.where(finished, needle, np.nan),
        free_air_m3=np.where(reached, pumped.free_air, np.nan),
        curve_residual=residual,
        full_gauge_pa=closed.full_gauge,
        start_gauge_pa=asked.start_gauge,
        stall_gauge_pa=pumped.stall_gauge,
        stall_no_friction_gauge_pa=pumps.stall(worst(case, driver)) * np.ones_like(asked.test_gauge),
        relief_flow_m3_s=_relief_flow(case, driver),
        test_gauge_pa=asked.test_gauge,
        limited_by=pumped.limited_by,
        curve=_curve(driver, asked, pumped),
        history=_history(take(closed, WRITTEN), path, stroke),
    )


def _strokes_at(pumped: PumpedUp, path: PumpedUp, stroke: Array | float) -> Array:
    """Strokes at the marks of the case as written, (marks, 1); NaN beyond what the pump reaches."""
    marks = slice(2, 2 + len(STROKE_MARKS))
    wanted = np.array(STROKE_MARKS)[:, None] * path.at_gauge[-1] / np.max(STROKE_MARKS)
    strokes = path.at_water[marks] / np.ravel(stroke)[0]
    there = (pumped.status[:1] != Status.NOT_STARTED) & (wanted <= path.top_gauge)
    return np.where(there, strokes, np.nan)


def _pauses(asked: Duty, pumped: PumpedUp) -> Array:
    """Time in the pauses that lie above the start, s; NaN where test pressure is not reached."""
    there = (asked.stops > asked.start_gauge) & (asked.stops <= asked.test_gauge)
    total = np.where(there, asked.pauses, 0.0).sum(axis=0)
    return np.where(np.isnan(pumped.time), np.nan, total)


def _curve(driver: pumps.Pump, asked: Duty, pumped: PumpedUp) -> PumpCurve:
    """The pump as written, from no pressure to its stall or half as much again as the test pressure."""
    driver = take(driver, WRITTEN)
    top = np.minimum(pumped.stall_gauge[:1], 1.5 * asked.test_gauge[:1])
    if isinstance(driver, pumps.AirDriven):
        top = pumped.stall_gauge[:1]
    gauge = np.linspace(0.0, 1.0, CURVE_POINTS)[:, None] * top
    return PumpCurve(gauge, pumps.flow(driver, gauge)[0])


def _history(first: Held, path: PumpedUp, stroke: Array | float) -> PumpHistory:
    """Pressure, water, time, strokes and trapped air on the way up, as written, in the order of the pressure."""
    order = np.argsort(path.at_gauge[:, 0], kind="stable")
    gauge, water, time = path.at_gauge[order], path.at_water[order], path.at_time[order]
    at = first.at(gauge)
    return PumpHistory(gauge, water, time, water / np.ravel(stroke)[0], air_m3=first.air * at.pocket,
                       air_gauge_pa=at.air_abs - first.outside_abs)


def _ladder(first: _Pumping, case: Case, own: float) -> tuple[Rung, ...]:
    """The pump-up as written with other amounts of trapped air, m3: the usual rungs and the case's own, which stands
    in the place of a rung that reads the same to three figures."""
    volume, pocket = float(first.closed.volume[0]), float(first.closed.air[0]) - own
    mine = own / volume
    shares = np.array(sorted([mine, *(rung for rung in LADDER if f"{rung:.3g}" != f"{mine:.3g}")]))
    many = spread(first, len(shares))
    closed = replace(many.closed, air=pocket + shares * volume)
    division = many.asked.start_gauge + case.gauge.division[0]
    pumped = pump_up(closed, many.driver, replace(many.asked, marks=division[None]))
    start = np.minimum(many.asked.start_gauge, pumped.top_gauge)
    water = closed.water_to(start, pumped.top_gauge)
    bare = _bare(closed).water_to(start, many.asked.test_gauge)
    stroke = np.ravel(_stroke(case))[0]
    times = water / np.where(bare > 0.0, bare, np.nan)
    columns = (shares, water, pumped.time, pumped.pumped / stroke, pumped.at_water[1] / stroke, times)
    return tuple(Rung(*row) for row in zip(*columns, strict=True))


def _relief_flow(case: Case, driver: pumps.Pump) -> Array:
    """What the pump can give at the set pressure of the relief valve, m3/s; NaN without one."""
    if case.relief_valve is None:
        return np.full_like(case.test.pressure, np.nan)
    return pumps.flow(worst(case, driver), case.relief_valve.set + np.zeros_like(case.test.pressure))[0]


def _regulator(first: _Pumping, case: Case, relief_flow: float) -> Regulator | None:
    """The window of regulator settings at likely values, and the one to use."""
    window = window_of(case, relief_flow)
    if window is None or not isinstance(first.driver, pumps.AirDriven):
        return None
    given, time = case.pump, np.array([np.nan])
    assert isinstance(given, AirDrivenPump)
    if np.isfinite(window.advised):
        driver = at_drive(first.driver, given.friction[:1], np.array([window.advised]))
        time = pump_up(first.closed, driver, first.asked).time
    return Regulator(
        lowest_gauge_pa=window.reaching, highest_gauge_pa=window.passes,
        window=bool(window.limit_of) and bool(np.isfinite(window.advised)), advised_gauge_pa=window.advised,
        time_s=time[0], limit_gauge_pa=window.limit, limit_of=window.limit_of)

"""What one finished job tells: of the work, the joints, the tap, the trapped air and the pump.

Times are as they were written down. The tap is the open flow that makes the fill time true with the case's own hose
and vent; the air is what the strokes to test pressure, or the readings, make of it; the pump is the middle of its
curve that makes the pump-up time true with those strokes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite, log
from typing import Any

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case import norms
from fillcalc.case.assume import handbook
from fillcalc.case.medium import counts, is_gas
from fillcalc.case.own import (
    BENCH,
    CLOSING,
    EACH_STAGES,
    PATHS,
    SITE,
    OwnAir,
    OwnEntry,
    OwnPump,
    OwnRemade,
    OwnSource,
    OwnTime,
    work_of,
)
from fillcalc.case.records import AirDrivenPump, Case, Range
from fillcalc.estimation.stages import VALVES
from fillcalc.job.job import job_of
from fillcalc.model.fill import fill
from fillcalc.model.pressurise import pump_up
from fillcalc.model.status import Status
from fillcalc.questions.jobs.batch import Batch, together
from fillcalc.questions.readings.answer import readings
from fillcalc.tree import at, put_all

LEAST_OF_LIKELY = 0.1
"""A time or an air of nothing counts as this part of the default's likely one; judgement."""
FLOWS = tuple(float(each) for each in np.geomspace(0.1, 10.0, 25))
"""Open flows that are tried, over the default's likely one."""
MIDDLES = tuple(float(each) for each in np.linspace(0.2, 1.5, 27))
"""Middles of the pump's curve that are tried: all that a case may give."""


@dataclass(frozen=True)
class Seen:
    """One thing that a job tells: of what, the natural logarithm of the value, and the default it stands beside."""

    of: OwnEntry
    """An entry whose figures are still nothing: where the value holds."""
    log: float
    default: Range
    job: int
    what: str
    """The stage or the quantity, as a person says it."""


@dataclass(frozen=True)
class Joints:
    """Pieces of a job and those of them with a joint to re-make."""

    of: OwnRemade
    default: float
    remade: float
    pieces: int
    job: int


NOTHING: dict[str, Any] = {"low": 0.0, "likely": 0.0, "high": 0.0, "why": ""}


def seen(cases: Sequence[Case]) -> tuple[list[Seen], list[Joints]]:
    """Return what finished jobs tell, in their order; a case without a [took] tells nothing.

    A test with gas tells of the work and the joints alone: it has no tap, no trapped air and no pump.
    """
    found = [one for job, case in enumerate(cases) for one in _work(job, case)]
    joints = [one for job, case in enumerate(cases) for one in _joints(job, case)]
    water = [job for job, case in enumerate(cases) if not is_gas(case)]
    filled = [cases[job] for job in water]
    air = _airs(filled)
    found += [one for at, value in air.items() for one in _air(water[at], filled[at], value)]
    found += [one for at, value in _open_flows(filled).items() for one in _source(water[at], filled[at], value)]
    found += [one for at, value in _middles(filled, air).items() for one in _pump(water[at], filled[at], value)]
    return found, joints


# --- work ---------------------------------------------------------------------------------------

def _work(job: int, case: Case) -> list[Seen]:
    found = []
    for stage, path in PATHS.items():
        taken, default = at(case.took, stage), handbook(case, path)
        if taken is None or default is None or not counts(path, is_gas(case)):
            continue
        part = float(case.labour.openings) if stage in CLOSING else 1.0
        each = Range(default.low / part, None if default.likely is None else default.likely / part,
                     default.high / part, given=False)
        found.append(Seen(_time_of(case, stage), _log(float(taken) / part, each), each, job, stage.replace("_", " ")))
    return found


def _time_of(case: Case, stage: str) -> OwnTime:
    work = work_of(case.vessel)
    if stage in CLOSING:
        over, to = norms.sizes(case.vessel, case.labour)
        return OwnTime(stage=stage, work=work[0], crew=case.labour.crew, closure=case.labour.closure,
                       bore_over=over or None, bore_to=to if to < norms.WIDEST else None, **NOTHING)
    broad = stage not in EACH_STAGES or work[0] == BENCH
    return OwnTime(stage=stage, work=work[0] if broad else work[-1], crew=case.labour.crew, **NOTHING)


def _log(value: float, default: Range) -> float:
    """The logarithm of a value, of one that is next to nothing that of a tenth of the likely default."""
    assert default.likely is not None
    return log(max(value, LEAST_OF_LIKELY * default.likely))


def _joints(job: int, case: Case) -> list[Joints]:
    if case.took.remade is None:
        return []
    of = OwnRemade(work=BENCH if BENCH in work_of(case.vessel) else SITE, **NOTHING)
    return [Joints(of, norms.remade_share(case.vessel), float(case.took.remade), case.vessel.count or 1, job)]


# --- the tap ------------------------------------------------------------------------------------

def _source(job: int, case: Case, flow: float) -> list[Seen]:
    default = handbook(case, "tap.open_flow")
    if default is None or default.likely is None:
        return []
    name = (case.tap.name or "").strip() or None
    return [Seen(OwnSource(kind=case.tap.kind, name=name, **NOTHING), log(flow), default, job, "tap open flow")]


def _open_flows(cases: Sequence[Case]) -> dict[int, float]:
    """The open flow of the source of each job that timed its fill, m3/s; none where no open flow makes it true."""
    asked = {job: (float(case.took.fill), default.likely) for job, case in enumerate(cases)
             if case.took.fill and case.fill.measured_flow is None and not case.tap.points
             and (default := handbook(case, "tap.open_flow")) is not None and default.likely is not None}

    def times(batch: Batch) -> Array:
        job = job_of(batch.case)
        filled = fill(job.filling, job.level)
        return np.where(filled.status == Status.DONE, filled.time, inf)

    grids = {job: np.array(FLOWS) * likely for job, (_, likely) in asked.items()}
    wanted = {job: time for job, (time, _) in asked.items()}
    return _solved(cases, wanted, grids, Solving("tap.open_flow", times, 2.0))


# --- the air ------------------------------------------------------------------------------------

def _air(job: int, case: Case, share: float) -> list[Seen]:
    default = handbook(case, "trapped_air.amount")
    if default is None:
        return []
    of = OwnAir(vessel=case.vessel.practice().kind, from_=case.fill.from_, **NOTHING)
    return [Seen(of, _log(share, default), default, job, "trapped air")]


def _airs(cases: Sequence[Case]) -> dict[int, float]:
    """Free air as a share of the volume by job: from the strokes to test pressure, where the water of a stroke is
    known, else from its readings. Below nothing where less water went in than a vessel without air takes."""
    found: dict[int, float] = {}
    counted = [job for job, case in enumerate(cases) if case.took.strokes and _stroke(case) is not None]
    for batch in together([cases[job] for job in counted], [1] * len(counted)):
        work = job_of(batch.case)
        start, test = np.minimum(work.duty.start_gauge, work.duty.test_gauge), work.duty.test_gauge
        bare, full = (work.with_air(share) for share in (0.0, 0.01))
        nothing, more = bare.water_to(start, test), full.water_to(start, test)
        strokes = np.array([cases[counted[one]].took.strokes or 0.0 for one in batch.members])
        water = strokes * np.array([float(_stroke(cases[counted[one]]) or 0.0) for one in batch.members])
        share = 0.01 * (water - nothing) / (more - nothing)
        found.update({counted[one]: float(value) for one, value in zip(batch.members, share, strict=True)})
    for job, case in enumerate(cases):
        if job not in found and len(case.reading) > 1:
            share = readings(case).share.likely
            if isfinite(share):
                found[job] = float(share)
    return {job: share for job, share in found.items() if isfinite(share)}


def _stroke(case: Case) -> float | None:
    """Water of a stroke, m3, where the case gives it."""
    pump = case.pump
    per_litre = getattr(pump, "strokes_per_litre", None)
    if per_litre is not None:
        return 1.0 / float(per_litre)
    stroke = getattr(pump, "stroke", None)
    return None if stroke is None or any(each.path == "pump.stroke" for each in case.assumptions) else float(stroke)


# --- the pump -----------------------------------------------------------------------------------

def _pump(job: int, case: Case, middle: float) -> list[Seen]:
    default = handbook(case, "pump.mid_curve")
    if default is None:
        return []
    name = (case.pump.name or "").strip()
    return [Seen(OwnPump(name=name, **NOTHING), log(middle), default, job, "pump curve")]


def _middles(cases: Sequence[Case], air: dict[int, float]) -> dict[int, float]:
    """The middle of the curve of each named pump whose pump-up was timed, with the air that its strokes tell.

    A pump-up as short as the least that turning valves takes tells nothing of the pump.
    """
    asked = {job: float(case.took.pump_up) for job, case in enumerate(cases)
             if case.took.pump_up and case.took.pump_up > VALVES and job in air and isinstance(case.pump, AirDrivenPump)
             and (case.pump.name or "").strip() and not case.pump.points}

    def times(batch: Batch) -> Array:
        job = job_of(batch.case)
        shares = np.repeat([max(air[one], 0.0) for one in batch.members], len(MIDDLES))
        pumped = pump_up(job.with_air(shares), job.driver, job.duty)
        return np.where(pumped.status == Status.DONE, pumped.time, inf)

    grids = {job: np.array(MIDDLES) for job in asked}
    return _solved(cases, asked, grids, Solving("pump.mid_curve", times, 1.0))


@dataclass(frozen=True)
class Solving:
    """The input that is solved for, the time that falls with it, and the power in which it does so: the squares of
    losses add up along a line, a pump's time goes with one over its flow."""

    path: str
    times: Callable[[Batch], Array]
    power: float


def _solved(cases: Sequence[Case], wanted: dict[int, float], grids: dict[int, Array],
            by: Solving) -> dict[int, float]:
    """The input of each case at which its time, s, is the one wanted.

    With the power n, 1/input^n is nearly straight in time^n, and is taken so between the values that are tried. None
    where all of them take longer, or less.
    """
    jobs = list(wanted)
    spread = [put_all(cases[job], {by.path: grids[job]}) for job in jobs]
    found = {}
    for batch in together(spread, [len(grids[job]) for job in jobs]):
        inner = replace(batch, members=tuple(jobs[one] for one in batch.members))
        taken = by.times(inner)
        for job, rows in zip(inner.members, inner.rows, strict=True):
            grid, time = grids[job], taken[rows]
            known = np.isfinite(time) & (time > 0.0)
            if known.sum() > 1 and time[known].min() <= wanted[job] <= time[known].max():
                order = np.argsort(time[known], kind="stable")
                bent = np.interp(wanted[job] ** by.power, time[known][order] ** by.power,
                                 grid[known][order] ** -by.power)
                found[job] = float(bent ** (-1.0 / by.power))
    return found

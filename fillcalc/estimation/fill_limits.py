"""What filling can put on a vessel, against what it stands: behind a small vent, a shut one, and a tap left on.

Here everything in doubt is taken at its unlucky end: the source and the line strong, the vent small.
"""

from __future__ import annotations

from dataclasses import replace
from math import isfinite, nan

import numpy as np

from fillcalc.arrays import Array, first
from fillcalc.case.records import Case
from fillcalc.estimation.answers import FillPressures, at_likely_values
from fillcalc.job.job import job_of
from fillcalc.job.setup import open_flow_of
from fillcalc.model.fill import fill
from fillcalc.model.hammer import Column, surge
from fillcalc.model.line import k_to_quadratic, open_flow
from fillcalc.model.status import Status
from fillcalc.tree import at, put

STRONG_HIGH = ("tap.pressure", "tap.open_flow", "tap.height", "fill.measured_flow", "fill.kv", "fill.cv")
STRONG_LOW = ("vent.bore", "vent.coefficient")
WIDER = ("bore", "coupling_hole", "tail_bore", "reel")
"""Leaves of a hose that pass more the larger they are; it passes less the larger the others are."""
KEPT = 0.8
"""Part of what the vessel can take beside the water's own weight that an advised vent or flow keeps to; judgement."""
BUCKET_HIGH = 1.1
"""A flow timed with a bucket may be a tenth more than it seemed; judgement."""
BEFORE_STALL = 0.97
"""Part of the water at a standstill up to which the air before it is looked at."""
MILLIMETRE, INCH = 1e-3, 0.0254
LITRE_A_MINUTE, GPM = 1e-3 / 60.0, 3.785411784e-3 / 60.0
BORES = {
    "metric": (*range(1, 21), 22, 25, 28, 32, 40, 50, 65, 80, 100, 125, 150, 200, 250, 300),
    "us": (*(eighth / 8.0 for eighth in range(1, 9)), *(quarter / 4.0 for quarter in range(5, 13)), 4, 5, 6, 8, 10, 12),
}
"""Vents that can be had, mm and in."""
STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)
"""Flows that can be set by a bucket and a watch, in each power of ten from a tenth of a L/min or gpm."""


def fill_pressures(case: Case) -> FillPressures:
    """The limit and the pressures that need no march; the case as written, with its ranges."""
    job = job_of(unlucky(at_likely_values(case)))
    task, case = job.filling, job.case
    limit = case.vessel.never_above
    return FillPressures(first(case.test.pressure if limit is None else limit), limit is not None,
                         float(task.weight[0] * task.height[0]), float(task.driving[0]))


def unlucky(case: Case) -> Case:
    """The case with its source and line at their strongest and its vent at its smallest, within its ranges."""
    for path, asked in case.ranges.items():
        if _goes(path) and not isinstance(at(case, path), str | None):
            case = put(case, path, asked.high if _goes(path) > 0 else asked.low)
    return case


def _goes(path: str) -> int:
    """Which end of an input brings more pressure: 1 the high one, -1 the low one, 0 neither."""
    if path.startswith("fill.hose."):
        return 1 if path.rpartition(".")[2] in WIDER else -1
    return (path in STRONG_HIGH) - (path in STRONG_LOW)


def bottom_peak(case: Case) -> Array:
    """Most pressure at the bottom while filling with the vent open, Pa gauge, (N,): air and water together.

    A fill that comes to a standstill is looked at until shortly before.
    """
    job = job_of(case)
    task, filled = job.filling, fill(job.filling, job.level)
    stands = (filled.status == Status.HEAD_TOO_HIGH) & (filled.water > 0.0)
    if not stands.any():
        return filled.bottom_peak_gauge
    begun = fill(replace(task, end=np.where(stands, BEFORE_STALL * filled.water, task.end)), job.level)
    return np.fmax(np.where(stands, begun.bottom_peak_gauge, 0.0), filled.bottom_peak_gauge)


def passes_limit(case: Case, pressures: FillPressures) -> bool:
    """Whether the air behind an open vent can bring the vessel past its limit while it fills."""
    limit = pressures.limit_gauge_pa
    if case.vent.shut or not pressures.source_gauge_pa > limit > pressures.water_alone_gauge_pa:
        return False
    return peak_of(case) > limit


def peak_of(case: Case) -> float:
    """The most pressure at the bottom while this case fills, Pa gauge."""
    return float(bottom_peak(unlucky(case))[0])


def _allowed(pressures: FillPressures) -> float:
    water = pressures.water_alone_gauge_pa
    return water + KEPT * (pressures.limit_gauge_pa - water)


def wide_enough(case: Case) -> float:
    """The smallest vent that can be had and keeps the vessel below its limit, m; NaN where none does."""
    pressures, worst = fill_pressures(case), unlucky(case)
    unit = INCH if case.units == "us" else MILLIMETRE
    bores = unit * np.array([bore for bore in BORES[case.units] if unit * bore > worst.vent.bore])
    if not bores.size:
        return nan
    good = bottom_peak(put(worst, "vent.bore", bores)) <= _allowed(pressures)
    return float(bores[good][0]) if good.any() else nan


def slow_enough(case: Case) -> float:
    """The largest flow that can be set and keeps the vessel below its limit with this vent, m3/s; NaN where none does.
    It is measured at the vessel end of the hose, at the vessel's bottom."""
    pressures, worst = fill_pressures(case), unlucky(case)
    task = job_of(worst).filling
    now = open_flow(task.line, task.driving)[0]
    unit = GPM if case.units == "us" else LITRE_A_MINUTE
    settings = np.array([unit * step * 10.0**power for power in range(-1, 5) for step in STEPS])
    flows = settings[settings < now]
    if not flows.size:
        return nan
    good = bottom_peak(put(worst, "fill.measured_flow", BUCKET_HIGH * flows)) <= _allowed(pressures)
    return float(flows[good][-1]) if good.any() else nan


def too_low(case: Case) -> float:
    """How far the source stands too low for any water to flow at all, m; not above zero where some does."""
    job = job_of(case)
    task = job.filling
    return float(-task.head(job.level, 0.0 * task.end)[0] / task.weight[0])


def runs_out_open(case: Case) -> float:
    """Flow of the source with nothing connected to it, m3/s; infinite where its pressure does not fall."""
    return float(open_flow_of(job_of(case).filling.line.source)[0])


def surge_peak(case: Case, end_flow: float) -> float:
    """Static pressure and surge together when the last air leaves at this flow, Pa gauge; NaN where no hose is known.

    The flow that the vent passes as water goes on; the rest stops. Source: `fillcalc.model.hammer`.
    """
    job = job_of(case)
    hoses, vessel, task, supply = job.case.fill.hose, job.body, job.filling, job.filling.line
    if not hoses or not isfinite(end_flow):
        return nan
    if not task.vent_area[0] > 0.0:
        return nan
    vent_k = k_to_quadratic(1.0, np.sqrt(task.vent_area / (0.25 * np.pi)), supply.density) / supply.scale
    through = open_flow(replace(supply, valve_k=supply.valve_k + vent_k), task.at_top)
    bores, lengths = [hose.bore for hose in hoses], [hose.length for hose in hoses]
    run = vessel.inside.run()
    if run is not None:
        bores, lengths = [*bores, run[0]], [*lengths, run[1]]
    rise = surge(Column(tuple(bores), tuple(lengths), supply.density), np.maximum(end_flow - through, 0.0),
                 job.closed.water_slopes(task.outside_abs)[0], vessel.trapped, task.outside_abs)
    return float((task.driving + rise)[0])

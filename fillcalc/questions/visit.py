"""How long on site: several cases in one visit, with what counts once counted once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fillcalc.case.fields import Number
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate, Never, Span, Stage, answer, at_likely_values, part
from fillcalc.estimation.stages import ONCE, REWORK, at_once, batches
from fillcalc.job.samples import Samples, assign, keys, samples
from fillcalc.model.arrays import Array
from fillcalc.questions.ranges import missing, percentiles, reasons, spreads, stage_ranges, total_of, work_out

OWN = ("vessel", "trapped_air", REWORK)
"""Tables whose values are drawn for each case on its own; the rest is one site, one kit and one crew."""


@dataclass(frozen=True)
class VisitCase:
    """One case of a combined visit, without what is counted once."""

    title: str
    pieces: int
    stages: tuple[Stage, ...] = part()
    time_s: Span = part()
    """Without the rework, which is a line of its own."""
    water_m3: Number = answer("volume", "water")
    free_air_m3: Number = answer("volume", "free air")
    never: tuple[Never, ...] = ()
    """Why its samples never finish, the most frequent first."""
    without: tuple[str, ...] = ()
    """Stages that cannot be worked out; its time is without them."""


@dataclass(frozen=True)
class CombinedVisit:
    """Several cases in one visit; waiting, set-up and packing count once, the longest of each.

    The lows and highs of stages and cases do not add up to the total's: not all goes badly at once. Samples that never
    finish count as longer than any that do, so a low, likely or high that falls among them is NaN.
    """

    cases: tuple[VisitCase, ...]
    once: tuple[Stage, ...] = part()
    rework: Stage = part()
    total_s: Span = part()
    rework_s: Number = answer("duration", "a re-made joint adds")
    remade_share: Number = answer("share", "visits with a re-made joint", "less")
    never_share: Number = answer("share", "samples that never finish", "less")
    saved_s: Number = answer("duration", "saved by connecting the next piece while one holds")
    water_m3: Number = answer("volume", "water from the tap and the pump")
    free_air_m3: Number = answer("volume", "free air for the pump")
    to_drain_m3: Number = answer("volume", "water to get rid of")


@dataclass(frozen=True)
class _Worked:
    """One case over all rows."""

    sampled: Samples
    estimate: Estimate
    times: Mapping[str, Array]
    without: tuple[str, ...]


def visit(cases: Sequence[Case], overlap: bool = False) -> tuple[CombinedVisit, tuple[Estimate, ...]]:
    """Return the combined visit of these cases, in their order, and the estimate of each as written.

    The same input is drawn once for all cases (tap, hoses, pump, labour); the vessels, their trapped air and
    their joints each for themselves. With `overlap` the next piece is connected while one settles and holds, as far
    as both last; it takes a second pair of hands.
    """
    columns = _columns(cases)
    worked = [_work(case, number, columns) for number, case in enumerate(cases)]
    rows = max(1 + one.sampled.draws for one in worked)
    if rows == 1:
        rows = 1 + len(next(iter(columns.values())))
    once = {name: _longest([one.times[name] for one in worked], rows) for name in ONCE}
    rework = np.asarray(sum(_rows(one.times[REWORK], rows) for one in worked))
    own = [_rows(total_of(one.times, (*ONCE, REWORK, *one.without)), rows) for one in worked]
    saved = _saved(worked, rows) if overlap else np.zeros(rows)
    total = np.asarray(sum(once.values())) + sum(own) + rework - saved
    parts = tuple(_part(one, time) for one, time in zip(worked, own, strict=True))
    again = [_first(one.sampled.case.rework.time) for one in worked]
    combined = CombinedVisit(
        cases=parts,
        once=tuple(_stage(name, values) for name, values in once.items()),
        rework=_stage(REWORK, rework),
        total_s=_span(total),
        rework_s=max(again),
        remade_share=float(np.mean(rework[1:] > 0.0)),
        never_share=float(np.mean(~np.isfinite(total[1:]))),
        saved_s=float(saved[0]),
        water_m3=sum(float(one.water_m3) for one in parts),
        free_air_m3=sum(float(one.free_air_m3) for one in parts),
        to_drain_m3=sum(float(one.water_m3) for one in parts),
    )
    return combined, tuple(replace(at_likely_values(one.estimate), spreads=spreads(one.sampled, one.estimate))
                           for one in worked)


def _columns(cases: Sequence[Case]) -> dict[str, Array]:
    names = [_name(key, number) for number, case in enumerate(cases) for key in keys(case)]
    return assign(names)


def _name(key: str, number: int) -> str:
    return f"{number}:{key}" if key.partition(".")[0] in OWN else key


def _work(case: Case, number: int, columns: Mapping[str, Array]) -> _Worked:
    sampled = samples(case, {key: columns[_name(key, number)] for key in keys(case)}, ends=False)
    everything, times = work_out(sampled)
    return _Worked(sampled, everything, times, missing(everything, times))


def _rows(values: Array, rows: int) -> Array:
    """The first row and the draws, all of them alike where there is only one."""
    return np.broadcast_to(values, (rows,)) if values.size == 1 else values[:rows]


def _longest(values: Sequence[Array], rows: int) -> Array:
    return np.maximum.reduce([_rows(each, rows) for each in values])


def _saved(worked: Sequence[_Worked], rows: int) -> Array:
    """Time saved by connecting the next piece while one settles and holds, s."""
    saved = np.zeros(rows)
    lots = [(one, count) for one in worked for count in [batches(one.sampled.case)]]
    for number, (one, count) in enumerate(lots):
        stands = _rows((one.times["settle"] + one.times["hold"]) / count, rows)
        connect = _rows(one.times["connect"] / count, rows)
        saved = saved + (count - 1) * np.minimum(stands, connect)
        if number + 1 < len(lots):
            after, its_count = lots[number + 1]
            saved = saved + np.minimum(stands, _rows(after.times["connect"] / its_count, rows))
    return saved


def _part(one: _Worked, time: Array) -> VisitCase:
    case = one.sampled.case
    pieces = case.vessel.count or 1
    water, air = needed(case, one.estimate)
    times = {name: values for name, values in one.times.items() if name not in (*ONCE, REWORK)}
    return VisitCase(case.title, pieces, stage_ranges(one.sampled, times), _span(time), water, air,
                   reasons(one.sampled, one.estimate), one.without)


def needed(case: Case, estimate: Estimate) -> tuple[float, float]:
    """Water in m3 from tap and pump, run to waste included, and free air in m3 for all pieces of a case,
    likely ones; NaN where it is never done."""
    lots = batches(case)
    pieces = case.vessel.count or 1
    fill, pump = estimate.fill, estimate.pressurise
    own = pieces / at_once(case)
    waste = _first(case.fill.run_to_waste) * lots
    water = own * np.asarray(fill.water_m3 + fill.top_up_m3 + pump.water_m3) + waste
    return _likely(water), own * _likely(np.asarray(pump.free_air_m3))


def _likely(values: Array) -> float:
    """The middle of what the samples have; the run at likely values where there are no samples."""
    drawn = np.atleast_1d(values)[1:] if np.size(values) > 1 else np.atleast_1d(values)
    return float(percentiles(drawn, finished_only=True)[1])


def _first(leaf: Any) -> float:
    return 0.0 if leaf is None else float(np.atleast_1d(leaf)[0])


def _span(values: Array) -> Span:
    return Span(float(values[0]), *(float(each) for each in percentiles(values[1:])))


def _stage(name: str, values: Array) -> Stage:
    one = _span(values)
    return Stage(name, one.at_likely_values, one.low, one.likely, one.high)

"""How long on site: several cases in one visit, with what counts once counted once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fillcalc.arrays import Array, first
from fillcalc.case.medium import is_gas
from fillcalc.case.records import Case
from fillcalc.estimation.answers import (
    Days,
    Estimate,
    Loads,
    Never,
    Span,
    Stage,
    answer,
    at_likely_values,
    part,
)
from fillcalc.estimation.days import PACK_UP, SET_UP, Visiting, counted, visiting
from fillcalc.estimation.stages import ONCE, REWORK, WAIT, batches
from fillcalc.job.samples import assign, keys, samples
from fillcalc.questions.days import CaseTimes, days_answer, number_of_days
from fillcalc.questions.percentiles import low_likely_high
from fillcalc.questions.ranges import GAS_DRAWS, reasons, spreads, stage_ranges, stages_of, total_of
from fillcalc.tree import put_all

OWN = ("vessel", "trapped_air", REWORK)
"""Tables whose values are drawn for each case on its own; the rest is one site, one kit and one crew."""


@dataclass(frozen=True)
class VisitCase:
    """One case of a combined visit, without what is counted once."""

    title: str
    pieces: int
    loads: Loads = part()
    stages: tuple[Stage, ...] = part()
    time_s: Span = part()
    """Without the rework, which is a line of its own."""
    water_m3: float = answer("volume", "water")
    free_air_m3: float = answer("volume", "free air")
    gas_kg: float = answer("mass", "gas")
    bottles: float = answer("count", "bottles")
    """At most: what one load leaves in its last bottle serves the next."""
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
    rework_s: float = answer("duration", "a re-made joint adds")
    remade_share: float = answer("share", "visits with a re-made joint", "less")
    never_share: float = answer("share", "samples that never finish", "less")
    saved_s: float = answer("duration", "saved by connecting the next piece while one holds")
    water_m3: float = answer("volume", "water from the tap and the pump")
    free_air_m3: float = answer("volume", "free air for the pump")
    to_drain_m3: float = answer("volume", "water to get rid of")
    gas_kg: float = answer("mass", "gas")
    bottles: float = answer("count", "bottles, at most")
    days: Days = part()


@dataclass(frozen=True)
class _Worked:
    """One case: its times over all rows, and of everything else only what is told."""

    alone: CaseTimes
    estimate: Estimate
    """At likely values, with the spreads."""
    day: Array
    """A working day, s, over all rows."""
    stages: tuple[Stage, ...]
    never: tuple[Never, ...]
    rows: int

    @property
    def times(self) -> Mapping[str, Array]:
        """Of its stages, as if all were done on one day, s."""
        return self.alone.times

    @property
    def without(self) -> tuple[str, ...]:
        """Stages that cannot be worked out."""
        return self.alone.without


def visit(cases: Sequence[Case], overlap: bool = False) -> tuple[CombinedVisit, tuple[Estimate, ...]]:
    """Return the combined visit of these cases, in their order, and the estimate of each as written.

    The same input is drawn once for all cases (tap, hoses, pump, labour); the vessels, their trapped air and
    their joints each for themselves. With `overlap` the next piece is connected while one settles and holds, as far
    as both last; it takes a second pair of hands.
    """
    worked, rows = _worked(cases)
    once = {name: _longest([one.times[name] for one in worked], rows) for name in ONCE}
    rework = np.asarray(sum(_rows(one.times[REWORK], rows) for one in worked))
    own = [_rows(total_of(one.times, (*ONCE, REWORK, *one.without)), rows) for one in worked]
    saves = _saved(worked, rows) if overlap else [np.zeros(rows)] * len(worked)
    saved = np.asarray(sum(saves))
    alone = [replace(one.alone, saved=save) for one, save in zip(worked, saves, strict=True)]
    day = np.minimum.reduce([_rows(one.day, rows) for one in worked])
    site = Visiting(day, once[SET_UP], once[PACK_UP], once[WAIT], rework)
    number = _rows(number_of_days(alone, site), rows)
    once = counted(once, number)
    total = np.asarray(sum(once.values())) + sum(own) + rework - saved
    parts = tuple(_part(one, time) for one, time in zip(worked, own, strict=True))
    again = [first(one.alone.case.rework.time) for one in worked]
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
        gas_kg=sum(one.gas_kg for one in parts),
        bottles=sum(one.bottles for one in parts),
        days=days_answer(alone, site, total, number),
    )
    return combined, tuple(one.estimate for one in worked)


def _worked(cases: Sequence[Case]) -> tuple[list[_Worked], int]:
    """Each case over the same samples, and how many rows they have, the run at likely values first."""
    columns = _columns(cases)
    worked = [_work(case, number, columns) for number, case in enumerate(cases)]
    rows = max(one.rows for one in worked)
    return worked, rows if rows > 1 else 1 + len(next(iter(columns.values())))


def _columns(cases: Sequence[Case]) -> dict[str, Array]:
    names = [_name(key, number) for number, case in enumerate(cases) for key in keys(case)]
    return assign(names, GAS_DRAWS) if any(is_gas(case) for case in cases) else assign(names)


def _name(key: str, number: int) -> str:
    return f"{number}:{key}" if key.partition(".")[0] in OWN else key


def _work(case: Case, number: int, columns: Mapping[str, Array]) -> _Worked:
    sampled = samples(case, {key: columns[_name(key, number)] for key in keys(case)}, ends=False)
    everything, alone = stages_of(sampled)
    times = {name: values for name, values in alone.times.items() if name not in (*ONCE, REWORK)}
    return _Worked(
        replace(alone, case=at_likely_values(alone.case)),
        replace(at_likely_values(everything), spreads=spreads(sampled, everything)),
        visiting(sampled.case, alone.times).day, stage_ranges(sampled, times), reasons(sampled, everything),
        1 + sampled.draws)


def _rows(values: Array, rows: int) -> Array:
    """The first row and the draws, all of them alike where there is only one."""
    return np.broadcast_to(values, (rows,)) if values.size == 1 else values[:rows]


def _longest(values: Sequence[Array], rows: int) -> Array:
    return np.maximum.reduce([_rows(each, rows) for each in values])


def _saved(worked: Sequence[_Worked], rows: int) -> list[Array]:
    """Time that each case saves by being connected while the load before settles and holds, s."""
    saved = []
    before = np.zeros(rows)
    for one in worked:
        loads = batches(one.alone.case)
        stands = _rows((one.times["settle"] + one.times["hold"]) / loads, rows)
        connect = _rows(one.times["connect"] / loads, rows)
        saved.append((loads - 1) * np.minimum(stands, connect) + np.minimum(before, connect))
        before = stands
    return saved


def _part(one: _Worked, time: Array) -> VisitCase:
    case, likely = one.alone.case, {each.path: float(each.likely) for each in one.estimate.spreads}
    assert one.estimate.loads is not None
    loads: Loads = put_all(one.estimate.loads, {
        path.partition(".")[2]: value for path, value in likely.items() if path.startswith("loads.")})
    water, air = (float(loads.water_m3), float(loads.free_air_m3)) if one.estimate.gas is None else (0.0, 0.0)
    gas, bottles = (batches(case) * likely.get(f"gas.bottles.{name}", 0.0) for name in ("given_kg", "needed"))
    return VisitCase(case.title, case.vessel.count or 1, loads, one.stages, _span(time), water, air, gas, bottles,
                     one.never, one.without)


def likely_visit(combined: CombinedVisit, estimates: Sequence[Estimate]) -> CombinedVisit:
    """Return the visit with the water and the free air of each case as its own estimate of `likely` tells them, m3, and
    with the sums of these."""
    cases = tuple(replace(one, water_m3=float(each.loads.water_m3), free_air_m3=float(each.loads.free_air_m3))
                  if each.gas is None and each.loads is not None else one
                  for one, each in zip(combined.cases, estimates, strict=True))
    return replace(combined, cases=cases, water_m3=sum(one.water_m3 for one in cases),
                   free_air_m3=sum(one.free_air_m3 for one in cases))


def _span(values: Array) -> Span:
    return Span(float(values[0]), *(float(each) for each in low_likely_high(values[0], values[1:])))


def _stage(name: str, values: Array) -> Stage:
    one = _span(values)
    return Stage(name, one.at_likely_values, one.low, one.likely, one.high)

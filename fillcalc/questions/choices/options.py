"""Many lines and many pumps for one case: hoses, and pumps, as one more axis of the same calls.

What the hose decides and what the pump decides is worked out apart, over the same samples, so that every pair of
the two is a sum, sample by sample.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np

from fillcalc.arrays import Array, spread, take
from fillcalc.case.records import Case, ElectricPump, Hose, Pump
from fillcalc.estimation.days import Visiting, counted, days_of, visiting, work_of
from fillcalc.estimation.estimate import estimate
from fillcalc.estimation.stages import BY_FILL, BY_PUMP, REWORK, VALVES, batches, stages
from fillcalc.job.job import Job, job_of
from fillcalc.job.samples import samples
from fillcalc.model.fill import fill
from fillcalc.model.filling import change_overs
from fillcalc.model.pressurise import pump_up, top_up
from fillcalc.model.status import Status
from fillcalc.questions.ranges import likely_remade, missing, remade_in

Record = TypeVar("Record", bound=Hose | Pump)

BLOCK = 8192
"""Rows of one call: as many as stay near the processor."""
STRONG = ElectricPump(flow=np.asarray(1e-3), relief=np.asarray(1e9))
"""A pump that always gets there, in the place of the case's own where only the other stages are asked for."""


@dataclass(frozen=True)
class Base:
    """A case over its samples, and all that neither hose nor pump decides.

    The leaves of its job are of shape (rows,), that at likely values first.
    """

    job: Job
    rows: int
    times: Mapping[str, Array]
    """Of each stage, s, (rows,), without what hose and pump decide; NaN where the fill cannot end whatever the hose."""
    once: Visiting
    lots: float
    pumped: Array
    """Water that a pump takes for one load, m3, (rows,); nothing where the fill does not end."""


@dataclass(frozen=True)
class Fills:
    """One line after the other: (lines, rows)."""

    time: Array
    """Fill of one lot, s; NaN where it stands still."""
    stage: Array
    """All that goes with the fill on this visit, s: fill, run to waste, topping up."""
    status: Array


@dataclass(frozen=True)
class PumpUps:
    """One pump after the other: (pumps, rows)."""

    time: Array
    """Pump-up of one lot, s; NaN where it never gets there."""
    stage: Array
    """The same on this visit, with the valves."""
    status: Array
    stall_gauge: Array
    limited_by: Array


def base_of(case: Case, columns: Mapping[str, Array]) -> Base:
    """The case over the samples of these columns (see `samples.assign`), its own hose and pump drawn with it; a case
    without a range has as many rows, all alike but for the rework."""
    sampled = samples(case, columns, ends=False)
    rows = 1 + len(sampled.remade_rank)
    job = job_of(spread(sampled.case, rows))
    strong = replace(sampled.case, pump=STRONG, air_supply=None, reading=(),
                     test=replace(sampled.case.test, rise_limit=None, assumed_leak=None))
    everything = estimate(strong)
    count = remade_in(sampled)
    again = np.concatenate([likely_remade(sampled.case), np.broadcast_to(count, (rows - 1,))])
    times = stages(strong, everything, again)
    lots = float(batches(case))
    apart = {*BY_FILL, *BY_PUMP, REWORK, *missing(everything, times)}
    none = np.zeros(rows)
    own = {name: none if name in apart else np.broadcast_to(time, (rows,)) for name, time in times.items()}
    own |= {REWORK: np.broadcast_to(times[REWORK], (rows,)),
            BY_PUMP[0]: np.broadcast_to(lots * everything.pressurise.pause_s, (rows,))}
    pumped = np.broadcast_to(np.nan_to_num(everything.pressurise.water_m3), (rows,))
    return Base(job, rows, own, visiting(sampled.case, own), lots, pumped)


def on_site(base: Base, fills: Fills, line: int, ups: PumpUps) -> tuple[Array, Array]:
    """The time on site with one line and each pump, s, set-up and pack-up of each day in it, and its days; each
    (pumps, rows)."""
    times = {name: time[None] for name, time in base.times.items()}
    times[BY_FILL[0]] = times[BY_FILL[0]] + fills.stage[line]
    times[BY_PUMP[0]] = times[BY_PUMP[0]] + ups.stage
    days = days_of([work_of(round(base.lots), times)], base.once)
    total = np.asarray(sum(counted(times, days).values()))
    return total, np.broadcast_to(days, total.shape)


def fills_of(base: Base, lines: Sequence[Sequence[Hose]]) -> Fills:
    """The fill through each line; leaves of the hoses are numbers, or (rows,). A flow that was measured at the end
    of the case's own hose says nothing of another one and is left out."""
    size = (len(lines), base.rows)
    time, stage, status = (*(np.full(size, np.nan) for _ in range(2)), np.zeros(size, int))
    for indices, hoses in _blocks(lines, base.rows):
        many = _tiled(base, len(indices))
        job = job_of(replace(many, fill=replace(many.fill, hose=hoses, measured_flow=None)))
        task, filled = job.filling, fill(job.filling, job.level)
        given, topped = top_up(job.closed, task.line, task.at_top, job.duty.start_gauge, task.most)
        done = filled.status == Status.DONE
        flow = np.where(done, filled.flow_end, 1.0)
        given = filled.water + many.fill.run_to_waste + given + np.tile(base.pumped, len(indices))
        changed = change_overs(task.contents, given, base.lots) * task.change_over / base.lots
        parts = filled.time + many.fill.run_to_waste / flow + topped + changed
        shape = (len(indices), base.rows)
        whole = filled.time + change_overs(task.contents, given) * task.change_over
        time[indices], status[indices] = whole.reshape(shape), filled.status.reshape(shape)
        stage[indices] = base.lots * np.where(done, parts, np.nan).reshape(shape)
    return Fills(time, stage, status)


def pump_ups_of(base: Base, pumps: Sequence[Pump]) -> PumpUps:
    """The pump-up with each pump, from what the case says stands in the vessel; leaves are numbers, or (rows,)."""
    size = (len(pumps), base.rows)
    time, status, stall, limited = (np.full(size, np.nan) for _ in range(4))
    for indices, (stacked,) in _blocks([(each,) for each in pumps], base.rows):
        job = job_of(replace(_tiled(base, len(indices)), pump=stacked))
        pumped = pump_up(job.closed, job.driver, job.duty)
        shape = (len(indices), base.rows)
        time[indices], status[indices] = pumped.time.reshape(shape), pumped.status.reshape(shape)
        stall[indices], limited[indices] = pumped.stall_gauge.reshape(shape), pumped.limited_by.reshape(shape)
    return PumpUps(time, base.lots * np.maximum(time, VALVES), status, stall, limited)


def pump_ups_with_air(base: Base, amounts: Sequence[float]) -> Array:
    """Time of the pump-up with the case's own pump and these shares of trapped air, s, (amounts, rows)."""
    found = np.full((len(amounts), base.rows), np.nan)
    width = max(1, BLOCK // base.rows)
    for first in range(0, len(amounts), width):
        some = np.repeat(amounts[first:first + width], base.rows)
        job = job_of(_tiled(base, len(some) // base.rows))
        found[first:first + width] = pump_up(job.with_air(some), job.driver, job.duty).time.reshape(-1, base.rows)
    return found


def _tiled(base: Base, times: int) -> Case:
    return take(base.job.case, np.tile(np.arange(base.rows), times))


def _blocks(groups: Sequence[Sequence[Record]], rows: int) -> Iterator[tuple[list[int], tuple[Record, ...]]]:
    """Indices of the groups that one call can take, and their records with the leaves after one another."""
    alike: dict[Hashable, list[int]] = {}
    for index, group in enumerate(groups):
        alike.setdefault(tuple(_structure(record) for record in group), []).append(index)
    width = max(1, BLOCK // rows)
    for together in alike.values():
        for first in range(0, len(together), width):
            indices = together[first:first + width]
            columns = zip(*(groups[index] for index in indices), strict=True)
            yield indices, tuple(_stacked(column, rows) for column in columns)


APART = ("couplings",)
"""Counts that say how the record is built; records with others are not alike."""


def _is_number(name: str, value: object) -> bool:
    return name not in APART and isinstance(value, int | float | np.ndarray) and not isinstance(value, bool)


def _is_drawn(value: object) -> bool:
    """A table whose numbers are over the rows already; one of plain numbers is told apart by its values."""
    return isinstance(value, tuple) and any(isinstance(each, np.ndarray) or _is_drawn(each) for each in value)


def _structure(record: Any) -> Hashable:
    """What two records must share to be worked out in one call; a name says nothing."""
    return type(record), tuple(
        "number" if _is_number(field.name, value) else _form(value) if _is_drawn(value) else value
        for field in fields(record) if field.name != "name" for value in [getattr(record, field.name)])


def _form(value: object) -> Hashable:
    return tuple(_form(each) for each in value) if isinstance(value, tuple) else "number"


def _stacked(records: Sequence[Record], rows: int) -> Record:
    """One record with the number leaves of all, each over its rows, after one another."""
    first: Any = records[0]
    changes = {
        field.name: _joined([getattr(each, field.name) for each in records], rows)
        for field in fields(first)
        if _is_number(field.name, getattr(first, field.name)) or _is_drawn(getattr(first, field.name))}
    stacked: Record = replace(first, **changes)
    return stacked


def _joined(values: Sequence[Any], rows: int) -> Any:
    if isinstance(values[0], tuple):
        return tuple(_joined(each, rows) for each in zip(*values, strict=True))
    return np.concatenate([np.broadcast_to(each, (rows,)) for each in values])

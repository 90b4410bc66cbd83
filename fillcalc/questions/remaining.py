"""The rest of a visit while it goes on: what is left from now, given the stages that are done and the one that runs.

The samples of the estimate are kept as far as they agree with what was seen: each weighs by how near its fill and its
pump-up come to those taken, and one whose running stage would be over by now weighs nothing, but for the slowest tenth.
Stages done are taken as they were. Of several loads the first is timed; the others are taken to go as it did.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, nan

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import Case
from fillcalc.case.stages import STAGES
from fillcalc.estimation.answers import answer
from fillcalc.estimation.days import PACK_UP, SET_UP, visiting
from fillcalc.estimation.stages import BY_PUMP, ONCE, REWORK, repeats
from fillcalc.job.samples import assign, keys, samples
from fillcalc.questions.days import number_of_days
from fillcalc.questions.percentiles import PERCENTS
from fillcalc.questions.ranges import draws_of, stages_of
from fillcalc.tree import at

STRETCHED = ("fill", *BY_PUMP)
"""Stages whose time tells of others: a slow tap, or air."""
LAST_OF_A_LOAD = "disconnect"
NEAR = 0.05
"""Standard deviation, in the logarithm, within which a sample agrees with a time that was taken; judgement."""
SLOWEST, SELDOM = 0.1, 0.01
"""Of a stage that runs late, so large a part of the samples tells what is left, as if those of them that should be over
were about to be; and it is longer than foreseen when less than the second part of them would still run. Judgement."""
FEWEST = 200.0
"""Samples that must be left to tell low and high; where fewer agree, those further off count too."""


@dataclass(frozen=True)
class Ahead:
    """A visit as samples: the time of each stage for one piece, one load, one day or once, s; and how many."""

    case: Case
    times: Mapping[str, Array]
    units: Mapping[str, Array | float]


@dataclass(frozen=True)
class Rest:
    """What is left of a visit from now; NaN where it never ends."""

    stage: str
    """The stage that runs; empty where the clock stands."""
    longer: bool
    """The running stage is longer than all that was foreseen; what is left is without the rest of it."""
    low_s: float = answer("duration", "low")
    likely_s: float = answer("duration", "likely")
    high_s: float = answer("duration", "high")


def ahead(case: Case) -> Ahead:
    """Return the visit of a case as samples, before anything of it was seen."""
    sampled = samples(case, assign(keys(case), draws_of(case)), ends=False)
    _, alone = stages_of(sampled)
    days = number_of_days([alone], visiting(sampled.case, alone.times))
    often = {**repeats(case), REWORK: 1.0}
    daily = sampled.drawn(np.where(np.isfinite(days), days, 1.0))
    return Ahead(case, {name: np.zeros(1) if name in alone.without else sampled.drawn(alone.times[name]) / often[name]
                        for name in often}, {**often, SET_UP: daily, PACK_UP: daily})


def rest(visit: Ahead, elapsed_s: float = 0.0) -> Rest:
    """Return what is left of a visit, its running stage having run for `elapsed_s`.

    What was taken, and which stage runs, stand in the [took] of the case. A stage that comes before the running one in
    the order of the work and has no time is taken to have been left out.
    """
    took = visit.case.took
    running = (took.running or "").replace("_", " ")
    order = tuple(visit.times)
    taken = {name: float(value) for name in order
             if (value := at(took, STAGES[name].key)) is not None and name != running}
    rows = max(values.size for values in visit.times.values())
    weights = _weights(visit, taken, rows)
    left, longer = np.zeros(rows), False
    loads_done = running in ("pack up", REWORK) or (LAST_OF_A_LOAD in taken and not running)
    begun = order.index(running) if running in order else max((order.index(name) for name in taken), default=-1)
    for name in order:
        each, more = visit.times[name], visit.units[name] - 1.0
        if name == running:
            each = np.broadcast_to(np.where(np.isnan(each), inf, each), (rows,))
            goes_on = each > elapsed_s
            longer = float(weights[goes_on].sum()) <= SELDOM * float(weights.sum())
            weights = weights if longer else weights * (goes_on | (each >= _quantile(each, weights, 1.0 - SLOWEST)))
            left = left + (0.0 if longer else np.maximum(each - elapsed_s, 0.0))
            again = np.where(np.isfinite(each), np.maximum(each, elapsed_s), elapsed_s)
            left = left + (0.0 if loads_done else more * again)
        elif name in taken:
            left = left + (0.0 if loads_done else more * taken[name])
        elif name == REWORK:
            left = left + (0.0 if "hold" in taken or took.remade is not None else each)
        elif order.index(name) > begun:
            left = left + visit.units[name] * each
        else:
            left = left + (0.0 if loads_done or name in ONCE else more * each)
    return Rest(running, longer, *_percentiles(left, weights))


def _weights(visit: Ahead, taken: Mapping[str, float], rows: int) -> Array:
    """How much each sample counts by the stages that tell of others; all alike where none tells."""
    off = np.zeros(rows)
    for name in STRETCHED:
        if taken.get(name, 0.0) > 0.0:
            each = np.broadcast_to(visit.times[name], (rows,))
            known = np.isfinite(each) & (each > 0.0)
            apart = np.where(known, np.log(np.where(known, each, 1.0) / taken[name]), inf)
            if np.abs(apart).min() <= NEAR:  # a time that no sample comes near tells of something else
                off = off + np.square(apart)
    width = NEAR
    while True:
        nearest = float(off.min())
        if not np.isfinite(nearest):
            return np.ones(rows)
        weights = np.exp(-0.5 * (off - nearest) / width**2)
        if weights.sum() ** 2 >= FEWEST * np.square(weights).sum() or rows < FEWEST or width > 10.0:
            return weights
        width *= 1.5


def _percentiles(left: Array, weights: Array) -> tuple[float, ...]:
    """Low, likely and high of what is left; samples that never end count as longer than any."""
    finite = np.where(np.isfinite(left), left, inf)
    found = [_quantile(finite, weights, part) for part in PERCENTS]
    return tuple(value if np.isfinite(value) else nan for value in found)


def _quantile(values: Array, weights: Array, part: float) -> float:
    """The value below which so large a part of the weight lies."""
    order = np.argsort(values, kind="stable")
    share = (np.cumsum(weights[order]) - 0.5 * weights[order]) / weights.sum()
    return float(values[order][min(int(np.searchsorted(share, part)), values.size - 1)])

"""Whether the jobs are of one crew: two that differ show as two heaps of jobs, quick and slow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.own import OwnTime
from fillcalc.questions.jobs.seen import Seen

FEWEST_JOBS, FEWEST_OF_A_CREW = 8, 3
"""Jobs below which nothing is said, and those that a crew must have; judgement."""
FEWEST_STAGES = 2
"""Stages of a job that say how quick its crew was; one alone is as much the job's as the crew's, judgement."""
APART = 1.2
"""How much longer one crew must take; less makes no matter, judgement."""
BY_CHANCE = 0.01
"""Share of jobs of one crew that look as much like two."""
DRAWN = 2000
LEAST_SCATTER = 0.05
"""Scatter of a stage, in the logarithm, below which it weighs no more; judgement."""


@dataclass(frozen=True)
class Crews:
    """Two heaps of jobs: which they are, and what each takes over the middle of all."""

    quick: tuple[int, ...]
    slow: tuple[int, ...]
    quick_times: float
    slow_times: float


def two_crews(found: Sequence[Seen]) -> Crews | None:
    """Return the two crews that the jobs are of; None where they look like those of one.

    A job's pace is the mean over its stages of work of the logarithm of the time taken over the middle of all jobs,
    stages that scatter less weighing more. The paces are cut in two where the squares about the two means are least;
    jobs of one crew, normal in the logarithm, come apart as far one time in a hundred (found by drawing 2000 sets of
    as many).
    """
    paces = _paces(found)
    if len(paces) < FEWEST_JOBS:
        return None
    jobs = sorted(paces, key=paces.__getitem__)
    values = np.array([paces[job] for job in jobs])
    gain, cut = _best_cut(values[None])
    quick, slow = values[:cut[0]], values[cut[0]:]
    apart = float(slow.mean() - quick.mean())
    if apart < np.log(APART) or gain[0] < _by_chance(len(values)):
        return None
    return Crews(tuple(sorted(jobs[:cut[0]])), tuple(sorted(jobs[cut[0]:])), exp(quick.mean()), exp(slow.mean()))


def _paces(found: Sequence[Seen]) -> dict[int, float]:
    stages: dict[OwnTime, list[Seen]] = {}
    for one in found:
        if isinstance(one.of, OwnTime):
            stages.setdefault(one.of, []).append(one)
    off: dict[int, list[tuple[float, float]]] = {}
    for lot in stages.values():
        if len(lot) < FEWEST_OF_A_CREW:
            continue
        logs = np.array([one.log for one in lot])
        middle = float(np.median(logs))
        weight = max(float(np.median(np.abs(logs - middle))), LEAST_SCATTER) ** -2
        for one in lot:
            off.setdefault(one.job, []).append((one.log - middle, weight))
    return {job: sum(value * weight for value, weight in each) / sum(weight for _, weight in each)
            for job, each in off.items() if len(each) >= FEWEST_STAGES}


def _best_cut(values: Array) -> tuple[Array, Array]:
    """Squares about one mean over squares about two, at the best cut of each row of rising values; and the cut."""
    n = values.shape[-1]
    cuts = np.arange(FEWEST_OF_A_CREW, n - FEWEST_OF_A_CREW + 1)
    centred = values - values.mean(axis=-1, keepdims=True)
    below = np.cumsum(centred, axis=-1)[:, cuts - 1]
    whole = np.sum(centred**2, axis=-1)
    between = below**2 * n / (cuts * (n - cuts))
    best = between.argmax(axis=-1)
    within = np.maximum(whole - between.max(axis=-1), 1e-12 * np.maximum(whole, 1e-300))
    return whole / within, cuts[best]


@lru_cache(maxsize=64)
def _by_chance(n: int) -> float:
    """The gain that one set in a hundred of so many jobs of one crew reaches; always the same draws."""
    drawn = np.sort(np.random.default_rng(n).standard_normal((DRAWN, n)), axis=-1)
    return float(np.quantile(_best_cut(drawn)[0], 1.0 - BY_CHANCE))

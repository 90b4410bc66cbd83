"""The track record: what finished jobs took beside what their cases had estimated.

>>> from fillcalc.case.read import read_text
>>> job = '''
... format = 1
... [vessel]
... shape = "by volume"
... volume = "570 L"
... [tap]
... pressure = "3 bar"
... [[fill.hose]]
... length = "25 m"
... bore = "12.7 mm"
... [test]
... pressure = "15 bar"
... [pump]
... kind = "hand"
... [took]
... set_up = "{} min"
... '''
>>> record = track([read_text(job.format(time)) for time in (44, 50, 47, 90)])
>>> [(row.name, row.jobs, row.inside, round(row.ratio_likely, 2)) for row in record.rows if row.jobs]
[('set up', 4, 3, 1.39)]
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite

import numpy as np

from fillcalc.arrays import Array, Codes, drawn
from fillcalc.case.records import Case
from fillcalc.case.stages import STAGE_KEYS, STAGES
from fillcalc.estimation.answers import Stage, answer
from fillcalc.estimation.days import counted, visiting
from fillcalc.estimation.estimate import estimate
from fillcalc.estimation.stages import REWORK, repeats, stages, work_stages
from fillcalc.job.points import DRAWS
from fillcalc.job.samples import WORK_INPUTS, Samples, assign, keys, samples
from fillcalc.questions.days import CaseTimes, number_of_days
from fillcalc.questions.jobs.batch import Batch, split, together
from fillcalc.questions.jobs.chances import wilson
from fillcalc.questions.percentiles import low_likely_high, percentiles
from fillcalc.questions.ranges import draws_of, likely_remade, remade_in, total_of
from fillcalc.tree import at

ON_SITE = "on site"
NAMES = (*STAGES, ON_SITE)
"""The stages, and the whole."""
EXPECTED = 0.8
"""Share of jobs that should lie between low and high."""
ROWS_IN_ALL = 32768
"""Rows that all cases of a folder get together; a few cases get those of an estimate each."""
FEWEST_ROWS, WORK_ROWS = 32, 512
"""Rows that a case gets at the least, and of the crew's own work."""
FEWEST_JOBS = 8
"""Jobs below which the share between low and high says next to nothing; judgement."""
ODD_TIMES = 5.0
"""How far beyond low or high, as a multiple or a part, a time is odd; judgement."""


@dataclass(frozen=True)
class Compared:
    """One stage of one job, or the whole: taken and estimated."""

    job: int
    name: str
    taken_s: float = answer("duration", "taken")
    low_s: float = answer("duration", "low")
    likely_s: float = answer("duration", "likely")
    high_s: float = answer("duration", "high")

    @property
    def ratio(self) -> float:
        """Taken over estimated."""
        return float(self.taken_s) / float(self.likely_s)

    @property
    def inside(self) -> bool:
        """Whether it lies between low and high."""
        return bool(self.low_s <= self.taken_s <= self.high_s)

    @property
    def odd(self) -> bool:
        """Whether it lies so far outside that it may be a slip of the pen."""
        return bool(self.taken_s > ODD_TIMES * max(self.high_s, LEAST) or self.taken_s * ODD_TIMES < self.low_s)


LEAST = 60.0
"""s; a high below this is taken for this much before a time is called odd."""


@dataclass(frozen=True)
class Row:
    """One stage over all jobs that took it, or the whole: NaN and no jobs where none did."""

    name: str
    jobs: int
    inside: int
    """Jobs between low and high."""
    ratio_low: float = answer("number", "taken over estimated, one job in ten below")
    ratio_likely: float = answer("number", "taken over estimated, half of the jobs more")
    ratio_high: float = answer("number", "taken over estimated, nine jobs in ten below")
    inside_share: float = answer("share", "jobs between low and high")
    inside_low: float = answer("share", "low of that share, 95 of 100")
    inside_high: float = answer("share", "high of that share, 95 of 100")


@dataclass(frozen=True)
class Track:
    """Every comparison, and a row for each stage and for the whole."""

    jobs: int
    """Cases that say what they took."""
    rows: tuple[Row, ...]
    compared: tuple[Compared, ...]

    @property
    def whole(self) -> Row:
        """The row of the time on site."""
        return self.rows[-1]


def track(cases: Sequence[Case]) -> Track:
    """Return the track record of these cases, those without a [took] left out; of a test with gas the work alone.

    Each case is estimated as it stands, so what is compared is the estimate that it gives now: inputs that were
    measured on the job are in it if they were written into the case. A time of nothing estimated is not compared. An
    odd time counts as outside low and high, and is left out of the ratios.
    """
    found = list(compared(cases))
    rows = tuple(_row(name, [one for one in found if one.name == name]) for name in NAMES)
    return Track(len({one.job for one in found}), rows, tuple(found))


def has_taken(case: Case) -> bool:
    """Whether a case says what any stage of its job took."""
    return case.took.on_site is not None or any(at(case.took, key) is not None for key in STAGE_KEYS)


def _row(name: str, found: Sequence[Compared]) -> Row:
    ratios = np.array([one.ratio for one in found if not one.odd])
    hits = sum(one.inside for one in found)
    low, likely, high = percentiles(ratios) if ratios.size else (np.nan,) * 3
    ends = wilson(hits, len(found)) if found else (np.nan, np.nan)
    share = hits / len(found) if found else np.nan
    return Row(name, len(found), hits, float(low), float(likely), float(high), share, *ends)


def compared(cases: Sequence[Case]) -> Iterator[Compared]:
    """Yield what each job took beside low, likely and high of its estimate, job by job in the order of the work."""
    jobs = [job for job, case in enumerate(cases) if has_taken(case)]
    estimated = dict(zip(jobs, estimates([cases[job] for job in jobs]), strict=True))
    for job in jobs:
        took = cases[job].took
        for name, stage in estimated[job].items():
            taken = took.on_site if name == ON_SITE else at(took, STAGES[name].key)
            if taken is not None and isfinite(stage.likely_s) and stage.likely_s > 0.0:
                yield Compared(job, name, float(taken), stage.low_s, stage.likely_s, stage.high_s)


def estimates(cases: Sequence[Case], rows: int = ROWS_IN_ALL) -> list[dict[str, Stage]]:
    """Return low, likely and high of each stage of each case, as it is written down (for one piece, one load, or
    once a day), and of the whole.

    All cases share so many rows of the fill, the pump-up and what follows them: a few cases get those of an estimate
    each, and many fewer.
    """
    draws = _draws(len(cases), rows)
    drawn = [_drawn_apart(case, draws) for case in cases]
    found: list[dict[str, Stage]] = [{} for _ in cases]
    for batch in together([one.rest.case for one in drawn], [1 + one.rest.draws for one in drawn]):
        for member, times in zip(batch.members, _times(batch), strict=True):
            found[member] = _stages(drawn[member].work.case, drawn[member].beside(times))
    return found


@dataclass(frozen=True)
class _Drawn:
    """The samples of a case: those of the crew's own work, at least as many, and those of the rest.

    Low and high of a sum hang on which of few rows happen to fall together: of 128 they lay 7 % too near. The work
    hangs on nothing else and costs next to nothing, so it has `WORK_ROWS` at the least.
    """

    work: Samples
    rest: Samples

    def beside(self, times: Mapping[str, Array]) -> dict[str, Array]:
        """The time of every stage, s, over the rows of the work, with the rows of the rest beside them again and
        again; the run at likely values first."""
        order = _again(self.rest.draws, len(self.work.remade_rank))
        work = work_stages(self.work.case, np.concatenate([likely_remade(self.work.case), remade_in(self.work)]))
        return {name: np.broadcast_to(work[name] if name in work else values if values.size == 1 else values[order],
                                      order.shape) for name, values in times.items()}


def _drawn_apart(case: Case, draws: int) -> _Drawn:
    most, few = draws_of(case), draws_of(case, draws)
    columns = _columns(keys(case), max(few, min(WORK_ROWS, most)))
    of_work = {path: asked for path, asked in case.ranges.items() if path.startswith(WORK_INPUTS)}
    of_rest = {path: asked for path, asked in case.ranges.items() if path not in of_work}
    return _Drawn(samples(replace(case, ranges=of_work), columns, ends=False),
                  samples(replace(case, ranges=of_rest), {name: each[:few] for name, each in columns.items()},
                          ends=False))


@lru_cache(maxsize=16)
def _again(draws: int, rows: int) -> Codes:
    """Places of the draws so often that they fill the rows, the first time in their own order and then each time in
    another, always the same; the run at likely values, 0, first."""
    shuffled = (np.random.default_rng(turn).permutation(draws) for turn in range(1, rows // max(draws, 1)))
    return np.concatenate([[0], *(1 + each for each in (np.arange(draws), *shuffled))])


def _draws(cases: int, rows: int) -> int:
    """A power of two, on which the balance of the points rests."""
    each = max(rows // max(cases, 1), FEWEST_ROWS)
    return min(1 << (each.bit_length() - 1), DRAWS)


@lru_cache(maxsize=256)
def _columns(names: tuple[str, ...], draws: int) -> Mapping[str, Array]:
    return assign(names, draws)


def _times(batch: Batch) -> Iterator[dict[str, Array]]:
    """The time of every stage over the rows of each member of a batch, s."""
    times = stages(batch.case, estimate(batch.case, times_alone=True), np.zeros(1))
    parts = {name: split(values, batch) for name, values in times.items()}
    for member in range(len(batch.members)):
        yield {name: values[member] for name, values in parts.items()}


def _stages(case: Case, times: Mapping[str, Array]) -> dict[str, Stage]:
    rows, each = times[REWORK].size, repeats(case)
    number = number_of_days([CaseTimes(case, times, ())], visiting(case, times))
    whole = np.broadcast_to(total_of(counted(times, number)), (rows,))
    values = np.stack([*(times[name] / often for name, often in each.items()), whole])
    values[tuple(each).index(REWORK)] = 0.0 if case.rework.time is None else \
        np.broadcast_to(case.rework.time, (rows,)) if np.ndim(case.rework.time) else case.rework.time
    low, likely, high = low_likely_high(values[:, 0], drawn(values))
    return {name: Stage(name, *(float(each) for each in four))
            for name, *four in zip((*each, ON_SITE), values[:, 0], low, likely, high, strict=True)}

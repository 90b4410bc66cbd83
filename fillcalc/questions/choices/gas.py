"""Which bottles and which regulator of a kit to take to a test with gas, the best first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from fillcalc.arrays import Array, take
from fillcalc.case.assume import ranges_alone
from fillcalc.case.records import Booster, Bottles, Case, Kit, KitBottles, KitRegulator
from fillcalc.estimation.answers import Estimate, answer, at_likely_values
from fillcalc.estimation.gas import answered
from fillcalc.job.gas import GasJob, gas_job
from fillcalc.job.samples import Samples, assign, keys, samples
from fillcalc.model.gas.raising import Raised, raise_pressure
from fillcalc.questions.ranges import percentiles
from fillcalc.tree import zipped

DRAWS = 32
"""Samples of each choice, a power of two."""
OVER_TEST = 1.1
"""A regulator is of use where it can be set to so much of the test pressure; judgement."""
AS_IT_IS = "as the case has it"
"""The regulator of the case, where the kit holds none."""


@dataclass(frozen=True)
class GasChoice:
    """One kind of bottle behind one regulator."""

    bottle: str
    regulator: str
    can: bool
    """Whether half of all samples and more reach the reading with the bottles that there are."""
    there: int
    case: Case
    """The case with them in place of its own."""
    estimate: Estimate | None
    """Its answers at likely values, letting off left out; None where the regulator cannot be set high enough."""
    needed: float = answer("count", "bottles needed", "less")
    most_needed: float = answer("count", "bottles needed in nine tests of ten", "less")
    ends_gauge_pa: float = answer("pressure", "the bottles end at", "more")
    read_low_s: float = answer("duration", "reading, low", "less")
    read_s: float = answer("duration", "reading", "less")
    read_high_s: float = answer("duration", "reading, high", "less")
    why: str = ""
    """What keeps it from being of use; empty where nothing does."""


@dataclass(frozen=True)
class _Marched:
    """One choice that is marched: what it is, its samples, and its job."""

    bottle: str
    regulator: str
    case: Case
    sampled: Samples
    job: GasJob


def gas_choices(case: Case, kit: Kit) -> tuple[GasChoice, ...]:
    """Return every kind of bottle behind every regulator of a kit, the best first: those that do it, the surest first,
    then with the fewest bottles, then the quickest.

    A kit without regulators leaves the case's own. All of them are marched together, and none beyond the bottles that
    there are.
    """
    pairs = [(bottle, regulator, _with(case, bottle, regulator)) for bottle in kit.bottle
             for regulator in (kit.regulator or (None,))]
    low = [GasChoice(bottle.name, regulator.name, False, bottle.bottles, changed, None, np.nan, np.nan, np.nan, np.nan,
                     np.nan, np.nan, "the regulator cannot be set above the test pressure")
           for bottle, regulator, changed in pairs if regulator is not None and _too_low(case, regulator)]
    marched = [_one(bottle, regulator, changed) for bottle, regulator, changed in pairs
               if regulator is None or not _too_low(case, regulator)]
    found = [_choice(one, done) for one, done in zip(marched, _march(marched), strict=True)]
    return tuple(sorted([*found, *low], key=lambda one: (
        not one.can, not one.most_needed <= one.there, _known(one.needed), _known(one.read_s))))


def _known(value: float) -> float:
    return float(value) if np.isfinite(value) else np.inf


def _too_low(case: Case, regulator: KitRegulator) -> bool:
    return float(regulator.pressure) < OVER_TEST * case.test_gauge


def _one(bottle: KitBottles, regulator: KitRegulator | None, changed: Case) -> _Marched:
    sampled = samples(changed, assign(keys(changed), DRAWS), ends=False)
    return _Marched(bottle.name, AS_IT_IS if regulator is None else regulator.name, changed, sampled,
                  gas_job(sampled.case))


def _march(these: Sequence[_Marched]) -> list[Raised]:
    """The march of each, all in one."""
    if not these:
        return []
    tasks = [one.job.raising for one in these]
    done = raise_pressure(replace(zipped(tasks, _beside), further=False))
    ends = np.cumsum([len(task.outside_abs) for task in tasks]).tolist()
    alone = replace(done, history=())
    return [take(alone, slice(start, end)) for start, end in zip([0, *ends], ends, strict=False)]


def _beside(leaves: Sequence[Any], field: object) -> Any:
    first = leaves[0]
    return np.concatenate(leaves, axis=-1) if isinstance(first, np.ndarray) else first


def _choice(one: _Marched, done: Raised) -> GasChoice:
    estimate = answered(one.job, done)
    gas = estimate.gas
    assert gas is not None and isinstance(one.case.gas_supply, Bottles)
    needed, read, ends = (_drawn(one.sampled, each) for each in (
        gas.bottles.needed, gas.rise.read_s, gas.bottles.ends_gauge_pa))
    low, likely, high = (float(each) for each in percentiles(read))
    counts = [float(each) for each in percentiles(needed)]
    stands = ends[np.isfinite(ends)]
    can = bool(np.isfinite(likely))
    return GasChoice(one.bottle, one.regulator, can, int(one.case.gas_supply.bottles), one.case,
                     at_likely_values(estimate), counts[1], counts[2],
                     float(np.median(stands)) if stands.size else np.nan, low, likely, high,
                     "" if can else "the bottles end before the reading")


def _drawn(sampled: Samples, values: Array) -> Array:
    return sampled.drawn(np.atleast_1d(np.asarray(values, float)))


def _with(case: Case, bottle: KitBottles, regulator: KitRegulator | None) -> Case:
    """The case with these bottles and this regulator in place of its own, and their ranges; its booster stays."""
    given = {each.name: getattr(bottle, each.name) for each in fields(Bottles)}
    own = case.gas_supply
    supply = replace(own, **given) if isinstance(own, Booster) else Bottles(**given)
    stays = {each.name for each in fields(Booster)} - set(given) if isinstance(own, Booster) else set()
    ranges = {path: asked for path, asked in case.ranges.items()
              if not path.startswith("gas_supply.") or path.rpartition(".")[2] in stays}
    ranges |= {f"gas_supply.{leaf}": asked for leaf, asked in ranges_alone(bottle).items()
               if getattr(bottle, leaf, None) is not None}
    line = case.gas_line
    if regulator is not None:
        line = replace(line, kv=regulator.kv)
        ranges.pop("gas_line.kv", None)
    if line.regulator_pressure is not None and regulator is not None:
        line = replace(line, regulator_pressure=np.minimum(line.regulator_pressure, regulator.pressure))
    return replace(case, gas_supply=supply, gas_line=line, ranges=ranges)

"""Which bottles and which regulator of a kit to take to a test with gas, the best first."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from fillcalc.case.assume import ranges_alone
from fillcalc.case.fields import Number
from fillcalc.case.records import Bottles, Case, Kit, KitBottles, KitRegulator
from fillcalc.estimation.answers import answer
from fillcalc.estimation.estimate import estimate
from fillcalc.job.samples import assign, keys, samples
from fillcalc.questions.ranges import percentiles

DRAWS = 64
"""Samples of each choice, a power of two."""
OVER_TEST = 1.1
"""A regulator is of use where it can be set to so much of the test pressure; judgement."""


@dataclass(frozen=True)
class GasChoice:
    """One kind of bottle behind one regulator."""

    bottle: str
    regulator: str
    can: bool
    """Whether half of all samples and more reach the reading with the bottles that there are."""
    there: int
    needed: Number = answer("count", "bottles needed", "less")
    most_needed: Number = answer("count", "bottles needed in nine tests of ten", "less")
    ends_gauge_pa: Number = answer("pressure", "the bottles end at", "more")
    read_low_s: Number = answer("duration", "reading, low", "less")
    read_s: Number = answer("duration", "reading", "less")
    read_high_s: Number = answer("duration", "reading, high", "less")
    why: str = ""
    """What keeps it from being of use; empty where nothing does."""


def gas_choices(case: Case, kit: Kit) -> tuple[GasChoice, ...]:
    """Return every kind of bottle behind every regulator of a kit, the best first: those that do it, the surest first,
    then with the fewest bottles, then the quickest. A kit without regulators leaves the case's own."""
    found = [_choice(case, bottle, regulator) for bottle in kit.bottle for regulator in (kit.regulator or (None,))]
    return tuple(sorted(found, key=lambda one: (not one.can, one.most_needed > one.there, _known(one.needed),
                                                _known(one.read_s))))


def _known(value: Number) -> float:
    return float(value) if np.isfinite(value) else np.inf


def _choice(case: Case, bottle: KitBottles, regulator: KitRegulator | None) -> GasChoice:
    name = "as the case has it" if regulator is None else regulator.name
    test = float(case.test.pressure if case.test.pressure is not None
                 else case.test.factor_on_design * case.vessel.design)
    if regulator is not None and float(regulator.pressure) < OVER_TEST * test:
        return GasChoice(bottle.name, name, False, bottle.bottles, np.nan, np.nan, np.nan, np.nan, np.nan, np.nan,
                         "the regulator cannot be set above the test pressure")
    changed = _with(case, bottle, regulator)
    sampled = samples(changed, assign(keys(changed), DRAWS), ends=False)
    gas = estimate(sampled.case).gas
    assert gas is not None
    needed, read, ends = (sampled.drawn(np.atleast_1d(np.asarray(each, float))) for each in (
        gas.bottles.needed, gas.rise.read_s, gas.bottles.ends_gauge_pa))
    low, likely, high = (float(each) for each in percentiles(read))
    counts = [float(each) for each in percentiles(needed)]
    stands = ends[np.isfinite(ends)]
    can = bool(np.isfinite(likely))
    return GasChoice(bottle.name, name, can, bottle.bottles, counts[1], counts[2],
                     float(np.median(stands)) if stands.size else np.nan, low, likely, high,
                     "" if can else "the bottles end before the reading")


def _with(case: Case, bottle: KitBottles, regulator: KitRegulator | None) -> Case:
    """The case with these bottles and this regulator in place of its own, and their ranges."""
    supply = Bottles(**{each.name: getattr(bottle, each.name) for each in fields(Bottles)})
    ranges = {path: asked for path, asked in case.ranges.items() if not path.startswith("gas_supply.")}
    ranges |= {f"gas_supply.{leaf}": asked for leaf, asked in ranges_alone(bottle).items()
               if getattr(bottle, leaf, None) is not None}
    line = case.gas_line
    if regulator is not None:
        line = replace(line, kv=regulator.kv)
        ranges.pop("gas_line.kv", None)
    if line.regulator_pressure is not None and regulator is not None:
        line = replace(line, regulator_pressure=min(float(line.regulator_pressure), float(regulator.pressure)))
    return replace(case, gas_supply=supply, gas_line=line, ranges=ranges)
